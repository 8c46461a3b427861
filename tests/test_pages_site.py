"""Every page of a whole site: its links, its markup, its policy; the same bytes every time."""

from __future__ import annotations

import json
import posixpath
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from tinyhtml5.parser import HTMLParser as StandardParser

from journal.pages.edition import Edition
from journal.pages.render import CONTENTS
from tests.builds import TODAY, write_build
from tests.site_fixture import EXAMPLE, Page, SiteFiles, pages_of, site_of, text_of

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'"
)
# One note that is as nasty as a note can be: every page it reaches has to hold.
NASTY = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>../../etc/passwd"
HOSTILE = {
    "build.toml": f'title = "{NASTY.replace(chr(34), "")}"\nabout = "<b>bold</b>"\nauthor = "\\"><script>"\n',
    "2026-03-07 arrival/note.md": f"""# {NASTY}

<script>alert(3)</script> [x](javascript:alert(4)) [y](JaVaScRiPt:alert(5)) 
[z](data:text/html,<script>alert(6)</script>)
[w](vbscript:alert(7)) [v](file:///etc/passwd) ![{NASTY}](../../../etc/passwd) ![x](https://example.com/x.png)
[ok](https://example.com/a?b=<c>) [up](../../../index.html) <javascript:alert(8)> {'verylongword' * 60}

```removed {NASTY}, left
from: <svg onload=alert(9)>
held by: 2 bolts <img src=x onerror=alert(10)>
way round: {'x' * 3000}
stored: ../../../tmp
photos: ../../IMG_1
hole to "><script>alert(11)</script>: 12 mm
</pre></td></table></main>: 13 mm
```

```job {NASTY}
needs: {NASTY}, left
```

```ordered ../../{NASTY}
due: <script>alert(12)</script>
```

```photo IMG_1.jpg
caption: "><script>alert(13)</script>
shows: {NASTY}, left
line: 0.1,0.1 9e9,0.9 <text onclick=alert(14)>
```
""",
    "2026-03-07 arrival/IMG_1.jpg": "a picture",
    "2026-03-07 arrival/IMG_2.jpg": "no picture at all",
}
EMPTY = {"build.toml": 'title = "Platform truck No. 9"\n'}


@pytest.fixture(scope="module", params=["public", "shop", "hostile public", "hostile shop", "empty"])
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> SiteFiles:
    which: str = request.param
    edition: Edition = "shop" if "shop" in which else "public"
    if which in ("public", "shop"):
        return site_of(EXAMPLE, edition)
    files = EMPTY if which == "empty" else HOSTILE
    return site_of(write_build(tmp_path_factory.mktemp("build"), files), edition)


@cache
def seen(text: str) -> Page:
    """A page parsed once for all tests."""
    return Page(text)


def targets(page: Page) -> list[str]:
    """Every address a page names."""
    found = []
    for element in page.elements:
        found += [element.attrs[name] for name in ("href", "src") if name in element.attrs]
        found += [piece.split()[0] for piece in element.attrs.get("srcset", "").split(",") if piece.strip()]
    return found


def test_every_internal_link_and_anchor_resolves(site: SiteFiles) -> None:
    pages = {path: seen(text) for path, text in pages_of(site).items()}
    ids = {path: set(page.ids) for path, page in pages.items()}
    checked, broken = 0, []
    for path, page in pages.items():
        for target in targets(page):
            parts = urlsplit(target)
            if parts.scheme:
                continue
            goal, _, fragment = _goal(path, target).partition("#")
            checked += 1
            if goal not in site:
                broken.append(f"{path}: {target}")
            elif fragment and fragment not in ids[goal]:
                broken.append(f"{path}: {target} (no such anchor)")
    assert checked > 50
    assert broken == []


def test_links_name_index_html_and_leave_only_where_a_note_says_so(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        for target in targets(seen(text)):
            scheme = urlsplit(target).scheme
            assert scheme in ("", "https", "http", "mailto"), f"{path}: {target}"
            assert scheme or not target.split("#")[0].endswith("/"), f"{path}: {target}"
            assert scheme or not target.startswith("/"), f"{path}: {target}"


def test_no_page_loads_anything_from_outside(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        for element in seen(text).all("img", "script", "link", "iframe", "object", "embed", "source", "form"):
            if element.attrs.get("rel") == "canonical":  # names the page's own address, and nothing is fetched
                assert element.attrs["href"] == f"https://example.org/platform-truck-9/{path}"
                continue
            for name in ("src", "href", "srcset", "action", "data"):
                assert "//" not in element.attrs.get(name, ""), f"{path}: {element}"


def test_pages_are_well_formed(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        page = seen(text)
        assert page.faults == [], path
        assert len(page.ids) == len(set(page.ids)), f"{path}: {[i for i in page.ids if page.ids.count(i) > 1]}"


def test_pages_parse_as_the_standard_says(site: SiteFiles) -> None:
    """The parser of the HTML standard finds no error."""
    for path, text in pages_of(site).items():
        parser = StandardParser()
        parser.parse(text)
        assert parser.errors == [], f"{path}: {parser.errors[:3]}"


def test_every_page_has_the_policy_and_nothing_inline(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        page = seen(text)
        policies = [e for e in page.all("meta") if e.attrs.get("http-equiv") == "Content-Security-Policy"]
        assert [policy.attrs["content"] for policy in policies] == [POLICY], path
        assert page.all("style", "base", "iframe", "object", "embed") == [], path
        for element in page.elements:
            wrong = [name for name in element.attrs if name.startswith("on") or name == "style"]
            assert not wrong, f"{path}: <{element.tag}> has {wrong}"
        for script in page.all("script"):
            assert script.attrs.get("src"), path
            assert not script.text.strip(), path


def test_every_page_can_be_read_by_everybody(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        page = seen(text)
        assert [e.attrs.get("lang") for e in page.all("html")] == ["en"], path
        assert len(page.all("h1")) == 1, path
        assert len(page.all("main")) == 1, path
        assert page.all("title")[0].text.strip(), path
        levels = [int(e.tag[1]) for e in page.all("h1", "h2", "h3", "h4", "h5", "h6")]
        assert levels[0] == 1, path
        for image in page.all("img"):
            assert "alt" in image.attrs, path
            assert int(image.attrs["width"]) > 0, path
            assert int(image.attrs["height"]) > 0, path
        assert all("caption" in _inside(page, table) for table in page.all("table")), path
        labelled = {e.attrs.get("for") for e in page.all("label")}
        assert all(e.attrs.get("id") in labelled for e in page.all("input")), path
        for anchor in page.all("a"):
            named = anchor.text.strip() or anchor.attrs.get("aria-hidden") or "img" in _inside(page, anchor)
            assert named, f"{path}: a link without words in line {anchor.line}"


def _inside(page: Page, of: object) -> list[str]:
    at = next(n for n, element in enumerate(page.elements) if element is of)
    depth = len(page.elements[at].above)
    found = []
    for element in page.elements[at + 1 :]:
        if len(element.above) <= depth:
            break
        found.append(element.tag)
    return found


def test_search_and_contents_are_reached_from_every_page(site: SiteFiles) -> None:
    for path, text in pages_of(site).items():
        goals = {_goal(path, target).partition("#")[0] for target in targets(seen(text))}
        assert {url for _, _, url in CONTENTS} <= goals, path


def test_every_measurement_is_linked_with_all_it_belongs_to() -> None:
    """Part, place, day, note line and picture: from the reading, and back to it."""
    site = site_of(EXAMPLE, "shop")
    pages = {path: seen(text) for path, text in pages_of(site).items()}
    links = {path: {_goal(path, t) for t in targets(page)} for path, page in pages.items()}
    places = {row["id"]: row for row in json.loads(text_of(site, "data/parts.json"))["parts"]}
    pictures = {row["file"]: row["url"] for row in json.loads(text_of(site, "data/photos.json"))["photos"]}
    rows = json.loads(text_of(site, "data/measurements.json"))["measurements"]
    assert len(rows) > 40
    for row in rows:
        part, day, anchor = f"parts/{row['part']}/index.html", f"days/{row['date']}/index.html", f"m-{row['id']}"
        assert row["url"] == f"{part}#{anchor}"
        assert anchor in pages[part].ids
        assert anchor in pages[day].ids
        assert f"{part}#{anchor}" in links[day], "the day leads to the reading of its part"
        assert any(goal.startswith(f"{day}#note-") for goal in links[part]), "the part leads to the line of the note"
        assert f"{part}#{anchor}" in links["measurements/index.html"]
        if places[row["part"]]["place"]:
            assert any(goal.startswith("places/") for goal in links[part])
        for picture in row["photos"]:
            assert pictures[picture] in links[part]
    assert any(row["url"] in links["places/underside-left-sill/index.html"] for row in rows)


def _goal(path: str, target: str) -> str:
    file, _, fragment = target.partition("#")
    goal = posixpath.normpath(posixpath.join(posixpath.dirname(path), unquote(file))) if file else path
    return f"{goal}#{unquote(fragment)}" if fragment else goal


def test_a_second_process_gives_the_same_bytes() -> None:
    """Another seed for hashing, another order of sets: the same site."""
    here = site_of(EXAMPLE, "public")
    script = (
        "import hashlib, sys; from pathlib import Path; from tests.site_fixture import EXAMPLE, site_of\n"
        "for path, content in sorted(site_of(EXAMPLE).items()):\n"
        "    data = content if isinstance(content, bytes) else content.read_bytes()\n"
        "    print(hashlib.sha256(data).hexdigest(), path)\n"
    )
    root = Path(__file__).parent.parent
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=root, env={"PYTHONHASHSEED": "77", "PATH": ""},
        capture_output=True, text=True, check=True,
    )
    import hashlib

    mine = {
        path: hashlib.sha256(c if isinstance(c, bytes) else c.read_bytes()).hexdigest() for path, c in here.items()
    }
    theirs = {line[65:]: line[:64] for line in run.stdout.splitlines()}
    assert theirs == mine


def test_the_day_told_is_the_day_given(tmp_path: Path) -> None:
    """No clock: the page names the day it is told for, and nothing of today."""
    site = site_of(write_build(tmp_path, EMPTY), today=TODAY)
    assert re.search(r'<time datetime="2026-05-09">9 May 2026</time>', text_of(site, "index.html"))


def test_every_empty_list_says_what_to_write(tmp_path: Path) -> None:
    site = site_of(write_build(tmp_path, EMPTY))
    for path in ("index", "parts/index", "places/index", "days/index", "measurements/index", "jobs/index"):
        text = text_of(site, f"{path}.html")
        assert 'class="empty"' in text, path
        assert "<code>" in text, path
