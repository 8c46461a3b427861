"""What an amount is worth: its unit settled, its interval in the base unit, and the ways it can be taken wrongly."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import Final

from journal.ground.names import distance
from journal.ground.records import record
from journal.measure.grammar import Amount, Written, clip
from journal.measure.numerals import STARTS_NUMBER, Numeral, ValueFault
from journal.measure.units import BASE, UNITS, Unit, by_symbol, find_unit, unit_at


@record
class Worth:
    """An amount in the base unit of its quantity, exactly.

    unit    the one it was written in; of a range, its near end's
    number  the number written, the middle of a range
    low, high  the interval that it stands for
    half    its half-width, the larger side's where they differ
    step    half-width that its digits support
    """

    unit: Unit
    number: Fraction
    low: Fraction
    high: Fraction
    half: Fraction
    step: Fraction


# Words that may stand straight after a number whose unit build.toml gives: what follows is no unit.
_NOT_UNITS: Final = frozenset(["by", "with", "using", "from", "at", "on", "when", "in", "want"])
_WORD: Final = re.compile(r" *-?([^\W\d_][^\s,;()]*)")
# A mil is a thou in America and, said shortly, a millimetre in a British workshop.
_TWO_MEANINGS: Final = dict.fromkeys(["mil", "mils"], ("thou", "mm"))
_EXAMPLES: Final = {
    "length": "312 mm", "angle": "45°", "torque": "25 N·m", "mass": "4 kg", "pressure": "2 bar", "voltage": "12 V",
    "current": "5 A", "resistance": "10 ohm", "volume": "2 L", "temperature": "20 °C",
}  # fmt: skip
_ARTICLES: Final = {quantity: ("an " if quantity[0] == "a" else "a ") + quantity for quantity in BASE}
MOST_STEP: Final = Fraction(5)  # mm, for a length whose last place is coarser: `2 m`


def weigh(plain: str, written: Written, quantity: str, bare: str | None) -> Worth:
    """The worth of a value of plain text; ValueFault where its unit is missing, or it can be taken two ways."""
    unit = _common_unit(written) or _bare_unit(plain, written, quantity, bare)
    _check_quantity(plain, written, unit, quantity)
    below, number, above = _interval(plain, written, unit)
    step = max(supported(amount.numeral, amount.unit or unit) for amount in _ends(written))
    half = max(below, above)
    return Worth(written.first.unit or unit, number, number - below, number + above, half, step)


def _ends(written: Written) -> tuple[Amount, ...]:
    return (written.first, written.second) if written.second else (written.first,)


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
    if word and word[1].lower() in _TWO_MEANINGS:
        one, other = (f"{clip(shown)} {meant}" for meant in _TWO_MEANINGS[word[1].lower()])
        message = f'"{clip(shown)} {word[1]}" can be read as {one} or as {other}'
        raise ValueFault("ambiguous-value", message, f"write `{one}` or `{other}`", start, word.end())
    if word and (near := _near_unit(word[1])):
        message = f'"{clip(word[1])}" is not a unit; "{near}" is'
        raise ValueFault("not-understood", message, f"write `{clip(shown)} {near}`", word.start(1), word.end())
    seen = f'; "{clip(word[1])}" is not one' if word else ""
    raise ValueFault(
        "no-unit",
        f'"{clip(shown)}" has no unit{seen}',
        f"write the unit after it, as in `{example}`",
        start,
        written.end,
    )


def _near_unit(word: str) -> str:
    """The unit's name that a long word misses by a letter or two; "" if none."""
    if not 4 <= len(word) <= 20:
        return ""
    names = (name for unit in UNITS for name in unit.spellings if len(name) > 3)
    near = sorted((distance(word.lower(), name), name) for name in names)
    return near[0][1] if near[0][0] <= (1 if len(word) < 6 else 2) else ""


def _check_quantity(plain: str, written: Written, unit: Unit, quantity: str) -> None:
    amounts = [amount for amount in (*_ends(written), written.plus, written.minus) if amount]
    odd = next((a for a in amounts if (a.unit or unit).quantity != (quantity or unit.quantity)), None)
    if odd:
        shown = clip(plain[odd.start : odd.end].strip())
        found, wanted = (odd.unit or unit).quantity, quantity or unit.quantity
        message = f'"{shown}" is {_ARTICLES[found]}, and here {_ARTICLES[wanted]} belongs'
        example = f"write it as in `{_EXAMPLES[wanted]}`"
        raise ValueFault("not-understood", message, example, odd.start, odd.end)
    for amount in amounts:
        _check_fraction(plain, amount, (amount.unit or unit))


def _check_fraction(plain: str, amount: Amount, unit: Unit) -> None:
    """`10/12 mm` or a bare `5/8` in millimetres is more likely two numbers, or inches, than a fraction."""
    numeral = amount.numeral
    if not numeral.bottom or not numeral.top or "/" not in plain[numeral.start : numeral.end]:
        return
    inches = unit.system == "in" and (numeral.bottom & (numeral.bottom - 1) == 0 or numeral.bottom in (3, 10, 100))
    plainly = amount.unit is not None and (numeral.top == 1 or numeral.mixed)
    if inches:
        _check_run_together(plain, amount)
    if inches or plainly or (amount.unit is None and numeral.top == 1 and numeral.bottom <= 5 and unit.system != "mm"):
        return
    shown = plain[numeral.start : numeral.end]
    other = f"{shown} in" if amount.unit is None else f"{numeral.top} and {numeral.bottom} {unit.symbol}"
    message = f'"{clip(plain[amount.start : amount.end].strip())}" can be read as {shown} {unit.symbol} or as {other}'
    help = "write the unit after the fraction, or a decimal number"
    raise ValueFault("ambiguous-value", message, help, amount.start, amount.end)


def _check_run_together(plain: str, amount: Amount) -> None:
    """`31/2 in` is 3 1/2 in to most, and 15 1/2 in to the letter; `9/8 in` can only be 1 1/8 in."""
    top, bottom, digits = amount.numeral.top, amount.numeral.bottom, str(amount.numeral.top)
    cuts = [at for at in range(1, len(digits)) if digits[at] != "0" and int(digits[at:]) < bottom]
    if top < bottom or not cuts:
        return
    whole, over = divmod(top, bottom)
    numbers = [f"{digits[:at]} {digits[at:]}/{bottom}" for at in cuts]
    numbers.append(f"{whole} {over}/{bottom}" if over else str(whole))
    before, after = plain[amount.start : amount.numeral.start], plain[amount.numeral.end : amount.end]
    *others, last = [f"{before}{number}{after}".strip() for number in numbers]
    shown = clip(plain[amount.start : amount.end].strip())
    message = f'"{shown}" can be read as {", ".join(others)} or as {last}'
    help = f"write {', '.join(f'`{other}`' for other in others)} or `{last}`"
    raise ValueFault("ambiguous-value", message, help, amount.start, amount.end)


_POINTED: Final = re.compile(
    r"(?:[0-9]+ ?(?:'|ft\b|foot\b|feet\b)[ -]*)?"
    r"((?P<whole>[1-9][0-9]*)[.,](?P<top>[1-9][0-9]?)/(?P<bottom>2|4|8|16|32|64))(?![0-9/.,])(?P<gap> *)"
)


def check_pointed(plain: str) -> None:
    """`3.1/2 in`, an old way to write 3 1/2; ValueFault where the first number of plain text is such a one."""
    first = STARTS_NUMBER.search(plain)
    found = _POINTED.match(plain, first.start()) if first else None
    if not found or int(found["top"]) >= int(found["bottom"]):
        return
    unit = unit_at(plain, found.end())
    if unit and unit[0].symbol != "in":
        return
    end = unit[1] if unit else found.end(1)
    shown, inches = plain[found.start(1) : end], plain[found.end(1) : end]
    one, two = f"{found['whole']} {found['top']}/{found['bottom']}{inches}", shown.replace("/", " and ")
    message = f'"{clip(shown)}" can be read as {clip(one)} or as {clip(two)}'
    raise ValueFault("ambiguous-value", message, f"write `{clip(one)}`, or one reading a line", found.start(1), end)


def check_agree(plain: str, one: Amount, other: Amount) -> None:
    """ValueFault where a reading given in two units is not the same to the rounding of the coarser."""
    numbers = [amount.unit.to_base(amount.number) for amount in (one, other) if amount.unit]
    steps = [supported(amount.numeral, amount.unit) for amount in (one, other) if amount.unit]
    if abs(numbers[0] - numbers[1]) <= max(steps):
        return
    first, second = (clip(plain[amount.start : amount.end].strip()) for amount in (one, other))
    message = f'"{clip(plain[one.start : other.end])}" can be read as {first} or as {second}, and they differ'
    raise ValueFault("ambiguous-value", message, f"write `{first}` or `{second}`", one.start, other.end)


def supported(numeral: Numeral, unit: Unit) -> Fraction:
    """Half-width that the digits support, in the base unit.

    Half the last place, never more than 5 mm for a length. Inches: whole 1/8; halves, quarters, eighths 1/16; finer
    fractions half their division (common practice, no published source).
    """
    return _step(numeral.grain.denominator, numeral.bottom, unit.symbol)


@lru_cache(maxsize=256)  # there are few, and every value asks twice
def _step(parts: int, bottom: int, symbol: str) -> Fraction:
    """For a last place worth one of so many `parts`; `bottom` is that of the fraction, 0 where there is none."""
    unit = by_symbol(symbol)
    step = Fraction(1, 2 * parts)
    if unit.symbol == "in" and parts == 1:
        step = Fraction(1, 8)
    elif unit.symbol == "in" and bottom in (2, 4):
        step = Fraction(1, 16)
    step *= unit.factor
    return min(step, MOST_STEP) if unit.quantity == "length" else step


def _interval(plain: str, written: Written, unit: Unit) -> tuple[Fraction, Fraction, Fraction]:
    """Half-width below, number, half-width above in the base unit; `about` makes them twice as wide."""
    first_unit = written.first.unit or unit
    number = first_unit.to_base(written.first.number)
    if written.second:
        ends = sorted((number, (written.second.unit or unit).to_base(written.second.number)))
        if ends[0] != number:
            _check_order(plain, written, written.second)
        number = (ends[0] + ends[1]) / 2
        below = above = ends[1] - number
    elif written.plus and written.minus:
        below, above = (_tolerance(size, number, unit, written.percent) for size in (written.minus, written.plus))
    else:
        below = above = supported(written.first.numeral, first_unit)
    if written.about:
        below, above = 2 * below, 2 * above
    return below, number, above


def _tolerance(size: Amount, number: Fraction, unit: Unit, percent: bool) -> Fraction:
    return abs(number) * size.number / 100 if percent else size.number * (size.unit or unit).factor


def _check_order(plain: str, written: Written, second: Amount) -> None:
    """A range the wrong way round: `1580-85 mm` is short for 1585, and `50 mm - 10` may be a sum."""
    near, far = written.first.numeral, second.numeral
    shown, last = plain[near.start : near.end], plain[far.start : far.end]
    shorthand = len(last) < len(shown) and not near.bottom and not far.bottom
    if not shorthand and not written.dash:
        return
    other = f"{shown} to {shown[: -len(last)] + last}" if shorthand else f"{shown} less {last}"
    message = f'"{clip(plain[near.start : second.end])}" can be read as {last} to {shown} or as {other}'
    help = f"write the smaller end first, and both in full: `{last} to {shown}`"
    raise ValueFault("ambiguous-value", message, help, written.first.start, second.end)
