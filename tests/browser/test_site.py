"""A made site in headless Chromium from file://: nothing in the console, nothing asked from outside, nothing run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched, expect
from tests.builds import write_build
from tests.site_fixture import EXAMPLE, site_of, written
from tests.test_pages_site import HOSTILE

pytestmark = pytest.mark.browser

KINDS = (
    "index.html", "to-record/index.html", "parts/index.html", "parts/guide-bracket-front-left/index.html",
    "places/index.html", "places/underside-left-sill/index.html", "measurements/index.html", "days/index.html",
    "days/2026-03-21/index.html", "jobs/index.html", "search/index.html", "404.html",
)  # fmt: skip
FIELDS = """() => [...document.querySelectorAll('.head nav a, .all a, .to > a, a.to, a.go, button, input, summary')]
  .filter((one) => one.getClientRects().length && getComputedStyle(one).visibility === 'visible')
  .map((one) => [one.textContent.trim() || one.id, one.getBoundingClientRect().height])"""
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """In a folder whose name needs care in an address."""
    return written(site_of(EXAMPLE, "shop"), tmp_path_factory.mktemp("site") / "a b #1 100%")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    build = write_build(tmp_path_factory.mktemp("build"), HOSTILE)
    return written(site_of(build, "shop"), tmp_path_factory.mktemp("hostile"))


@pytest.mark.parametrize("path", KINDS)
def test_a_page_fits_every_width_by_day_and_night(watched: Watched, example: Path, path: str) -> None:
    """Down to 320 px, which is 1280 px at 400 % (WCAG 2.2, 1.4.10)."""
    page = watched.open(example / path)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for width in (320, 360, 768, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate(OVERFLOW) <= 0, f"{path} at {width}"


@pytest.mark.parametrize("path", KINDS)
def test_a_page_holds_text_twice_as_large(watched: Watched, example: Path, path: str) -> None:
    """Made larger by a reader's own style, of which the widths that a style asks for know nothing."""
    page = watched.open(example / path)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    for width in (360, 768):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate(OVERFLOW) <= 0, width


@pytest.mark.parametrize("path", KINDS)
def test_what_is_pressed_can_be_hit_with_a_glove(watched: Watched, example: Path, path: str) -> None:
    page = watched.open(example / path)
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        fields = page.evaluate(FIELDS)
        assert len(fields) > 5
        assert [field for field in fields if field[1] < 43.5] == []


def test_the_keyboard_comes_in_by_the_skip_link(watched: Watched, example: Path) -> None:
    page = watched.open(example / "parts/index.html")
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("To the content")
    assert page.locator(":focus").bounding_box()["x"] >= 0, "it can be seen"
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_night_has_its_own_paper(watched: Watched, example: Path) -> None:
    page = watched.open(example / "index.html")
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    page.set_viewport_size({"width": 360, "height": 800})
    page.emulate_media(color_scheme="light")
    assert "rgb(250, 248, 243)" in page.evaluate(paper)
    page.emulate_media(color_scheme="dark")
    assert "rgb(20, 24, 28)" in page.evaluate(paper)


def test_a_dimension_line_leads_to_its_reading(watched: Watched, example: Path) -> None:
    page = watched.open(example / "days/2026-03-21/index.html")
    line = page.locator("svg.lines a").first
    expect(line.locator("text").first).to_have_text("15 mm")
    line.locator("text").first.click()
    row = page.locator(":target")
    expect(row).to_contain_text("hole edge to web")
    assert "/parts/guide-bracket-front-left/index.html#m-" in page.url


def test_pictures_are_shown_large_and_load(watched: Watched, example: Path) -> None:
    page = watched.open(example / "days/2026-03-21/index.html")
    page.set_viewport_size({"width": 360, "height": 800})
    first = page.locator(".plate img").first
    first.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.plate img').naturalWidth > 0")
    box = first.bounding_box()
    assert (box["x"], box["width"]) == (0, 360), "to the edge on a phone"


def test_the_first_screen_of_a_part_says_where_it_goes_and_how(watched: Watched, example: Path) -> None:
    page = watched.open(example / "parts/spring-hook-left/index.html")
    page.set_viewport_size({"width": 360, "height": 780})
    for words in ("spring hook", "sill, left", "Partly recorded", "can slide along", "hole to rear end",
                  "open side of the hook to the rear", "1 spot weld", "tin 4"):  # fmt: skip
        box = page.get_by_text(words).locator("visible=true").first.bounding_box()
        assert box["y"] + box["height"] <= 780, words


def test_search_finds_a_reading_written_in_inches_by_millimetres(watched: Watched, tmp_path: Path) -> None:
    note = "```removed hinge, left\nfrom: door post\nhole to lower edge: 5/8 in by rule\n```\n"
    build = write_build(tmp_path / "build", {"2026-03-07 door/note.md": note})
    page = watched.open(written(site_of(build), tmp_path / "site") / "search" / "index.html")
    page.locator("input[type=search]").fill("16 mm")
    hit = page.locator("#hits .hit").first
    expect(hit).to_contain_text("hinge, left")
    expect(hit).to_contain_text("5/8 in")
    hit.get_by_role("link", name="hole to lower edge").click()
    expect(page.locator(":target")).to_contain_text("5/8 in")


def test_everything_can_be_read_without_scripts(browser: Any, example: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((example / "measurements" / "index.html").as_uri())
    assert page.locator("table#measurements tbody tr").count() > 40
    page.goto((example / "search" / "index.html").as_uri())
    expect(page.locator("noscript a").first).to_be_visible()
    context.close()


def test_nothing_hostile_runs(watched: Watched, hostile: Path) -> None:
    """Every page of a build whose every name is an attack: no dialog, no fault, no request, no stray element."""
    page = watched.page
    page.on("dialog", lambda dialog: watched.unwanted.append(f"dialog: {dialog.message}"))
    pages = sorted(hostile.rglob("*.html"))
    assert len(pages) > 10
    page.set_viewport_size({"width": 360, "height": 800})
    for path in pages:
        watched.open(path)
        assert page.evaluate(OVERFLOW) <= 0, path
        assert page.locator("script:not([src]), [onload], [onerror], [onclick]").count() == 0, path
        assert page.locator("main img:not([src*='photos/'])").count() == 0, path
        wrong = page.evaluate(
            "[...document.querySelectorAll('a')].map((a) => a.protocol)"
            ".filter((p) => !['file:', 'https:', 'http:', 'mailto:'].includes(p))"
        )
        assert wrong == [], path
    watched.open(hostile / "search" / "index.html", "?q=%3Cscript%3Ealert(1)%3C/script%3E")
    page.locator("#q").fill("svg onload")
    page.wait_for_timeout(200)
    assert page.locator("#hits script, #hits svg, #hits img").count() == 0
