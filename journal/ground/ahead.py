"""Kept work made ahead of its use, on all cores."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from os import cpu_count
from pathlib import Path

from journal.ground.kept_work import keep

WORTH = 40  # pieces of work before other processes are started for them
AT_ONCE = 8  # pieces that are handed over together


@dataclass(frozen=True, slots=True)
class Piece:
    """A file of the cache that is not there yet, and what makes its bytes; both go to another process."""

    path: Path
    make: Callable[[], bytes]

    def do(self) -> None:
        with suppress(OSError):  # whoever wants it makes it then, and says what is in the way
            keep(self.path, self.make())


def make_ahead(pieces: Sequence[Piece]) -> None:
    """Make them, where there are enough to be worth it; what is not made here is made when it is asked for."""
    if len(pieces) < WORTH:
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    # Processes of their own, as the one that watches a build has threads; one that is lost costs time only. They are
    # started on a single core too: what libraries leave lying about is gone with them.
    with suppress(BrokenProcessPool), ProcessPoolExecutor(cpu_count() or 1, get_context("spawn")) as pool:
        for _ in pool.map(Piece.do, pieces, chunksize=AT_ONCE):
            pass
