"""Going back, bag tags and the sheet for the hand in Chromium: boxes that stay, slips that read, prints."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from journal.make import tell_build
from tests.browser.test_site import FIELDS, OVERFLOW
from tests.browser.watched import Watched, expect
from tests.builds import TITLE, tell_files, write_build
from tests.site_fixture import EXAMPLE, site_of, written

pytestmark = pytest.mark.browser

A4 = {"format": "A4", "margin": {side: "15mm" for side in ("top", "right", "bottom", "left")}}
DAY = "2026-03-21 left sill/note.md"
LAMP = "```removed lamp, left\nfrom: dash\nheld by: 1 nut 1/2 in\n```\n\n```removed dash\nheld by: 4 bolts M10\n```\n"
LONG = "word after word about which way round this sits and what it touches on every side " * 3
FULL = f"""\
```removed long named bracket of the rear under frame cross stay extension, left
from: another long named member of the left under frame, left
held by: 4 bolts M10 x 30 at the lower edge of the flange, two of them waisted
held by: 2 bolts M8 x 25 at the stays behind the second cross member
way round: {LONG}
```
"""


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(site_of(EXAMPLE, "shop"), tmp_path_factory.mktemp("site"))


def site_with(folder: Path, files: dict[str, str]) -> Path:
    return written(site_of(write_build(folder / "build", files), "shop"), folder / "site")


def box(page: Any, anchor: str) -> Any:
    return page.locator(f"#{anchor} input[type=checkbox]")


def pages_as_text(pdf: Path) -> list[str]:
    text = subprocess.run(["pdftotext", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return text.split("\f")[:-1]


# --- the order with its boxes


def test_each_step_says_what_it_waits_for(watched: Watched, example: Path) -> None:
    page = watched.open(example / "going-back/index.html")
    expect(page.locator("section > h2").filter(has_text="Stage")).to_have_count(5)
    dash = page.locator("#part-dash")
    expect(dash).to_contain_text("waits")
    expect(dash.locator(".waits")).to_contain_text("after lamp, left")
    expect(page.locator("#part-lamp-bracket-left")).to_contain_text("free now")
    expect(page.locator("#part-lamp-bracket-left")).to_contain_text("tin 1")
    expect(page.locator("#job-set-the-brake .waits")).to_contain_text("waits for brake linings")
    expect(page.locator("#part-brake-pedal .signal")).to_have_text("WARNING")


def test_a_ticked_step_is_free_no_more_and_the_page_says_what_ticks_do(watched: Watched, example: Path) -> None:
    page = watched.open(example / "going-back/index.html")
    expect(page.get_by_text("Ticks stay on this phone or computer only")).to_be_visible()
    lamp = page.locator("#part-lamp-bracket-left")
    expect(lamp.get_by_text("free now")).to_be_visible()
    box(page, "part-lamp-bracket-left").check()
    expect(lamp.get_by_text("free now")).to_be_hidden()
    expect(lamp.get_by_text("position recorded")).to_be_visible()
    box(page, "part-lamp-bracket-left").uncheck()
    expect(lamp.get_by_text("free now")).to_be_visible()


def test_no_sheet_holds_the_foot_alone(watched: Watched, example: Path, tmp_path: Path) -> None:
    """Of the example, whose last step once ended where the sheet does."""
    pdf = tmp_path / "sheet.pdf"
    page = watched.open(example / "going-back/index.html")
    for points in (10.5, 10.75, 11.0, 11.25):  # the page breaks elsewhere in each
        page.evaluate("(size) => { document.documentElement.style.fontSize = size + 'pt'; }", points)
        page.pdf(path=str(pdf), **A4)
        last = pages_as_text(pdf)[-1]
        assert "a record of one build" in last, "the foot's own words"
        assert "back where it was recorded" in last, f"the last part that is back stands on it, at {points} pt: {last}"


def test_a_thumbnail_loads(watched: Watched, example: Path) -> None:
    page = watched.open(example / "going-back/index.html")
    picture = page.locator("#part-lamp-bracket-left .thumb img")
    picture.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('#part-lamp-bracket-left img').naturalWidth > 0")
    assert picture.evaluate("one => one.naturalWidth") <= 400


def test_ticks_stay_in_the_browser_and_belong_to_one_build(watched: Watched, example: Path, tmp_path: Path) -> None:
    page = watched.open(example / "going-back/index.html")
    box(page, "part-lamp-bracket-left").check()
    expect(page.locator("#part-lamp-bracket-left")).to_have_class(re.compile("done"))
    page.reload()
    expect(box(page, "part-lamp-bracket-left")).to_be_checked()
    expect(box(page, "part-lamp-bracket-right")).not_to_be_checked()
    files = {"build.toml": 'title = "Another truck"\n', DAY: "```removed lamp bracket, left\nheld by: 1 nut\n```\n"}
    watched.open(site_with(tmp_path, files) / "going-back/index.html")
    expect(box(page, "part-lamp-bracket-left")).not_to_be_checked()
    watched.open(example / "going-back/index.html")
    page.get_by_role("button", name="Take all ticks away").click()
    expect(box(page, "part-lamp-bracket-left")).not_to_be_checked()
    expect(page.locator("#export")).to_be_hidden()
    page.reload()
    expect(box(page, "part-lamp-bracket-left")).not_to_be_checked()


def test_a_part_that_comes_off_anew_is_not_ticked(watched: Watched, tmp_path: Path) -> None:
    page = watched.open(site_with(tmp_path / "a", {DAY: LAMP}) / "going-back/index.html")
    box(page, "part-lamp-left").check()
    kept = page.evaluate("JSON.stringify(Object.entries(localStorage))")
    assert "2026-03-21" in kept
    again = "```refitted lamp, left\n```\n\n```removed lamp, left\n```\n"
    watched.open(
        site_with(tmp_path / "b", {DAY: LAMP, "2026-04-11 on and off/note.md": again}) / "going-back/index.html"
    )
    expect(box(page, "part-lamp-left")).not_to_be_checked()


def test_a_store_that_is_not_ours_does_no_harm(watched: Watched, tmp_path: Path) -> None:
    site = site_with(tmp_path, {DAY: LAMP})
    page = watched.open(site / "going-back/index.html")
    store = page.locator("#ticks").get_attribute("data-store")
    for nonsense in ("{", '{"a": 1}', "null", '[1, null, "part dash"]'):
        page.evaluate("([name, text]) => localStorage.setItem(name, text)", [f"journal-ticks-{store}", nonsense])
        page.reload()
        expect(box(page, "part-lamp-left")).not_to_be_checked()
    box(page, "part-lamp-left").check()
    expect(page.locator("#slips-text")).to_have_value(re.compile("refitted lamp, left"))


def test_what_is_ticked_comes_out_as_slips_that_the_tool_reads(watched: Watched, tmp_path: Path) -> None:
    files = {DAY: LAMP + "\n```job wire it up\nneeds: lamp, left\n```\n"}
    page = watched.open(site_with(tmp_path / "a", files) / "going-back/index.html")
    for anchor in ("part-dash", "part-lamp-left", "job-wire-it-up"):
        box(page, anchor).check()
    slips = page.locator("#slips-text").input_value()
    assert slips == (
        "```refitted dash\nheld by: 4 bolts M10\n```\n\n"
        "```refitted lamp, left\non: dash\nheld by: 1 nut 1/2 in\n```\n\n"
        "```done wire it up\n```\n"
    )
    told = tell_files(tmp_path / "b", files | {"2026-04-11 back/note.md": slips})
    assert [f.word for f in told.judgement.findings if f.severity != "remark"] == []
    assert {told.book.state(id) for id in ("dash", "lamp-left")} == {"back on"}
    assert told.book.jobs["wire-it-up"].done == date(2026, 4, 11)


def test_all_slips_of_the_example_can_be_pasted(watched: Watched, example: Path, tmp_path: Path) -> None:
    page = watched.open(example / "going-back/index.html")
    for one in page.locator(".step input").all():
        one.check()
    build = tmp_path / "build"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns(".journal-cache"))
    note = build / "2026-05-08 all back" / "note.md"
    note.parent.mkdir()
    note.write_text(page.locator("#slips-text").input_value(), encoding="utf-8")
    found = [f for f in tell_build(build, date(2026, 5, 9)).judgement.findings if f.span.file.startswith("2026-05-08")]
    assert [f.word for f in found if f.severity == "problem"] == []
    # The wire clip was never taken off, it went with the sill; the spring hook is welded onto a painted sill.
    assert {f.word for f in found} <= {"not-off", "welded-after-paint"}


def test_copying_says_that_it_did(watched: Watched, tmp_path: Path) -> None:
    page = watched.open(site_with(tmp_path, {DAY: LAMP}) / "going-back/index.html")
    box(page, "part-dash").check()
    page.get_by_role("button", name="Copy the slips").click()
    expect(page.locator("#copied")).to_have_text(re.compile("Copied|Marked"))


def test_a_box_is_ticked_with_the_keyboard(watched: Watched, tmp_path: Path) -> None:
    page = watched.open(site_with(tmp_path, {DAY: LAMP}) / "going-back/index.html")
    box(page, "part-dash").focus()
    page.keyboard.press("Space")
    expect(box(page, "part-dash")).to_be_checked()
    expect(page.locator("#export")).to_be_visible()


# --- bag tags on paper

SIZES = {
    "A4 plain": ("", 8, (595, 842)),
    "Letter plain": ('[tags]\nsheet = "Letter plain"\n', 8, (612, 792)),
    "A4 70 x 37": ('[tags]\nsheet = "A4 70 x 37"\n', 24, (595, 842)),
    "Letter 4 x 2": ('[tags]\nsheet = "Letter 4 x 2"\n', 10, (612, 792)),
    "own size": ('[tags]\nwidth = "69 mm"\nheight = "45 mm"\ncolumns = 2\nrows = 5\nleft = "30 mm"\n', 10, (595, 842)),
}
WITH_SITE = 'site = "https://example.org/truck/"\n'


@pytest.mark.parametrize("name", SIZES)
def test_a_sheet_of_tags_prints_as_it_says(watched: Watched, tmp_path: Path, name: str) -> None:
    """So many on a side, on the paper asked for, 11 pt at least, and nothing cut off however much is written."""
    settings, on_a_side, points = SIZES[name]
    note = "".join(FULL.replace("extension", f"extension {n}") + "\n" for n in range(on_a_side + 1))
    site = site_with(tmp_path, {"build.toml": TITLE + WITH_SITE + settings, DAY: note})
    page = watched.open(site / "tags/index.html")
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1000, "height": 800})
    overfull = """() => [...document.querySelectorAll('.tag')].filter((tag) =>
        tag.scrollHeight > tag.clientHeight + 1 ||
        [...tag.querySelectorAll('p, h2')].some((one) => one.getBoundingClientRect().bottom >
          tag.getBoundingClientRect().bottom)).length"""
    assert page.evaluate(overfull) == 0
    small = """() => Math.min(...[...document.querySelectorAll(".tag p, .tag h2")]
        .map((one) => parseFloat(getComputedStyle(one).fontSize)))"""
    assert page.evaluate(small) >= 11 * 96 / 72 - 0.01
    pdf = tmp_path / "tags.pdf"
    page.pdf(path=str(pdf), prefer_css_page_size=True)
    sides = pages_as_text(pdf)
    assert len(sides) == 2
    about = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", about)
    assert size
    assert [round(float(size[n])) for n in (1, 2)] == pytest.approx(list(points), abs=1)
    assert [side.count("Off:") for side in sides] == [on_a_side, 1]


def test_the_printed_codes_are_read_back_by_an_independent_decoder(watched: Watched, tmp_path: Path) -> None:
    if not (shutil.which("zbarimg") and shutil.which("pdftoppm")):
        pytest.skip("needs Debian's zbar-tools and poppler-utils")
    page = watched.open(site_with(tmp_path, {"build.toml": TITLE + WITH_SITE, DAY: LAMP}) / "tags/index.html")
    pdf = tmp_path / "tags.pdf"
    page.pdf(path=str(pdf), prefer_css_page_size=True)
    subprocess.run(["pdftoppm", "-r", "200", "-png", "-singlefile", str(pdf), str(tmp_path / "tags")], check=True)
    command = ["zbarimg", "--raw", "-q", str(tmp_path / "tags.png")]
    read = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert sorted(read.split()) == [
        f"https://example.org/truck/parts/{part}/index.html" for part in ("dash", "lamp-left")
    ]


def test_a_day_that_is_not_ticked_is_not_printed(watched: Watched, tmp_path: Path) -> None:
    files = {DAY: LAMP, "2026-04-11 more/note.md": "```removed horn\nheld by: 1 bolt\n```\n"}
    page = watched.open(site_with(tmp_path, files) / "tags/index.html")
    page.get_by_label("Off on 21 March 2026").uncheck()
    pdf = tmp_path / "tags.pdf"
    page.pdf(path=str(pdf), prefer_css_page_size=True)
    text = "".join(pages_as_text(pdf))
    assert "horn" in text
    assert "lamp" not in text


def test_a_tag_is_black_on_white_at_night_too(watched: Watched, example: Path) -> None:
    page = watched.open(example / "tags/index.html")
    page.emulate_media(color_scheme="dark")
    colours = "(tag) => [getComputedStyle(tag).color, getComputedStyle(tag).backgroundColor]"
    assert page.locator(".tag").first.evaluate(colours) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]


def test_a_code_typed_into_the_search_finds_the_part(watched: Watched, example: Path) -> None:
    page = watched.open(example / "tags/index.html")
    tag = page.locator(".tag").filter(has_text="spring hook")
    code = tag.locator(".short-code").inner_text()
    page = watched.open(example / "search/index.html")
    page.locator("input[type=search]").fill(code)
    expect(page.locator("#hits .hit")).to_have_count(1)
    expect(page.locator("#hits .hit").first).to_contain_text("spring hook, left")


# --- the sheet for the hand


@pytest.mark.parametrize(
    ("part", "first_side"),
    [
        ("guide-bracket-front-left", ["guide bracket front, left", "upright to the rear", "plug welds",
                                      "hole to rear end", "1580 mm", "62.20 in", "holds it", "IMG_0452"]),
        ("pull-rod", ["WARNING", "Brakes", "threaded end", "gap to motor mount", "3.0 mm",
                      "0.118 in", "IMG_05"]),
        ("motor-mount", ["1.5 mm thick", "M12 x 35", "195 mm", "7.68 in", "IMG_0524"]),
        ("axle-front", ["two punch dots", "U-bolts"]),
        ("sill-left", ["Structure", "2100 mm"]),
    ],
)  # fmt: skip
def test_the_first_side_of_a_part_holds_what_the_hand_wants(
    watched: Watched, example: Path, tmp_path: Path, part: str, first_side: list[str]
) -> None:
    page = watched.open(example / "parts" / part / "index.html")
    pdf = tmp_path / "part.pdf"
    page.pdf(path=str(pdf), **A4)
    first, second = pages_as_text(pdf)[:2]
    plain = " ".join(first.split())
    assert [words for words in first_side if words not in plain] == []
    assert first.count("WARNING") + first.count("CAUTION") <= 1, "one caution line"
    assert second.split()[0] in ("Readings", "Where", "Its"), "the rest begins on the second side"


def test_the_sheet_for_the_hand_is_for_paper_only(watched: Watched, example: Path) -> None:
    page = watched.open(example / "parts/pull-rod/index.html")
    expect(page.locator(".hand")).to_be_hidden()


def test_the_drawing_on_the_first_side_is_that_of_the_page(watched: Watched, example: Path) -> None:
    """It stands on the page once, and paper shows it twice: the same lines and letters, in the same colours."""
    page = watched.open(example / "parts/guide-bracket-front-left/index.html")
    page.emulate_media(media="print")
    shots = [page.locator(f"{where} .position svg").last.screenshot() for where in (".hand", ".positions")]
    first, second = (Image.open(BytesIO(shot)).convert("L") for shot in shots)
    assert first.size == pytest.approx(second.size, abs=2), "they may begin within a px"
    inks = [sum(shot.histogram()[:128]) for shot in (first, second)]
    assert inks[1] > 1000
    assert inks[0] == pytest.approx(inks[1], rel=0.02)


# --- every page of work, on every width


PAGES = ["going-back/index.html", "jobs/index.html", "tags/index.html", "fixings/index.html", "treatments/index.html"]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_of_work_fits_every_width_and_a_glove(watched: Watched, example: Path, path: str) -> None:
    page = watched.open(example / path)
    for width in (320, 360, 768, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate(OVERFLOW) <= 0, f"{path} at {width}"
        assert [field for field in page.evaluate(FIELDS) if field[1] < 43.5 and field[0]] == []
        boxes = "() => [...document.querySelectorAll('label.tick')].map((one) => one.getBoundingClientRect().height)"
        assert min(page.evaluate(boxes), default=44) >= 43.5
    page.set_viewport_size({"width": 768, "height": 800})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate(OVERFLOW) <= 0
