"""What somebody wrote as a value, kept to the letter and understood exactly."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

from journal.ground.records import record
from journal.measure.grammar import Amount, Written, clip, read_written
from journal.measure.numerals import MOST_DIGITS, STARTS_NUMBER, ValueFault, mark_fault
from journal.measure.sizes import all_amounts, glued, has_kept_unit, holds_more, is_thread, said_again
from journal.measure.units import BASE, Unit, by_symbol, plain_signs
from journal.measure.worth import check_agree, check_pointed, supported, weigh

__all__ = [
    "KEPT", "Number", "Value", "ValueFault", "both", "convert", "places_for", "plain", "read_start", "read_value",
    "show", "write_length",
]  # fmt: skip

# The quantity of a dimension that is kept and searched, not computed (`thread`, `leaves`, any words).
KEPT: Final = "kept"


@record
class Number:
    """One number inside a value, for search: an interval in the base unit of its quantity.

    quantity  "length", "angle", ...; "" where no unit stands beside it: then low and high are the bare number
    """

    low: Fraction | None
    high: Fraction | None
    quantity: str


@record
class Value:
    """A value as written and, where it can be computed with, as an interval in the base unit.

    written   to the letter
    quantity  a key of units.BASE ("length", "angle", "torque", ...), "" where it is only kept and searched
    unit      symbol of the base unit ("mm", "deg", "N·m", "kg", "kPa", "V", "A", "ohm", "L", "°C"), or ""
    shown     symbol of the unit it was written in ("in", "ft", "mm", ...), "" likewise
    number    the number written, the middle of a range, the bound of a one-sided value; base unit; None where
              the value is not computed
    low, high the interval as written, without the method's share; base unit; None at an open end
    half      half-width a of what was written (tolerance, range, or what the writing supports); base unit
    about     `about`, `~`, `bare`, `full`, `just under`, `just over` stood with it
    bound     "least" or "most" for a one-sided value, else ""
    numbers   every number in it, for search
    step      half-width that the digits support, whatever a tolerance or range says; base unit
    spread    "range" or "tolerance" where one was written, else ""
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
    step: Fraction | None = None
    spread: str = ""

    @property
    def computable(self) -> bool:
        """Whether it takes part in pins and comparisons: two-sided and understood."""
        return self.number is not None and not self.bound


def read_value(text: str, *, bare: str | None = None, decimal: str = ".", quantity: str = "") -> Value:
    """The value that `text` as a whole says; words after it (a remark) do not matter.

    bare      unit of a number written without one ("mm"); None: such a number is a fault
    decimal   "." or ",", the mark before the decimals
    quantity  what is wanted here: a key of BASE, "" for any, KEPT for a dimension that is only kept and searched
              (never a fault then, but for overlong numbers)

    Raises ValueFault, and nothing else, on any text.
    """
    return read_start(text, bare=bare, decimal=decimal, quantity=quantity)[0]


def read_start(text: str, *, bare: str | None = None, decimal: str = ".", quantity: str = "") -> tuple[Value, int]:
    """As `read_value`, and the offset where the value ends and a remark begins.

    `written` is the value alone, without the remark. Several numbers are kept whole: the end is that of the text.
    """
    return _read(text, bare, decimal, quantity)


@lru_cache(maxsize=1 << 14)  # the same few sizes come again and again: `12 mm` costs a tenth the second time
def _read(text: str, bare: str | None, decimal: str, quantity: str) -> tuple[Value, int]:
    plain = plain_signs(text)
    _check_digits(plain)
    if not STARTS_NUMBER.search(plain):
        return _words_only(text), len(text)
    if quantity == KEPT or is_thread(plain):
        return _keep(text, plain, decimal), len(text)
    check_pointed(plain)
    written = read_written(plain, decimal)
    if written is None:
        return _without_start(text, plain, decimal, quantity), len(text)
    again = said_again(plain, written, decimal)
    if again:
        check_agree(plain, written.first, again)
    elif has_kept_unit(plain, written.end) or holds_more(plain, written, decimal):
        _check_gap(plain, written)
        return _keep(text, plain, decimal), len(text)
    _check_rest(plain, again.end if again else written.end)
    if _LOOSENS.search(plain, written.end):
        written = replace(written, about=True)
    return _work_out(text, plain, written, quantity, bare), written.end


_LONG_RUN: Final = re.compile(rf"[0-9]{{{MOST_DIGITS + 1},}}")
# Words in a remark that take the sharpness from the reading before it.
_LOOSENS: Final = re.compile(
    r"\b(?:approx(?:imate(?:ly)?)?|roughly|or so|thereabouts|guess(?:ed)?|estimated?)\b|\?", re.I
)
_REMARK_BEGINS: Final = re.compile(r" *(?:$|[,;(!]|\.(?: |$))| +(?:- )?[^\W\d_]")


def _check_digits(plain: str) -> None:
    if run := _LONG_RUN.search(plain):
        message = f'"{run[0][:16]}..." has more than {MOST_DIGITS} digits'
        raise ValueFault("not-understood", message, "write a shorter number", run.start(), run.end())


def _words_only(text: str) -> Value:
    written = text.strip()
    if not written:
        raise ValueFault("not-understood", "there is no value", "write a number and its unit", 0, len(text))
    return Value(written)


def _keep(text: str, plain: str, decimal: str) -> Value:
    """The text to the letter, with every number in it for search."""
    amounts = all_amounts(plain, decimal)
    return Value(text.strip(), numbers=tuple(_search_number(amount) for amount in amounts))


def _search_number(amount: Amount) -> Number:
    if amount.unit is None:
        return Number(amount.number, amount.number, "")
    number, step = amount.unit.to_base(amount.number), supported(amount.numeral, amount.unit)
    return Number(number - step, number + step, amount.unit.quantity)


def _without_start(text: str, plain: str, decimal: str, quantity: str) -> Value:
    """Words, then a number: a size (`M8 x 40`) or several readings are kept, one reading is to come first."""
    amounts = all_amounts(plain, decimal)
    if amounts and (mark := re.fullmatch(r"[ +~-]*([.,])", plain[: amounts[0].start])):
        raise mark_fault(plain, mark.start(1), amounts[0].numeral.end, decimal)  # `.5` where "," is the mark
    if quantity == "" or len(amounts) != 1 or glued(plain, amounts[0].start):
        return _keep(text, plain, decimal)
    shown = text[amounts[0].start : amounts[0].end].strip()
    message = f'"{clip(text.strip())}" does not begin with a number'
    raise ValueFault("not-understood", message, f"write `{shown}` first, words after it", 0, len(text))


def _check_gap(plain: str, written: Written) -> None:
    """Two numbers with nothing between (`1'580 mm`), or only a space after one without a unit (`1 580 mm`)."""
    if plain[written.end : written.end + 1].isdigit():
        end = min(written.end + 16, len(plain))
        message = f'"{clip(plain[written.first.start : end])}" is not understood'
        raise ValueFault("not-understood", message, "write a space or a comma between two readings", 0, end)
    numeral = (written.second or written.first).numeral
    gap = re.compile(rf" +(?={STARTS_NUMBER.pattern})").match(plain, numeral.end)
    if gap and gap.end() != numeral.end:
        raise _gap_fault(plain, written.first.start, gap)


def _gap_fault(plain: str, start: int, gap: re.Match[str]) -> ValueFault:
    following = re.compile(r"[^ ]*").match(plain, gap.end())
    end = following.end() if following else gap.end()
    left, right = plain[start : gap.start()], plain[gap.end() : end]
    message = f'"{clip(plain[start:end])}" can be read as {clip(left + right)} or as {clip(left)} and {clip(right)}'
    return ValueFault("ambiguous-value", message, "write one number without a space in it", start, end)


def _check_rest(plain: str, at: int) -> None:
    if not _REMARK_BEGINS.match(plain, at):
        message = f'"{clip(plain[at:].strip())}" after the value is not understood'
        help = "put words after the value in round brackets"
        raise ValueFault("not-understood", message, help, at, len(plain))


def _work_out(text: str, plain: str, written: Written, quantity: str, bare: str | None) -> Value:
    """The interval that the amounts stand for, in the base unit."""
    worth = weigh(plain, written, quantity, bare)
    low, high = {"least": (worth.number, None), "most": (None, worth.number)}.get(
        written.bound, (worth.low, worth.high)
    )
    found = (worth.number, worth.number) if written.bound else (worth.low, worth.high)
    return Value(
        written=text[: written.end].strip(),
        quantity=worth.unit.quantity,
        unit=BASE[worth.unit.quantity],
        shown=worth.unit.symbol,
        number=worth.number,
        low=low,
        high=high,
        half=worth.half,
        about=written.about,
        bound=written.bound,
        numbers=(Number(*found, worth.unit.quantity),),
        step=worth.step,
        spread="range" if written.second else "tolerance" if written.plus else "",
    )


# What each unit is shown in beside it. Litres, volts, amperes, ohms and degrees stand alone.
CONVERSIONS: Final[dict[str, str]] = {
    "mm": "in", "cm": "in", "m": "in", "µm": "thou", "in": "mm", "ft": "mm", "yd": "mm", "thou": "mm",
    "N·m": "lbf·ft", "lbf·ft": "N·m", "lbf·in": "N·m",
    "kg": "lb", "t": "lb", "g": "oz", "lb": "kg", "oz": "g",
    "kPa": "psi", "Pa": "psi", "MPa": "psi", "bar": "psi", "mbar": "psi", "psi": "kPa", "inHg": "kPa",
    "US gal": "L", "UK gal": "L", "°C": "°F", "°F": "°C",
}  # fmt: skip
# Units of neither system are shown in the one that the build shows first.
_FROM_NEITHER: Final[dict[str, dict[str, str]]] = {
    "kgf·m": {"mm": "N·m", "in": "lbf·ft"},
    "kgf/cm²": {"mm": "kPa", "in": "psi"},
}
System = Literal["mm", "in"]
_OTHER: Final[dict[str, System]] = {"mm": "in", "in": "mm"}


def show(value: Value) -> str:
    """The value to the letter."""
    return value.written


def convert(value: Value, system: System) -> str | None:
    """The value in the unit of the other system, rounded to what its writing supports; None where there is none.

    None too where it was written in `system` already, and where it is only kept. The last place shown is the largest
    power of ten within the width that the digits stand for (after NIST LC 1137: 40.1 in is 101.9 cm, not 101.854).
    Inches are decimal: a fraction would claim a division that no rule was read at. A tolerance is shown as limits.
    """
    target = _target(value.shown, system)
    if value.number is None or value.half is None or target is None:
        return None
    places = places_for(min(filter(None, (value.half, value.step)), default=Fraction(0)), target)
    ends = [value.number]
    if value.spread and value.low is not None and value.high is not None and value.half:
        ends = [value.low, value.high]
    lead = "about " if value.about else {"least": "at least ", "most": "at most "}.get(value.bound, "")
    return f"{lead}{' to '.join(_in_unit(by_symbol(target), end, places) for end in ends)} {target}"


def _target(shown: str, system: System) -> str | None:
    target = CONVERSIONS.get(shown) or _FROM_NEITHER.get(shown, {}).get(system)
    return None if target is None or by_symbol(shown).system == system else target


def both(value: Value, first: System) -> tuple[str, str]:
    """The value as written and, to stand small beside it, in the other system; "" where there is nothing to add.

    `first`, the system that the build shows first, decides only for units that belong to neither.
    """
    written_in = by_symbol(value.shown).system if value.shown else ""
    return show(value), convert(value, _OTHER.get(written_in, first)) or ""


def _in_unit(unit: Unit, based: Fraction, places: int) -> str:
    """A base value in a unit, as `plain` writes it; without sums of fractions where the unit has no zero of its own."""
    if unit.offset:
        return plain(unit.from_base(based), places)
    (above, below), (top, bottom) = based.as_integer_ratio(), unit.factor.as_integer_ratio()
    return _digits(above * bottom, below * top, places)


def places_for(half: Fraction, symbol: str) -> int:
    """Decimal places of a unit that a half-width in the base unit supports; below 0 for tens and hundreds."""
    return _places_for(*half.as_integer_ratio(), symbol)


@lru_cache(4096)
def _places_for(above: int, below: int, symbol: str) -> int:
    width = Fraction(2 * above, below) / by_symbol(symbol).factor
    if not width:
        return MOST_PLACES
    return next((n for n in range(-6, MOST_PLACES) if Fraction(10) ** -n <= width), MOST_PLACES)


MOST_PLACES: Final = 4


def write_length(millimetres: Fraction | float, unit: System, places: int) -> str:
    """A length in mm as text in `unit`: `write_length(25.4, "in", 2)` is "1.00 in"."""
    return f"{_in_unit(by_symbol(unit), Fraction(millimetres), places)} {unit}"


def plain(number: Fraction | float, places: int) -> str:
    """Digits with `places` decimals (below 0: rounded to tens, hundreds), half to even, never an exponent or "-0"."""
    return _digits(*number.as_integer_ratio(), places)


def _digits(above: int, below: int, places: int) -> str:
    scaled = _rounded(above * 10**places, below) if places > 0 else _rounded(above, below * 10**-places)
    if places <= 0:
        return str(scaled * 10**-places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    return f"{'-' if scaled < 0 else ''}{digits[:-places]}.{digits[-places:]}"


def _rounded(above: int, below: int) -> int:
    """A quotient as a whole number, half to even, as `round` has it."""
    whole, rest = divmod(above, below)
    return whole + (2 * rest > below or (2 * rest == below and whole % 2 == 1))
