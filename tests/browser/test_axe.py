"""Every kind of page before axe: by day and night, public and shop, on a phone and a desk, no fault (WCAG 2.2 AA).

The rules are those of the npm package axe-core (https://github.com/dequelabs/axe-core), fetched by
`tests/fetch_outside_truth.py`.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched
from tests.builds import write_build
from tests.fetch_outside_truth import AXE
from tests.site_fixture import EXAMPLE, site_of, written
from tests.test_pocket import pocket_of

pytestmark = [pytest.mark.browser, pytest.mark.skipif(not AXE.path.exists(), reason=AXE.missing)]

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]
RUN = """async ([type, values]) => {
  const options = { runOnly: { type, values }, resultTypes: ['violations'], preload: false };
  const found = await axe.run(document, options);
  const told = (rule) => rule.nodes.map((node) => `${rule.id}: ${node.target.join(' ')}: ${node.failureSummary}`);
  return { violations: found.violations.flatMap(told), passed: found.passes.length };
}"""
# One of each kind, and those of a kind that hold most.
KINDS = (
    "index.html", "to-record/index.html", "parts/index.html", "parts/guide-bracket-front-left/index.html",
    "parts/brake-pedal/index.html", "parts/sill-left/index.html", "parts/lamp-lead/index.html", "places/index.html",
    "places/underside-left-sill/index.html", "measurements/index.html", "days/index.html",
    "days/2026-03-21/index.html", "days/2026-05-02/index.html", "going-back/index.html", "jobs/index.html",
    "tags/index.html", "fixings/index.html", "treatments/index.html", "search/index.html", "404.html",
)  # fmt: skip
# What the public edition shows otherwise.
PUBLIC = ("index.html", "parts/brake-pedal/index.html", "days/2026-03-21/index.html", "going-back/index.html")
# What the theme `paper` draws itself, and what it gives other colours and letters.
PAPER = (
    "index.html", "parts/guide-bracket-front-left/index.html", "parts/sill-left/index.html", "days/index.html",
    "days/2026-03-21/index.html", "places/index.html", "measurements/index.html", "going-back/index.html",
    "jobs/index.html", "fixings/index.html", "tags/index.html", "to-record/index.html", "search/index.html",
)  # fmt: skip
VIEWED = "days/2026-03-21/index.html"  # pictures with dimension lines
EMPTY = ("index.html", "parts/index.html", "measurements/index.html", "going-back/index.html", "jobs/index.html")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(EXAMPLE, "shop"), tmp_path_factory.mktemp("shop"))


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(EXAMPLE, "public"), tmp_path_factory.mktemp("public"))


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(write_build(tmp_path_factory.mktemp("build"), {})), tmp_path_factory.mktemp("empty"))


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Path:
    build = tmp_path_factory.mktemp("build") / "truck"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns("site*"))
    toml = build / "build.toml"
    text = toml.read_text(encoding="utf-8")
    toml.write_text(text.replace("\nunits", '\ntheme = "paper"\nunits', 1), encoding="utf-8")
    return written(site_of(build, "shop"), tmp_path_factory.mktemp("paper"))


@pytest.fixture
def pocket(browser: Any, tmp_path: Path) -> Iterator[Any]:
    """The pocket file on a phone; its pictures lie inside it, which `watched` would take for requests."""
    file = tmp_path / "pocket.html"
    file.write_bytes(pocket_of(EXAMPLE).data)
    context = browser.new_context(viewport={"width": 360, "height": 780})
    page = context.new_page()
    page.goto(file.as_uri())
    yield page
    context.close()


def violations(page: Any) -> list[str]:
    """What axe finds on a phone and a desk, by day and night; by night only the colours are others."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.path.read_text(encoding="utf-8"))
    found: list[str] = []
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        for scheme, rules in (("light", ["tag", TAGS]), ("dark", ["rule", ["color-contrast"]])):
            page.emulate_media(color_scheme=scheme)
            told = page.evaluate(RUN, rules)
            assert told["passed"] > (10 if scheme == "light" else 0), "axe has looked at something"
            found += [f"{width} px, {scheme}: {one}" for one in told["violations"]]
    return found


@pytest.mark.parametrize("path", KINDS)
def test_axe_finds_nothing_in_the_shop(watched: Watched, shop: Path, path: str) -> None:
    assert violations(watched.open(shop / path)) == []


@pytest.mark.parametrize("path", PUBLIC)
def test_axe_finds_nothing_in_public(watched: Watched, public: Path, path: str) -> None:
    assert violations(watched.open(public / path)) == []


@pytest.mark.parametrize("path", EMPTY)
def test_axe_finds_nothing_on_a_build_that_only_begins(watched: Watched, empty: Path, path: str) -> None:
    assert violations(watched.open(empty / path)) == []


def test_axe_finds_nothing_among_hits(watched: Watched, shop: Path) -> None:
    page = watched.open(shop / "search" / "index.html", "?q=sill")
    page.locator("#hits .hit").first.wait_for()
    page.set_viewport_size({"width": 360, "height": 800})
    page.locator(".narrow summary").click()
    assert violations(page) == []


@pytest.mark.parametrize("path", PAPER)
def test_axe_finds_nothing_in_the_theme_paper(watched: Watched, paper: Path, path: str) -> None:
    page = watched.open(paper / path)
    assert page.locator("link[href$='paper.css']").count() == 1
    assert violations(page) == []


@pytest.mark.parametrize("theme", ["shop", "paper"])
def test_axe_finds_nothing_in_a_picture_full_screen(watched: Watched, theme: str, request: Any) -> None:
    page = watched.open(request.getfixturevalue(theme) / VIEWED)
    page.locator("main .plate a.full:visible").first.click()
    page.locator("dialog[open] svg.lines").wait_for()
    assert violations(page) == []
    assert page.locator("dialog[open]").count() == 1, "still open when axe had looked"


def test_axe_finds_nothing_in_the_pocket_file(pocket: Any) -> None:
    assert violations(pocket) == []


@pytest.mark.parametrize("words", ["16 mm", "sill", "handrial"])
def test_axe_finds_nothing_in_the_pocket_file_with_a_part_and_hits(pocket: Any, words: str) -> None:
    pocket.locator("#contents a", has_text="spring hook").click()
    pocket.get_by_role("searchbox").fill(words)
    pocket.locator("#hits > li").first.wait_for()
    assert violations(pocket) == []
    assert pocket.locator("#found").is_visible()


def test_axe_finds_nothing_among_marked_words(watched: Watched, shop: Path) -> None:
    page = watched.open(shop / "search" / "index.html", "?q=sill")
    page.locator("#hits .hit").first.wait_for()
    page.evaluate(
        """for (const one of document.querySelectorAll('.hit-head a, .hit-about, .hit-text, .hit-row a')) {
          const mark = document.createElement('mark');
          mark.append(...one.childNodes);
          one.append(mark);
        }"""
    )
    assert page.locator("mark").count() > 5
    assert violations(page) == []


def test_axe_finds_nothing_once_boxes_are_ticked(watched: Watched, shop: Path) -> None:
    page = watched.open(shop / "going-back" / "index.html")
    for box in page.locator(".step input").all()[:3]:
        box.check()
    page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")  # what has gone half under the head is no small target
    assert violations(page) == []


def test_axe_does_find_faults(watched: Watched, shop: Path) -> None:
    """The check can fail: a picture without words, text too faint, a field without a name."""
    page = watched.open(shop / "index.html")
    page.evaluate(
        """document.querySelector('main').insertAdjacentHTML('beforeend',
          '<img src="photos/none.jpg" width="9" height="9"><p class="faint">faint</p><input>');
        document.querySelector('.faint').style.color = '#c0c0c0';"""
    )
    watched.unwanted.clear()  # the picture that is not there
    rules = {one.split(": ")[1] for one in violations(page)}
    watched.unwanted.clear()
    assert {"image-alt", "color-contrast", "label"} <= rules
