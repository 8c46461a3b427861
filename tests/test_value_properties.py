"""Whatever is written is read back exactly; whatever is typed is answered."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.ground.names import tidy
from journal.measure.methods import METHODS, method_half, uncertainty
from journal.measure.numerals import MOST_DIGITS, VULGAR, ValueFault
from journal.measure.units import BASE, UNITS, Unit, by_symbol, plain_signs
from journal.measure.value import KEPT, Value, both, places_for, plain, read_start, read_value

settings.register_profile("patient", deadline=None)  # a busy machine is no fault; time has its own tests
settings.load_profile("patient")

Written = tuple[str, Fraction]  # the text, and the number that it is
LENGTH_UNITS = [unit for unit in UNITS if unit.quantity == "length"]
FRACTION_SIGNS = {pair: sign for sign, pair in VULGAR.items()}

quantities = st.sampled_from(["", KEPT, *BASE])


@st.composite
def decimals(draw: st.DrawFn, mark: str = ".") -> Written:
    places = draw(st.integers(0, 4))
    digits = draw(st.integers(0, 10**7))
    number = Fraction(digits, 10**places)
    return plain(number, places).replace(".", mark), number


@st.composite
def fractions(draw: st.DrawFn) -> Written:
    """`5/8`, `1 5/8`, `1-5/8`, `⅝`, `1⅝`: halves to 64ths, in lowest terms or not."""
    bottom = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    top = draw(st.integers(1, bottom - 1))
    whole = draw(st.integers(0, 999))
    sign = FRACTION_SIGNS.get((top, bottom))
    number = whole + Fraction(top, bottom)
    shown = draw(st.sampled_from([f"{top}/{bottom}", f"{top}⁄{bottom}", *([sign] if sign else [])]))
    if not whole:
        return shown, number
    joints = [" ", "-", "\u2010", "\u00a0"] if "/" in shown or "⁄" in shown else ["", " "]
    return f"{whole}{draw(st.sampled_from(joints))}{shown}", number


@st.composite
def feet_and_inches(draw: st.DrawFn) -> Written:
    feet = draw(st.integers(0, 99))
    inches, number = draw(
        st.one_of(fractions(), decimals()).filter(lambda written: written[1] < 12 and len(written[0]) < 9)
    )
    form = draw(
        st.sampled_from(["{} ft {} in", "{}' {}\"", "{}’ {}”", "{}'-{}\"", "{}ft {}in", "{} feet {} inches", "{}′{}″"])
    )
    return form.format(feet, inches), feet * 12 + number


def spelt(unit: Unit) -> st.SearchStrategy[str]:
    return st.sampled_from([unit.symbol, *unit.spellings, *unit.exact])


@given(st.sampled_from(UNITS), st.data())
def test_any_decimal_in_any_unit_in_any_spelling(unit: Unit, data: st.DataObject) -> None:
    text, number = data.draw(decimals())
    gap = data.draw(st.sampled_from(["", " ", "\u00a0", "  "]))
    value = read_value(f"{text}{gap}{data.draw(spelt(unit))}", quantity=data.draw(st.sampled_from(["", unit.quantity])))
    assert (value.number, value.quantity, value.shown) == (unit.to_base(number), unit.quantity, unit.symbol)


@given(st.sampled_from(LENGTH_UNITS), decimals(","))
def test_any_decimal_with_a_comma(unit: Unit, written: Written) -> None:
    value = read_value(f"{written[0]} {unit.symbol}", decimal=",", quantity="length")
    assert value.number == unit.to_base(written[1])


@given(fractions(), spelt(by_symbol("in")))
def test_any_fraction_of_an_inch(written: Written, inch: str) -> None:
    value = read_value(f"{written[0]} {inch}", quantity="length")
    assert value.number == written[1] * Fraction("25.4")
    assert value.half is not None
    assert Fraction(1, 128) * Fraction("25.4") <= value.half <= Fraction(1, 16) * Fraction("25.4")


@given(st.integers(1, 99), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_a_whole_number_run_together_with_a_fraction_is_asked_about(
    whole: int, bottom: int, data: st.DataObject
) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    if int(f"{whole}{top}") < bottom:  # 11/16 is eleven sixteenths to everybody
        assert read_value(f"{whole}{top}/{bottom} in").computable
        return
    with pytest.raises(ValueFault, match=f"{whole} {top}/{bottom} in") as caught:
        read_value(f"{whole}{top}/{bottom} in", quantity="length")
    assert caught.value.word == "ambiguous-value"


@given(st.integers(1, 99), fractions().filter(lambda written: written[1] < 1))
def test_inches_then_a_fraction(whole: int, written: Written) -> None:
    value = read_value(f'{whole}" {written[0]}', quantity="length")
    assert value.number == (whole + written[1]) * Fraction("25.4")


@given(feet_and_inches())
def test_any_feet_and_inches(written: Written) -> None:
    value = read_value(written[0], quantity="length")
    assert (value.number, value.shown) == (written[1] * Fraction("25.4"), "in")


@given(fractions(), fractions(), st.sampled_from([" to ", "..", "…", " - ", " – "]))
def test_any_range_of_fractions(one: Written, other: Written, joint: str) -> None:
    # A bare fraction after a whole number and a dash (`1 - 5/8`) is refused: see the table of faults.
    low, high = sorted((one, other), key=lambda written: written[1])
    value = read_value(f"{low[0]}{joint}{high[0]} in", quantity="length")
    inch = Fraction("25.4")
    assert (value.low, value.high) == (low[1] * inch, high[1] * inch)
    assert value.number == (low[1] + high[1]) * inch / 2


@given(st.integers(0, 99999), st.integers(0, 99999), st.sampled_from(["-", "–", " to ", "..", " - "]))
def test_any_range_of_whole_numbers(one: int, other: int, joint: str) -> None:
    low, high = sorted((one, other))
    value = read_value(f"{low}{joint}{high} mm", quantity="length")
    assert (value.low, value.high) == (low, high)


@given(decimals(), decimals(), decimals(), st.sampled_from(["{} mm +{} -{}", "{} +{} -{} mm", "{} mm +{}/-{}"]))
def test_any_tolerance(number: Written, plus: Written, minus: Written, form: str) -> None:
    value = read_value(form.format(number[0], plus[0], minus[0]), quantity="length")
    assert (value.low, value.number, value.high) == (number[1] - minus[1], number[1], number[1] + plus[1])


@given(fractions(), fractions(), st.sampled_from(["{} in ± {}", "{} ± {} in", "{} in +/- {} in"]))
def test_any_tolerance_in_fractions(number: Written, size: Written, form: str) -> None:
    value = read_value(form.format(number[0], size[0]), quantity="length")
    inch = Fraction("25.4")
    assert (value.number, value.half) == (number[1] * inch, size[1] * inch)


@given(st.one_of(fractions(), decimals()), st.sampled_from(["about {} in", "~{} in", "{} in bare", "just under {} in"]))
def test_about_is_twice_as_wide(written: Written, form: str) -> None:
    sharp, loose = read_value(f"{written[0]} in"), read_value(form.format(written[0]))
    assert (loose.number, loose.about) == (sharp.number, True)
    assert sharp.half is not None
    assert loose.half == 2 * sharp.half


@given(decimals(), st.sampled_from(["at least {} mm", "{} mm or more", "≥ {} mm", "{} mm min"]))
def test_a_bound_is_open_on_one_side(written: Written, form: str) -> None:
    value = read_value(form.format(written[0]), quantity="length")
    assert (value.low, value.high, value.bound, value.computable) == (written[1], None, "least", False)


@given(st.lists(st.integers(1, 9999), min_size=2, max_size=6), st.sampled_from([" x ", "x", "×", " × "]))
def test_every_number_of_a_size_can_be_found(sides: list[int], times: str) -> None:
    value = read_value(f"{times.join(map(str, sides))} mm", quantity="length")
    assert value.number is None
    assert [(each.low, each.high) for each in value.numbers] == [
        (s - Fraction(1, 2), s + Fraction(1, 2)) for s in sides
    ]


@given(st.integers(10**MOST_DIGITS, 10**60))
def test_overlong_numbers_are_refused(number: int) -> None:
    with pytest.raises(ValueFault) as caught:
        read_value(f"{number} mm")
    assert caught.value.word == "not-understood"


# Text like that of notes, and text like nothing.
pieces = st.sampled_from(
    ["5", "8", "12", "1580", "0", "1/2", "5/8", "½", " ", " ", "-", "–", "+", "±", ".", ",", "..", "/", "'", '"', "’",
     "mm", "in", "ft", "°", "N·m", "x", "to", "about", "at least", "max", "M", "(", ")", "?", "%", "=", "hole", "gauge",
     "the", "and", "between", "°C", "\u2009", "\t", "lb", "\x00", "é", "٣", "²", "１"]
)  # fmt: skip
typed = st.one_of(st.lists(pieces, max_size=12).map("".join), st.text(max_size=60))


@settings(max_examples=1500, deadline=None)
@given(typed, quantities, st.sampled_from([None, "mm", "in", "nonsense"]), st.sampled_from([".", ","]))
def test_any_text_is_a_value_or_a_fault(text: str, quantity: str, bare: str | None, decimal: str) -> None:
    fault, value, end = None, Value(""), 0
    try:
        value, end = read_start(text, bare=bare, decimal=decimal, quantity=quantity)
    except ValueFault as raised:
        fault = raised
    if fault:
        assert fault.word in ("not-understood", "no-unit", "ambiguous-value")
        assert fault.message
        assert fault.help
        assert 0 <= fault.offset <= fault.end <= len(text)
        assert quantity != KEPT or "digits" in fault.message or not text.strip()
    else:
        assert_whole(value, quantity)
        assert value.written in text
        assert 0 <= end <= len(text)


def assert_whole(value: Value, quantity: str) -> None:
    """What every value keeps to, whatever it was read from."""
    if value.number is None:
        assert (value.quantity, value.unit, value.shown, value.half, value.low, value.high) == (
            "",
            "",
            "",
            None,
            None,
            None,
        )
        return
    assert value.quantity == (quantity or value.quantity)
    assert value.unit == BASE[value.quantity]
    assert value.half is not None
    assert value.half >= 0
    assert value.numbers
    if value.low is not None and value.high is not None:
        assert value.low <= value.number <= value.high
        assert value.half == max(value.number - value.low, value.high - value.number)
    assert both(value, "mm")[0] == value.written
    for method in (*METHODS, None):
        assert method_half(value, method) >= 0
        assert uncertainty(value, method, from_memory=True) >= uncertainty(value, method)


@given(typed, quantities)
def test_reading_is_the_same_for_phone_signs_and_plain_ones(text: str, quantity: str) -> None:
    """A note that has been tidied reads as the raw one."""

    def outcome(text: str) -> object:
        try:
            value = read_value(text, quantity=quantity)
        except ValueFault as fault:
            return fault.word
        return value.number, value.low, value.high, value.numbers

    assert outcome(plain_signs(text)) == outcome(text)


@given(st.text(max_size=200))
def test_tidy_twice_changes_nothing(text: str) -> None:
    assert tidy(tidy(text)) == tidy(text)


@given(
    st.fractions(min_value=0, max_value=10**6, max_denominator=10**6),
    st.fractions(min_value=Fraction(1, 10**4), max_value=10**4, max_denominator=10**4),
    st.sampled_from(["mm", "in"]),
)
def test_a_conversion_hides_less_than_its_half_width(number: Fraction, half: Fraction, symbol: str) -> None:
    """Rounding moves a number by half the last place at most, and that is within the half-width it stands for."""
    unit = by_symbol(symbol)
    places = places_for(half, symbol)
    shown = unit.to_base(Fraction(plain(unit.from_base(number), places)))
    assert abs(shown - number) <= max(half, unit.factor * Fraction(1, 2 * 10**4))
