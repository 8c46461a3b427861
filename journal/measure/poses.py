"""Whether readings that hold a part can hold it in another place as well, and where.

Readings of a part's points along the two axes of its face (S), straight distances (D) and a direction (T):

    three of them, just enough           there is always a second place: lines and circles cross an even number of
                                         times, and a line of the part is as parallel after half a turn
    two points known along both axes     one place only
    more, and none of that               it hangs on shapes nobody wrote down: it may

What is told by words, `way round`, tells places apart that differ by a turn; those that differ by a shift alone
are left. The search for other places wants numpy, imported late.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations, product
from typing import Literal, NamedTuple

from journal.ground.records import record
from journal.measure import pins

Level = Literal["no", "may", "is"]
LEVELS: tuple[Level, ...] = ("no", "may", "is")
SAME_PLACE = 20.0  # mm, and 2 degrees: nearer places are one, badly held (common practice, no published source)
WELL = 4.0  # times what two places may be out (common practice, no published source)
FAR = 8.0  # the same where only the readings are looked at, not the places that they give together
LONGEST = 1000.0  # mm that two points of a part may lie apart where nobody wrote it (common practice)
ABOUT_SQUARE = 1.0  # degrees that a direction may be out where no named tool read it (common practice)
SAME_TURN = math.radians(2)


@record
class Doubt:
    """Whether there is a second place; `turned` what is left of that once it is known which way round it sits."""

    level: Level = "no"
    turned: Level = "no"


@record
class Size:
    """A reading's number in mm and how far it may be out; of a direction the half-width in degrees."""

    value: float
    half: float


def doubt(ways: pins.Ways, sizes: Mapping[str, Size]) -> Doubt:
    """The worst over every way that lines of unknown direction may lie. For parts that the rows hold."""
    if ways.face.round:
        return _round_doubt(ways, sizes)
    worst = Doubt()
    for laid in ways.laid():
        found = _Kinds(laid, sizes).doubt()
        worst = Doubt(_worse(worst.level, found.level), _worse(worst.turned, found.turned))
        if worst.turned == "is":
            break
    return worst


def _round_doubt(ways: pins.Ways, sizes: Mapping[str, Size]) -> Doubt:
    """On a shaft one distance from a key fits on either side of it, and directions alone fit turned by half as well;
    `way round` tells."""
    around = [row for row in ways.rows if not row.reference.end]
    turned = all(row.relation in pins.TURNS for row in around)
    size = sizes.get(around[0].id) if len(around) == 1 and around[0].relation in pins.DISTANCES else None
    beside = size is not None and size.value + size.half >= SAME_PLACE and around[0].axis is None
    return Doubt("is", "no") if turned or beside else Doubt()


def _worse(a: Level, b: Level) -> Level:
    return LEVELS[max(LEVELS.index(a), LEVELS.index(b))]


class _Kinds:
    """The rows of one laying, sorted."""

    def __init__(self, laid: Sequence[tuple[pins.Row, pins.Kind]], sizes: Mapping[str, Size]) -> None:
        self.sizes = sizes
        self.along: dict[tuple[str, int], list[pins.Row]] = defaultdict(list)
        self.straight: set[tuple[str, str]] = set()
        self.turns: list[pins.Row] = []
        self.near = False  # a distance so short that both places on its circle are nearly one
        for row, kind in laid:
            if kind == "turn":
                self.turns.append(row)
            elif kind == "straight":
                self.straight.add((row.subject.key, row.reference.key))
                size = sizes.get(row.id)
                self.near |= size is None or size.value - size.half < SAME_PLACE
            else:
                self.along[row.subject.key, kind].append(row)

    def doubt(self) -> Doubt:
        return Doubt(self._level(), self._turned())

    @property
    def enough(self) -> bool:
        """Just enough, nothing over: then there is a second place, and not beside the first."""
        return not self.near and len(self.along) + len(self.straight) + bool(self.turns) <= 3

    def _level(self) -> Level:
        points = {name for name, _ in self.along}
        full = [name for name in points if (name, 0) in self.along and (name, 1) in self.along]
        if any(self._apart(a, b) for a, b in combinations(sorted(full), 2)):
            return "no"
        if self.turns and not self.straight and all(row.relation != "at angle to" for row in self.turns):
            return self._half_turn()
        return "is" if self.enough else "may"

    def _apart(self, a: str, b: str) -> bool:
        """Whether two points are known to lie well apart, beside how far their readings may be out."""
        pairs = (pair for axis in (0, 1) for pair in product(self.along[a, axis][:3], self.along[b, axis][:3]))
        return any(abs(apart.value) > FAR * apart.half for pair in pairs if (apart := self._between(*pair)))

    def _between(self, one: pins.Row, other: pins.Row) -> Size | None:
        """How far two points are apart along an axis; None where they are read from different things."""
        a, b = self.sizes.get(one.id), self.sizes.get(other.id)
        alike = one.relation == other.relation or not one.reference.point
        if one.reference.key != other.reference.key or not alike or a is None or b is None:
            return None
        return Size(a.value - b.value, a.half + b.half)

    def _half_turn(self) -> Level:
        """With a direction held the part can sit as it did or turned by half: told apart by points that then move."""
        told: Level = "is"
        for axis in (0, 1):
            points = [rows[:3] for (_, at), rows in self.along.items() if at == axis]
            for mine, others in combinations(points, 2):
                pairs = product(mine, others)
                found = [level for pair in pairs if (level := self._turns_over(*pair, axis))]
                if "no" in found:
                    return "no"
                if "may" in found or not found:
                    told = "may"
        return told

    def _turns_over(self, one: pins.Row, other: pins.Row, axis: int) -> Level | None:
        """Whether half a turn, which turns the distance d of two points along an axis to -d, still fits their readings.

        It cannot where they differ by more than the readings may be out and the part may lean besides; it does where
        the readings could be out by twice as much as they differ. Between the two it hangs on the shape of the part.
        None where the two are read from different things.
        """
        apart = self._between(one, other)
        if apart is None:
            return None
        if abs(apart.value) > apart.half + self._lean(one.subject.key, other.subject.key, 1 - axis):
            return "no"
        return "is" if 2 * abs(apart.value) <= apart.half else "may"

    def _lean(self, a: str, b: str, axis: int) -> float:
        """By how much two points may pass each other as the direction is only read so well, both times, in mm."""
        halves = [size.half for row in self.turns if (size := self.sizes.get(row.id))]
        slack = 2 * math.radians(min(halves, default=ABOUT_SQUARE))
        pairs = product(self.along.get((a, axis), ()), self.along.get((b, axis), ()))
        known = [abs(apart.value) + apart.half for pair in pairs if (apart := self._between(*pair))]
        return min(known, default=LONGEST) * math.sin(min(slack, math.pi / 2))

    def _turned(self) -> Level:
        """What is left once the turn is known: a point on a line or circle that is crossed twice."""
        axes = {axis for _, axis in self.along}
        if len(axes) == 2:
            return "no"
        return "is" if self.enough and self.turns and len(self.straight) + len(axes) == 2 else "may"


class Tie(NamedTuple):
    """A reading of a known point of a part: along a unit direction, or (direction None) straight to a known point."""

    point: tuple[float, float]
    target: tuple[float, float]
    direction: tuple[float, float] | None
    sigma: float


@record
class Pose:
    """Another place: the part turned about the origin by `turn` (radians), then shifted."""

    turn: float
    shift: tuple[float, float]

    def moved(self, point: tuple[float, float]) -> tuple[float, float]:
        """Where a point of the part is then."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        return c * point[0] - s * point[1] + self.shift[0], s * point[0] + c * point[1] + self.shift[1]


def others(ties: Sequence[Tie], parallel: bool, most: float) -> list[Pose]:
    """Other places where every tie is kept as well as where the points are now.

    parallel  a line of the part keeps its direction: only no turn and half a turn are tried
    most      by how much the sum of squared misfits over sigma may grow
    """
    from journal.measure.turning import Turning

    search = Turning(ties, parallel)
    found: list[Pose] = []
    for turn, u, v, cost in search.rests():
        pose = Pose(math.remainder(turn, math.tau), (u, v))
        apart = max(math.dist(tie.point, pose.moved(tie.point)) for tie in ties)
        near = apart < SAME_PLACE and abs(pose.turn) < SAME_TURN
        if cost <= most and not near and not any(_same(ties, pose, other) for other in found):
            found.append(pose)
    return found


def _same(ties: Sequence[Tie], one: Pose, other: Pose) -> bool:
    apart = max(math.dist(one.moved(tie.point), other.moved(tie.point)) for tie in ties)
    return apart < SAME_PLACE and abs(math.remainder(one.turn - other.turn, math.tau)) < SAME_TURN
