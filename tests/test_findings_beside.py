"""In the shop edition a day's page tells each finding once, beside what it is about; in public it tells none."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from journal.pages.edition import Edition
from tests.builds import write_build
from tests.site_fixture import Page, site_of, text_of

NOTE = """# Guides off

```removed guide bracket, left
from: sill, left
photos: IMG_9
hole to rear end: 1580
slot to rear end: 18 mm by rule
colour rear end
held bye: 2 spot welds
```

```remvoed guide bracket, right
```

```photo IMG_1
line: 0.1
```

```removed clip
"""
DAY = "days/2026-03-21/index.html"


def page_of(folder: Path, edition: Edition) -> str:
    files = {"2026-03-21 left sill/note.md": NOTE, "2026-03-21 left sill/IMG_1.jpg": "a picture"}
    return text_of(site_of(write_build(folder, files), edition), DAY)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    return page_of(tmp_path_factory.mktemp("build"), "shop")


def after(page: str, words: str) -> str:
    """The first line of the first finding that stands after some words of the page."""
    rest = page[page.index(words) :]
    found = re.search(r'<div class="finding \w+">\s*<p>(.*?)</p>', rest, re.DOTALL)
    assert found
    return re.sub("<[^>]+>", "", found[1])


def between(page: str, start: str, end: str) -> str:
    return page[page.index(start) :].partition(end)[0]


def test_a_finding_about_a_line_stands_in_its_line(shop: str) -> None:
    assert "IMG_9" in between(shop, '<div id="note-1-line-5">', "</dd>").partition('class="finding')[2]


def test_a_finding_about_a_reading_stands_below_it(tmp_path: Path) -> None:
    again = NOTE.partition("photos")[0] + "slot to rear end: {} mm by rule\nhole to web: 9 mm by rule\n```\n"
    files = {"2026-03-21 a/note.md": again.format(18), "2026-03-28 b/note.md": again.format(31)}
    page = text_of(site_of(write_build(tmp_path, files), "shop"), "days/2026-03-28/index.html")
    row = between(page, '<span id="note-1-line-5">', '<span id="note-1-line-6">')
    assert "18 mm" in row.partition('<tr class="told">')[2]


def test_a_finding_about_a_line_that_is_not_shown_stands_at_the_end_of_its_slip(shop: str) -> None:
    slip = between(shop, 'id="note-1-line-3"', "</section>").rpartition("</table>")[2]
    assert "note.md:6" in slip
    assert "note.md:9" in slip


def test_a_finding_about_a_slip_stands_at_its_end(shop: str) -> None:
    slip = between(shop, 'id="note-1-line-3"', "</section>")
    assert 'class="finding warning"' in slip.rpartition("</table>")[2]


def test_a_slip_of_a_kind_nobody_knows_is_told_below_it(shop: str) -> None:
    assert "remvoed" in after(shop, "<pre")


def test_each_is_told_once(shop: str, tmp_path: Path) -> None:
    from tests.builds import tell_files

    files = {"2026-03-21 left sill/note.md": NOTE, "2026-03-21 left sill/IMG_1.jpg": "a picture"}
    findings = tell_files(tmp_path, files).judgement.findings
    expected = [f for f in findings if f.span.file.endswith("note.md") and f.severity != "remark"]
    assert len(expected) >= 6
    assert len(re.findall(r'<div class="finding \w+">', shop)) == len(expected)


def test_the_page_stays_well_formed(shop: str) -> None:
    page = Page(shop)
    assert page.faults == []
    assert len(page.ids) == len(set(page.ids))


def test_followers_are_told_nothing_of_it(tmp_path: Path) -> None:
    assert 'class="finding' not in page_of(tmp_path, "public")
