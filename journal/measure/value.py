"""What somebody wrote as a value, kept to the letter and understood exactly."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from journal.ground.names import distance
from journal.measure.grammar import Amount, Written, clip, read_written
from journal.measure.numerals import MOST_DIGITS, STARTS_NUMBER, Numeral, ValueFault
from journal.measure.sizes import all_amounts, glued, has_kept_unit, holds_more, is_thread
from journal.measure.units import BASE, UNITS, Unit, find_unit, plain_signs

__all__ = ["KEPT", "Number", "Value", "ValueFault", "read_start", "read_value"]

# The quantity of a dimension that is kept and searched, not computed (`thread`, `leaves`, any words).
KEPT: Final = "kept"


@dataclass(frozen=True, slots=True)
class Number:
    """One number inside a value, for search: an interval in the base unit of its quantity.

    quantity  "length", "angle", ...; "" where no unit stands beside it: then low and high are the bare number
    """

    low: Fraction | None
    high: Fraction | None
    quantity: str


@dataclass(frozen=True, slots=True)
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


def read_start(
    text: str, *, bare: str | None = None, decimal: str = ".", quantity: str = ""
) -> tuple[Value, int]:
    """As `read_value`, and the offset where the value ends and a remark begins.

    `written` is the value alone, without the remark. Several numbers are kept whole: the end is that of the text.
    """
    plain = plain_signs(text)
    _check_digits(plain)
    if not STARTS_NUMBER.search(plain):
        return _words_only(text), len(text)
    if quantity == KEPT or is_thread(plain):
        return _keep(text, plain, decimal), len(text)
    written = read_written(plain, decimal)
    if written is None:
        return _without_start(text, plain, decimal, quantity), len(text)
    if has_kept_unit(plain, written.end) or holds_more(plain, written, decimal):
        _check_gap(plain, written)
        return _keep(text, plain, decimal), len(text)
    _check_rest(plain, written)
    return _work_out(text, plain, written, quantity, bare), written.end


_LONG_RUN: Final = re.compile(rf"[0-9]{{{MOST_DIGITS + 1},}}")
_REMARK_BEGINS: Final = re.compile(r" *(?:$|[,;(!]|\.(?: |$))| +(?:- )?[^\W\d_]")
_WORD: Final = re.compile(r" *-?([^\W\d_][^\s,;()]*)")
# Words that may stand straight after a number whose unit build.toml gives: what follows is no unit.
_NOT_UNITS: Final = frozenset("by with using from at on when in want".split())


def _check_digits(plain: str) -> None:
    if run := _LONG_RUN.search(plain):
        message = f"“{run[0][:16]}...” has more than {MOST_DIGITS} digits"
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
    if quantity == "" or len(amounts) != 1 or glued(plain, amounts[0].start):
        return _keep(text, plain, decimal)
    shown = text[amounts[0].start : amounts[0].end].strip()
    message = f"“{clip(text.strip())}” does not begin with a number"
    raise ValueFault("not-understood", message, f"write `{shown}` first, words after it", 0, len(text))


def _check_gap(plain: str, written: Written) -> None:
    """Two numbers with only a space between, the first without a unit: `1 580 mm`."""
    numeral = (written.second or written.first).numeral
    gap = re.compile(rf" +(?={STARTS_NUMBER.pattern})").match(plain, numeral.end)
    if gap and gap.end() != numeral.end:
        _raise_gap(plain, written.first.start, gap)


def _raise_gap(plain: str, start: int, gap: re.Match[str]) -> None:
    following = re.compile(r"[^ ]*").match(plain, gap.end())
    end = following.end() if following else gap.end()
    left, right = plain[start : gap.start()], plain[gap.end() : end]
    message = f"“{clip(plain[start:end])}” can be read as {clip(left + right)} or as {clip(left)} and {clip(right)}"
    raise ValueFault("ambiguous-value", message, "write one number without a space in it", start, end)


def _check_rest(plain: str, written: Written) -> None:
    if not _REMARK_BEGINS.match(plain, written.end):
        message = f"“{clip(plain[written.end :].strip())}” after the value is not understood"
        help = "put words after the value in round brackets"
        raise ValueFault("not-understood", message, help, written.end, len(plain))


def _work_out(text: str, plain: str, written: Written, quantity: str, bare: str | None) -> Value:
    """The interval that the amounts stand for, in the base unit."""
    unit = _common_unit(written) or _bare_unit(plain, written, quantity, bare)
    _check_quantity(plain, written, unit, quantity)
    low, number, high = _interval(plain, written, unit)
    step = max(supported(amount.numeral, unit_of(amount, unit)) for amount in _ends(written))
    half = max(number - low, high - number)
    sides = {"least": (number, None), "most": (None, number)}.get(written.bound, (low, high))
    found = (number, number) if written.bound else (low, high)
    return Value(
        written=text[: written.end].strip(),
        quantity=unit.quantity,
        unit=BASE[unit.quantity],
        shown=unit_of(written.first, unit).symbol,
        number=number,
        low=sides[0],
        high=sides[1],
        half=half,
        about=written.about,
        bound=written.bound,
        numbers=(Number(*found, unit.quantity),),
        step=step,
    )


def _ends(written: Written) -> tuple[Amount, ...]:
    return (written.first, written.second) if written.second else (written.first,)


def unit_of(amount: Amount, common: Unit) -> Unit:
    return amount.unit or common


def _common_unit(written: Written) -> Unit | None:
    """The unit that those without one take: the far end's, then the tolerance's, then the near end's."""
    others = (written.first, written.second, written.minus, written.plus)
    return next((amount.unit for amount in others if amount and amount.unit), None)


def _bare_unit(plain: str, written: Written, quantity: str, bare: str | None) -> Unit:
    """The unit of build.toml for a value without one; ValueFault where there is none, or a word looks like one."""
    word = _WORD.match(plain, written.end)
    unit = find_unit(bare) if bare else None
    if unit and quantity in ("", unit.quantity) and (not word or word[1].lower() in _NOT_UNITS):
        return unit
    start, shown = written.first.start, plain[written.first.start : written.end].strip()
    example = _EXAMPLES.get(quantity, "312 mm")
    if word and (near := _near_unit(word[1])):
        message = f"“{clip(word[1])}” is not a unit; “{near}” is"
        raise ValueFault("not-understood", message, f"write `{clip(shown)} {near}`", word.start(1), word.end())
    seen = f"; “{clip(word[1])}” is not one" if word else ""
    raise ValueFault(
        "no-unit", f"“{clip(shown)}” has no unit{seen}", f"write the unit after it, as in `{example}`", start, written.end
    )


_EXAMPLES: Final = {
    "length": "312 mm", "angle": "45°", "torque": "25 N·m", "mass": "4 kg", "pressure": "2 bar", "voltage": "12 V",
    "current": "5 A", "resistance": "10 ohm", "volume": "2 L", "temperature": "20 °C",
}  # fmt: skip


def _near_unit(word: str) -> str:
    """The unit's name that a long word misses by a letter or two; "" if none."""
    if not 4 <= len(word) <= 20:
        return ""
    names = (name for unit in UNITS for name in unit.spellings if len(name) > 3)
    near = sorted((distance(word.lower(), name), name) for name in names)
    return near[0][1] if near[0][0] <= (1 if len(word) < 6 else 2) else ""


def _check_quantity(plain: str, written: Written, unit: Unit, quantity: str) -> None:
    amounts = [amount for amount in (*_ends(written), written.plus, written.minus) if amount]
    odd = next((a for a in amounts if unit_of(a, unit).quantity != (quantity or unit.quantity)), None)
    if odd:
        shown = clip(plain[odd.start : odd.end].strip())
        message = f"“{shown}” is {_ARTICLES[unit_of(odd, unit).quantity]}, and here {_ARTICLES[quantity or unit.quantity]} belongs"
        example = f"write it as in `{_EXAMPLES[quantity or unit.quantity]}`"
        raise ValueFault("not-understood", message, example, odd.start, odd.end)
    for amount in amounts:
        _check_fraction(plain, amount, unit_of(amount, unit))


_ARTICLES: Final = {
    quantity: ("an " if quantity[0] in "ae" else "a ") + quantity for quantity in BASE
}


def _check_fraction(plain: str, amount: Amount, unit: Unit) -> None:
    """`10/12 mm` or a bare `5/8` in millimetres is more likely two numbers, or inches, than a fraction."""
    numeral = amount.numeral
    if not numeral.bottom or not numeral.top or "/" not in plain[numeral.start : numeral.end]:
        return
    inches = unit.system == "in" and (numeral.bottom & (numeral.bottom - 1) == 0 or numeral.bottom in (3, 10, 100))
    plainly = amount.unit is not None and (numeral.top == 1 or numeral.mixed)
    if inches or plainly or (amount.unit is None and numeral.top == 1 and numeral.bottom <= 5 and unit.system != "mm"):
        return
    shown = plain[numeral.start : numeral.end]
    other = f"{shown} in" if amount.unit is None else f"{numeral.top} and {numeral.bottom} {unit.symbol}"
    message = f"“{clip(plain[amount.start : amount.end].strip())}” can be read as {shown} {unit.symbol} or as {other}"
    help = "write the unit after the fraction, or a decimal number"
    raise ValueFault("ambiguous-value", message, help, amount.start, amount.end)


def supported(numeral: Numeral, unit: Unit) -> Fraction:
    """Half-width that the digits support, in the base unit.

    Half the last place, never more than 5 mm for a length. Inches: whole 1/8; halves, quarters, eighths 1/16; finer
    fractions half their division (common practice, no published source).
    """
    step = numeral.grain / 2
    if unit.symbol == "in" and numeral.grain == 1:
        step = Fraction(1, 8)
    elif unit.symbol == "in" and numeral.bottom in (2, 4):
        step = Fraction(1, 16)
    step *= unit.factor
    return min(step, MOST_STEP) if unit.quantity == "length" else step


MOST_STEP: Final = Fraction(5)  # mm


def _interval(plain: str, written: Written, unit: Unit) -> tuple[Fraction, Fraction, Fraction]:
    """Low end, number, high end in the base unit; `about` makes it twice as wide."""
    first_unit = unit_of(written.first, unit)
    number = first_unit.to_base(written.first.number)
    if written.second:
        ends = sorted((number, unit_of(written.second, unit).to_base(written.second.number)))
        if ends[0] != number:
            _check_shorthand(plain, written)
        number = (ends[0] + ends[1]) / 2
        below = above = ends[1] - number
    elif written.plus and written.minus:
        below, above = (_tolerance(size, number, unit, written.percent) for size in (written.minus, written.plus))
    else:
        below = above = supported(written.first.numeral, first_unit)
    times = 2 if written.about else 1
    return number - times * below, number, number + times * above


def _tolerance(size: Amount, number: Fraction, unit: Unit, percent: bool) -> Fraction:
    return abs(number) * size.number / 100 if percent else size.number * unit_of(size, unit).factor


def _check_shorthand(plain: str, written: Written) -> None:
    """`1580-85 mm`: the far end in short, or a range the wrong way round."""
    first, second = written.first.numeral, written.second.numeral if written.second else written.first.numeral
    shown, short = plain[first.start : first.end], plain[second.start : second.end]
    if len(short) < len(shown) and not first.bottom and not second.bottom:
        long = shown[: -len(short)] + short
        message = f"“{shown}” to “{short}” can be read as {shown} to {long} or as {short} to {shown}"
        raise ValueFault("ambiguous-value", message, "write both ends in full", first.start, second.end)
