"""The preview in Chromium: a save shows by itself, findings are led to, a fault is said and goes again."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from journal.preview import Preview, run
from tests.browser.watched import expect
from tests.builds import TODAY, write_build

pytestmark = pytest.mark.browser

TITLE = 'title = "Truck"\n'
DAY = "2026-03-21 left sill/note.md"
NOTE = """# Guides off

First words.

```removed guide bracket, left
from: sill, left
held by: 2 spot welds
hole to rear end: 15 mm by rule
```
"""
PATIENT = 60_000  # the machine that runs the tests may be busy


class Previewed:
    """A running preview, and what its pages say and ask."""

    def __init__(self, build: Path, browser: Any) -> None:
        self.build = build
        self.stop, self.ready = threading.Event(), threading.Event()
        self.url = ""
        self.thread = threading.Thread(
            target=run, args=(Preview(build, "shop", TODAY), 0, lambda line: None, self._opened, self.stop)
        )
        self.thread.start()
        assert self.ready.wait(120)
        self.unwanted: list[str] = []
        self.page = browser.new_page()
        self.page.on("pageerror", lambda fault: self.unwanted.append(f"fault: {fault}"))
        self.page.on("console", lambda said: self.unwanted.append(f"console: {said.text}"))
        self.page.on("request", lambda request: self._asked(request.url))

    def _opened(self, url: str) -> None:
        self.url = url
        self.ready.set()

    def _asked(self, url: str) -> None:
        if not url.startswith(self.url):
            self.unwanted.append(f"request: {url}")

    def open(self, path: str) -> Any:
        self.page.goto(self.url + path)
        return self.page

    def save(self, path: str, text: str) -> None:
        write_build(self.build, {"build.toml": (self.build / "build.toml").read_text(), path: text})


@pytest.fixture
def previewed(browser: Any, tmp_path: Path) -> Iterator[Previewed]:
    files = {"build.toml": TITLE, DAY: NOTE, "2026-03-28/note.md": "Rain."}
    begun = Previewed(write_build(tmp_path / "truck", files), browser)
    yield begun
    begun.page.close()
    begun.stop.set()
    begun.thread.join(60)
    assert not begun.thread.is_alive()
    assert begun.unwanted == []


def test_a_save_shows_by_itself_with_its_findings(previewed: Previewed) -> None:
    page = previewed.open("days/2026-03-21/index.html")
    expect(page.locator("main")).to_contain_text("First words.")
    expect(page.locator("#preview p")).to_have_text(re.compile("Found: "))
    previewed.save(DAY, NOTE.replace("First", "Second").replace("15 mm", "15"))
    expect(page.locator("main")).to_contain_text("Second words.", timeout=PATIENT)
    expect(page.locator(".slip .finding.problem")).to_contain_text('"15" has no unit')
    expect(page.locator("#preview p")).to_contain_text("1 problem")
    page.get_by_role("button", name="on this page").click()
    expect(page.locator(".finding:focus")).to_be_visible()


def test_another_page_is_not_loaded_anew(previewed: Previewed) -> None:
    page = previewed.open("days/2026-03-28/index.html")
    page.evaluate("window.stayed = true")
    previewed.save(DAY, NOTE.replace("15 mm", "15"))
    expect(page.locator("#preview p")).to_contain_text("1 problem", timeout=PATIENT)
    assert page.evaluate("window.stayed") is True


def test_a_fault_is_said_on_the_page_that_stays_and_goes_once_it_is_put_right(previewed: Previewed) -> None:
    page = previewed.open("parts/index.html")
    previewed.save("themes/mine/theme.toml", "")
    previewed.save("themes/mine/templates/parts.html", "\n{% block main %}")
    previewed.save("build.toml", TITLE + 'theme = "mine"\n')
    expect(page.locator("#preview.fault p")).to_contain_text("parts.html:2: ", timeout=PATIENT)
    expect(page.locator("main")).to_contain_text("guide bracket, left")
    good = '{% extends "bench/parts.html" %}{% block ruled %}Put right.{% endblock %}'
    previewed.save("themes/mine/templates/parts.html", good)
    expect(page.locator("main")).to_contain_text("Put right.", timeout=PATIENT)
    expect(page.locator("#preview.fault")).to_have_count(0)


def test_the_command_serves_until_it_is_interrupted_and_pages_say_so(browser: Any, tmp_path: Path) -> None:
    build = write_build(tmp_path, {"build.toml": TITLE, DAY: NOTE})
    command = [sys.executable, "-u", "-m", "journal", "preview", str(build), "--port", "0", "--edition", "public"]
    root = Path(__file__).parents[2]
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell that runs this behind its back has it ignored
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=root) as running:
        assert running.stdout
        url = running.stdout.readline().split()[0]
        assert "made in" in running.stdout.readline()
        page = browser.new_page()
        page.goto(url)
        expect(page.locator("h1")).to_have_text("Truck")
        expect(page.locator(".block")).to_contain_text("public")
        running.send_signal(signal.SIGINT)
        assert "ended" in running.stdout.read()
        assert running.wait(30) == 0
        expect(page.locator("#preview.fault p")).to_contain_text("has ended", timeout=PATIENT)
        page.close()


def test_no_worker_keeps_the_preview(previewed: Previewed) -> None:
    page = previewed.open("index.html")
    page.wait_for_timeout(500)
    assert page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0


@pytest.mark.parametrize("width", [360, 1280])
def test_the_strip_fits_and_hides_nothing_for_good(previewed: Previewed, width: int) -> None:
    page = previewed.open("index.html")
    page.set_viewport_size({"width": width, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    foot = page.locator("footer").bounding_box()
    strip = page.locator("#preview").bounding_box()
    assert foot["y"] + foot["height"] <= strip["y"] + 1
