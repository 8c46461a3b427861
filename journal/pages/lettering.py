"""Words on a drawing: how wide they are, and the spots where they may stand. Lengths in px, y downwards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, product
from math import cos, hypot, radians, sin
from typing import NamedTuple

SIZE = 12.0  # px: letters on a phone, where a drawing is shown as it is
HIGH = 15.0  # px that a line of them takes
FURTHER = (16.0, 30.0, 46.0, 62.0, 80.0, 100.0, 125.0)  # px from a place to a name with a leader
LEADS_OFF, LEADS_TO = 7.0, 3.0  # px of a leader that may cross what stands round its place, and touch its name
# Widths of letters as shares of SIZE, those of the widest font the theme falls back to, bold.
NARROW, MIDDLE, WIDE = frozenset("ijlI.,:;'|!()[]/″′ "), 0.72, frozenset("mwMWQ@%—")


def width_of(text: str) -> float:
    """About how wide a text is, rather too wide than too narrow."""
    return sum(0.42 if c in NARROW else 1.05 if c in WIDE else MIDDLE for c in text) * SIZE + 2


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


NEVER = 3  # the worst rank of a spot
CLOSE = 8  # spots without a leader


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
