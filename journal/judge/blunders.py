"""Readings that are out by far on a face of many parts, found before they pull at anything.

Where few things are measured, the sum itself shows which reading does not fit. Among hundreds of readings some are
always slips of the tape, and together they hide one another and bend everything: so what is far from where most
readings have it is set aside first, the rest is solved, and each of these is then held against it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from journal.judge.chain import Link
from journal.judge.face import Tape
from journal.judge.verdicts import Residual
from journal.measure.adjustment import BAARDA, NON_CENTRALITY, Adjustment
from journal.measure.observations import Directed, Distance, Observation

MANY_PARTS = 3  # on a face, from where on readings are set aside
FAR = 10.0  # standard uncertainties
ROUGH = 12.0  # mm that a first place may be out
MATTERS = 0.1  # of a mm that something moves where a reading is out by one
MOST = 0.25  # of all readings that may be set aside: with more, what they are held against is not known

Item = Link | Tape
Place = Callable[[str], Sequence[float | None]]  # name -> (u, v), None for what is not known


class Apart(NamedTuple):
    """A reading that was set aside, against all that was not.

    misfit    what would have to be added to it
    expected  standard uncertainty of what the others say it should read
    """

    item: Item
    misfit: float
    expected: float

    @property
    def fits(self) -> bool:
        return abs(self.misfit) <= BAARDA * math.hypot(tape_of(self.item).sigma, self.expected)

    @property
    def residual(self) -> Residual:
        """What is said of it; the residual is what it would be had it pulled at nothing."""
        tape = tape_of(self.item)
        spread = math.hypot(tape.sigma, self.expected)
        share = (tape.sigma / spread) ** 2
        return Residual(
            residual=self.misfit,
            sigma=tape.sigma,
            normalised=self.misfit / spread,
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
    if isinstance(item, Link) and not item.either:
        return item.sign * apart[0] - tape.value
    return math.hypot(*apart) - abs(tape.value)


def far_out(items: Sequence[Item], place: Place) -> list[Item]:
    """Those that are far from fitting; none where they are too many."""
    found = [item for item in items if (off := misfit(item, place)) is not None and _far(off, tape_of(item))]
    return found if len(found) <= MOST * len(items) else []


def _far(off: float, tape: Tape) -> bool:
    return abs(off) > max(FAR * tape.sigma, ROUGH)


def resting(answer: Adjustment, weights: Mapping[tuple[str, int], float]) -> dict[int, float]:
    """The readings that a sum of an adjustment's unknowns, each times its weight, rests on: number -> by how much it is
    out where the reading is out by one."""
    rows = {unknown: row for row, unknown in enumerate(answer.unknowns)}
    known = [(rows[unknown], weight) for unknown, weight in weights.items() if unknown in rows]
    if not known:
        return {}
    moves = sum(answer.cofactor[row] * weight for row, weight in known)

    def move(name: str, part: int) -> float:
        row = rows.get((name, part))
        return 0.0 if row is None else float(moves[row])

    found = {}
    for number, item in enumerate(answer.observations):
        moved = sum(along * (move(b, part) - move(a, part)) for a, b, part, along in _ways(item, answer))
        share = abs(moved) / item.sigma**2
        if share > MATTERS:
            found[number] = share
    return found


def unnoticed(answer: Adjustment, number: int, out: float) -> bool:
    """Whether a reading may be out by so much, and no other would tell."""
    least = answer.detectable[number]
    return least is None or out < least


def _ways(item: Observation, answer: Adjustment) -> Iterator[tuple[str, str, int, float]]:
    """How a reading changes with its ends: from, to, component, and by how much."""
    if isinstance(item, Directed):
        yield item.a, item.b, "xy".index(str(item.axis)), 1.0
    elif isinstance(item, Distance):
        steps = [b - a for a, b in zip(answer.points[item.a], answer.points[item.b], strict=True)]
        length = math.hypot(*steps) or 1.0
        yield from ((item.a, item.b, part, step / length) for part, step in enumerate(steps))
