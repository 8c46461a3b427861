"""The table of measurements in a real browser: sorted, filtered by words and values, by mouse and by keyboard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched, expect
from tests.site_fixture import site_of_files, written

pytestmark = pytest.mark.browser

NOTE = """# Readings

```measured door hinge upper, left
from: door post, left
place: cab / door post
hole to lower edge: 312 mm by rule
hole 2 to lower edge: 5/8 in by calliper
leaf thickness: at least 3 mm
upper edge level with rain gutter
bolt torque: 25 N·m
```

```measured rail bracket
hole ahead of rear end: 1.6 cm by tape
hole edge to seam: 1580 mm
```
"""


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    build = tmp_path_factory.mktemp("build")
    site = site_of_files(build, {"build.toml": 'title = "Truck"\n', "2026-03-21 cab/note.md": NOTE})
    return written(site, tmp_path_factory.mktemp("site")) / "measurements" / "index.html"


def column(page: Any, number: int) -> list[str]:
    """The words of one column, of the lines that are shown."""
    cells = page.locator(f"#measurements tbody tr:visible > :nth-child({number})")
    return [text.split("\n")[0] for text in cells.all_inner_texts()]


def readings(page: Any) -> list[str]:
    cells = page.locator("#measurements tbody tr:visible .value :is(.figure, .contact)")
    return list(cells.all_inner_texts())


AS_MADE = ["312 mm", "5/8 in", "at least 3 mm", "yes", "25 N·m", "1.6 cm", "1580 mm"]


def test_without_a_click_it_is_as_it_was_made(watched: Watched, page_file: Path) -> None:
    assert readings(watched.open(page_file)) == AS_MADE


def test_sorting_goes_up_then_down_then_back(watched: Watched, page_file: Path) -> None:
    page = watched.open(page_file)
    heading = page.locator("#measurements th", has_text="Reading")
    heading.get_by_role("button").click()
    assert heading.get_attribute("aria-sort") == "ascending"
    up = readings(page)
    assert up == ["at least 3 mm", "5/8 in", "1.6 cm", "25 N·m", "312 mm", "1580 mm", "yes"]
    page.keyboard.press("Enter")  # the heading's button has the focus
    assert heading.get_attribute("aria-sort") == "descending"
    assert readings(page) == [*up[-2::-1], "yes"]  # what has no number stays last
    page.keyboard.press("Space")
    assert heading.get_attribute("aria-sort") is None
    assert readings(page) == AS_MADE


def test_words_are_sorted_as_people_do(watched: Watched, page_file: Path) -> None:
    page = watched.open(page_file)
    page.locator("#measurements th", has_text="Part").get_by_role("button").click()
    names = column(page, 1)
    assert names == sorted(names, key=str.casefold)
    assert page.locator("#measurements th[aria-sort]").count() == 1
    page.locator("#measurements th", has_text="What").get_by_role("button").click()
    assert page.locator("#measurements th[aria-sort]").all_inner_texts() == ["What"]


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("16 mm", ["5/8 in", "1.6 cm"]),
        ("3 mm", ["at least 3 mm"]),
        ("3.2 mm", []),
        ("hinge 16 mm", ["5/8 in"]),
        ("rail", ["1.6 cm", "1580 mm"]),
        ("calliper", ["5/8 in"]),
        ("level", ["yes"]),
        ("1.5 to 1.6 m", ["1580 mm"]),
        ("15.9", []),  # the conversion beside a reading is not what was written
        ("nothing like it", []),
    ],
)
def test_filtering_is_read_as_the_search_is(
    watched: Watched, page_file: Path, typed: str, shown: list[str]
) -> None:
    page = watched.open(page_file)
    page.get_by_role("searchbox").fill(typed)
    assert readings(page) == shown
    expect(page.locator("#table-status")).to_have_text(f"{len(shown)} of {len(AS_MADE)} shown.")


def test_the_filter_stands_in_the_address_and_survives_sorting(watched: Watched, page_file: Path) -> None:
    page = watched.open(page_file)
    page.get_by_role("searchbox").fill("16 mm")
    page.wait_for_url("**?q=16%20mm")
    page.reload()
    assert readings(page) == ["5/8 in", "1.6 cm"]
    page.locator("#measurements th", has_text="Reading").get_by_role("button").click()
    assert readings(page) == ["5/8 in", "1.6 cm"]
    page.get_by_role("searchbox").fill("")
    assert len(readings(page)) == len(AS_MADE)
    assert page.inner_text("#table-status") == ""


def test_without_scripts_the_table_is_just_there(browser: Any, page_file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(page_file.as_uri())
    assert readings(page) == AS_MADE
    assert page.locator("#measurements button").count() == 0
    context.close()


def test_on_a_phone_a_filtered_line_is_gone(watched: Watched, page_file: Path) -> None:
    page = watched.open(page_file)
    page.set_viewport_size({"width": 360, "height": 740})
    page.get_by_role("searchbox").fill("16 mm")
    assert readings(page) == ["5/8 in", "1.6 cm"]
    assert page.evaluate("document.documentElement.scrollWidth") == 360
