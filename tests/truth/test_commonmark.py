"""CommonMark's own examples render as its spec says, slips or no slips.

Truth: the examples of the CommonMark spec 0.31.2 (https://spec.commonmark.org/0.31.2/), taken at test time from the npm
package commonmark-spec; `tests/fetch_outside_truth.py` fetches it, nothing of it is kept in the project.
"""

from __future__ import annotations

import re
from functools import lru_cache

import pytest
from markdown_it import MarkdownIt

from journal.ground.source import Source
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.slips import markdown, read_fences
from tests.fetch_outside_truth import commonmark_spec

EXAMPLE = re.compile(r"^`{32} example\n(.*?)^\.\n(.*?)^`{32}$", re.MULTILINE | re.DOTALL)
SLIP = "```removed guide bracket front, left\nhole to rear end: 1580 mm by tape\n```\n\n"

pytestmark = pytest.mark.skipif(
    not commonmark_spec().exists(),
    reason="CommonMark's examples are not here: run `python tests/fetch_outside_truth.py` (needs npm)",
)


@lru_cache(maxsize=1)
def examples() -> list[tuple[str, str]]:
    """(Markdown, HTML) of every example, its arrows turned into tabs."""
    text = commonmark_spec().read_text("utf-8").replace("→", "\t")
    return EXAMPLE.findall(text)


def rendered(text: str) -> str:
    """Our reading of `text`, with raw HTML on, as the spec's examples want it."""
    reading = read_fences(Source.of("note.md", text), html=True)
    return markdown(html=True).renderer.render(list(reading.tokens), markdown(html=True).options, {})


def differing(pairs: list[tuple[str, str, str]]) -> str:
    """What differs, the first few, for the message of a failing test."""
    wrong = [f"{text!r}\n  wanted {want!r}\n  got    {got!r}" for text, want, got in pairs if want != got]
    return "\n".join([f"{len(wrong)} examples differ", *wrong[:5]]) if wrong else ""


def test_all_examples_are_there() -> None:
    assert len(examples()) == 652


def test_examples_render_as_the_spec_says() -> None:
    """White space inside an empty quote has no meaning; CommonMark's own runner passes over it too."""

    def plain(html: str) -> str:
        return html.replace("<blockquote>\n</blockquote>", "<blockquote></blockquote>")

    assert not differing([(text, plain(html), plain(rendered(text))) for text, html in examples()])


def test_slips_change_nothing_for_other_blocks() -> None:
    plain = MarkdownIt("commonmark")
    assert not differing([(text, plain.render(text), rendered(text)) for text, _ in examples()])


def test_examples_behind_a_slip_render_the_same_and_the_slip_is_read() -> None:
    plain = MarkdownIt("commonmark")
    assert not differing([(text, plain.render(SLIP + text), rendered(SLIP + text)) for text, _ in examples()])
    for text, _ in examples():
        note, findings = parse_note(Source.of("note.md", SLIP + text), NoteSettings())
        assert [slip.about for slip in note.slips] == ["guide bracket front, left"], text
        assert len(note.slips[0].statements) == 1
        assert not findings, (text, findings)


def test_no_example_is_taken_for_a_slip() -> None:
    for text, _ in examples():
        note, findings = parse_note(Source.of("note.md", text), NoteSettings())
        assert note.slips == ()
        assert not findings, (text, findings)
