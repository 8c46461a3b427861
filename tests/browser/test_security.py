"""A build in which every word is an attack, in Chromium: nothing runs, nothing asks outside, nothing leads astray."""

from __future__ import annotations

import csv
import io
import os
import re
from pathlib import Path
from typing import Any

import pytest

from journal.ground.files import write_site
from journal.make import MARK
from tests.attacks import ATTACKS, build
from tests.browser.watched import Watched
from tests.builds import write_build
from tests.site_fixture import site_of

pytestmark = pytest.mark.browser

LEFT = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
STRAY = """() => ({
  hit: window.hit,
  inline: document.querySelectorAll('script:not([src]), style, base, iframe, object, embed').length,
  leads: document.querySelectorAll('[http-equiv=refresh]').length,
  handlers: [...document.querySelectorAll('*')].flatMap((one) => [...one.attributes])
    .filter((one) => one.name.startsWith('on') || one.name === 'style').length,
  forms: document.querySelectorAll('form[action]').length,
  scripts: [...document.scripts].filter((one) => !one.src.startsWith('file://')).length,
  pictures: [...document.images].filter((one) => !one.src.startsWith('file://')).length,
  schemes: [...new Set([...document.links].map((one) => one.protocol))],
})"""


@pytest.fixture(scope="module", params=["shop", "public"])
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Written as `journal make` writes it, into a folder of a folder that holds nothing else."""
    folder = write_build(tmp_path_factory.mktemp("build") / "truck", build())
    around = tmp_path_factory.mktemp("around")
    write_site(around / "out", site_of(folder, request.param), mark=MARK, edition=request.param, build=folder)
    assert [path.name for path in around.iterdir() if path.name != "out"] == []
    return around / "out"


def pages(site: Path) -> list[Path]:
    """Every page that is no part's or place's, and every third of those: they are all of one template each."""
    found = sorted(site.rglob("*.html"))
    many = [path for path in found if path.parent.parent.name in ("parts", "places")]
    return [path for path in found if path not in many] + many[::3]


def test_every_file_lies_inside_the_folder(site: Path) -> None:
    top = site.resolve()
    files = [path for path in site.rglob("*") if path.is_file()]
    assert len(files) > 200
    for path in files:
        assert path.resolve().is_relative_to(top)
        assert not path.is_symlink()
        name = path.relative_to(site).as_posix()
        assert re.fullmatch(r"[\w.\-/]+", name, re.ASCII), f"{name} would need care on some system"
        assert max(len(os.fsencode(piece)) for piece in name.split("/")) <= 200
        assert not {piece.split(".")[0].upper() for piece in name.split("/")} & {"CON", "PRN", "AUX", "NUL"}, name


def test_nothing_runs_and_nothing_is_asked_outside(watched: Watched, site: Path) -> None:
    page = watched.page
    page.on("dialog", lambda dialog: watched.unwanted.append(f"dialog: {dialog.message}"))
    page.on("popup", lambda popup: watched.unwanted.append(f"window: {popup.url}"))
    page.set_viewport_size({"width": 360, "height": 800})
    looked_at = pages(site)
    assert len(looked_at) > 50
    for path in looked_at:
        watched.open(path)
        name = str(path.relative_to(site))
        found = page.evaluate(STRAY)
        assert set(found.pop("schemes")) <= {"file:", "https:", "http:", "mailto:"}, name
        assert not any(found.values()), (name, found)
        assert page.url.startswith("file://"), name
        assert watched.unwanted == [], name


def test_no_word_is_wider_than_the_window(watched: Watched, site: Path) -> None:
    watched.page.set_viewport_size({"width": 360, "height": 800})
    for path in pages(site)[::4]:
        watched.open(path)
        for width in (360, 1280):
            watched.page.set_viewport_size({"width": width, "height": 800})
            assert watched.page.evaluate(LEFT) <= 0, (path, width)


def test_a_search_for_an_attack_is_only_a_search(watched: Watched, site: Path) -> None:
    page = watched.open(site / "search" / "index.html")
    page.on("dialog", lambda dialog: watched.unwanted.append(f"dialog: {dialog.message}"))
    shown = 0
    for text in ATTACKS:
        page.evaluate("(text) => { const q = document.getElementById('q'); q.value = text;"
                      " q.dispatchEvent(new Event('input', { bubbles: true })); }", text)  # fmt: skip
        page.wait_for_timeout(60)
        shown += page.locator("#hits .hit").count()
        found = page.evaluate(STRAY)
        assert not any(found[key] for key in found if key != "schemes"), text
    assert shown > 20, "the attacks are found as words"
    asked = "?q=%3Cimg%20src%3Dx%20onerror%3Dwindow.hit%3D1%3E#%3Cscript%3E"
    page.goto((site / "search" / "index.html").as_uri() + asked)
    assert page.evaluate("window.hit") is None


def test_everything_pressed_does_no_harm(watched: Watched, site: Path) -> None:
    """Boxes, buttons and summaries of the pages that have some."""
    page = watched.page
    page.on("dialog", lambda dialog: watched.unwanted.append(f"dialog: {dialog.message}"))
    for path in ("going-back/index.html", "measurements/index.html", "tags/index.html"):
        watched.open(site / path)
        pressed = page.evaluate("document.querySelectorAll('button, input[type=checkbox], summary').length")
        page.evaluate("document.querySelectorAll('button, input, summary').forEach((one) => one.click())")
        assert pressed > 0, path
        assert page.evaluate("window.hit") is None
        assert page.url.startswith("file://")


def test_no_cell_of_a_table_is_a_formula(site: Path) -> None:
    """CSV injection: a cell that begins like a formula is taken for one by programs that calculate."""
    for path in site.rglob("*.csv"):
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
        assert len(rows) > 50
        wrong = [cell for row in rows for cell in row if cell[:1] in "=+-@\t\r" and not _is_number(cell) and cell]
        assert wrong == [], path


def _is_number(cell: str) -> bool:
    return re.fullmatch(r"[-+]?\d+(\.\d+)?", cell) is not None


def test_control_characters_stay_out(site: Path) -> None:
    for path in [*site.rglob("*.html"), *site.rglob("*.json"), *site.rglob("*.xml"), *site.rglob("*.csv")]:
        assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", path.read_text(encoding="utf-8")), path


def test_templates_in_notes_stay_words(site: Path) -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in (site / "days").rglob("*.html"))
    assert "{{ 7*7 }}" in text
    assert "__mro__" in text
    assert "{% for x in range" in text


def test_the_watch_would_see_an_attack_that_works(browser: Any, tmp_path: Path) -> None:
    """The check can fail: a page that lets one through is caught by every means."""
    (tmp_path / "page.html").write_text(
        "<!doctype html><script>window.hit=1</script><a href='javascript:1'>x</a><b onclick=1>y</b>"
        "<img src='https://evil.example/x.png'>"
    )
    watched = Watched(browser)
    page = watched.open(tmp_path / "page.html")
    found = page.evaluate(STRAY)
    assert (found["hit"], found["inline"], found["handlers"], found["pictures"]) == (1, 1, 1, 1)
    assert "javascript:" in found["schemes"]
    assert any(said.startswith("request: https://evil.example") for said in watched.unwanted)
    page.close()
