"""Cautions stand where a name calls for them, and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.pages.safety import HAZARDS, RECORD_ONLY, cautions
from tests.builds import write_build
from tests.site_fixture import Page, pages_of, site_of, text_of


@pytest.mark.parametrize(
    ("words", "id"),
    [
        ("brake pedal", "brakes"), ("steering arm, left", "steering"), ("tiller", "steering"),
        ("seat belt anchorage", "restraint"), ("lifting eye", "lifting"), ("tow hook", "lifting"),
        ("sill, left", "structure"), ("cross member 2", "structure"), ("fuel pump", "fuel"),
        ("2 spot welds", "hot-work"), ("grind back the flange", "hot-work"),
        ("zinc primer", "zinc-fume"), ("battery, left", "battery"), ("jack up the rear", "jacking"),
        ("road spring", "springs"), ("strip the old paint", "lead"), ("brake linings", "asbestos"),
    ],
)  # fmt: skip
def test_a_word_calls_for_its_caution(words: str, id: str) -> None:
    assert id in [caution.id for caution in cautions([words])]


@pytest.mark.parametrize(
    "words",
    ["spring washer", "lamp lead", "battery clamp", "sill trim", "jack socket", "wedge",
     "window frame", "heating duct", "break in the flange", "handrail", "torchon cloth"],
)  # fmt: skip
def test_a_word_that_only_looks_alike_does_not(words: str) -> None:
    assert cautions([words]) == ()


def test_safety_parts_stand_first_and_send_on_to_who_knows() -> None:
    told = cautions(["weld", "brake rod"])
    assert [c.first for c in told] == [True, False]
    for hazard in HAZARDS:
        if hazard.first:
            assert "maker's manual" in hazard.text, hazard.id
            assert "licensed" in hazard.text, hazard.id
            assert "local rules" in hazard.text, hazard.id


def test_safety_said_in_a_slip_counts_and_no_does_not() -> None:
    assert [c.id for c in cautions(["handrail"], safety="yes")] == ["safety-part"]
    assert [c.id for c in cautions(["handrail"], safety="driver hangs on to it")] == ["safety-part"]
    assert cautions(["handrail"], safety="no") == ()


def test_every_caution_is_one_line_with_a_text_and_a_source() -> None:
    for hazard in HAZARDS:
        assert hazard.signal in ("WARNING", "CAUTION", "NOTICE"), "DANGER says it will happen; a note cannot know that"
        assert len(hazard.line) <= 70, hazard.id
        assert hazard.source, hazard.id
        assert hazard.text.endswith("."), hazard.id


def test_on_the_page_the_line_stands_above_all_and_the_text_below_the_readings(tmp_path: Path) -> None:
    note = "```removed brake lever, left\nheld by: clamp\nhole to edge: 12 mm\n```\n"
    text = text_of(site_of(write_build(tmp_path, {"2026-03-07 a/note.md": note})), "parts/brake-lever-left/index.html")
    line, text_place = text.index("Brakes: they keep"), text.index("A brake that fails")
    assert line < text.index("<h1")
    assert text.index('id="readings"') < text_place
    assert 'href="#caution-brakes"' in text


def test_every_page_says_that_it_is_a_record(tmp_path: Path) -> None:
    for path, text in pages_of(site_of(write_build(tmp_path, {}))).items():
        assert RECORD_ONLY in Page(text).all("footer")[0].text, path


def test_what_is_written_under_safety_calls_for_its_own_caution() -> None:
    """A pull rod is not called a brake part; its `safety: brake` does."""
    assert [caution.id for caution in cautions(["pull rod"], "brake")] == [c.id for c in cautions(["brake rod"])]
    assert [caution.id for caution in cautions(["pull rod"], "yes")] == ["safety-part"]
