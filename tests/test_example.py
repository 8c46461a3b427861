"""The example build tells exactly what it means to tell, and nothing else."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path

import pytest

from journal.build import Told
from journal.make import tell_build
from journal.pages.tags import qr_path
from tests.site_fixture import site_of, text_of

EXAMPLE = Path(__file__).parent.parent / "example_build"
LATE = date(2026, 5, 9)  # a week after the last day

# Each is the kind of slip a real person makes: (file and line, severity, word, part).
INTENDED = [
    ("2026-03-14 deck and battery off/note.md:74", "warning", "unknown-key"),
    ("2026-03-14 deck and battery off/note.md:77", "remark", "not-moved-over"),
    ("2026-03-14 deck and battery off/note.md:121", "problem", "no-unit"),
    ("2026-03-14 deck and battery off/note.md:188", "problem", "missing-photo"),
    ("2026-03-14 deck and battery off/note.md:191", "warning", "suspect-measurement"),
    ("2026-03-14 deck and battery off/note.md:266", "problem", "ambiguous-value"),
    ("2026-03-15 onto the stands/note.md:35", "warning", "seen-not-measured"),
    ("2026-03-15 onto the stands/note.md:105", "warning", "sides-differ"),
    ("2026-03-15 onto the stands/note.md:130", "remark", "no-photo-in-place"),
    ("2026-03-15 onto the stands/note.md:130", "warning", "partly-recorded"),
    ("2026-03-21 left sill/note.md:75", "problem", "lost-with-host"),
    ("2026-03-28 sill out/note.md:35", "remark", "no-photo-in-place"),
    ("2026-03-28 sill out/note.md:35", "warning", "reference-gone"),
    ("2026-04-04 new sill tacked/note.md:28", "warning", "late-order"),
    ("2026-04-11 brackets back/note.md:39", "warning", "new-one-differs"),
    ("2026-04-18 trial fit/note.md:22", "warning", "refit-off"),
    ("2026-04-18 trial fit/note.md:35", "warning", "out-of-want"),
    ("2026-05-02 on its wheels/note.md:73", "warning", "no-route"),
    ("2026-05-02 on its wheels/note.md:91", "warning", "nearly-same-name"),
    ("2026-05-02 on its wheels/note.md:115", "remark", "welded-after-paint"),
]


@pytest.fixture(scope="module")
def told() -> Told:
    return tell_build(EXAMPLE, LATE)


def test_the_findings_are_the_intended_ones(told: Told) -> None:
    found = [(f"{f.span.file}:{f.span.line}", f.severity, f.word) for f in told.judgement.findings]
    assert found == INTENDED


def test_the_warning_before_the_saw_is_given_while_the_old_sill_is_there() -> None:
    """On the evening of 22 March the sill is announced to go, and one clip on it has no record."""
    found = [f for f in tell_build(EXAMPLE, date(2026, 3, 22)).judgement.findings if f.word == "host-going"]
    assert [(f.part, f.severity) for f in found] == [("sill-left", "problem")]
    assert [note.message.split(":")[0] for note in found[0].notes] == ["wire clip"]


def test_one_bracket_is_carried_over_and_one_part_forgotten(told: Told) -> None:
    records = told.judgement.records
    assert records["guide-bracket-front-left"].state == "back on"
    assert records["guide-bracket-front-left"].word == "position recorded"
    assert records["wire-clip"].state == "off with its host"
    assert records["wire-clip"].word == "not recorded"


def test_it_is_as_large_as_it_says(told: Told) -> None:
    book = told.book
    units = {r.value.shown for r in book.readings.values() if r.value}
    assert len(book.days) >= 7
    assert len(book.parts) >= 20
    assert len(book.readings) >= 40
    assert {"mm", "in"} <= units
    assert {"treated", "ordered", "job", "replaced", "scrapped", "cut", "photo", "private"} <= {
        slip.slip.kind for day in book.days for note in day.notes for slip in note.slips
    }
    assert any(photo.lines for photo in book.photos.values())


def test_its_bag_tags_carry_codes_that_lead_to_its_pages(tmp_path: Path) -> None:
    """Nothing of the example is private, so every part in a bag has a public page and a code that leads there."""
    build = tmp_path / "example"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns(".journal-cache", "site*"))
    site = site_of(build, "shop", LATE)
    sheet = text_of(site, "tags/index.html")
    parts = re.findall(r'href="\.\./(parts/[^"/]+/index\.html)"', sheet)
    assert len(set(parts)) > 20
    for part in set(parts):
        path, size = qr_path(f"https://example.org/platform-truck-9/{part}")
        assert f'd="{path}"' in sheet, part
        assert f'viewBox="0 0 {size} {size}"' in sheet
        assert part in site
