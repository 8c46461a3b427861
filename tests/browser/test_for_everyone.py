"""The keyboard alone does everything and shows where it is, text may be twice as large, nothing has to move."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.test_axe import KINDS
from tests.browser.watched import CHROMIUM, Watched, expect
from tests.site_fixture import EXAMPLE, site_of, written

pytestmark = pytest.mark.browser

REACHED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const box = one.getBoundingClientRect();
  const style = getComputedStyle(one);
  const shown = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
  return { key: [...document.querySelectorAll('*')].indexOf(one), box: box.width > 0 && box.height > 0,
    shown: shown || one.closest('svg') !== null, what: one.outerHTML.slice(0, 90) };
}"""
FIELDS = """() => [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
  .filter((one) => one.tabIndex >= 0 && one.checkVisibility({ visibilityProperty: true }) && !one.disabled
    && !(one.closest('details:not([open])') && one.tagName !== 'SUMMARY'))
  .map((one) => [...document.querySelectorAll('*')].indexOf(one))"""
MOVING = """() => [...document.querySelectorAll('*')].flatMap((one) => {
  const style = getComputedStyle(one);
  const moves = style.animationName !== 'none' || style.transitionDuration.split(',').some((t) => parseFloat(t) > 0);
  return moves || style.scrollBehavior === 'smooth' ? [one.outerHTML.slice(0, 90)] : [];
})"""


@pytest.fixture(scope="module", params=["bench", "paper"])
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    build = tmp_path_factory.mktemp("build") / "truck"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns("site*"))
    toml = build / "build.toml"
    toml.write_text(toml.read_text(encoding="utf-8").replace("\nunits", f'\ntheme = "{request.param}"\nunits', 1))
    return written(site_of(build, "shop"), tmp_path_factory.mktemp("site"))


@pytest.mark.parametrize("path", ["index.html", "parts/guide-bracket-front-left/index.html", "search/index.html",
                                  "days/2026-03-21/index.html", "to-record/index.html"])  # fmt: skip
def test_tab_reaches_everything_in_order_and_shows_where_it_is(watched: Watched, site: Path, path: str) -> None:
    watched.page.set_viewport_size({"width": 360, "height": 800})
    page = watched.open(site / path)
    page.wait_for_load_state("networkidle")
    wanted = page.evaluate(FIELDS)
    reached: list[int] = []
    for _ in range(len(wanted) + 40):
        page.keyboard.press("Tab")
        at = page.evaluate(REACHED)
        if at is None:
            break
        assert at["box"], at
        assert at["shown"], at
        reached.append(at["key"])
    assert len(wanted) > 10
    assert [page.evaluate("(at) => document.querySelectorAll('*')[at].outerHTML.slice(0, 90)", at)
            for at in wanted if at not in reached] == []  # fmt: skip
    assert reached == sorted(reached), "in the order they are read"


def test_the_table_is_sorted_and_filtered_with_the_keyboard(watched: Watched, site: Path) -> None:
    page = watched.open(site / "measurements/index.html")
    button = page.locator("thead button").first
    button.focus()
    page.keyboard.press("Enter")
    expect(page.locator("thead th").first).to_have_attribute("aria-sort", "ascending")
    page.locator("#table-tools input").first.focus()
    page.keyboard.type("brake")
    expect(page.locator("#table-status")).to_contain_text("of")


def test_boxes_and_summaries_answer_to_the_space_bar(watched: Watched, site: Path) -> None:
    page = watched.open(site / "going-back/index.html")
    box = page.locator(".step input").first
    box.focus()
    page.keyboard.press("Space")
    expect(box).to_be_checked()
    page = watched.open(site / "index.html")
    summary = page.locator("summary").first
    summary.focus()
    page.keyboard.press("Space")
    expect(page.locator("details").first).to_have_attribute("open", "")


def test_a_picture_opens_and_closes_with_the_keyboard(watched: Watched, site: Path) -> None:
    page = watched.open(site / "days/2026-03-21/index.html")
    first = page.locator(".plate a.full").first
    first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("dialog[open]")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("dialog[open]")).to_have_count(0)
    expect(first).to_be_focused()


@pytest.mark.parametrize("path", KINDS)
def test_nothing_moves_for_whoever_asks_for_stillness(watched: Watched, site: Path, path: str) -> None:
    page = watched.page
    page.emulate_media(reduced_motion="reduce")
    watched.open(site / path)
    assert page.evaluate(MOVING) == []


@pytest.fixture(scope="module")
def large(browser: Any) -> Iterator[Any]:
    """A browser whose own text is twice as large, as its settings make it."""
    arguments = ["--no-sandbox", "--blink-settings=defaultFontSize=32"]
    other = browser.browser_type.launch(executable_path=str(CHROMIUM), args=arguments)
    yield other
    other.close()


@pytest.mark.parametrize("path", KINDS)
def test_text_may_be_twice_as_large(large: Any, site: Path, path: str) -> None:
    """WCAG 2.2, 1.4.4: on a phone, a tablet and a desk nothing is cut off to the right."""
    page = large.new_page()
    page.goto((site / path).as_uri())
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") >= 32
    for width in (360, 768, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0, width
    page.close()
