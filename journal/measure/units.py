"""The units people write, each with its exact factor to the base unit of its quantity and where that comes from."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from journal.ground.names import PLAIN_SIGNS
from journal.ground.records import record


@record
class Unit:
    """One unit: base value = written value * factor + offset, exactly.

    symbol     how we write it
    quantity   a key of BASE
    factor     base units in one of it
    offset     base value of its zero (only temperatures have one)
    spellings  as people type them, in any capitals; a space in one stands for a space, dot, middle dot, star,
               hyphen or nothing (`N m` is also N·m, N.m, N-m, Nm)
    source     who says so
    system     "mm" for metric, "in" for inch and pound units, "" for those of neither
    exact      spellings where capitals count (mΩ is not MΩ)
    """

    symbol: str
    quantity: str
    factor: Fraction
    offset: Fraction
    spellings: tuple[str, ...]
    source: str
    system: str = ""
    exact: tuple[str, ...] = ()

    def to_base(self, number: Fraction) -> Fraction:
        scaled = number if self.factor == 1 else number * self.factor
        return scaled + self.offset if self.offset else scaled

    def from_base(self, number: Fraction) -> Fraction:
        scaled = number - self.offset if self.offset else number
        return scaled if self.factor == 1 else scaled / self.factor


BASE: Final[dict[str, str]] = {
    "length": "mm",
    "angle": "deg",
    "torque": "N·m",
    "mass": "kg",
    "pressure": "kPa",
    "voltage": "V",
    "current": "A",
    "resistance": "ohm",
    "volume": "L",
    "temperature": "°C",
}

SI = "SI prefix (BIPM SI Brochure, 9th ed., table 7)"
YARD = "international yard and pound of 1959: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, both exact (NBS Circular 572)"
SP811 = "NIST SP 811 (2008), appendix B.8, as an exact chain of in, lb and standard gravity 9.80665 m/s²"
ANGLE = "BIPM SI Brochure, 9th ed., table 8"

_ZERO = Fraction(0)
_INCH = Fraction("25.4")  # mm
_POUND = Fraction("0.45359237")  # kg
_GRAVITY = Fraction("9.80665")  # m/s²
_POUND_FORCE = _POUND * _GRAVITY  # N
_POUND_INCH = _POUND_FORCE * _INCH / 1000  # N·m
_PSI = _POUND_FORCE / _INCH**2 * 1000  # kPa: N/mm² is MPa


def _unit(
    symbol: str,
    quantity: str,
    factor: Fraction | int,
    system: str,
    source: str,
    spellings: str,
    exact: str = "",
) -> Unit:
    """A row of the table: spellings stand in one string, with "," between them."""
    names = tuple(spelling.strip() for spelling in spellings.split(",") if spelling.strip())
    strict = tuple(spelling.strip() for spelling in exact.split(",") if spelling.strip())
    return Unit(symbol, quantity, Fraction(factor), _ZERO, names, source, system, strict)


UNITS: Final[tuple[Unit, ...]] = (
    _unit("mm", "length", 1, "mm", SI, "mm, mms, millimetre, millimetres, millimeter, millimeters"),
    _unit("cm", "length", 10, "mm", SI, "cm, cms, centimetre, centimetres, centimeter, centimeters"),
    _unit("m", "length", 1000, "mm", SI, "m, mtr, mtrs, metre, metres, meter, meters"),
    _unit("µm", "length", Fraction(1, 1000), "mm", SI,
          "µm, um, micron, microns, micrometre, micrometres, micrometer, micrometers"),
    _unit("in", "length", _INCH, "in", YARD, "in, ins, inch, inches, \", ''"),
    _unit("ft", "length", 12 * _INCH, "in", YARD, "ft, feet, foot, '"),
    _unit("yd", "length", 36 * _INCH, "in", YARD, "yd, yds, yard, yards"),
    _unit("thou", "length", _INCH / 1000, "in", YARD, "thou, thous"),
    _unit("deg", "angle", 1, "", ANGLE, "deg, degs, degree, degrees, °"),
    _unit("arcmin", "angle", Fraction(1, 60), "", ANGLE, "arcmin, arc minute, arc minutes"),
    _unit("arcsec", "angle", Fraction(1, 3600), "", ANGLE, "arcsec, arc second, arc seconds"),
    _unit("N·m", "torque", 1, "mm", SI,
          "N m, newton metre, newton metres, newton meter, newton meters, newtons metre"),
    _unit("lbf·ft", "torque", 12 * _POUND_INCH, "in", SP811,
          "lbf ft, lb ft, lbs ft, ft lbf, ft lb, ft lbs, foot pound, foot pounds, pound foot, pound feet, "
          "pounds foot, pounds feet, ft/lb, ft/lbs, lb/ft, lbs/ft"),
    _unit("lbf·in", "torque", _POUND_INCH, "in", SP811,
          "lbf in, lb in, lbs in, in lbf, in lb, in lbs, inch pound, inch pounds, pound inch, pound inches, "
          "in/lb, in/lbs"),
    _unit("kgf·m", "torque", _GRAVITY, "", SP811, "kgf m, kg m, m kg, m kgf, kilogram metre, kilogram metres"),
    _unit("kg", "mass", 1, "mm", SI, "kg, kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes"),
    _unit("g", "mass", Fraction(1, 1000), "mm", SI, "g, gr, gram, grams, gramme, grammes"),
    _unit("t", "mass", 1000, "mm", ANGLE, "t, tonne, tonnes"),
    _unit("lb", "mass", _POUND, "in", YARD, "lb, lbs, pound, pounds"),
    _unit("oz", "mass", _POUND / 16, "in", YARD, "oz, ozs, ounce, ounces"),
    _unit("psi", "pressure", _PSI, "in", SP811, "psi, lbf/in², lb/in², pounds per square inch"),
    _unit("bar", "pressure", 100, "mm", "NIST SP 811 (2008), table 9", "bar, bars"),
    _unit("mbar", "pressure", Fraction(1, 10), "mm", "NIST SP 811 (2008), table 9", "mbar, millibar, millibars"),
    _unit("kPa", "pressure", 1, "mm", SI, "kPa, kilopascal, kilopascals"),
    _unit("Pa", "pressure", Fraction(1, 1000), "mm", SI, "Pa, pascal, pascals"),
    _unit("MPa", "pressure", 1000, "mm", SI, "MPa, N/mm², megapascal, megapascals"),
    _unit("inHg", "pressure", Fraction("3.386389"), "in",
          "NIST SP 811 (2008), appendix B.8: conventional inch of mercury, rounded there", "in Hg, inch Hg, inches Hg"),
    _unit("kgf/cm²", "pressure", Fraction("98.0665"), "", SP811, "kgf/cm², kg/cm², kgf/cm2, kg/cm2"),
    _unit("V", "voltage", 1, "", SI, "V, volt, volts"),
    _unit("mV", "voltage", Fraction(1, 1000), "", SI, "mV, millivolt, millivolts"),
    _unit("A", "current", 1, "", SI, "amp, amps, ampere, amperes", exact="A"),  # "5 a side" is no current
    _unit("mA", "current", Fraction(1, 1000), "", SI, "mA, milliamp, milliamps, milliampere, milliamperes"),
    _unit("ohm", "resistance", 1, "", SI, "ohm, ohms, Ω"),
    _unit("kΩ", "resistance", 1000, "", SI, "kΩ, kohm, kohms, kilohm, kilohms, kiloohm, kiloohms"),
    _unit("MΩ", "resistance", 1_000_000, "", SI, "megohm, megohms, megaohm, megaohms", exact="MΩ, Mohm, Mohms"),
    _unit("mΩ", "resistance", Fraction(1, 1000), "", SI, "milliohm, milliohms", exact="mΩ, mohm, mohms"),
    _unit("L", "volume", 1, "mm", ANGLE, "L, ltr, ltrs, litre, litres, liter, liters"),
    _unit("ml", "volume", Fraction(1, 1000), "mm", ANGLE, "ml, mls, millilitre, millilitres, milliliter, milliliters"),
    _unit("cc", "volume", Fraction(1, 1000), "mm", SI, "cc, ccs, cm³, cm3"),
    _unit("US gal", "volume", 231 * _INCH**3 / 1_000_000, "in", "NIST SP 811 (2008), appendix B.8: 231 in³",
          "US gal, US gallon, US gallons"),
    _unit("UK gal", "volume", Fraction("4.54609"), "in", "NIST SP 811 (2008), appendix B.8, exact",
          "UK gal, UK gallon, UK gallons, imp gal, imperial gallon, imperial gallons, imp gallon, imp gallons"),
    _unit("°C", "temperature", 1, "mm", SI,
          "°C, ° C, ℃, deg C, degs C, degree C, degrees C, C, celsius, centigrade, degree celsius, degrees celsius, "
          "degrees centigrade"),
    Unit("°F", "temperature", Fraction(5, 9), Fraction(-160, 9),
         ("°F", "° F", "℉", "deg F", "degs F", "degree F", "degrees F", "F", "fahrenheit", "degrees fahrenheit"),
         "NIST SP 811 (2008), appendix B.8: t/°C = (t/°F - 32)/1.8", "in"),
)  # fmt: skip

# Counts and sizes that are kept to the letter: a gauge needs its material, a gallon or ton its country, and the rest
# measure nothing the tool works with.
KEPT_WORDS: Final = (
    "gauge, gage, ga, swg, awg, bwg, tpi, teeth, tooth, turn, turns, thread, threads, gal, gals, gallon, gallons, "
    "pint, pints, quart, quarts, qt, pt, ton, tons, cwt, Ah, mAh, amp hour, amp hours, W, kW, watt, watts, hp, bhp, "
    "rpm, Hz, %, off"
).split(", ")

# One character for one, so that an offset into the plain text is an offset into the text.
_PLAIN: Final = PLAIN_SIGNS | str.maketrans(
    {
        **dict.fromkeys("·⋅∙•‧", "·"),
        **dict.fromkeys("×✕✖╳", "x"),
        **dict.fromkeys("≈∼≅～", "~"),
        **dict.fromkeys("º˚", "°"),
        **{"⁄": "/", "∕": "/", "μ": "µ", "\u2126": "Ω", "⌀": "Ø", "ø": "Ø"},
    }
)
_JOINERS: Final = str.maketrans("", "", " .·*-")
_JOINER_PATTERN: Final = r"\.?[ ·*.-]?"


def plain_signs(text: str) -> str:
    """`text` with typographic quotes, primes, dashes, spaces and signs as the keyboard's; the length stays."""
    return text.translate(_PLAIN)


def _key(spelling: str) -> str:
    return spelling.translate(_JOINERS)


_ANY_CASE: Final[dict[str, Unit]] = {
    _key(spelling).lower(): unit for unit in UNITS for spelling in (unit.symbol, *unit.spellings)
    if spelling not in unit.exact
}  # fmt: skip
_EXACT: Final[dict[str, Unit]] = {_key(spelling): unit for unit in UNITS for spelling in unit.exact}
_BY_SYMBOL: Final[dict[str, Unit]] = {unit.symbol: unit for unit in UNITS}


def any_of(spellings: list[str] | tuple[str, ...]) -> str:
    """A pattern for any of these spellings, the longest first; a space in one matches any joiner."""
    longest_first = sorted(set(spellings), key=lambda spelling: (-len(spelling), spelling))
    return "|".join(_JOINER_PATTERN.join(map(re.escape, spelling.split(" "))) for spelling in longest_first)


# Not in the middle of a longer word (`mm²`, `min`, `mm/m`), but before a number (`3′½″`, `5/8in/16mm`) and a
# multiplying x (`60mmx40mm`).
_WORD_ENDS: Final = r"(?:(?![^\W\d_¼-¾⅐-⅞]|[²³^]|/(?![0-9¼-¾⅐-⅞]))|(?=x ?[0-9]))"
_UNIT: Final = re.compile(
    f"(?:{any_of([s for unit in UNITS for s in (unit.symbol, *unit.spellings, *unit.exact)])}){_WORD_ENDS}"
    r"(?:(?<=[A-Za-z])\.(?![0-9.]))?",
    re.IGNORECASE,
)


def find_unit(text: str) -> Unit | None:
    """The unit that the whole of `text` spells, or None."""
    return _look_up(plain_signs(text).strip())


def unit_at(text: str, at: int) -> tuple[Unit, int] | None:
    """The unit that stands in plain `text` at an offset, the longest spelling that fits, and where it ends."""
    match = _UNIT.match(text, at)
    unit = _look_up(match[0]) if match else None
    return (unit, match.end()) if match and unit else None


def by_symbol(symbol: str) -> Unit:
    """The unit of a symbol of the table; KeyError where there is none."""
    return _BY_SYMBOL[symbol]


def _look_up(spelling: str) -> Unit | None:
    key = _key(spelling)
    return _EXACT.get(key) or _ANY_CASE.get(key.lower())
