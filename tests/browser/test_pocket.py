"""The pocket file in a real browser: from a folder, and from an address that has nothing else to give."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import CHROMIUM, Watched, expect
from tests.builds import write_build
from tests.site_fixture import EXAMPLE
from tests.test_pages_site import HOSTILE
from tests.test_pocket import pocket_of

pytestmark = pytest.mark.browser

OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("phone") / "pocket.html"
    path.write_bytes(pocket_of(EXAMPLE).data)
    return path


def alone(watched: Watched) -> Watched:
    """Pictures inside the file are no requests that leave it; anything else still is."""
    asked = watched._asked
    watched._asked = lambda url: None if url.startswith("data:") else asked(url)  # type: ignore[method-assign]
    return watched


@pytest.fixture
def page(watched: Watched, file: Path) -> Any:
    alone(watched).page.set_viewport_size({"width": 360, "height": 780})
    return watched.open(file)


def test_its_style_and_script_are_let_in_by_its_policy(page: Any) -> None:
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(27, 32, 38)"
    expect(page.get_by_role("searchbox")).to_be_visible()


def test_a_reading_in_inches_is_found_by_millimetres(page: Any) -> None:
    page.get_by_role("searchbox").fill("16 mm")
    hit = page.locator("#hits .hit").first
    expect(hit).to_contain_text("5/8 in")
    hit.locator(".hit-row a").first.click()
    expect(page.locator("#found")).to_be_hidden()
    target = page.locator(":target")
    expect(target).to_contain_text("5/8 in")
    expect(target).to_be_in_viewport()
    head = page.locator(".seek").bounding_box()
    assert target.bounding_box()["y"] >= head["y"] + head["height"], "not below the search field"


def test_a_hit_says_when_it_was_read_and_whether_it_still_counts(page: Any) -> None:
    """The left guide bracket was measured twice in the same words; one reading of the spring hook is dead."""
    page.get_by_role("searchbox").fill("guide bracket front flange edge")
    dates = page.locator("#hits .hit-row .hit-date").all_inner_texts()
    assert len(dates) == len(set(dates)) == 2
    page.get_by_role("searchbox").fill("jig hole")
    row = page.locator("#hits .hit-row.gone")
    expect(row.locator("a s")).to_have_text("hole to jig hole")
    expect(row.locator(".hit-value s")).to_have_text("3 3/4 in (95 mm) by rule")
    expect(row.locator(".why")).to_contain_text("the new one was not measured there")
    page.get_by_role("searchbox").fill("zzzz")
    expect(page.locator("#hits")).to_contain_text("Try fewer words")


def test_words_and_near_misses_are_found(page: Any) -> None:
    field = page.get_by_role("searchbox")
    field.fill("spring hook")
    page.locator("#hits a").first.click()
    expect(page.locator(":target h2")).to_have_text("spring hook, left")
    field.fill("handrial")
    page.get_by_role("button", name="handrail").click()
    expect(page.locator("#hits a").first).to_have_text("handrail")
    page.keyboard.press("Escape")
    expect(page.locator("#found")).to_be_hidden()
    field.fill("  ")
    expect(page.locator("#found")).to_be_hidden()


def test_the_search_is_within_reach_from_every_part(page: Any) -> None:
    page.locator("#contents a", has_text="wire clip").click()
    field = page.get_by_role("searchbox")
    expect(field).to_be_in_viewport()
    assert field.bounding_box()["height"] >= 44
    links = page.locator(".seek a, .names a, .jumps a")
    heights = links.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().height)")
    assert len(heights) > 50
    assert min(heights) >= 44


def test_pictures_show_with_their_lines(page: Any) -> None:
    figure = page.locator("figure", has=page.locator("svg.lines")).first
    figure.scroll_into_view_if_needed()
    picture = figure.locator("img")
    picture.evaluate("(one) => one.decode()")
    assert picture.evaluate("(one) => one.naturalWidth") == 400
    assert picture.bounding_box() == figure.locator("svg.lines").bounding_box()
    figure.locator("svg.lines text").first.click()
    expect(page.locator(":target")).to_be_in_viewport()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_every_width(page: Any, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    for width in (320, 360, 768, 1280):
        page.set_viewport_size({"width": width, "height": 780})
        assert page.evaluate(OVERFLOW) <= 0, width


def test_text_may_be_twice_as_large(browser: Any, file: Path) -> None:
    """With what was found open over it, too."""
    large = browser.browser_type.launch(
        executable_path=str(CHROMIUM), args=["--no-sandbox", "--blink-settings=defaultFontSize=32"]
    )
    page = large.new_page(viewport={"width": 360, "height": 780})
    page.goto(file.as_uri())
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") >= 32
    assert page.evaluate(OVERFLOW) <= 0
    page.get_by_role("searchbox").fill("sill")
    page.locator("#hits .hit").first.wait_for()
    assert page.evaluate(OVERFLOW) <= 0
    found = page.locator("#found")
    assert found.evaluate("(one) => one.scrollWidth - one.clientWidth") <= 0
    large.close()


def test_without_scripts_it_is_read_by_its_contents(browser: Any, file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(file.as_uri())
    expect(page.locator("#seek")).to_be_hidden()
    page.locator("#contents a", has_text="spring hook").click()
    part = page.locator("#part-spring-hook-left")
    expect(part).to_be_in_viewport()
    expect(part).to_contain_text("open side of the hook to the rear")
    expect(part).to_contain_text("20 mm")
    context.close()


def test_it_needs_nothing_but_itself(browser: Any, file: Path) -> None:
    """As an address without neighbours, which is how a phone hands a file over."""
    context = browser.new_context()
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text))

    def answer(route: Any) -> None:
        asked.append(route.request.url)
        if len(asked) == 1:
            route.fulfill(body=file.read_bytes(), content_type="text/html")
        else:
            route.abort()

    page.route("**/*", answer)
    page.goto("https://phone.invalid/document/4711")
    page.get_by_role("searchbox").fill("guide bracket")
    expect(page.locator("#hits .hit").first).to_contain_text("guide bracket")
    assert [url for url in asked if not url.startswith("data:")] == ["https://phone.invalid/document/4711"]
    assert said == []
    context.close()


def test_nothing_hostile_runs(watched: Watched, tmp_path: Path) -> None:
    file = tmp_path / "pocket.html"
    file.write_bytes(pocket_of(write_build(tmp_path / "build", HOSTILE)).data)
    alone(watched).page.on("dialog", lambda dialog: watched.unwanted.append(f"dialog: {dialog.message}"))
    page = watched.open(file)
    page.set_viewport_size({"width": 360, "height": 780})
    assert page.evaluate(OVERFLOW) <= 0
    page.get_by_role("searchbox").fill("svg onload")
    assert page.locator("#hits script, #hits svg, #hits img").count() == 0
    assert page.locator("script").count() == 1
    assert page.locator("[onload], [onerror], [onclick]").count() == 0
