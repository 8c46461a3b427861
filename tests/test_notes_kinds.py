"""The table of kinds is whole: its examples are read without a finding, its reference tells all of it."""

from __future__ import annotations

import pytest

from journal.ground.source import Source
from journal.notes.kinds import BY_NAME, BY_OTHER_WORD, COMMON, KEYS_OF, KINDS, KINDS_WITH, LANGUAGES, NOT_KEYS, Kind
from journal.notes.lines import fold_key
from journal.notes.openings import kind_of, near_kind
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.reference import reference
from journal.notes.words import CONTACTS, DIMENSIONS, RELATIONS

# What the note format promises; a key taken out of the table by mistake is told here.
PROMISED = {
    "part": "from, face, place, held by, located by, opposite, behind, features, number, count, also called, going, "
    "goes on, marks, shims, route, connects, stands off, safety",
    "removed": "from, place, face, count, held by, located by, way round, stored, template, marks, shims, route, "
    "connects, behind, doubt",
    "measured": "on",
    "refitted": "on, held by, moved",
    "replaced": "by, source, carries",
    "cut": "away, why",
    "scrapped": "why, not coming back",
    "treated": "place, surface, with, coats, next",
    "ordered": "for, bought from, due, price",
    "arrived": "for, bought from, due, price",
    "job": "needs, before, cuts, place, part",
    "done": "needs, before, cuts, place, part",
    "photo": "shows, off the machine, caption, line",
    "private": "",
}


def test_the_table_has_what_is_promised() -> None:
    assert {kind.name: {key.name for key in kind.keys} for kind in KINDS} == {
        kind: set(filter(None, keys.split(", "))) for kind, keys in PROMISED.items()
    }
    assert {key.name for key in COMMON} == {"photos", "note", "private", "caution", "settled"}
    assert KEYS_OF["private"] == {}


def test_keys_that_add_up_and_keys_that_are_never_public() -> None:
    keys = [key for keys in KEYS_OF.values() for key in keys.values()]
    assert {key.name for key in keys if key.adds_up} == {
        "photos", "held by", "note", "caution", "connects", "behind", "needs", "shims", "settled", "line",
    }  # fmt: skip
    assert {key.name for key in keys if key.private} == {"stored", "price"}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_example_is_read_without_a_finding(kind: Kind) -> None:
    lines = kind.example.split("\n")
    note, findings = parse_note(Source.of("note.md", f"```{kind.example}\n```\n"), NoteSettings())
    assert not findings
    assert [slip.kind for slip in note.slips] == [kind.name]
    read = len(note.slips[0].entries) + len(note.slips[0].statements)
    assert read == (0 if kind.private else len(lines) - 1)


def test_keys_are_written_as_they_are_compared() -> None:
    assert all(fold_key(key) == key for key in KINDS_WITH)
    assert not NOT_KEYS & set(KINDS_WITH)


def test_other_words_for_a_kind_are_no_kinds_and_no_languages() -> None:
    assert not set(BY_OTHER_WORD) & (set(BY_NAME) | LANGUAGES)
    assert not set(BY_NAME) & LANGUAGES


@pytest.mark.parametrize(
    ("info", "kind"),
    [
        ("removed clip", "removed"), ("Removed: clip", "removed"), ("private", "private"), ("PART x", "part"),
        ("removd clip", ""), ("python", ""), ("", ""), ("partly done", ""),
    ],
)  # fmt: skip
def test_kind_of(info: str, kind: str) -> None:
    assert kind_of(info) == kind


@pytest.mark.parametrize(
    ("info", "near"),
    [
        ("removd clip", "removed"), ("measurd", "measured"), ("parts clip", "part"), ("Jop weld", "job"),
        ("fitted clip", "refitted"), ("mounted clip", ""), ("brake pipe", ""),
        ("python", None), ("text", None), ("dart x", None), ('py title="x"', None), ("", None), ("clip", None),
        ("listing {1,2}", None), ("$ make test", None),
    ],
)  # fmt: skip
def test_near_kind(info: str, near: str | None) -> None:
    assert near_kind(info) == near


def test_the_reference_tells_the_whole_table() -> None:
    text = reference()
    for word in [*BY_NAME, *KINDS_WITH, *RELATIONS, *CONTACTS, *DIMENSIONS]:
        assert f"`{word}`" in text
    for kind in KINDS:
        assert kind.says in text
        for key in kind.keys:
            assert key.says in text
    rows = [line for line in text.split("\n") if line.startswith("|")]
    assert all(line.endswith(" |") for line in rows)
