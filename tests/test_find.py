"""`journal find`: the table of cases, the order of criteria, the terminal."""

from __future__ import annotations

from datetime import date

import pytest

from journal.find import CRITERIA, Facets, distance, find, level, told
from journal.measure.value import read_value
from journal.pages.search import Row, arrange
from tests.search_cases import Case, cases, rows, written

GROUPS = arrange(rows())


@pytest.mark.parametrize("case", cases(), ids=str)
def test_the_table_of_cases(case: Case) -> None:
    result = find(GROUPS, case.query, Facets(**case.facets))
    found = written([(g.head.url, [hit.row.url for hit in g.hits]) for g in result.groups])
    assert found == case.found, case.why
    assert result.near == case.near, case.why


# --- which comes first: for every criterion two groups that it alone tells apart, the worse one newer


def part(title: str, day: int = 1, text: str = "", kind: str = "part") -> Row:
    return Row(kind, title, title, text, date=date(2026, 3, day))  # type: ignore[arg-type]


def reading(of: str, written: str) -> Row:
    return Row("reading", "hole", f"{of}#1", written, group=of, numbers=read_value(written).numbers)


REASONS: dict[str, tuple[str, list[Row], str]] = {
    "the name is what was typed": (
        "bracket", [part("bracket"), part("bracket front", 9)],
        "who types the whole name of a part wants that part, not those that go on",
    ),
    "a part whose name starts with what was typed": (
        "guide", [part("guide rail"), part("rod guide", 9)],
        "a name is typed from its beginning",
    ),
    "every word is in the name": (
        "weld", [part("plug weld"), part("bracket", 9, "2 spot weld")],
        "what a thing is comes before what is said of it",
    ),
    "the words stand whole": (
        "pin", [part("rod", text="a pin"), part("cap", 9, "pinned twice")],
        "a whole word was meant more likely than the beginning of another",
    ),
    "the value is near": (
        "16 mm", [part("a"), reading("a", "16 mm"), part("b", 9), reading("b", "5/8 in")],
        "the very number comes before one that only overlaps",
    ),
    "a part": (
        "sill", [part("left sill"), part("long sill", 9, kind="job")],
        "the search is for parts first",
    ),
}  # fmt: skip


def test_every_criterion_has_a_reason() -> None:
    assert list(REASONS) == [name for name, _ in CRITERIA]


@pytest.mark.parametrize("name", REASONS)
def test_the_reason_for_a_criterion(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    typed, made, why = REASONS[name]
    groups = arrange(made)
    heads = [found.head.title for found in find(groups, typed).groups]
    assert heads == [row.title for row in made if row.kind != "reading"], why
    monkeypatch.setattr("journal.find.CRITERIA", tuple(c for c in CRITERIA if c[0] != name))
    assert [found.head.title for found in find(groups, typed).groups] == heads[::-1], "another criterion decides"


def test_of_what_ties_the_newest_comes_first() -> None:
    groups = arrange([part("clip 1", 3), part("clip 2", 9), part("clip 3", 5)])
    assert [found.head.title for found in find(groups, "clip").groups] == ["clip 2", "clip 3", "clip 1"]


# --- words


@pytest.mark.parametrize(
    ("phrase", "word", "stands"),
    [
        ("code c123-7", "c123-7", 2), ("code c123-7", "123-7", 2), ("code c123-7", "7", 2), ("code c123-7", "c12", 1),
        ("code c123-7", "23", 0), ("5/8 in", "8", 0), ("15.9 mm", "9", 0), ("15.9 mm", "15", 1), ("15.9 mm", "15.9", 2),
        ("m8", "8", 2), ("8mm", "mm", 0), ("shaft", "aft", 0), ("(left)", "left", 2),
    ],
)  # fmt: skip
def test_where_a_word_stands(phrase: str, word: str, stands: int) -> None:
    assert level(phrase, word) == stands


@pytest.mark.parametrize(
    ("a", "b", "far"),
    [("braket", "bracket", 1), ("guied", "guide", 1), ("hinge", "hinge", 0), ("hing", "hinge", 1), ("abc", "cab", 2),
     ("left", "right", 3), ("a", "abcdef", 3)],
)  # fmt: skip
def test_how_far_spellings_are(a: str, b: str, far: int) -> None:
    assert distance(a, b, 2) == distance(b, a, 2) == far


# --- the terminal


def test_the_terminal_says_what_and_where() -> None:
    made = [
        Row("part", "hinge, left", "h", place=("cab",), state="off", date=date(2026, 3, 21), source="a/note.md:3"),
        Row("reading", "hole to edge", "h#1", "5/8 in by rule", group="h", date=date(2026, 3, 21),
            numbers=read_value("5/8 in").numbers, source="a/note.md:6", gone="Read on the old cab.", note="In doubt"),
    ]  # fmt: skip
    assert list(told(find(arrange(made), "16 mm"))) == [
        "hinge, left (off, cab)",
        "  hole to edge: 5/8 in by rule  2026-03-21  a/note.md:6",
        "      no longer counts: Read on the old cab.",
        "      In doubt",
    ]
    assert list(told(find(arrange(made), "hinge")))[1] == "    a/note.md:3"


def test_the_terminal_says_what_it_leaves_out_and_what_is_near() -> None:
    groups = arrange([part(f"clip {n}") for n in range(30)])
    lines = list(told(find(groups, "clip"), most=20))
    assert len(lines) == 21
    assert lines[-1] == "... and 10 more lines"
    assert list(told(find(groups, "clpi"))) == ["Nothing found.", "Spelt nearly so: clip"]
