"""Readings that are out by far, found before they pull at anything.

Of hundreds of readings some are always slips of the tape, and together they hide one another and bend everything. So
what is far from where most readings have it is set aside first, the rest is solved, and each of these is then held
against it. What is out by less the sum itself shows (`residuals`).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from journal.judge.chain import Link
from journal.judge.face import Tape
from journal.judge.verdicts import Residual
from journal.measure.adjustment import BAARDA, NON_CENTRALITY, Adjustment
from journal.measure.along import AXIS
from journal.measure.observations import Directed, Distance, Observation

if TYPE_CHECKING:
    from journal.measure.adjustment import Array

FAR = 10.0  # standard uncertainties
ROUGH = 12.0  # mm that a first place may be out
MATTERS = 0.1  # of a mm that something moves where a reading is out by one
MOST = 0.25  # of all readings that may be set aside: with more, what they are held against is not known

Item = Link | Tape
Weights = Mapping[tuple[str, int], float]  # (name, axis) -> factor
Place = Callable[[str], Sequence[float | None]]  # name -> (u, v), None for what is not known


class Apart(NamedTuple):
    """A reading that was set aside, against all that was not.

    misfit    what would have to be added to it
    expected  standard uncertainty of what the others say it should read
    """

    tape: Tape
    misfit: float
    expected: float

    @property
    def spread(self) -> float:
        """Standard uncertainty of the misfit."""
        return math.hypot(self.tape.sigma, self.expected)

    @property
    def fits(self) -> bool:
        return abs(self.misfit) <= BAARDA * self.spread

    @property
    def residual(self) -> Residual:
        """What is said of it; the residual is what it would be had it pulled at nothing."""
        tape, share = self.tape, (self.tape.sigma / self.spread) ** 2
        return Residual(
            residual=self.misfit,
            sigma=tape.sigma,
            normalised=self.misfit / self.spread,
            redundancy=share,
            notices=math.sqrt(NON_CENTRALITY / share) * tape.sigma,
            should_read=(abs(tape.value) + self.misfit - tape.added, self.expected),
        )


def tape_of(item: Item) -> Tape:
    return item.tape if isinstance(item, Link) else item


def axes_of(item: Item) -> tuple[int, ...]:
    """The axes along which it says something."""
    return (item.along,) if isinstance(item, Link) else (0, 1)


def misfit(item: Item, place: Place) -> float | None:
    """What would have to be added to a reading for it to fit its two ends; None where one is not placed."""
    tape = tape_of(item)
    ends = [(place(tape.a)[axis], place(tape.b)[axis]) for axis in axes_of(item)]
    apart = [a - b for a, b in ends if a is not None and b is not None]
    if len(apart) < len(ends):
        return None
    return item.misfit(apart[0]) if isinstance(item, Link) else math.hypot(*apart) - tape.value


def far_out(items: Sequence[Item], place: Place) -> list[Item]:
    """Those that are far from fitting; none where they are too many."""
    found = [item for item in items if is_far(item, place)]
    return found if len(found) <= MOST * len(items) else []


def is_far(item: Item, place: Place) -> bool:
    off = misfit(item, place)
    return off is not None and _far(off, tape_of(item))


def unmet(straight: Iterable[Tape], place: Place) -> Iterator[tuple[Tape, ...]]:
    """Straight distances that do not reach, each with its rival where it has one: its ends lie further apart than that
    along an axis alone, or two about one point that do not meet."""
    about: defaultdict[str, list[tuple[Sequence[float | None], Tape]]] = defaultdict(list)
    for tape in straight:
        a, b = place(tape.a), place(tape.b)
        known = [abs(x - y) for x, y in zip(a, b, strict=True) if x is not None and y is not None]
        if len(known) == 1 and known[0] > tape.value and _far(known[0] - tape.value, tape):
            yield (tape,)
        for at, other, key in ((a, b, tape.b), (b, a, tape.a)):
            if None not in at and other == [None, None]:
                about[key].append((at, tape))
    for ties in about.values():
        for (one, first), (other, second) in combinations(ties, 2):
            apart = math.dist(one, other)  # type: ignore[arg-type]  # both are placed
            short = max(apart - first.value - second.value, abs(first.value - second.value) - apart)
            if short > 0 and _far(short, first) and _far(short, second):
                yield first, second


def _far(off: float, tape: Tape) -> bool:
    return abs(off) > max(FAR * tape.sigma, ROUGH)


class Slopes:
    """How the unknowns of an adjustment move with its readings."""

    def __init__(self, answer: Adjustment) -> None:
        import numpy as np  # late, as wherever something is solved

        self.answer, rows = answer, answer.rows
        ways = [
            (number, rows.get((b, part), -1), rows.get((a, part), -1), along / item.sigma**2)
            for number, item in enumerate(answer.observations)
            for a, b, part, along in _ways(item, answer)
        ]
        self.number, self.to, self.start = (np.array([way[n] for way in ways], dtype=np.intp) for n in range(3))
        self.by = np.array([way[3] for way in ways])

    def _along(self, weights: Weights) -> Array:
        """The covariances of all unknowns with a sum of some, each times its weight; a last number for what is none."""
        import numpy as np

        rows = self.answer.rows
        found = np.zeros(len(rows) + 1)
        for unknown, weight in weights.items():
            if unknown in rows:
                found[:-1] += self.answer.cofactor[rows[unknown]] * weight
        return found

    def variance(self, weights: Weights) -> float:
        """Of a sum of unknowns, each times its weight."""
        along = self._along(weights)
        return float(sum(along[self.answer.rows.get(unknown, -1)] * weight for unknown, weight in weights.items()))

    def moved(self, weights: Weights) -> Array:
        """By how much such a sum is out where each of the readings is out by one."""
        import numpy as np

        along = self._along(weights)
        steps = (along[self.to] - along[self.start]) * self.by
        return np.abs(np.bincount(self.number, steps, minlength=len(self.answer.observations)))

    def resting(self, weights: Weights, off: float) -> list[int]:
        """The readings of which one may be so wrong that the sum is off by that much, without any other telling."""
        shares = self.moved(weights)
        return [
            number
            for number, least in enumerate(self.answer.detectable)
            if shares[number] > MATTERS and (least is None or abs(off) / shares[number] < least)
        ]


def _ways(item: Observation, answer: Adjustment) -> Iterator[tuple[str, str, int, float]]:
    """How a reading changes with its ends: from, to, component, and by how much."""
    if isinstance(item, Directed):
        yield item.a, item.b, AXIS[str(item.axis)], 1.0
    elif isinstance(item, Distance):
        steps = [b - a for a, b in zip(answer.points[item.a], answer.points[item.b], strict=True)]
        length = math.hypot(*steps) or 1.0
        yield from ((item.a, item.b, part, step / length) for part, step in enumerate(steps))
