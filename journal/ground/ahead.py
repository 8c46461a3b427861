"""Kept work made ahead of its use, on all cores."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress

from journal.ground.kept_work import Piece
from journal.ground.shares import MOST_PROCESSES, can_be_copied, cores, in_shares

WORTH = 40  # pieces of work before other processes are started for them
AT_ONCE = 8  # pieces that are handed over together


def make_ahead(asked: Iterable[Piece | None]) -> None:
    """Make them, where there are enough to be worth it; what is not made here is made when it is asked for."""
    pieces = [piece for piece in asked if piece]
    if len(pieces) < WORTH:
        return
    if can_be_copied():
        in_shares([piece.do for piece in pieces], lambda: None)
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    # Processes of their own, as the one that watches a build has threads; one that is lost costs time only. They are
    # started on a single core too: what libraries leave lying about is gone with them.
    processes = min(cores(), MOST_PROCESSES)
    with suppress(BrokenProcessPool), ProcessPoolExecutor(processes, get_context("spawn")) as pool:
        for _ in pool.map(Piece.do, pieces, chunksize=AT_ONCE):
            pass
