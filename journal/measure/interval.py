"""Intervals of exact numbers, open ends allowed."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from journal.ground.records import record


@record
class Interval:
    """All numbers from `low` to `high`, ends included; None is an open end."""

    low: Fraction | None
    high: Fraction | None

    @classmethod
    def around(cls, middle: Fraction, half: Fraction) -> Interval:
        return cls(middle - half, middle + half)

    @property
    def middle(self) -> Fraction | None:
        """Half way between the ends; None where one is open."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2

    @property
    def half(self) -> Fraction | None:
        """Half the width; None where an end is open."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2

    def contains(self, number: Fraction | float) -> bool:
        return (self.low is None or self.low <= number) and (self.high is None or number <= self.high)

    def overlaps(self, other: Interval) -> bool:
        """Whether some number lies in both; touching ends count."""
        return _reaches(self.low, other.high) and _reaches(other.low, self.high)


def _reaches(low: Fraction | None, high: Fraction | None) -> bool:
    return low is None or high is None or low <= high


def hull(intervals: Iterable[Interval]) -> Interval:
    """The smallest interval that holds all of them; ValueError for none."""
    found = tuple(intervals)
    if not found:
        raise ValueError("the hull of no intervals")
    lows, highs = [each.low for each in found], [each.high for each in found]
    low = None if None in lows else min(low for low in lows if low is not None)
    return Interval(low, None if None in highs else max(high for high in highs if high is not None))
