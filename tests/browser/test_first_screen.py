"""What a part's page answers before anything is scrolled on a phone: where it goes, which way round, how it is held,
how sure we are; and the way to the search from the far end of a page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched, expect
from tests.builds import write_build
from tests.site_fixture import EXAMPLE, site_of, written

pytestmark = pytest.mark.browser

UNSAID = "```removed grab handle inner, left\nfrom: door frame lower, left\nhole to lower edge: 20 mm\n```\n"
# A part held by its own holes that keeps people safe; a lead; a part clamped where it was adjusted; one nobody told.
KINDS = {
    "brake-pedal": ("WARNING", "brake pedal", "frame", "Position recorded: own holes", "1 pivot pin", "tin 3"),
    "lamp-lead": ("lamp bracket, left", "Not recorded", "Its way and its ends", "3 clips on the back", "box 1"),
    "clamp-bar-left": ("sill, left", "Position recorded", "the longer bare end to the rear", "2 hook bolts", "shelf 2"),
    "handrail": ("dash", "Seen, not measured", "Held by", "Way round"),
}


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(EXAMPLE, "shop"), tmp_path_factory.mktemp("site"))


def phone(watched: Watched, path: Path) -> Any:
    watched.page.set_viewport_size({"width": 360, "height": 780})
    return watched.open(path)


@pytest.mark.parametrize("part", KINDS)
def test_the_first_screen_answers_what_the_hand_asks(watched: Watched, example: Path, part: str) -> None:
    page = phone(watched, example / "parts" / part / "index.html")
    for words in KINDS[part]:
        box = page.get_by_text(words).locator("visible=true").first.bounding_box()
        assert box["y"] + box["height"] <= 780, words


def test_what_nobody_wrote_is_said_in_the_first_screen(watched: Watched, tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {"2026-03-07 door/note.md": UNSAID})
    site = written(site_of(build, "shop"), tmp_path / "site")
    page = phone(watched, site / "parts" / "grab-handle-inner-left" / "index.html")
    facts = page.locator("main > .facts")
    expect(facts.locator("dd")).to_have_text(["not written", "not written"])
    expect(facts.locator("dt")).to_have_text(["Way round", "Held by"])
    assert facts.bounding_box()["y"] + facts.bounding_box()["height"] <= 780


@pytest.mark.parametrize("path", ["index.html", "parts/sill-left/index.html", "days/2026-03-21/index.html"])
def test_the_search_stays_within_reach(watched: Watched, example: Path, path: str) -> None:
    page = phone(watched, example / path)
    page.evaluate("window.scrollTo({top: document.body.scrollHeight, behavior: 'instant'})")
    link = page.get_by_role("navigation", name="Short").get_by_role("link", name="Search")
    expect(link).to_be_in_viewport()
    assert link.bounding_box()["height"] >= 44
    link.click()
    expect(page.get_by_role("searchbox")).to_be_in_viewport()


def test_what_a_link_leads_to_is_not_under_the_head(watched: Watched, example: Path) -> None:
    page = phone(watched, example / "parts/guide-bracket-front-left/index.html")
    anchor = page.locator("tr[id^='m-']").nth(3).get_attribute("id")
    page.goto(page.url + "#" + str(anchor))
    page.wait_for_timeout(800)
    head = page.locator("header.head").bounding_box()
    assert head["y"] == 0
    assert page.locator(":target").bounding_box()["y"] >= head["height"]
