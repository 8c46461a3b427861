"""What somebody wrote as a value, kept to the letter and understood exactly."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Number:
    """One number inside a value, for search: an interval in the base unit of its quantity.

    quantity  "length", "angle", ...; "" where no unit stands beside it (then low and high are the bare number)
    """

    low: Fraction | None
    high: Fraction | None
    quantity: str


@dataclass(frozen=True, slots=True)
class Value:
    """A value as written and, where it can be computed with, as an interval in the base unit.

    written   to the letter
    quantity  a key of units.BASE ("length", "angle", "torque", ...), "" where it is only kept and searched
    unit      symbol of the base unit ("mm", "deg", "N·m", "kg", "kPa", "V", "A", "ohm", "L", "°C"), "" likewise
    shown     symbol of the unit it was written in ("in", "ft", "mm", ...), "" likewise
    number    the number written, the middle of a range, the bound of a one-sided value; base unit; None if not computed
    low, high the interval as written, without the method's share; base unit; None at an open end
    half      half-width a of what was written (tolerance, range, or what the writing supports); base unit
    about     `about`, `~`, `bare`, `full`, `just under`, `just over` stood with it
    bound     "least" or "most" for a one-sided value, else ""
    numbers   every number in it, for search
    """

    written: str
    quantity: str = ""
    unit: str = ""
    shown: str = ""
    number: Fraction | None = None
    low: Fraction | None = None
    high: Fraction | None = None
    half: Fraction | None = None
    about: bool = False
    bound: str = ""
    numbers: tuple[Number, ...] = ()

    @property
    def computable(self) -> bool:
        """Whether it takes part in pins and comparisons: two-sided and understood."""
        return self.number is not None and not self.bound
