"""Nothing that stands in a note, however broken, hostile or large, ends in a traceback or takes long."""

from __future__ import annotations

import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from journal.ground.decoding import decode
from journal.ground.finding import Finding
from journal.ground.source import Source
from journal.notes.kinds import BY_NAME, KINDS_WITH
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.records import Note
from journal.notes.words import CONTACTS, DIMENSIONS, RELATIONS

USUAL = NoteSettings()
SECONDS = 60  # far above what is needed: the machine may be busy, but a quadratic reader would not come near


def read(text: str) -> tuple[Note, list[Finding]]:
    return parse_note(Source.of("note.md", text), USUAL)


def in_time(text: str) -> tuple[Note, list[Finding]]:
    start = time.process_time()
    result = read(text)
    assert time.process_time() - start < SECONDS
    return result


def check_spans(text: str, note: Note, findings: list[Finding]) -> None:
    """Every span points into the note."""
    source = Source.of("note.md", text)
    spans = [finding.span for finding in findings]
    for slip in note.slips:
        spans += [slip.span, *(entry.span for entry in slip.entries), *(s.span for s in slip.sentences)]
        spans += [name.span for entry in slip.entries for name in entry.names]
        for statement in slip.statements:
            spans += [statement.span, statement.value_span]
            spans += [span for split in statement.splits for span in (split.subject_span, split.reference_span)]
    for span in spans:
        assert 1 <= span.line <= len(source.lines)
        assert 1 <= span.column <= span.end <= len(source.line(span.line)) + 1


WORDS = st.sampled_from(
    [
        *BY_NAME, *KINDS_WITH, *RELATIONS, *CONTACTS, *DIMENSIONS,
        "hole", "web", "sill", "left", "both", "by", "rule", "want", "yes", "of", "and", "a", "the",
        "12 mm", "5/8 in", "5/8-1", "±", "1½", "(", ")", ":", ";", ",", "- ", "#", "# ", "\u00a0", "’", "”", "\x00",
        "\n", "\n", "\n\n", "\n  ", "\n\t", "\r\n", "```", "~~~", "````", "> ", "- ", "1. ",
    ]
)  # fmt: skip
NOTES = st.one_of(
    st.text(max_size=200),
    st.lists(WORDS, max_size=40).map(" ".join),
    st.lists(WORDS, max_size=40).map("".join),
    st.lists(WORDS, max_size=30).map(lambda words: "```removed guide bracket front, left\n" + " ".join(words)),
)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(NOTES)
def test_any_text_is_read(text: str) -> None:
    note, findings = read(text)
    check_spans(text, note, findings)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300), NOTES)
def test_any_bytes_are_read(data: bytes, text: str) -> None:
    source, findings = decode("note.md", data + text.encode("utf-8", "surrogatepass") + data)
    note, more = parse_note(source, USUAL)
    check_spans(source.text, note, findings + more)


@settings(max_examples=150, deadline=None)
@given(st.lists(WORDS, max_size=12).map(" ".join), st.sampled_from([("port", "starboard"), ("near side", "off side")]))
def test_any_sides_any_decimal(text: str, sides: tuple[str, str]) -> None:
    source = Source.of("note.md", f"```removed {text}\n{text}\n```")
    note, findings = parse_note(source, NoteSettings(sides, "mm", ","))
    check_spans(source.text, note, findings)


def test_a_note_of_five_megabytes() -> None:
    story = ("We took the *deck* off and found the 12 mm bolts.\n" * 5 + "\n") * 20_000
    note, findings = in_time(story + "```removed clip\nhole to edge: 12 mm\n```\n")
    assert len(note.slips[0].statements) == 1
    assert not findings


def test_twenty_thousand_statements_in_one_slip() -> None:
    lines = "\n".join(f"hole {n} to rear end: {n}.5 mm by tape" for n in range(20_000))
    note, findings = in_time(f"```measured clip\n{lines}\n```")
    assert len(note.slips[0].statements) == 20_000
    assert note.slips[0].statements[-1].splits[0].subject == "hole 19999"
    assert not findings


@pytest.mark.parametrize(
    "text",
    [
        "```removed clip\nhole to edge: 3 mm\n\n" * 15_000,
        "~~~removed clip\n```removed hook\n" * 15_000,
        "```\n" * 60_001,
        "```removed clip\n" + "place: here\n" * 30_000,
        "```removed clip\nfrom: a\n" + "  b, left;\n" * 60_000,
        "```removed clip\nfrom: " + "a, left, " * 60_000,
        "```removed clip\n" + "hole to edge " * 100_000 + ": 3 mm",
        "```removed clip\nhole to edge: " + "3 mm, " * 200_000,
        "```removed clip\n" + ":" * 200_000 + "\n" + "1:1" * 100_000,
        "```removed clip\n" + " " * 500_000 + "a\na" + " " * 500_000 + ": 3 mm",
        "```removed clip\nfoot " + "(" * 100_000 + "flush with web" + ")" * 100_000,
        "```removed clip\n" + "\n".join(f"fotos{n}: of it" for n in range(20_000)),
        "```removed " + "x" * 1_000_000,
        "> " * 3_000 + "```removed clip\n",
    ],
    ids=lambda text: f"{text[:24]!r}... {len(text)}",
)
def test_time_grows_with_the_length_only(text: str) -> None:
    in_time(text)


def test_numbers_of_five_thousand_digits() -> None:
    digits = "3" * 5_000
    lines = [f"hole to edge: {digits} mm", f"turns out: {digits}", f"width: 3/{digits} in", f"{digits}: x"]
    note, findings = read("```measured clip\n" + "\n".join(lines) + "\nhole to web: 3 mm\n```")
    assert [(f.word, f.span.line) for f in findings] == [("not-understood", n) for n in (2, 3, 4)]
    assert max(len(f.message) for f in findings) < 200
    assert [s.written for s in note.slips[0].statements] == ["3 mm"]


def test_control_characters_are_no_part_of_a_record() -> None:
    data = b"```removed cl\x1bip\nhole\x07 to edge: 3\x00 mm\nsaid\x08 so\n```\n"
    source, findings = decode("note.md", b"# a\x00b\n" + data)
    note, more = parse_note(source, USUAL)
    (slip,) = note.slips
    assert not findings + more
    assert note.title == "a b"
    assert slip.about == "cl ip"
    assert slip.statements[0].splits[0].subject == "hole"
    assert slip.sentences[0].text == "said  so"


def test_script_tags_stay_text() -> None:
    note, _ = read("<script>alert(1)</script>\n\n```removed <script>\n<b> to <i>: 3 mm\n```")
    assert not [token for token in note.tokens if token.type.startswith("html")]
    assert note.slips[0].about == "<script>"
    assert note.slips[0].statements[0].splits[0].reference == "<i>"


def test_not_utf8_is_told_with_its_line_and_nothing_else_is_lost() -> None:
    source, findings = decode("note.md", "# Tür\n\n```removed clip\nnote: größer\n```\n".encode("cp1252"))
    assert [(f.word, f.span.line, f.span.column) for f in findings] == [("not-utf8", 1, 4)]
    note, more = parse_note(source, USUAL)
    assert note.title == "Tür"
    assert note.slips[0].entries[0].value == "größer"
    assert not more


def test_not_utf8_in_a_later_line() -> None:
    data = "# Tür ½\r\n\r\nfine\r\n".encode() + b"bad \xff here\r\n"
    _, findings = decode("note.md", data)
    assert [(f.span.line, f.span.column) for f in findings] == [(4, 5)]


def test_only_the_bytes_that_are_not_utf8_are_read_otherwise() -> None:
    source, findings = decode("note.md", "Tür\n".encode() + "Müller\n".encode("cp1252"))
    assert source.lines == ("Tür", "Müller", "")
    assert [(f.word, f.span.line) for f in findings] == [("not-utf8", 2)]


def test_utf16_is_read_and_told() -> None:
    source, findings = decode("note.md", "# Tür\n```removed clip\n```\n".encode("utf-16"))
    assert [f.word for f in findings] == ["not-utf8"]
    assert parse_note(source, USUAL)[0].slips[0].about == "clip"


def test_byte_order_mark_and_line_ends() -> None:
    source, findings = decode("note.md", b"\xef\xbb\xbf# A\r\n```removed clip\rhole to edge: 3 mm\r\n```")
    note, more = parse_note(source, USUAL)
    assert not findings + more
    assert note.slips[0].statements[0].span.line == 3
