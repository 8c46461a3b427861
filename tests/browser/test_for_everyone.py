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
# What is touched and is no link in a sentence, which WCAG 2.2, 2.5.8 leaves out.
SMALL = """() => [...document.querySelectorAll('a[href], button, input, select, textarea, summary')].flatMap((one) => {
  const sentence = one.closest('svg, .story p, p:not([class]), .empty, .help, .skip, [aria-hidden=true]');
  if (sentence || !one.checkVisibility({ visibilityProperty: true })) return [];
  const boxes = [one, one.closest('label')].filter(Boolean).map((each) => each.getBoundingClientRect().height);
  return Math.max(...boxes) < 43.5 ? [`${Math.max(...boxes)} px: ${one.parentElement.outerHTML.slice(0, 120)}`] : [];
})"""
# Words that begin on one line and end on the next, files and code aside.
BROKEN = """() => {
  const found = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text; (text = texts.nextNode());) {
    const of = text.parentElement;
    if (!of.checkVisibility({ visibilityProperty: true }) || of.offsetWidth < 2) continue;
    if (of.closest('code, pre, svg, script, style, noscript')) continue;
    for (const word of text.data.matchAll(/[\\p{L}\\p{N}]{2,14}/gu)) {
      const range = document.createRange();
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const tops = [...range.getClientRects()].filter((box) => box.width).map((box) => box.top);
      if (Math.max(...tops) - Math.min(...tops) > 6) found.push(`${word[0]}: ${of.outerHTML.slice(0, 90)}`);
    }
  }
  return found;
}"""
UNSEEN = """() => [...document.querySelectorAll('main > *, main > section > *')].flatMap((one) =>
  one.checkVisibility() || one.closest('[hidden], .hand, noscript') || !one.textContent.trim() ? []
    : [one.outerHTML.slice(0, 90)])"""
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


@pytest.mark.parametrize("path", KINDS)
def test_a_gloved_finger_hits_every_link(browser: Any, site: Path, path: str) -> None:
    """44 px high on a touched screen of 360 px, but for links in a sentence."""
    page = browser.new_page(viewport={"width": 360, "height": 780}, has_touch=True, is_mobile=True)
    page.goto((site / path).as_uri())
    assert page.evaluate("matchMedia('(pointer: coarse)').matches")
    assert page.evaluate(SMALL) == []
    page.close()


@pytest.mark.parametrize("path", KINDS)
def test_no_word_is_cut_in_two_and_nothing_is_missing_at_any_width(watched: Watched, site: Path, path: str) -> None:
    page = watched.open(site / path)
    for width in (360, 768, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate(BROKEN) == [], width
        assert page.evaluate(UNSEEN) == [], width


def test_the_fixings_are_on_paper_as_well(watched: Watched, site: Path) -> None:
    page = watched.open(site / "fixings/index.html")
    page.emulate_media(media="print")
    rows = page.locator("table.fixings tbody tr")
    assert rows.count() > 50
    expect(rows.first).to_be_visible()


def test_a_narrow_column_does_cut_words(watched: Watched, site: Path) -> None:
    """The check before this one can fail, and so can the one on links."""
    page = watched.open(site / "fixings/index.html")
    page.evaluate(
        """() => {
          document.querySelector('caption').style.width = '3px';
          document.querySelector('td a').style.padding = '0';
        }"""
    )
    assert page.evaluate(BROKEN)
    assert page.evaluate(SMALL)


@pytest.fixture(scope="module")
def large(browser: Any) -> Iterator[Any]:
    """A browser whose own text is twice as large, as its settings make it."""
    arguments = ["--no-sandbox", "--blink-settings=defaultFontSize=32"]
    other = browser.browser_type.launch(executable_path=str(CHROMIUM), args=arguments)
    yield other
    other.close()


def test_a_picture_full_screen_bears_text_twice_as_large(large: Any, site: Path) -> None:
    page = large.new_page(viewport={"width": 360, "height": 780})
    page.goto((site / "days/2026-03-21/index.html").as_uri())
    page.locator("main .plate a.full:visible").first.click()
    view = page.locator("dialog[open]")
    boxes = [button.bounding_box() for button in view.get_by_role("button").all()]
    assert len(boxes) == 6
    assert all(box["x"] >= 0 and box["x"] + box["width"] <= 360 for box in boxes), boxes
    assert view.locator(".viewing-stage").bounding_box()["height"] >= 300
    page.close()


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
