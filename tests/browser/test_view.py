"""A picture full screen: opened, made larger, turned over and closed by finger, mouse and keyboard."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched, expect
from tests.site_fixture import EXAMPLE, site_of, written

pytestmark = pytest.mark.browser

DAY = "days/2026-03-21/index.html"  # four pictures; dimension lines on the first and the third
PART = "parts/guide-bracket-front-left/index.html"
SCALE = "new DOMMatrix(getComputedStyle(document.querySelector('.viewing-plate')).transform).a"
PLATE = """() => {
  const [plate, stage] = ['.viewing-plate', '.viewing-stage'].map((one) =>
    document.querySelector(one).getBoundingClientRect());
  return {left: plate.left - stage.left, right: stage.right - plate.right,
          top: plate.top - stage.top, bottom: stage.bottom - plate.bottom, width: plate.width};
}"""


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(EXAMPLE, "shop"), tmp_path_factory.mktemp("site"))


@pytest.fixture
def phone(browser: Any, example: Path) -> Iterator[Any]:
    """The day's page on a phone of 360 px that is touched."""
    context = browser.new_context(viewport={"width": 360, "height": 780}, has_touch=True)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text))
    page.on("pageerror", lambda fault: said.append(str(fault)))
    page.goto((example / DAY).as_uri())
    yield page
    context.close()
    assert said == []


def opened(page: Any, number: int = 0) -> Any:
    page.locator("main .plate a.full:visible").nth(number).click()
    view = page.locator("dialog.viewing")
    expect(view).to_be_visible()
    return view


def until(page: Any, expression: str) -> None:
    """Wait until an expression is true; asked from outside, because the pages' policy lets nothing be evaluated."""
    for _ in range(100):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(30)
    raise AssertionError(f"never true: {expression}")


def touch(page: Any, *moments: list[tuple[float, float]]) -> None:
    """Fingers down at the first moment, moved through the others, and lifted."""
    session = page.context.new_cdp_session(page)

    def send(kind: str, points: list[tuple[float, float]]) -> None:
        fingers = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})

    send("touchStart", moments[0])
    for points in moments[1:]:
        send("touchMove", points)
    send("touchEnd", [])


def test_a_tap_opens_the_picture_with_its_lines(watched: Watched, example: Path) -> None:
    page = watched.open(example / DAY)
    view = opened(page)
    expect(view).to_have_accessible_name("Picture 1 of 4")
    expect(view.get_by_role("status")).to_contain_text("1 of 4")
    expect(view.locator("svg.lines text")).to_have_text("15 mm")
    picture, lines = view.locator("img").bounding_box(), view.locator("svg.lines").bounding_box()
    assert picture == lines
    assert page.evaluate("document.querySelector('.viewing').contains(document.activeElement)")
    until(page, "document.querySelector('.viewing img').src === document.querySelector('a.full').href")
    assert view.locator("img").evaluate("(one) => one.naturalWidth") == 1280, "all that the picture has"


def test_it_fills_a_phone_and_its_buttons_can_be_hit_with_a_glove(phone: Any) -> None:
    view = opened(phone)
    assert view.bounding_box() == {"x": 0, "y": 0, "width": 360, "height": 780}
    assert phone.evaluate(PLATE)["width"] == 360
    boxes = [button.bounding_box() for button in view.get_by_role("button").all()]
    assert len(boxes) == 6
    assert len({box["y"] for box in boxes[1:]}) == 1, "the five below in one row"
    assert all(box["width"] >= 44 and box["height"] >= 44 and box["x"] + box["width"] <= 360 for box in boxes)


def test_keys_make_it_larger_and_turn_it_over(watched: Watched, example: Path) -> None:
    page = watched.open(example / DAY)
    page.set_viewport_size({"width": 360, "height": 780})
    view = opened(page)
    page.keyboard.press("+")
    page.keyboard.press("+")
    assert page.evaluate(SCALE) == pytest.approx(2.25)
    page.keyboard.press("-")
    assert page.evaluate(SCALE) == pytest.approx(1.5)
    left = page.evaluate(PLATE)["left"]
    page.keyboard.press("Shift+ArrowRight")
    assert page.evaluate(PLATE)["left"] == pytest.approx(left - 60)
    page.keyboard.press("0")
    assert page.evaluate(SCALE) == 1
    for expected in ("2 of 4", "3 of 4", "4 of 4", "4 of 4"):
        page.keyboard.press("ArrowRight")
        expect(view.get_by_role("status")).to_contain_text(expected)
    page.keyboard.press("ArrowLeft")
    expect(view.locator("svg.lines text")).to_have_text("19/32 in")


def test_escape_closes_it_and_the_focus_is_on_the_picture_seen_last(watched: Watched, example: Path) -> None:
    page = watched.open(example / DAY)
    view = opened(page)
    address = page.url
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    expect(view).not_to_be_visible()
    expect(page.locator(".plate a.full").nth(1)).to_be_focused()
    expect(page.locator(".plate a.full").nth(1)).to_be_in_viewport()
    assert (page.url, page.evaluate("history.state")) == (address, None)
    page.keyboard.press("Enter")
    expect(view.get_by_role("status")).to_contain_text("2 of 4")
    view.get_by_role("button", name="Close").click()
    expect(view).not_to_be_visible()


def test_the_tab_key_alone_works_every_button_and_stays_inside(watched: Watched, example: Path) -> None:
    """Opened, turned over, made larger, led to a reading's line and closed without a pointer; each place shows."""
    page = watched.open(example / DAY)
    page.set_viewport_size({"width": 360, "height": 780})
    page.locator("main .plate a.full:visible").first.focus()
    page.keyboard.press("Enter")
    view = page.locator("dialog.viewing")
    expect(view).to_be_visible()
    expect(view.locator("svg.lines a")).to_have_count(1)
    expect(view.get_by_role("button", name="Smaller")).to_be_disabled()
    reached: list[str] = []
    for _ in range(9):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => { const one = document.activeElement; const style = getComputedStyle(one);
                return { inside: one === document.body || one.closest('dialog.viewing') !== null,
                  shown: one.closest('svg') !== null || one === document.body
                    || (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2),
                  words: one.closest('svg') ? 'line' : one === document.body ? '' : one.textContent }; }"""
        )
        assert at["inside"], at
        assert at["shown"], at
        reached.append(at["words"])
    assert {"Close", "line", "Smaller", "Whole", "Larger", "Next"} <= set(reached)
    view.get_by_role("button", name="Larger").focus()
    page.keyboard.press("Space")
    assert page.evaluate(SCALE) == pytest.approx(1.5)
    view.get_by_role("button", name="Next").focus()
    page.keyboard.press("Enter")
    expect(view.get_by_role("status")).to_contain_text("2 of 4")
    expect(view.get_by_role("button", name="Next")).to_be_focused()
    view.get_by_role("button", name="Close").focus()
    page.keyboard.press("Enter")
    expect(view).not_to_be_visible()
    expect(page.locator(".plate a.full").nth(1)).to_be_focused()


def test_the_focus_stays_on_the_last_picture_where_its_button_goes_out(watched: Watched, example: Path) -> None:
    """A button that can do no more takes no keys: they must not be lost with it."""
    page = watched.open(example / DAY)
    view = opened(page, 2)
    view.get_by_role("button", name="Next").focus()
    page.keyboard.press("Enter")
    expect(view.get_by_role("status")).to_contain_text("4 of 4")
    assert page.evaluate("document.querySelector('.viewing').contains(document.activeElement)")
    page.keyboard.press("ArrowLeft")
    expect(view.get_by_role("status")).to_contain_text("3 of 4")


def test_back_closes_it_and_forward_opens_it_again(watched: Watched, example: Path) -> None:
    page = watched.open(example / "days/index.html")
    page.goto((example / DAY).as_uri())
    view = opened(page, 2)
    page.evaluate("history.back()")
    expect(view).not_to_be_visible()
    assert page.url.endswith(DAY)
    page.evaluate("history.forward()")
    expect(view.get_by_role("status")).to_contain_text("3 of 4")


def test_a_line_leads_to_its_reading_and_back_to_the_picture(watched: Watched, example: Path) -> None:
    page = watched.open(example / DAY)
    opened(page).locator("svg.lines text").click()
    expect(page.locator(":target")).to_contain_text("hole edge to web")
    page.go_back()
    expect(page.locator("dialog.viewing").get_by_role("status")).to_contain_text("1 of 4")


def test_a_line_of_a_parts_picture_leads_down_the_same_page(watched: Watched, example: Path) -> None:
    page = watched.open(example / PART)
    view = opened(page)
    view.locator("svg.lines text").click()
    expect(view).not_to_be_visible()
    expect(page.locator(":target")).to_contain_text("hole edge to web")
    expect(page.locator(":target")).to_be_in_viewport()


def test_the_sheet_for_the_hand_is_no_picture_of_the_page(watched: Watched, example: Path) -> None:
    """It is on paper only, and would count a picture twice."""
    page = watched.open(example / PART)
    shown = {link.get_attribute("href") for link in page.locator(".gallery a.full").all()}
    assert page.locator(".hand a.full").count() == 1
    expect(opened(page).get_by_role("status")).to_contain_text(f"1 of {len(shown)}")


def test_the_wheel_keeps_the_place_under_the_pointer(watched: Watched, example: Path) -> None:
    page = watched.open(example / DAY)
    page.set_viewport_size({"width": 1280, "height": 900})
    opened(page)
    point = {"x": 500, "y": 400}
    share = f"""(() => {{ const box = document.querySelector('.viewing-plate').getBoundingClientRect();
        return [({point["x"]} - box.left) / box.width, ({point["y"]} - box.top) / box.height]; }})()"""
    before = page.evaluate(share)
    page.mouse.move(**point)
    for _ in range(4):
        page.mouse.wheel(0, -240)
    until(page, f"{SCALE} > 2")
    assert page.evaluate(share) == pytest.approx(before, abs=0.01)
    page.mouse.wheel(0, 5000)
    until(page, f"{SCALE} === 1")


def test_two_fingers_make_it_larger_and_one_moves_it_without_a_gap(phone: Any) -> None:
    opened(phone)
    touch(phone, [(150, 390), (210, 390)], [(100, 390), (260, 390)], [(60, 390), (300, 390)])
    until(phone, f"{SCALE} > 3.5")
    assert phone.evaluate(SCALE) == pytest.approx(4, rel=0.1)
    touch(phone, [(180, 400)], [(280, 500)], [(350, 700)], [(355, 720)])
    plate = phone.evaluate(PLATE)
    assert max(plate["left"], plate["right"], plate["top"], plate["bottom"]) <= 0.5
    expect(phone.locator(".viewing-told")).to_contain_text("1 of 4")


def test_a_swipe_turns_over_and_a_short_slip_does_not(phone: Any) -> None:
    opened(phone)
    told = phone.locator(".viewing-told")
    touch(phone, [(300, 400)], [(290, 400)], [(270, 400)])
    expect(told).to_contain_text("1 of 4")
    assert phone.evaluate(PLATE)["left"] == 0
    touch(phone, [(300, 400)], [(200, 405)], [(120, 400)])
    expect(told).to_contain_text("2 of 4")
    touch(phone, [(60, 400)], [(200, 405)], [(300, 400)])
    expect(told).to_contain_text("1 of 4")
    touch(phone, [(60, 400)], [(200, 405)], [(300, 400)])
    expect(told).to_contain_text("1 of 4")


def test_a_double_tap_makes_it_larger_there_and_whole_again(phone: Any) -> None:
    opened(phone)
    for wanted in (2.5, 1):
        for _ in range(2):
            phone.touchscreen.tap(100, 300)
        until(phone, f"{SCALE} === {wanted}")


def test_it_fits_again_when_the_phone_is_turned(phone: Any) -> None:
    opened(phone)
    phone.set_viewport_size({"width": 780, "height": 360})
    until(phone, f"({PLATE})().top <= 0.5 && ({PLATE})().left > 50")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 780


def test_without_scripts_it_is_a_link_to_the_large_picture(browser: Any, example: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((example / DAY).as_uri())
    page.locator(".plate a.full").first.click()
    page.wait_for_url("**/photos/*-1280.jpg")
    context.close()
