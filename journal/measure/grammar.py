"""The grammar of a value: what stands written, as amounts with their units. Nothing is worked out here.

[about | at least | at most] amount [± tolerance | to amount] [approx | max ...] [remark]
amount: [-] numeral unit [numeral smaller-unit]          3 ft 4 1/2 in, 2 lb 3 oz, 12° 30'
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from journal.ground.records import record
from journal.measure.numerals import STARTS_NUMBER, Numeral, ValueFault, numeral_at
from journal.measure.units import Unit, by_symbol, unit_at


@record
class Amount:
    """A number with its unit, as written.

    number   in `unit`; a compound (3 ft 4 in) is in the smaller of its two
    unit     None where none was written
    numeral  the last numeral of it: it says how finely the amount was written
    start, end  where it stands
    """

    number: Fraction
    unit: Unit | None
    numeral: Numeral
    start: int
    end: int


@record
class Written:
    """A value as the grammar sees it.

    first      the amount, or the near end of a range
    second     the far end of a range
    plus, minus  the tolerance, both None where there is none
    dash       a dash stands between the ends of the range
    percent    the tolerance is in hundredths of the amount
    about      `about` or its like stood before or after
    bound      "least", "most" or ""
    end        where the value ends and a remark may begin
    """

    first: Amount
    second: Amount | None = None
    plus: Amount | None = None
    minus: Amount | None = None
    dash: bool = False
    percent: bool = False
    about: bool = False
    bound: str = ""
    end: int = 0


# Pairs that make one amount, and how many of the second make one of the first.
COMPOUND: Final[dict[tuple[str, str], int]] = {
    ("yd", "ft"): 3, ("yd", "in"): 36, ("ft", "in"): 12, ("m", "cm"): 100, ("m", "mm"): 1000, ("cm", "mm"): 10,
    ("lb", "oz"): 16, ("kg", "g"): 1000, ("deg", "arcmin"): 60, ("arcmin", "arcsec"): 60,
}  # fmt: skip
# After degrees the marks of feet and inches mean minutes and seconds.
_ARC: Final = {("deg", "'"): "arcmin", ("arcmin", '"'): "arcsec", ("arcmin", "''"): "arcsec"}

_ABOUT_BEFORE: Final = (
    "~", "about", "approx", "approx.", "approximately", "circa", "ca", "ca.", "around", "roughly", "nearly", "almost",
    "just under", "just over", "bare", "full", "a bare", "a full", "a shade under", "a shade over", "say", "a good",
    "scant", "a scant", "barely", "some",
)  # fmt: skip
_ABOUT_AFTER: Final = (
    "approx", "approx.", "approximately", "or so", "or thereabouts", "thereabouts", "ish", "bare", "full", "scant",
    "roughly", "more or less", "give or take", "?", "about",
)  # fmt: skip
_LEAST_BEFORE: Final = (
    "at least", "min", "min.", "minimum", "no less than", "not less than", "more than", "not under", "over", "above",
    ">=", ">", "≥",
)  # fmt: skip
_MOST_BEFORE: Final = (
    "at most", "max", "max.", "maximum", "no more than", "not more than", "less than", "not over", "up to", "under",
    "below", "<=", "<", "≤",
)  # fmt: skip
_LEAST_AFTER: Final = (
    "min",
    "min.",
    "minimum",
    "or more",
    "or over",
    "at least",
    "and up",
    "or longer",
    "and over",
)
_MOST_AFTER: Final = ("max", "max.", "maximum", "or less", "or under", "at most", "or shorter", "and under")


def _phrases(words: tuple[str, ...], lead: str = "", tail: str = "") -> re.Pattern[str]:
    """Any of the phrases at the cursor, not in the middle of a word; case does not matter."""
    longest_first = sorted(words, key=len, reverse=True)
    choices = (r" +".join(map(re.escape, phrase.split())) for phrase in longest_first)
    return re.compile(rf"{lead}(?:{'|'.join(choices)})(?:(?<=\W)|(?![^\W\d_])){tail}", re.IGNORECASE)


def _after(words: tuple[str, ...]) -> re.Pattern[str]:
    """The phrases behind a value; a comma or brackets may set them apart: `312 mm (approx)`."""
    return _phrases(words, lead=r"[,(-]? ?", tail=r"\)?")


_BEFORE: Final = (
    ("about", _phrases(_ABOUT_BEFORE)),
    ("least", _phrases(_LEAST_BEFORE)),
    ("most", _phrases(_MOST_BEFORE)),
)
_AFTER: Final = (
    ("about", _after(_ABOUT_AFTER)),
    ("least", _after(_LEAST_AFTER)),
    ("most", _after(_MOST_AFTER)),
)
_DIAMETER: Final = re.compile(r"Ø|dia\b\.?", re.IGNORECASE)
_FROM: Final = re.compile(r"(?:between|from)(?= )", re.IGNORECASE)
_TO: Final = re.compile(r"(?:to|till|until)(?![^\W\d_])|\.{2,3}|…| - |- |-", re.IGNORECASE)
_AND: Final = re.compile(r"(?:and|to)(?= )|&", re.IGNORECASE)
_PLUS_MINUS: Final = re.compile(r"±|\+ ?/ ?-|\+-|\+ or -|plus ?(?:or|/) ?minus|give or take", re.IGNORECASE)
_PERCENT: Final = re.compile("%")
_NUMBER_NEXT: Final = rf"(?={STARTS_NUMBER.pattern})"
# A minus that begins a tolerance stands apart from the number before it, and touches its own: `312 mm +2 -1`.
_FIRST_SIGN: Final = re.compile(rf"\+(?= ?(?:{STARTS_NUMBER.pattern}))|(?<= )-{_NUMBER_NEXT}")
_SECOND_SIGN: Final = re.compile(rf"[,/]? ?([+-])(?= ?(?:{STARTS_NUMBER.pattern}))")
# After the inches of `3 ft 4`: nothing that could be their unit, or a part of a longer number.
_NUMBER_ENDS: Final = re.compile(r" *(?:$|[^\w\s/.%-]|(?:to|x|by|with|from|and|or)(?![^\W\d_]))")
# After the fraction of `3" 1/2`: no word it could be the size of (`3" 1/2 bolt`), no second unit, no thread.
_FRACTION_ENDS: Final = re.compile(r" *(?:$|[.,;](?: |$)|[^\w\s/.,;%'\"°-]|(?:to|x|by|from|and|or)(?![^\W\d_]))")
_IN_THE: Final = re.compile(r" ?in +(?:the|front|a|an|each|total|all|line|place|this|that)\b", re.IGNORECASE)
# The two letters of `mm` with a space between them.
_TORN: Final = re.compile(r"(?<=m) +m(?!\w)", re.IGNORECASE)
# A hyphen may join a number and its unit (`45-mm`).
_UNIT_BEGINS: Final = re.compile(r" *-?(?=[^\W\d_]|[\"'°%℃℉])")
_JOINT: Final = re.compile(r" *")
_JOINT_OF_FEET: Final = re.compile(r" *- *|,? *")


@dataclass(slots=True)
class Cursor:
    """Where reading has come to in a text whose signs are plain (`units.plain_signs`)."""

    text: str
    decimal: str
    at: int = 0

    def skip_spaces(self) -> None:
        while self.text.startswith(" ", self.at):
            self.at += 1

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """What matches here, spaces before it skipped; the cursor moves only if it does."""
        before = self.at
        self.skip_spaces()
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else before
        return match

    def rest(self) -> str:
        return self.text[self.at :]


def read_written(text: str, decimal: str) -> Written | None:
    """The value at the start of plain `text`; None where it does not start with one."""
    cursor = Cursor(text, decimal)
    marks = _take_marks(cursor, _BEFORE)
    cursor.take(_DIAMETER)
    between = cursor.take(_FROM)
    first = amount_at(cursor)
    if first is None:
        return None
    written = _tolerance(cursor, first) or _range(cursor, first, _AND if between else _TO) or Written(first)
    marks |= _take_marks(cursor, _AFTER)
    bounds = marks - {"about"}
    if bounds and (written.second or written.plus or len(bounds) > 1):
        raise _not_understood(text, 0, cursor.at, "write either a bound (`at least 5 mm`) or a range (`5 to 7 mm`)")
    return replace(written, about="about" in marks, bound="".join(bounds), end=cursor.at)


def _take_marks(cursor: Cursor, table: tuple[tuple[str, re.Pattern[str]], ...]) -> set[str]:
    found: set[str] = set()
    if not cursor.text[cursor.at : cursor.at + 1].strip("0123456789"):
        return found  # most values are no more than a number and its unit: no phrase begins with a digit or at the end
    while name := next((name for name, pattern in table if name not in found and cursor.take(pattern)), None):
        found.add(name)
    return found


def amount_at(cursor: Cursor, signed: bool = True) -> Amount | None:
    cursor.skip_spaces()
    start = cursor.at
    sign = -1 if signed and cursor.text.startswith("-", start) else 1
    skip = 1 if signed and cursor.text[start : start + 1] in ("-", "+") else 0
    numeral = numeral_at(cursor.text, start + skip, cursor.decimal)
    if numeral is None:
        return None
    cursor.at = numeral.end
    unit = _take_unit(cursor)
    amount = Amount(-numeral.number if sign < 0 else numeral.number, unit, numeral, start, cursor.at)
    if sign > 0:
        while unit and (longer := _compound(cursor, amount)):
            amount = longer
    return amount


def _take_unit(cursor: Cursor) -> Unit | None:
    """The unit after a number. `5 in the corner` is not understood either way."""
    joined = _UNIT_BEGINS.match(cursor.text, cursor.at)
    found = unit_at(cursor.text, joined.end()) if joined else None
    if not found:
        return None
    if trap := _IN_THE.match(cursor.text, cursor.at):
        raise ValueFault(
            "ambiguous-value",
            f'"in" in "{trap[0].strip()}" can be inches or the word',
            "write `inch` for the unit, or the unit before the word",
            cursor.at,
            trap.end(),
        )
    start = cursor.at
    unit, cursor.at = found
    if unit.symbol == "m" and (torn := _TORN.match(cursor.text, cursor.at)):
        shown = cursor.text[start : torn.end()].strip()
        message = f'"{shown}" can be read as mm or as m'
        raise ValueFault("ambiguous-value", message, "write the unit in one: `mm`", start, torn.end())
    return unit


def _compound(cursor: Cursor, large: Amount) -> Amount | None:
    """`large` with the smaller unit that follows it, or None (and the cursor where it was)."""
    assert large.unit is not None
    if large.unit.symbol == "in":
        return _inch_and_fraction(cursor, large)
    before = cursor.at
    mark = large.unit.symbol == "ft" and cursor.text[before - 1 : before] == "'"
    dash = (_JOINT_OF_FEET if large.unit.symbol == "ft" else _JOINT).match(cursor.text, before)
    numeral = numeral_at(cursor.text, dash.end(), cursor.decimal) if dash else None
    small = _small_unit(cursor, large.unit, numeral, mark) if numeral else None
    if not numeral or not small:
        cursor.at = before
        return None
    ratio = COMPOUND[large.unit.symbol, small.symbol]
    if large.numeral.grain != 1 or numeral.number >= ratio:
        help = f"write one number of {large.unit.symbol}, or less than {ratio} {small.symbol} after it"
        raise _not_understood(cursor.text, large.start, cursor.at, help)
    return Amount(large.number * ratio + numeral.number, small, numeral, large.start, cursor.at)


def _inch_and_fraction(cursor: Cursor, inches: Amount) -> Amount | None:
    """`2in 3/8`, `3" 1/2`: whole inches, then a part of one on a rule's divisions, and nothing it could be of."""
    joint = _JOINT.match(cursor.text, cursor.at)
    part = numeral_at(cursor.text, joint.end(), cursor.decimal) if joint and inches.numeral.grain == 1 else None
    if not part or part.mixed or not 0 < part.top < part.bottom or part.bottom & (part.bottom - 1):
        return None
    if inches.numeral.bottom or not _FRACTION_ENDS.match(cursor.text, part.end):
        return None
    cursor.at = part.end
    numeral = replace(part, mixed=True)
    return Amount(inches.number + part.number, inches.unit, numeral, inches.start, part.end)


def _small_unit(cursor: Cursor, large: Unit, numeral: Numeral, mark: bool) -> Unit | None:
    """The smaller unit after `numeral`; feet and a bare number (`3' 4`, `3 ft 4`) are feet and inches."""
    cursor.at = numeral.end
    joined = cursor.text[numeral.start - 1 : numeral.start]
    unit = _take_unit(cursor)
    if unit is None:
        ends = _NUMBER_ENDS.match(cursor.text, numeral.end)
        inches = large.symbol == "ft" and ends and (joined == " " or mark)
        return by_symbol("in") if inches else None
    written = cursor.text[numeral.end : cursor.at].strip()
    unit = by_symbol(_ARC[large.symbol, written]) if (large.symbol, written) in _ARC else unit
    return unit if (large.symbol, unit.symbol) in COMPOUND else None


def _tolerance(cursor: Cursor, amount: Amount) -> Written | None:
    """`± 2 mm`, `+/- 5 %`, `+2 -1`; a sign with one side only can be meant in two ways."""
    if cursor.take(_PLUS_MINUS):
        size = amount_at(cursor, signed=False)
        if size is None:
            help = "write the tolerance as `± 2 mm`"
            raise _not_understood(cursor.text, amount.start, len(cursor.text), help)
        percent = size.unit is None and bool(cursor.take(_PERCENT))
        return Written(amount, plus=size, minus=size, percent=percent)
    sign = cursor.take(_FIRST_SIGN)
    size = amount_at(cursor, signed=False) if sign else None
    other_sign = cursor.take(_SECOND_SIGN) if size else None
    other = amount_at(cursor, signed=False) if other_sign else None
    if not sign or not size:
        return None
    if not other or not other_sign or other_sign[1] == sign[0]:
        raise _one_sided(cursor, amount)
    return Written(amount, plus=size, minus=other) if sign[0] == "+" else Written(amount, plus=other, minus=size)


def _one_sided(cursor: Cursor, amount: Amount) -> ValueFault:
    shown = clip(cursor.text[amount.start : cursor.at])
    return ValueFault(
        "ambiguous-value",
        f'"{shown}" can be read as a tolerance or as a sum or range',
        "write both sides (`312 mm +2 -0`), or a range (`312 to 314 mm`)",
        amount.start,
        cursor.at,
    )


def _range(cursor: Cursor, first: Amount, separator: re.Pattern[str]) -> Written | None:
    before = cursor.at
    between = cursor.take(separator)
    if not between:
        return None
    hyphen = between[0] == "-" and cursor.text[between.start() - 1] != " "
    signed = "-" not in between[0]
    second = amount_at(cursor, signed=signed)
    if second is None:
        cursor.at = before
        return None
    has_fraction = bool(first.numeral.bottom or second.numeral.bottom)
    fraction_after_whole = not first.numeral.bottom and second.numeral.bottom and not second.numeral.mixed
    if "-" in between[0] and has_fraction and (hyphen or fraction_after_whole):
        raise _two_readings(cursor.text, first, second)
    return Written(first, second, dash="-" in between[0])


def _two_readings(text: str, first: Amount, second: Amount) -> ValueFault:
    """`5/8-1 in` is 5/8 to 1 in or a slip for 1 5/8 in; `5/8-3/4 in` a range or two readings."""
    left, right = text[first.start : first.numeral.end].strip(), text[second.start : second.end].strip()
    whole, unit = text[second.start : second.numeral.end], text[second.numeral.end : second.end]
    if not first.numeral.bottom:
        other = f"{left} {right}"
    elif not first.numeral.mixed and not second.numeral.bottom:
        other = f"{whole} {left}{unit}"
    else:
        other = f"{left}{unit}, {right}"
    shown, range_, other = clip(text[first.start : second.end]), f"{clip(left)} to {clip(right)}", clip(other)
    message = f'"{shown}" can be read as {range_} or as {other}'
    return ValueFault("ambiguous-value", message, f"write `{range_}` or `{other}`", first.start, second.end)


def _not_understood(text: str, start: int, end: int, help: str) -> ValueFault:
    return ValueFault("not-understood", f'"{clip(text[start:end].strip())}" is not understood', help, start, end)


def clip(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
