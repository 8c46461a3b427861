"""Two readings against each other, and a reading against what is wanted, each with its doubt."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from journal.ground.records import record
from journal.measure.value import Value

# Coverage factor: about 95 % (JCGM 100:2008, 6.3.3, from memory).
COVERAGE: Final = 2


@record
class Comparison:
    """Whether two readings can be the same.

    difference  second less first, base unit, exact
    limit       k times the combined standard uncertainty: how far they may lie apart
    agree       the difference is within the limit
    """

    difference: Fraction
    limit: float
    agree: bool


def compare(value_a: Value, u_a: float, value_b: Value, u_b: float, k: float = COVERAGE) -> Comparison | None:
    """|b - a| against k * sqrt(u_a² + u_b²); None where they cannot be compared.

    That is where one is not computable (only kept, or one-sided), or they are of different quantities.
    """
    if not (value_a.computable and value_b.computable) or value_a.quantity != value_b.quantity:
        return None
    assert value_a.number is not None
    assert value_b.number is not None
    difference = value_b.number - value_a.number
    limit = k * math.hypot(u_a, u_b)
    return Comparison(difference, limit, abs(difference) <= limit)


@record
class Miss:
    """By how much a reading is not what was wanted.

    too_big   above what is wanted; else below
    least     to the nearer end of what is wanted, base unit, above 0
    """

    too_big: bool
    least: Fraction

    def take_off(self, gap: bool = False) -> bool:
        """Whether metal comes off: of a thing that is too big, beside a gap that is too small."""
        return self.too_big != gap


def against_want(found: Value, u: float, want: Value, k: float = COVERAGE) -> Miss | None:
    """How far `found` misses the interval of `want`; None where it may lie in it, or cannot be compared.

    It misses only where even k times its standard uncertainty does not reach. `want` may be one-sided, `found` not.
    """
    if not found.computable or found.number is None or found.quantity != want.quantity or want.number is None:
        return None
    number, doubt = found.number, k * u
    if want.high is not None and number - want.high > doubt:
        return Miss(True, number - want.high)
    if want.low is not None and want.low - number > doubt:
        return Miss(False, want.low - number)
    return None
