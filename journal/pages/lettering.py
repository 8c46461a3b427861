"""Room on a drawing: which boxes are taken, and where words still go. Lengths in px, y downwards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, islice, product
from math import cos, hypot, inf, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SIZE = 12.0  # px: letters on a phone, where a drawing is shown as it is
HIGH = 15.0  # px that a line of them takes
FURTHER = (16.0, 30.0, 46.0, 62.0, 80.0, 100.0, 125.0)  # px from a place to a name with a leader
LEADS_OFF, LEADS_TO = 7.0, 3.0  # px of a leader that may cross what stands round its place, and touch its name
# Widths of letters as shares of SIZE, those of the widest font the theme falls back to, bold.
NARROW, MIDDLE, WIDE = frozenset("ijlI.,:;'|!()[]/″′ "), 0.72, frozenset("mwMWQ@%—")


def width_of(text: str, size: float = SIZE) -> float:
    """About how wide a text is, rather too wide than too narrow."""
    return sum(0.42 if c in NARROW else 1.05 if c in WIDE else MIDDLE for c in text) * size + 2


Way = tuple[float, float, float, float]  # x, y of one end, then of the other
Disc = tuple[float, float, float]  # x, y of a place, and how far what is drawn there reaches


class Patch(NamedTuple):
    """An upright box on the drawing. A tuple, as a large drawing tries some ten thousand of them."""

    left: float
    top: float
    right: float
    bottom: float

    def joined(self, other: Patch) -> Patch:
        return Patch(
            min(self.left, other.left), min(self.top, other.top),
            max(self.right, other.right), max(self.bottom, other.bottom),
        )  # fmt: skip


def along(way: Way) -> Iterator[Patch]:
    """Small boxes along a line."""
    x1, y1, x2, y2 = way
    steps = max(1, round(hypot(x2 - x1, y2 - y1) / 4))
    for n in range(steps + 1):
        x, y = x1 + (x2 - x1) * n / steps, y1 + (y2 - y1) * n / steps
        yield Patch(x - 1, y - 1, x + 1, y + 1)


class Spot(NamedTuple):
    """Where the middle of a text stands, and its turn in degrees (-90 reads from the right)."""

    x: float
    y: float
    turn: float = 0.0
    leader: Way | None = None

    def patches(self, wide: float) -> tuple[Patch, ...]:
        """The boxes a text of that width takes here; a slanting one several small ones."""
        x, y, turn, _ = self
        down = sin(radians(turn)) if turn else 0.0
        if abs(down) < 1e-6:
            return (Patch(x - wide / 2, y - HIGH / 2, x + wide / 2, y + HIGH / 2),)
        along = cos(radians(self.turn)), down
        if abs(along[0]) < 1e-6:
            return (Patch(self.x - HIGH / 2, self.y - wide / 2, self.x + HIGH / 2, self.y + wide / 2),)
        pieces = max(1, round(2 * wide / HIGH))
        piece = wide / pieces
        across = (piece * abs(along[0]) + HIGH * abs(down)) / 2
        tall = (piece * abs(down) + HIGH * abs(along[0])) / 2
        steps = ((n + 0.5) / pieces - 0.5 for n in range(pieces))
        middles = [(self.x + along[0] * wide * s, self.y + along[1] * wide * s) for s in steps]
        return tuple(Patch(x - across, y - tall, x + across, y + tall) for x, y in middles)

    @property
    def way(self) -> Way | None:
        """The leader, but for where it starts and for its tip; None where it is too short or there is none."""
        if self.leader is None:
            return None
        x1, y1, x2, y2 = self.leader
        length = hypot(x2 - x1, y2 - y1)
        if length <= LEADS_OFF + LEADS_TO:
            return None
        first, last = LEADS_OFF / length, 1 - LEADS_TO / length
        return x1 + (x2 - x1) * first, y1 + (y2 - y1) * first, x1 + (x2 - x1) * last, y1 + (y2 - y1) * last


AT_ONCE = Path(__file__).with_name("lettering_round.py")  # the other half of this module, which imports numpy
CELL = 40.0  # px
NEVER = 3  # the worst rank of a spot
CLOSE = 8  # spots without a leader
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


def round_way(way: Way) -> Patch:
    """The box round a line, a px further."""
    x1, y1, x2, y2 = way
    return Patch(min(x1, x2) - 1, min(y1, y2) - 1, max(x1, x2) + 1, max(y1, y2) + 1)


def crossed(way: Way, boxes: Sequence[Patch]) -> bool:
    """Whether a line runs through one of the boxes, or past it within a px: what of it lies between their sides."""
    x, y, dx, dy = way[0], way[1], way[2] - way[0], way[3] - way[1]
    for left, top, right, bottom in boxes:
        first, last = 0.0, 1.0
        for at, step, low, high in ((x, dx, left - 1, right + 1), (y, dy, top - 1, bottom + 1)):
            if step:
                near, far = (low - at) / step, (high - at) / step
                if near > far:
                    near, far = far, near
                first, last = max(first, near), min(last, far)
            elif not low < at < high:
                last = -1.0
        if first < last:
            return True
    return False


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

    def place(self, text: str, spots: Iterable[Spot], discs: Iterable[Disc] = ()) -> Spot | None:
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
        for disc in discs if rank else ():
            from journal.pages.lettering_round import best_of  # numpy, only where a drawing is crowded

            if found := best_of(self, disc, wide, rank):
                rank, best = found
            if rank == 0:
                break
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


def beside(x: float, y: float, reach: float, wide: float) -> Iterator[Spot]:
    """Spots for a name round a place: CLOSE by first, then further off with a leader."""
    near = reach + 5
    sides = ((1, 0), (1, -1), (-1, -1), (-1, 0), (0, -1), (1, 1), (-1, 1), (0, 1))
    for dx, dy in sides:
        across = dx * (near + wide / 2)
        yield Spot(x + across, y + dy * (near + HIGH / 2))
    for far in FURTHER:
        for dx, dy in sides:
            tip = x + dx * (reach + far), y + dy * (reach + far)
            start = x + dx * reach, y + dy * reach
            yield Spot(tip[0] + dx * (wide / 2 + 2), tip[1] + (0 if dx else dy * HIGH / 2), leader=(*start, *tip))
        for shift, dy in product((0.25, -0.25, 0.45, -0.45, 0.7, -0.7), (-1, 1)):  # above or below, shifted along
            tip = x + shift * wide * 0.6, y + dy * (reach + far)
            yield Spot(x + shift * wide, tip[1] + dy * HIGH / 2, leader=(x, y + dy * reach, *tip))


def close_by(x: float, y: float, reach: float, wide: float) -> Iterator[Spot]:
    """Those of them without a leader."""
    return islice(beside(x, y, reach, wide), CLOSE)
