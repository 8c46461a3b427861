"""Readings that are out by far on a face of many parts, found before they pull at anything.

Where few things are measured, the sum itself shows which reading does not fit. Among hundreds of readings some are
always slips of the tape, and together they hide one another and bend everything: so what is far from where most
readings have it is set aside first, the rest is solved, and each of these is then held against it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from journal.judge.chain import Link
from journal.judge.face import Tape
from journal.judge.verdicts import Residual
from journal.measure.adjustment import BAARDA, LEAST_CHECK, NON_CENTRALITY

MANY_PARTS = 3  # on a face, from where on readings are set aside
FAR = 10.0  # standard uncertainties
ROUGH = 12.0  # mm that a first place may be out
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


def rivals(item: Item, end: str, others: Sequence[Item], shares: Mapping[str, float]) -> list[Item]:
    """Readings that say where an end is along an axis of `item`, if nothing checks any of them: these may be wrong as
    well as this one.

    shares  reading id -> how much of it the others check, 0 to 1; only of what took part
    """
    found: list[Item] = []
    for axis in axes_of(item):
        of_end = [
            other
            for other in others
            if end in (tape_of(other).a, tape_of(other).b)
            and axis in axes_of(other)
            and tape_of(other).id in shares
        ]
        if all(shares[tape_of(other).id] < LEAST_CHECK for other in of_end):
            found += of_end
    return found
