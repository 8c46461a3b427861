"""What a note's records promise beside their text: spans, tokens, privacy, one fault one finding."""

from __future__ import annotations

import pytest

from journal.ground.finding import Finding
from journal.ground.source import Source
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.records import Note, Slip

NOTE = """# The *left* sill

- off today:

  ~~~removed guide bracket front, left
  from: sill, left; frame
  hole edge to web: 5/8 in by rule,
    want 16 mm (dusty)
  ~~~

```
plain code
```

> ```measured sill, left
> length: 2100 mm
> ```
"""


def read(text: str, settings: NoteSettings | None = None) -> tuple[Note, list[Finding]]:
    return parse_note(Source.of("day/note.md", text), settings or NoteSettings())


def only(text: str) -> Slip:
    note, findings = read(f"```{text}\n```")
    assert not findings
    (slip,) = note.slips
    return slip


def pointed_at(span_text: str, text: str, span: object) -> None:
    """The letters that a span of `text` covers are `span_text`."""
    line, column, end = span.line, span.column, span.end  # type: ignore[attr-defined]
    assert text.split("\n")[line - 1][column - 1 : end - 1] == span_text


def test_spans_point_at_the_letters() -> None:
    note, _ = read(NOTE)
    first, second = note.slips
    statement = first.statements[0]
    assert first.name is not None
    pointed_at("guide bracket front, left", NOTE, first.name.span)
    pointed_at("sill, left", NOTE, first.entries[0].names[0].span)
    pointed_at("frame", NOTE, first.entries[0].names[1].span)
    pointed_at("5/8 in", NOTE, statement.value_span)
    pointed_at("hole edge", NOTE, statement.splits[0].subject_span)
    pointed_at("web", NOTE, statement.splits[0].reference_span)
    pointed_at("2100 mm", NOTE, second.statements[0].value_span)
    pointed_at("~~~removed guide bracket front, left", NOTE, first.span)
    assert (first.end_line, second.end_line) == (9, 17)
    assert first.span.file == "day/note.md"


def test_continued_lines_keep_what_stands_in_them() -> None:
    statement = read(NOTE)[0].slips[0].statements[0]
    assert statement.text == "hole edge to web: 5/8 in by rule, want 16 mm (dusty)"
    assert (statement.written, statement.method, statement.remark) == ("5/8 in", "rule", "dusty")
    assert statement.want is not None
    assert statement.want.written == "16 mm"


def test_fence_tokens_of_slips_carry_their_number() -> None:
    note, _ = read(NOTE)
    fences = [token for token in note.tokens if token.type == "fence"]
    assert [token.meta.get("slip") for token in fences] == [0, None, 1]
    assert note.title == "The left sill"


def test_tokens_of_a_repaired_note_count_the_lines_as_written() -> None:
    text = "```removed clip\nhole to web: 3 mm\n\nStory.\n\n```removed hook\nhole to web: 5/8-1 in\n```\n\n## Later\n"
    note, findings = read(text)
    heading = next(token for token in note.tokens if token.type == "heading_open")
    assert heading.map == [9, 10]
    assert [(f.word, f.span.line) for f in findings] == [("unclosed-slip", 1), ("ambiguous-value", 7)]
    assert [token.meta["slip"] for token in note.tokens if token.type == "fence"] == [0, 1]
    assert any(token.type == "inline" and token.content == "Story." for token in note.tokens)


@pytest.mark.parametrize(
    ("line", "private"),
    [("private: yes", True), ("private: no", False), ("private: maybe", True), ("private:", True), ("note: x", False)],
)
def test_what_is_not_clearly_public_is_private(line: str, private: bool) -> None:
    assert only(f"removed clip\n{line}").private is private


def test_a_private_slip_is_markdown_and_nothing_else() -> None:
    slip = only("private\nfrom: here\nhole to web: 3 mm\n  *deep*")
    assert slip.private
    assert not slip.entries + slip.statements + slip.sentences
    assert slip.body == "from: here\nhole to web: 3 mm\n  *deep*"


@pytest.mark.parametrize(
    "line",
    ["hole to web: 5/8-1 in", "hole to web: 3", "hole to web: 12 kg, want 5/8-1 in", "stroed: tin 4", "on: sill",
     "count: 0", "hole to web 3 mm", "located by: luck", "hole to web: " + "3 mm, " * 200],
)  # fmt: skip
def test_a_wrong_line_costs_itself_and_is_told_once(line: str) -> None:
    note, findings = read(f"```removed clip\nfrom: sill\n{line}\nhole to end: 4 mm\n```")
    assert [finding.span.line for finding in findings] == [3]
    assert findings[0].help
    assert [entry.key for entry in note.slips[0].entries] == ["from"]
    assert [statement.written for statement in note.slips[0].statements] == ["4 mm"]


def test_findings_come_in_the_order_of_the_lines() -> None:
    _, findings = read("```removed clip\nstroed: x\nhole to web: 3\n```\n\n```removd hook\n```\n\n```removed\n```\n")
    assert [(f.word, f.span.line) for f in findings] == [
        ("unknown-key", 2), ("no-unit", 3), ("unknown-slip", 6), ("not-understood", 9),
    ]  # fmt: skip


def test_the_sides_of_the_build_are_relations() -> None:
    slip = read("```removed clip\nhole port of web: 3 mm\n```", NoteSettings(("port", "starboard")))[0].slips[0]
    assert slip.statements[0].splits[0].relation == "port of"


def test_side_words_of_two_words() -> None:
    settings = NoteSettings(("near side", "off side"))
    text = "```removed clip, near side\nfrom: sill, off side\nhole near side of web: 3 mm\n```"
    slip = read(text, settings)[0].slips[0]
    assert slip.name is not None
    assert (slip.name.words, slip.name.sides) == ("clip", ("near side",))
    assert slip.entries[0].names[0].sides == ("off side",)
    assert slip.statements[0].splits[0].relation == "near side of"


def test_photos_of_other_days_and_ranges_stay_as_written() -> None:
    photos = "2026-03-07 arrival/IMG_0412, IMG_0413 to IMG_0415; IMG_0416 and IMG_0417"
    assert only(f"removed clip\nphotos: {photos}").entries[0].items == (
        "2026-03-07 arrival/IMG_0412", "IMG_0413 to IMG_0415", "IMG_0416", "IMG_0417",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("written", "words", "sides"),
    [
        ("wheel, front left", "wheel front", ("left",)),
        ("wheel, left front", "wheel front", ("left",)),
        ("wheel, Right upper front", "wheel upper front", ("right",)),
        ("plate, left hand cover", "plate, left hand cover", ()),  # `hand cover` says no position: part of the name
    ],
)
def test_position_words_move_into_the_name_on_either_side_of_the_side(
    written: str, words: str, sides: tuple[str, ...]
) -> None:
    slip = only(f"removed {written}\nfrom: {written}; bench")
    assert slip.name is not None
    assert (slip.name.words, slip.name.sides) == (words, sides)


def test_a_list_reads_position_words_behind_a_side_too() -> None:
    first, second = only("removed clip\nfrom: wheel, left front, rail").entries[0].names
    assert (first.words, first.sides, second.words) == ("wheel front", ("left",), "rail")
