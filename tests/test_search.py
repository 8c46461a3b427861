"""What can be found: rows from a build, their groups, the index; and queries read as values are."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.measure.units import UNITS
from journal.measure.value import Number, read_value
from journal.pages.edition import Edition, reduced
from journal.pages.findable import rows
from journal.pages.query import fold, read_query, words_of
from journal.pages.search import INDEX_FILE, QUERY_FILE, Row, arrange, columns, files, interval
from journal.pages.viewer import Viewer
from tests.builds import tell_files

BUILD = {
    "build.toml": 'title = "Truck"\n[private]\nnames = ["Mrs Brindle"]\nplaces = ["shed"]\n',
    "2026-03-21 left sill/note.md": """# Guides off

Rain on the roof all day, said Mrs Brindle.

```removed guide bracket front, left
from: sill, left
place: underside / left sill
held by: 2 spot welds
stored: tin 4
hole edge to web: 5/8 in by rule
upright square to web
```

```photo IMG_1
shows: guide bracket front, left
caption: the foot from below
```

```job weld the seam
place: underside
```

```ordered sill panel
for: sill, left
price: 90
```

```removed padlock
from: door
place: shed / shelf
width: 44 mm
```

```part guide bracket front, left
also called: rod guide
```

```private
The key hangs by the stove.
```
""",
    "2026-03-21 left sill/IMG_1.jpg": "a picture",
}


def rows_of(folder: Path, edition: Edition) -> list[Row]:
    told = tell_files(folder, BUILD)
    return list(rows(Viewer(*reduced(told.book, told.judgement, edition), edition)))


def index_of(text: str, name: str) -> dict[str, Any]:
    """The data of one of the two scripts, unwrapped as the browser does it."""
    body = re.fullmatch(rf"window\.{name} = JSON\.parse\('(.*)'\);\n", text, re.DOTALL)
    assert body
    raw = body[1].replace("\\x3c", "<").replace("\\'", "'").replace("\\u2028", "\u2028").replace("\\u2029", "\u2029")
    return json.loads(raw.replace("\\\\", "\\"))  # type: ignore[no-any-return]


def test_every_kind_of_thing_is_found(tmp_path: Path) -> None:
    made = {row.kind: row for row in rows_of(tmp_path, "shop")}
    assert set(made) == {"part", "reading", "place", "job", "order", "day", "photo"}
    bracket = next(row for row in rows_of(tmp_path, "shop") if row.title == "guide bracket front, left")
    assert bracket.also[0] == "rod guide"  # then the code of its bag tag
    assert "2 spot welds" in bracket.text
    assert "on sill, left" in bracket.text
    assert (bracket.place, bracket.side, bracket.state) == (("underside", "left sill"), "left", "off")
    reading = next(row for row in rows_of(tmp_path, "shop") if row.title == "hole edge to web")
    assert reading.group == bracket.url
    assert reading.text == "5/8 in (16 mm) by rule"  # as its part's page says it
    square = next(row for row in rows_of(tmp_path, "shop") if row.title == "upright square to web")
    assert square.text == "yes"
    assert reading.source.endswith("note.md:10")
    assert made["photo"].group == bracket.url
    assert "Rain on the roof" in made["day"].text


CHANGED = {
    "2026-03-21 off/note.md": """
```removed guide bracket, left
from: sill, left
held by: 2 spot welds
stored: tin 4
hole edge to web: 15 mm by rule
hole to rear end: 1580 mm by tape, in doubt
plate thickness: 3.0 mm, want 3.2 mm by calliper
hole above jig hole: 20 mm from memory
```
""",
    "2026-04-11 back/note.md": """
```replaced sill, left
by: new panel
```

```refitted guide bracket, left
on: sill, left
held by: 2 plug welds
```
""",
    "2026-04-25 paint/note.md": "```treated guide bracket, left\nwith: paint\n```\n",
}


def test_a_hit_says_what_its_page_says(tmp_path: Path) -> None:
    """Struck and why, in doubt, from memory, wanted: the same words as on the part's page."""
    told = tell_files(tmp_path, CHANGED)
    viewer = Viewer(told.book, told.judgement, "shop")
    found = {row.title: row for row in rows(viewer) if row.kind == "reading"}
    for reading in map(viewer.reading, told.book.readings):
        assert found[reading.what].gone == ("" if reading.lives else reading.why)
        assert all(remark in found[reading.what].note for remark in reading.remarks)
    gone = [title for title, row in found.items() if row.gone]
    assert gone == ["hole edge to web", "hole to rear end", "hole above jig hole"]
    assert "the new one was not measured there" in found["hole edge to web"].gone
    assert found["hole to rear end"].note.startswith("In doubt")
    assert found["plate thickness"].note == "Wanted: 3.2 mm"
    assert found["hole above jig hole"].note == "From memory"


def test_a_part_that_is_back_is_in_no_tin_and_held_by_what_holds_it_now(tmp_path: Path) -> None:
    told = tell_files(tmp_path, CHANGED)
    bracket = next(row for row in rows(Viewer(told.book, told.judgement, "shop")) if row.title.startswith("guide"))
    assert bracket.text == "on sill, left; 2 plug welds; paint"
    assert bracket.note == "Before: 2 spot welds"
    off = tell_files(tmp_path / "off", {path: text for path, text in CHANGED.items() if "off" in path})
    bracket = next(row for row in rows(Viewer(off.book, off.judgement, "shop")) if row.title.startswith("guide"))
    assert (bracket.text, bracket.note) == ("on sill, left; 2 spot welds; tin 4", "")


def test_the_public_index_holds_nothing_private(tmp_path: Path) -> None:
    public = "".join(files(arrange(rows_of(tmp_path, "public"))).values())
    shop = "".join(files(arrange(rows_of(tmp_path, "shop"))).values())
    for word in ("padlock", "shed", "44 mm", "tin 4", "Brindle", "stove"):
        assert word not in public, word
        assert word in shop, word
    for word in ("note.md", "90"):  # prices in neither, nor where it is written
        assert word not in index_of(files(arrange(rows_of(tmp_path, "shop")))[INDEX_FILE], "journalIndex")["phrases"]


def test_rows_stand_in_groups_newest_first() -> None:
    old, new = date(2026, 3, 1), date(2026, 4, 1)
    made = [
        Row("reading", "b1", "b#1", group="b", date=old),
        Row("part", "a", "a", date=old),
        Row("part", "b", "b", date=old),
        Row("reading", "a1", "a#1", group="a", date=old),
        Row("reading", "a2", "a#2", group="a", date=new),
        Row("photo", "lost", "p", group="nowhere", date=old),
    ]
    groups = [[row.title for row in group] for group in arrange(made)]
    assert groups == [["a", "a2", "a1"], ["b", "b1"], ["lost"]]


def test_two_rows_of_one_address_are_both_found() -> None:
    made = [Row("job", "weld", "jobs#1"), Row("job", "weld again", "jobs#1")]
    assert sorted(row.title for group in arrange(made) for row in group) == ["weld", "weld again"]


def test_the_index_gives_back_every_row() -> None:
    value = read_value("60 x 40 x 3 mm")
    made = [
        Row("part", "plate, left", "p/index.html", "", ("lid",), "", ("cab", "roof"), "left", "off", date(2026, 3, 1)),
        Row("reading", "size", "p/index.html#m-1", "60 x 40 x 3 mm", group="p/index.html", numbers=value.numbers,
            note="Wanted: 61 mm", gone="Read on the old plate."),
    ]  # fmt: skip
    index = columns(arrange(made))
    lists = {name: content for name, content in index.items() if isinstance(content, list)}
    phrases, fragments = str(index["phrases"]).split("\n"), str(index["fragment"]).split("\n")
    assert [phrases[n] for n in lists["title"]] == ["plate, left", "size"]
    assert [lists["pages"][n] for n in lists["page"]] == ["p/index.html", "p/index.html"]
    assert fragments == ["", "m-1"]
    context = [column[lists["context"][0]] for column in lists["contexts"]]
    assert [phrases[n] for n in context[:5]] == ["cab / roof", "left", "off", "", ""]
    assert [phrases[n] for n in lists["also"][context[5]]] == ["lid"]
    assert lists["dates"][context[6]] == "2026-03-01"
    context = [column[lists["context"][1]] for column in lists["contexts"]]
    assert [phrases[n] for n in context[3:5]] == ["Wanted: 61 mm", "Read on the old plate."]
    found = [[column[n] for column in lists["intervals"]] for n in lists["numbers"][lists["number"][1]]]
    assert [(lists["quantities"][what], low, high) for what, low, high in found] == [
        ("length", 59.5, 60.5), ("length", 39.5, 40.5), ("length", 2.5, 3.5),
    ]  # fmt: skip


def test_an_empty_build_has_an_index() -> None:
    assert index_of(files(())[INDEX_FILE], "journalIndex")["sizes"] == []


@settings(deadline=None)  # the machine may be busy
@given(st.text())
def test_any_text_comes_through_the_script_unharmed(text: str) -> None:
    made = files(arrange([Row("part", text, "p", text)]))
    assert index_of(made[INDEX_FILE], "journalIndex")["phrases"].split("\n")[-1] == " ".join(text.split())
    assert "<" not in made[INDEX_FILE]


def test_the_grammar_knows_every_unit() -> None:
    grammar = index_of(files(())[QUERY_FILE], "journalGrammar")
    assert {row[0] for row in grammar["units"].values()} | {row[0] for row in grammar["exact"].values()} == {
        unit.symbol for unit in UNITS
    }


# --- queries


WRITTEN = [
    "312 mm", "31.2 cm", "12.28 in", "5/8 in", "1 5/8 in", "1-5/8 in", "⅝ in", "1½ in", "3 ft 4 1/2 in", "3' 4 1/2\"",
    "8'-4 3/8\"", "40 thou", "5/8 to 3/4 in", "45-50 mm", "16 mm ± 1/16 in", "20 ± 2 mm", "about 16 mm", "25 N·m",
    "18 lbf ft", "2.5 bar", "12.6 V", "0.5 ohm", "1.2 L", "85 °C", "180 °F", "12 lb", "3/16 in", "7/32 in", "9/64 in",
    "3 in", "2 m", "100 psi", "15 deg",
]  # fmt: skip


@pytest.mark.parametrize("written", WRITTEN)
def test_a_query_is_read_as_the_same_words_in_a_note(written: str) -> None:
    """The interval looked for is the interval a note with these words stands for."""
    value = read_value(written)
    asked = read_query(written)
    assert not asked.words
    assert len(asked.ranges) == 1
    assert value.low is not None
    assert value.high is not None
    assert asked.ranges[0].quantity == value.quantity
    assert asked.ranges[0].low == pytest.approx(float(value.low), abs=1e-9)
    assert asked.ranges[0].high == pytest.approx(float(value.high), abs=1e-9)


@given(st.integers(0, 9999), st.integers(0, 3), st.sampled_from([unit for unit in UNITS if unit.symbol != "A"]))
def test_any_decimal_in_any_unit_is_read_as_in_a_note(digits: int, places: int, unit: Any) -> None:
    text = f"{digits / 10**places:.{places}f} {unit.symbol}"
    value, asked = read_value(text), read_query(text).ranges
    assert [one.quantity for one in asked] == [value.quantity]
    assert asked[0].low == pytest.approx(float(value.low or 0), rel=1e-9, abs=1e-9)
    assert asked[0].high == pytest.approx(float(value.high or 0), rel=1e-9, abs=1e-9)


@given(st.text(max_size=400))
def test_anything_typed_can_be_read(typed: str) -> None:
    query = read_query(typed)
    assert all(word and word == fold(word) for word in query.words if word.isascii())
    assert all(one.low <= one.high for one in query.ranges)


@given(st.text(max_size=60))
def test_folding_twice_is_folding_once(text: str) -> None:
    assert list(words_of(fold(fold(text)))) == list(words_of(fold(text)))


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        (Number(Fraction(20), None, "length"), ("length", 20.0, 20.0)),
        (Number(None, Fraction(3), "length"), ("length", 3.0, 3.0)),
        (Number(Fraction(127, 8), Fraction(16), "length"), ("length", 15.875, 16.0)),
    ],
)
def test_a_one_sided_number_is_the_number_written(number: Number, expected: tuple[str, float, float]) -> None:
    assert interval(number) == expected


def test_the_columns_are_small() -> None:
    """A reading whose words were all seen before costs its numbers in the columns, not its words."""

    def size(count: int) -> int:
        made: Mapping[str, str] = files(arrange(
            [Row("part", "plate", "p")] + [
                Row("reading", "hole edge to web", f"p#m-{n}", "16 mm", group="p", numbers=read_value("16 mm").numbers)
                for n in range(count)
            ]))  # fmt: skip
        return len(made[INDEX_FILE])

    assert (size(2000) - size(1000)) / 1000 < 24
