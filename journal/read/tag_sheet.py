"""The print sheet of the bag tags, as `[tags]` of build.toml gives it: paper, size, rows and columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Final

from journal.ground.records import record
from journal.measure.value import ValueFault, read_value

MM: Final = Fraction(1)
INCH: Final = Fraction(254, 10)
# Width and height of the papers in mm: ISO 216 A4; 8 1/2 x 11 in.
PAPERS: Final[Mapping[str, tuple[Fraction, Fraction]]] = {
    "A4": (210 * MM, 297 * MM),
    "Letter": (Fraction(17, 2) * INCH, 11 * INCH),
}
LEAST: Final = (68 * MM, 36 * MM)  # what six lines of 11 pt and a code need


@record
class TagSheet:
    """How the tags stand on the paper; lengths in mm.

    width, height   of one tag             columns, rows  on one sheet
    left, top       margins of the paper   across, down   gaps between columns and between rows
    marks           cut marks at the corners; labels that are cut already want none
    """

    paper: str = "A4"
    width: Fraction = 95 * MM
    height: Fraction = 65 * MM
    columns: int = 2
    rows: int = 4
    left: Fraction = 10 * MM
    top: Fraction = Fraction(37, 2) * MM
    across: Fraction = 0 * MM
    down: Fraction = 0 * MM
    marks: bool = True

    @property
    def across_all(self) -> Fraction:
        return self.left + self.columns * self.width + (self.columns - 1) * self.across

    @property
    def down_all(self) -> Fraction:
        return self.top + self.rows * self.height + (self.rows - 1) * self.down


# Sheets by name. Label sizes as sold for office printers (from memory: hold a sheet against a print first).
SHEETS: Final[Mapping[str, TagSheet]] = {
    "A4 plain": TagSheet(),
    "Letter plain": TagSheet("Letter", left=Fraction(259, 20), top=Fraction(97, 10)),
    "A4 99.1 x 67.7": TagSheet(
        width=Fraction(991, 10), height=Fraction(677, 10), left=Fraction(465, 100), top=Fraction(131, 10),
        across=Fraction(5, 2), marks=False,
    ),
    "A4 105 x 74": TagSheet(width=105 * MM, height=74 * MM, left=0 * MM, top=Fraction(1, 2), marks=False),
    "A4 70 x 37": TagSheet(
        width=70 * MM, height=37 * MM, columns=3, rows=8, left=0 * MM, top=Fraction(1, 2), marks=False
    ),
    "Letter 4 x 2": TagSheet(
        "Letter", 4 * INCH, 2 * INCH, 2, 5, Fraction(5, 32) * INCH, Fraction(1, 2) * INCH, Fraction(3, 16) * INCH,
        marks=False,
    ),
    "Letter 4 x 3 1/3": TagSheet(
        "Letter", 4 * INCH, Fraction(10, 3) * INCH, 2, 3, Fraction(5, 32) * INCH, Fraction(1, 2) * INCH,
        Fraction(3, 16) * INCH, marks=False,
    ),
}  # fmt: skip

LENGTHS: Final = ("width", "height", "left", "top", "across", "down")
COUNTS: Final = ("columns", "rows")
TAG_KEYS: Final = ("sheet", "paper", *LENGTHS[:2], *COUNTS, *LENGTHS[2:], "marks")


@record
class SheetFault:
    """A key of `[tags]` that holds what it does not take; `wants` says what it takes."""

    key: str
    value: object
    wants: str


def read_tag_sheet(table: Mapping[str, object], decimal: str = ".") -> tuple[TagSheet, list[SheetFault]]:
    """The sheet a table gives. A key that is wrong counts as not set; tags that do not fit the paper are not taken."""
    faults: list[SheetFault] = []
    found: dict[str, object] = {}
    for key in TAG_KEYS:
        if key in table and key != "sheet":
            value = _value(key, table[key], decimal)
            if value is None:
                faults.append(SheetFault(key, table[key], _wants(key)))
            else:
                found[key] = value
    base = TagSheet()
    if "sheet" in table:
        named = table["sheet"]
        if isinstance(named, str) and named in SHEETS:
            base = SHEETS[named]
        else:
            faults.append(SheetFault("sheet", named, _wants("sheet")))
    sheet = replace(base, **found)  # type: ignore[arg-type]  # each value is of its key's type
    fault = _does_not_fit(sheet)
    if fault:
        return base, [*faults, fault]
    return sheet, faults


def _value(key: str, value: object, decimal: str) -> object:
    if key == "paper":
        return value if value in PAPERS else None
    if key == "marks":
        return value if isinstance(value, bool) else None
    if key in COUNTS:
        return value if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 20 else None
    return _length(value, decimal)


def _length(value: object, decimal: str) -> Fraction | None:
    """A length in mm, out of words such as "95 mm"; None where it is none."""
    if not isinstance(value, str):
        return None
    try:
        read = read_value(value, decimal=decimal, quantity="length")
    except ValueFault:
        return None
    return read.number if read.computable and read.number is not None and 0 <= read.number <= 1000 else None


def _wants(key: str) -> str:
    if key == "sheet":
        return "one of " + ", ".join(f'"{name}"' for name in SHEETS)
    if key == "paper":
        return " or ".join(f'"{name}"' for name in PAPERS)
    if key == "marks":
        return "true or false"
    return "a number from 1 to 20" if key in COUNTS else 'a length such as "95 mm" or "4 in"'


def _does_not_fit(sheet: TagSheet) -> SheetFault | None:
    wide, high = PAPERS[sheet.paper]
    for key, size, least in (("width", sheet.width, LEAST[0]), ("height", sheet.height, LEAST[1])):
        if size < least:
            return SheetFault(key, f"{_mm(size)} mm", f"at least {least} mm, or the words have no room")
    if sheet.across_all > wide:
        wants = f"what fits on {sheet.paper}: {sheet.columns} columns end {_mm(sheet.across_all)} mm from its left edge"
        return SheetFault("width", f"{_mm(sheet.width)} mm", wants)
    if sheet.down_all > high:
        wants = f"what fits on {sheet.paper}: {sheet.rows} rows end {_mm(sheet.down_all)} mm from its upper edge"
        return SheetFault("height", f"{_mm(sheet.height)} mm", wants)
    return None


def _mm(length: Fraction) -> str:
    return f"{float(length):.4g}"
