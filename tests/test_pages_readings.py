"""A reading is told alike wherever it stands: on its part's page and among all measurements."""

from __future__ import annotations

import re
from html import unescape

import pytest

from tests.site_fixture import SiteFiles, site_of_files, text_of

BUILD = {
    "2026-03-21 off/note.md": """
```removed guide bracket, left
from: sill, left
hole edge to web: 15 mm by rule
hole to rear end: 1580 mm by tape, in doubt
plate thickness: 3.0 mm, want 3.2 mm by calliper
hole above jig hole: 20 mm from memory
hole behind hole of horn bracket, left: 341 mm
```

```removed horn bracket, left
from: dash
hole to rear end of sill, left: 900 mm
foot to top edge: 12 mm
```

```measured dash
sill above floor: 405 mm
```
""",
    "2026-04-11 back/note.md": "```replaced sill, left\nby: new panel\n```\n",
}
ROW = re.compile(r'<tr id="m-[^"]+"(?: class="(gone)")?>(.*?)</tr>', re.S)
WORDS = re.compile(r"<[^>]+>")


def said(html: str) -> str:
    return " ".join(unescape(WORDS.sub(" ", html)).split())


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> SiteFiles:
    return site_of_files(tmp_path_factory.mktemp("build"), BUILD, "shop")


@pytest.fixture(scope="module")
def rows(site: SiteFiles) -> dict[str, tuple[str, str]]:
    """Of the page of all measurements: what was read, to whether it is gone and its line."""
    found = {}
    for gone, line in ROW.findall(text_of(site, "measurements/index.html")):
        what = re.search(r'<td class="what" data-value="([^"]+)"', line)
        assert what
        found[what[1]] = gone, line
    assert len(found) == 8
    return found


def test_what_no_longer_counts_is_struck_and_says_why(rows: dict[str, tuple[str, str]]) -> None:
    gone, line = rows["hole edge to web"]
    assert gone
    assert "<s>hole edge to web</s>" in line
    assert re.search(r"<s><b class=\"figure\">15 mm</b>.*?</s>", line)
    assert "the new one was not measured there" in said(line)
    gone, line = rows["plate thickness"]
    assert not gone
    assert "<s>" not in line


def test_what_is_to_be_known_of_a_reading_stands_beside_it(rows: dict[str, tuple[str, str]]) -> None:
    assert "In doubt" in said(rows["hole to rear end"][1])
    assert "Wanted: 3.2 mm" in said(rows["plate thickness"][1])
    assert "From memory" in said(rows["hole above jig hole"][1])


@pytest.mark.parametrize(
    ("what", "on"),
    [
        ("hole edge to web", "on sill, left"),
        ("foot to top edge", "on dash"),
        ("sill above floor", "on the machine"),
        ("plate thickness", ""),
        ("hole behind hole of horn bracket, left", ""),
        ("hole to rear end of sill, left", ""),
    ],
)
def test_a_feature_of_something_else_says_of_what(rows: dict[str, tuple[str, str]], what: str, on: str) -> None:
    told = re.search(r'<span class="on">(.*?</span>.*?)</span>|<span class="on">(.*?)</span>', rows[what][1])
    assert said(told[0] if told else "") == on


IN_HAND = re.compile(r'<table class="in-hand">.*?<tbody>(.*?)</tbody>', re.S)


@pytest.mark.parametrize(
    ("part", "lines"),
    [
        ("guide-bracket-left", {"hole behind hole of horn bracket, left": "", "plate thickness": ""}),
        ("horn-bracket-left", {"foot to top edge": "dash"}),
        ("dash", {"sill above floor": "the machine"}),
    ],
)
def test_on_paper_from_is_said_only_of_the_host_it_was_measured_from(
    site: SiteFiles, part: str, lines: dict[str, str]
) -> None:
    """What is another part's is said in the name of the reading; the host would be wrong there."""
    table = IN_HAND.search(text_of(site, f"parts/{part}/index.html"))
    assert table
    rows = [re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row, re.S) for row in table[1].split("</tr>") if "<td" in row]
    found = {said(re.sub(r"<span class=.remark.*", "", row[0])): said(row[1]) for row in rows}
    assert found == lines
