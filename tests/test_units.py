"""The units: what people type, and what each is worth."""

from __future__ import annotations

from fractions import Fraction

import pytest

from journal.measure.units import BASE, UNITS, by_symbol, find_unit, plain_signs, unit_at

TYPED = [
    ("mm", "mm MM Mm mm. millimetres Millimeter millimeters"),
    ("cm", "cm Cm centimetre centimeters"),
    ("m", "m M metre metres meters"),
    ("µm", "µm μm um micron microns"),
    ("in", "in IN In in. ins inch inches \" ” ″ '' ’’"),
    ("ft", "ft Ft ft. feet foot ' ’ ′"),
    ("yd", "yd yds yards"),
    ("thou", "thou Thou"),
    ("deg", "deg degs degree degrees Degrees ° º"),
    ("N·m", "N·m N⋅m N.m N-m N*m Nm nm NM newton_metres newton-meters N_m"),
    ("lbf·ft", "lbf·ft lbf.ft ft-lb ft-lbs ft.lb ft·lb ft_lb ftlb lb_ft lb-ft lbft foot_pounds ft/lbs pound-feet"),
    ("lbf·in", "lbf·in in-lb in_lbs in.lb inch_pounds lb_in"),
    ("kgf·m", "kgf·m kgfm kg-m kgm kg_m m-kg"),
    ("kg", "kg Kg KG kilo kilos kilograms"),
    ("g", "g gram grams gr"),
    ("t", "t tonne tonnes"),
    ("lb", "lb lbs lb. lbs. pounds"),
    ("oz", "oz oz. ounce ounces"),
    ("psi", "psi PSI Psi lb/in²"),
    ("bar", "bar Bar bars"),
    ("kPa", "kPa kpa KPA"),
    ("MPa", "MPa Mpa mpa N/mm²"),
    ("inHg", "inHg in_Hg in.Hg inches_Hg"),
    ("V", "V v volt volts Volts"),
    ("mV", "mV mv millivolts"),
    ("A", "A amp amps Amps"),
    ("mA", "mA ma milliamps"),
    ("ohm", "ohm ohms Ω \u2126 Ohm"),
    ("kΩ", "kΩ kohm KΩ kilohms"),
    ("MΩ", "MΩ megohm Mohm"),
    ("mΩ", "mΩ milliohm mohm"),
    ("L", "L l litre litres liter"),
    ("ml", "ml mL ML millilitres"),
    ("cc", "cc cm³ cm3"),
    ("US gal", "US_gal us_gallons US-gallon"),
    ("UK gal", "UK_gal imperial_gallons imp_gal"),
    ("°C", "°C ℃ ºC C deg_C degrees_C Celsius degrees_celsius"),
    ("°F", "°F ℉ F deg_F Fahrenheit"),
]


@pytest.mark.parametrize(("symbol", "typed"), [(symbol, one) for symbol, many in TYPED for one in many.split()])
def test_what_people_type(symbol: str, typed: str) -> None:
    unit = find_unit(typed.replace("_", " "))
    assert unit is not None
    assert unit.symbol == symbol


# A mil is a thou in America and a millimetre in British workshops; a gallon and a ton need their country.
@pytest.mark.parametrize("typed", ["", " ", *"a mil mils gal gallons ton tons Ah mAh gauge mm² W hp x 5 mmm".split()])
def test_what_is_no_unit(typed: str) -> None:
    assert find_unit(typed) is None


EXACT = [
    ("in", "25.4"), ("ft", "304.8"), ("yd", "914.4"), ("thou", "0.0254"), ("µm", "0.001"), ("cm", "10"),
    ("lb", "0.45359237"), ("oz", "0.028349523125"), ("t", "1000"), ("bar", "100"), ("MPa", "1000"),
    ("kgf·m", "9.80665"), ("kgf/cm²", "98.0665"), ("lbf·ft", "1.3558179483314004"), ("cc", "0.001"),
    ("US gal", "3.785411784"), ("UK gal", "4.54609"), ("kΩ", "1000"), ("mV", "0.001"),
]  # fmt: skip


@pytest.mark.parametrize(("symbol", "base"), EXACT)
def test_factors_are_exact(symbol: str, base: str) -> None:
    assert by_symbol(symbol).to_base(Fraction(1)) == Fraction(base)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (68, 20)]
)  # defining points of the scales: NIST SP 811 (2008), appendix B.8
def test_temperatures_have_an_offset(fahrenheit: int, celsius: int) -> None:
    unit = by_symbol("°F")
    assert unit.to_base(Fraction(fahrenheit)) == celsius
    assert unit.from_base(Fraction(celsius)) == fahrenheit


def test_the_table_is_whole() -> None:
    assert {unit.quantity for unit in UNITS} == set(BASE)
    for unit in UNITS:
        assert unit.factor > 0
        assert unit.source
        assert find_unit(unit.symbol) == unit
        for spelling in (*unit.spellings, *unit.exact):
            assert find_unit(spelling) == unit, spelling
    for quantity, symbol in BASE.items():
        base = by_symbol(symbol)
        assert (base.quantity, base.factor, base.offset) == (quantity, 1, 0)


@pytest.mark.parametrize(
    ("text", "symbol", "rest"),
    [
        ("ft lb by feel", "lbf·ft", " by feel"),
        ("ft 4 in", "ft", " 4 in"),
        ("mmx40", "mm", "x40"),
        ("mm x 40", "mm", " x 40"),
        ("in. deep", "in", " deep"),
        ("N m", "N·m", ""),
        ("mm²", None, ""),
        ("mm/m", None, ""),
        ("inside", None, ""),
        ("min", None, ""),
    ],
)
def test_the_longest_unit_that_is_a_whole_word(text: str, symbol: str | None, rest: str) -> None:
    found = unit_at(text, 0)
    if symbol is None:
        assert found is None
    else:
        assert found is not None
        assert (found[0].symbol, text[found[1] :]) == (symbol, rest)


def test_plain_signs_keep_every_offset() -> None:
    typed = "3’ 4½″ – 8′‑4 ⅜” ± 2\u00a0µm ×\u2009≈ \u2126"
    plain = plain_signs(typed)
    assert plain == "3' 4½\" - 8'-4 ⅜\" ± 2 µm x ~ Ω"
    assert len(plain) == len(typed)
