"""Kept work made ahead of its use, on all cores."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress

from journal.ground.kept_work import Piece

WORTH = 40  # pieces of work before other processes are started for them
AT_ONCE = 8  # pieces that are handed over together
MOST_PROCESSES = 32


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def make_ahead(asked: Iterable[Piece | None]) -> None:
    """Make them, where there are enough to be worth it; what is not made here is made when it is asked for."""
    pieces = [piece for piece in asked if piece]
    if len(pieces) < WORTH:
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
