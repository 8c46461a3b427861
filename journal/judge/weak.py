"""How well the turn of a part is held by its readings, and why it is weakly held."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from journal.ground.records import record
from journal.judge.record import Recorder, Sized, turn_half
from journal.judge.verdicts import Spot
from journal.measure.pins import TURNS

# What holds a turn well enough: common practice, no published source.
LEAST_SPREAD = 20.0  # mm between the points that hold it
MOST_TURN = 3.0  # degrees


@record
class Turn:
    """What holds a turn, in degrees: a direction that was read (its half-width), points (k = 2), how far apart."""

    said: float | None
    points: float | None
    spread: float

    @property
    def best(self) -> float | None:
        """The better of the two."""
        return min((each for each in (self.said, self.points) if each is not None), default=None)

    @property
    def why_weak(self) -> str:
        """Why it is weakly held; "" where it is not, or where nothing can be told."""
        if self.said is not None and self.said <= MOST_TURN:
            return ""
        if self.said is None and self.points is not None and self.spread < LEAST_SPREAD:
            return f"the readings take hold of it over {self.spread:.0f} mm only"
        return f"by ± {self.best:.0f}°" if self.best is not None and self.best > MOST_TURN else ""


def turn_of(recorder: Recorder, sized: Sized, spots: Sequence[Spot], said: float | None = None) -> Turn:
    """What holds the turn of a part whose points are at `spots`; `said` is the half-width of a reading to come."""
    pairs = [(math.dist((a.u, a.v), (b.u, b.v)), a, b) for a, b in combinations(spots, 2)]
    halves = [*_said(recorder, sized), *([] if said is None else [said])]
    points = [_by_points(*pair) for pair in pairs if pair[0] > 0]
    return Turn(
        min(halves, default=None), min(points, default=None), max((apart for apart, _, _ in pairs), default=0.0)
    )


def _said(recorder: Recorder, sized: Sized) -> list[float]:
    """Half-widths in degrees of the directions that were read."""
    return [
        turn_half(recorder.book.readings[row.id])
        for row in sized.rows
        if row.relation in TURNS and not row.subject.point
    ]


def _by_points(apart: float, a: Spot, b: Spot) -> float:
    """Degrees, at k = 2, that two points hold a turn by; what both owe to one edge is counted as if it were each's."""
    across = ((b.v - a.v) / apart, (a.u - b.u) / apart)
    spread = math.hypot(*(axis * sigma for spot in (a, b) for axis, sigma in zip(across, spot.sigma, strict=True)))
    return math.degrees(math.atan2(2 * spread, apart))
