"""Bag tags: what stands on them, codes that lead back, sheets that fit their paper, settings that are read."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from journal.ground.finding import Finding
from journal.judge.verdicts import Judgement
from journal.model.book import Book
from journal.pages.edition import Edition, reduced
from journal.pages.findable import rows
from journal.pages.query import read_query
from journal.pages.tags import QUIET, qr_path, short_codes, style, tag_sheet
from journal.pages.viewer import Viewer
from journal.pages.work_views import Tag, TagSheet
from journal.read.settings import Settings, parse_settings
from journal.read.tag_sheet import LEAST, PAPERS, SHEETS
from tests.builds import TITLE, tell_files

DAY = "2026-03-21 left sill/note.md"
BRACKET = """\
```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
way round: upright to the rear, foot to the front
stored: tin 4
```
"""
SITE = 'site = "https://example.org/truck/"\n'


def viewer_of(folder: Path, note: str, settings: str = "", edition: Edition = "public") -> Viewer:
    told = tell_files(folder, {"build.toml": TITLE + settings, DAY: note})
    book, judgement = told.book, told.judgement
    assert isinstance(book, Book)
    assert isinstance(judgement, Judgement)
    return Viewer(*reduced(book, judgement, edition), edition)


def tags(sheet: TagSheet) -> list[Tag]:
    return [tag for day in sheet.days for tag in day.tags]


# --- what stands on a tag


def test_a_tag_says_name_side_from_date_held_by_and_way_round(tmp_path: Path) -> None:
    sheet = tag_sheet(viewer_of(tmp_path, BRACKET))
    assert [day.date for day in sheet.days] == [date(2026, 3, 21)]
    (tag,) = tags(sheet)
    assert (tag.name, tag.side) == ("guide bracket front", "left")
    assert tag.lines == (
        ("From", "sill, left"),
        ("Off", "21 Mar 2026"),
        ("Held by", "2 spot welds"),
        ("Way round", "upright to the rear, foot to the front"),
    )


def test_there_is_a_tag_for_what_is_in_a_bag_only(tmp_path: Path) -> None:
    note = (
        BRACKET + "\n```part clip\nfrom: sill, left\n```\n\n```removed lamp\nheld by: 1 nut\n```\n\n"
        "```refitted lamp\n```\n\n```removed felt\nheld by: glue\n```\n\n```scrapped felt\n```\n"
    )
    assert [tag.part.text for tag in tags(tag_sheet(viewer_of(tmp_path, note)))] == ["guide bracket front, left"]


def test_where_it_is_stored_is_on_no_tag_and_private_parts_have_none(tmp_path: Path) -> None:
    note = BRACKET + "\n```removed cash box\nheld by: 2 screws\nprivate: yes\n```\n"
    public = tag_sheet(viewer_of(tmp_path / "a", note, SITE))
    shop = tag_sheet(viewer_of(tmp_path / "b", note, SITE, "shop"))
    assert [tag.name for tag in tags(public)] == ["guide bracket front"]
    assert "tin 4" not in str(public)
    box = next(tag for tag in tags(shop) if tag.name == "cash box")
    assert (box.path, len(box.code)) == ("", 5), "there is no public page to lead to"


# --- short codes


def test_without_an_address_there_is_a_code_that_search_finds(tmp_path: Path) -> None:
    viewer = viewer_of(tmp_path, BRACKET)
    (tag,) = tags(tag_sheet(viewer))
    assert (tag.path, tag.size) == ("", 0)
    found = [row.title for row in rows(viewer) if tag.code in row.also]
    assert found == ["guide bracket front, left"]
    query = read_query(tag.code)
    assert (query.words, query.ranges) == ((tag.code.casefold(),), ())


@given(st.lists(st.text("abcdef-0123456789", min_size=1, max_size=30), unique=True, max_size=60))
def test_codes_are_words_to_search_and_no_two_are_alike(parts: list[str]) -> None:
    codes = short_codes(parts)
    assert len(set(codes.values())) == len(parts)
    for code in codes.values():
        assert re.fullmatch(r"([A-HJ-NP-Y][2-9]){2}[A-HJ-NP-Y]", code)
        assert not read_query(code).ranges


def test_a_code_stays_when_other_parts_come() -> None:
    assert short_codes(["sill-left"])["sill-left"] == short_codes(["lamp", "sill-left", "dash"])["sill-left"]


def test_where_two_would_share_a_code_the_second_gets_another() -> None:
    many = [f"part-{n}" for n in range(6000)]
    assert len(set(short_codes(many).values())) == len(many)


# --- QR codes, read back by another program


@pytest.mark.parametrize(
    "text",
    [
        "https://example.org/truck/parts/guide-bracket-front-left/index.html",
        "https://a.example/parts/sill/index.html",
        "https://example.org/" + "a-long-name-" * 20 + "/index.html",
    ],
)
def test_a_code_is_read_back_by_an_independent_decoder(text: str, tmp_path: Path) -> None:
    """zbar shares nothing with segno; the picture is drawn here from the path that stands in the page."""
    if not shutil.which("zbarimg"):
        pytest.skip("needs Debian's zbar-tools")
    path, size = qr_path(text)
    picture = tmp_path / "code.png"
    drawn(path, size).save(picture)
    read = subprocess.run(["zbarimg", "--raw", "-q", str(picture)], capture_output=True, text=True, check=True)
    assert read.stdout.strip() == text


def drawn(path: str, size: int, scale: int = 8) -> Image.Image:
    """An SVG path of `M x y h n v 1 h -n z` runs as a picture."""
    image = Image.new("L", (size * scale, size * scale), 255)
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", path)
    assert "".join(f"M{x} {y}h{n}v1h-{back}z" for x, y, n, back in runs) == path
    for x, y, n, back in ((int(a), int(b), int(c), int(d)) for a, b, c, d in runs):
        assert n == back
        image.paste(0, (x * scale, y * scale, (x + n) * scale, (y + 1) * scale))
    return image


def test_a_code_has_its_quiet_zone() -> None:
    """Four modules (ISO/IEC 18004, from memory); a code of version v has 17 + 4 v."""
    path, size = qr_path("https://example.org/")
    assert (size - 2 * QUIET - 17) % 4 == 0
    starts = [(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h", path)]
    assert min(x for x, _ in starts) == QUIET
    assert min(y for _, y in starts) == QUIET


def test_the_code_leads_to_the_page_of_the_part(tmp_path: Path) -> None:
    (tag,) = tags(tag_sheet(viewer_of(tmp_path, BRACKET, SITE)))
    assert (tag.path, tag.size) == qr_path("https://example.org/truck/parts/guide-bracket-front-left/index.html")


# --- sheets and settings


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_fits_its_paper(name: str) -> None:
    sheet = SHEETS[name]
    wide, high = PAPERS[sheet.paper]
    assert sheet.across_all <= wide
    assert sheet.down_all <= high
    assert (sheet.width, sheet.height) >= LEAST
    assert f"@page {{ size: {float(wide):.5g}mm {float(high):.5g}mm" in style(sheet)


def settings_of(text: str) -> tuple[Settings, list[Finding]]:
    return parse_settings((TITLE + "[tags]\n" + text).encode())


def test_sizes_come_from_build_toml_in_any_unit() -> None:
    lines = ('paper = "Letter"', 'width = "4 in"', 'height = "3 1/3 in"', "rows = 3", 'left = "0.156 in"')
    settings, findings = settings_of("\n".join(lines))
    assert findings == []
    tags = settings.tags
    assert (tags.paper, tags.rows, tags.columns) == ("Letter", 3, 2)
    assert (tags.width, tags.height) == (Fraction("101.6"), Fraction(254, 3))


def test_a_sheet_by_name_may_be_changed_in_one_thing() -> None:
    settings, findings = settings_of('sheet = "A4 70 x 37"\nmarks = true\n')
    assert findings == []
    assert (settings.tags.columns, settings.tags.marks) == (3, True)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("width = 95", 'width takes a length such as "95 mm" or "4 in", not 95'),
        ('width = "95"', 'width takes a length such as "95 mm" or "4 in", not "95"'),
        ('width = "about right"', 'width takes a length such as "95 mm" or "4 in", not "about right"'),
        ('height = "3 kg"', 'height takes a length such as "95 mm" or "4 in", not "3 kg"'),
        ('paper = "A5"', 'paper takes "A4" or "Letter", not "A5"'),
        ("rows = 0", "rows takes a number from 1 to 20, not 0"),
        ("rows = true", "rows takes a number from 1 to 20, not True"),
        ('marks = "yes"', 'marks takes true or false, not "yes"'),
        ('widht = "95 mm"', 'build.toml has no key "widht" in [tags]'),
        ('width = "30 mm"', 'width takes at least 68 mm, or the words have no room, not "30 mm"'),
        ('width = "120 mm"',
         'width takes what fits on A4: 2 columns end 250 mm from its left edge, not "120 mm"'),
        ("rows = 5", 'height takes what fits on A4: 5 rows end 343.5 mm from its upper edge, not "65 mm"'),
        ('sheet = "A4"', "sheet takes one of "),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_and_costs_that_key_only(line: str, told: str) -> None:
    settings, findings = settings_of(line + "\n")
    assert [(f.word, f.message.startswith(told)) for f in findings] == [("unknown-setting", True)], findings
    assert settings.tags == SHEETS["A4 plain"]


def test_tags_that_are_no_section_are_told() -> None:
    settings, findings = parse_settings((TITLE + 'tags = "big"\n').encode())
    assert [f.word for f in findings] == ["unknown-setting"]
    assert settings.tags == SHEETS["A4 plain"]
