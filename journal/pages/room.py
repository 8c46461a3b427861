"""Room on a drawing: which boxes are taken, and where words still go. Lengths in px, y downwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import chain
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

from journal.pages.lettering import NEVER, Disc, Patch, Spot, Way, along, crossed, round_way, width_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

AT_ONCE = Path(__file__).with_name("lettering_round.py")  # has a say in where words go, and imports numpy
CELL = 40.0  # px
NOWHERE = Patch(inf, inf, -inf, -inf)


class Taken:
    """Boxes, found by where they are."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Patch]] = {}
        self._met = NOWHERE
        self._all: list[Patch] = []
        self._boxes: NDArray[np.float64] | None = None

    def add(self, patch: Patch) -> None:
        self._all.append(patch)
        for cell in _cells(patch):
            self._cells.setdefault(cell, []).append(patch)

    @property
    def boxes(self) -> NDArray[np.float64]:
        """All of them, m x 4."""
        import numpy as np  # only where somebody asks

        old = self._boxes if self._boxes is not None else np.empty((0, 4))
        if more := self._all[len(old) :]:
            new = np.fromiter(chain.from_iterable(more), float, 4 * len(more))
            old = np.concatenate([old, new.reshape(-1, 4)])
        self._boxes = old
        return old

    def meets(self, patch: Patch) -> bool:
        left, top, right, bottom = patch
        x1, y1, x2, y2 = self._met  # what was in the way of the last one is mostly in the way of the next
        if left < x2 and x1 < right and top < y2 and y1 < bottom:
            return True
        for cell in _cells(patch):
            for other in self._cells.get(cell, ()):
                x1, y1, x2, y2 = other
                if left < x2 and x1 < right and top < y2 and y1 < bottom:
                    self._met = other
                    return True
        return False

    def near(self, patch: Patch) -> list[Patch]:
        """All that are met, some more than once."""
        left, top, right, bottom = patch
        return [
            other
            for cell in _cells(patch)
            for other in self._cells.get(cell, ())
            if left < other[2] and other[0] < right and top < other[3] and other[1] < bottom
        ]


def _cells(patch: Patch) -> Sequence[tuple[int, int]]:
    left, top, right, bottom = patch
    first, last, high, low = int(left // CELL), int(right // CELL), int(top // CELL), int(bottom // CELL)
    if first == last and high == low:
        return ((first, high),)
    return [(x, y) for x in range(first, last + 1) for y in range(high, low + 1)]


@dataclass
class Room:
    """What is taken on a drawing that may be so wide and high; it grows as things are put on it.

    texts  words: nothing else stands there, nothing crosses them
    lines  points, edges and dimension lines: no word stands on them, a leader may cross them
    thin   extension lines: words keep off them where they can
    solid  words and lines, to be asked at once
    """

    wide: float
    high: float
    extent: Patch
    texts: Taken = field(default_factory=Taken)
    lines: Taken = field(default_factory=Taken)
    thin: Taken = field(default_factory=Taken)
    solid: Taken = field(default_factory=Taken)

    def free(self, patches: Iterable[Patch], ways: Iterable[Way] = ()) -> bool:
        """Whether no word and no line stands there and the drawing stays in its size; a thin line may.

        ways  lines that are drawn with it and may cross others
        """
        left, top, right, bottom = self.extent
        for x1, y1, x2, y2 in ways:
            left, top, right, bottom = min(left, x1, x2), min(top, y1, y2), max(right, x1, x2), max(bottom, y1, y2)
        for patch in patches:
            left, top = min(left, patch.left), min(top, patch.top)
            right, bottom = max(right, patch.right), max(bottom, patch.bottom)
            if right - left > self.wide or bottom - top > self.high:
                return False
            if self.solid.meets(patch):
                return False
        return True

    def crosses_words(self, way: Way) -> bool:
        """Whether a line runs through words."""
        return crossed(way, self.texts.near(round_way(way)))

    def tidy(self, patches: Iterable[Patch]) -> bool:
        """Whether no thin line is there either."""
        return not any(self.thin.meets(patch) for patch in patches)

    def take(self, patches: Iterable[Patch]) -> None:
        self._put(patches, self.texts, self.solid)

    def rule(self, patches: Iterable[Patch]) -> None:
        self._put(patches, self.lines, self.solid)

    def cross(self, patches: Iterable[Patch]) -> None:
        self._put(patches, self.thin)

    def _put(self, patches: Iterable[Patch], *among: Taken) -> None:
        for patch in patches:
            for taken in among:
                taken.add(patch)
            self.extent = self.extent.joined(patch)

    def place(self, text: str, spots: Iterable[Spot], discs: Sequence[Disc] = ()) -> Spot | None:
        """Where a text stands free and its leader crosses nothing; else where only thin lines are crossed; else where
        its leader crosses lines too. None: nowhere.

        The first such of the spots, then of those beside the discs. Two in three names stand at one of the few spots,
        which are tried one by one; the hundred and more beside a disc are tried at once.
        """
        wide = width_of(text)
        rank, best = NEVER, None
        for spot in spots:
            patches = spot.patches(wide)
            if self.free(patches) and (this := self.rank(spot, patches)) < rank:
                rank, best = this, spot
            if rank == 0:
                break
        if rank and discs:
            from journal.pages.lettering_round import Filled, best_of  # numpy, only where a drawing is crowded

            filled = Filled(self.wide, self.high, self.extent, self.texts.boxes, self.lines.boxes, self.thin.boxes)
            if found := best_of(filled, discs, wide, rank):
                _, best = found
        return self._keep(best, wide) if best else None

    def rank(self, spot: Spot, patches: Iterable[Patch]) -> int:
        """0 for a free spot that crosses nothing, 1 over thin lines, 2 where its leader crosses lines, else NEVER."""
        if way := spot.way:
            if self.crosses_words(way):
                return NEVER
            if crossed(way, self.lines.near(round_way(way))):
                return 2
        return 0 if self.tidy(patches) else 1

    def _keep(self, spot: Spot, wide: float) -> Spot:
        self.take(spot.patches(wide))
        for piece in along(spot.way) if spot.way else ():
            self.thin.add(piece)
        return spot
