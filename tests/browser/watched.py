"""A page of a made site in headless Chromium from file://, and a look at what must not happen on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")
THEME = Path(__file__).parents[2] / "themes" / "bench" / "files"

if not CHROMIUM.exists():
    pytest.skip("needs Debian's chromium", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="needs playwright")
expect = playwright.expect
expect.set_options(timeout=20_000)  # ms: what is tested is that it comes, and the machine may be a busy one


class Watched:
    """A page with what must not happen on it: faults, words in the console, requests that leave the folder."""

    def __init__(self, browser: Any) -> None:
        self.page = browser.new_page()
        self.unwanted: list[str] = []
        self.page.on("pageerror", lambda fault: self.unwanted.append(f"fault: {fault}"))
        self.page.on("console", lambda said: self.unwanted.append(f"console: {said.text}"))
        self.page.on("request", lambda request: self._asked(request.url))

    def _asked(self, url: str) -> None:
        if not url.startswith("file://"):
            self.unwanted.append(f"request: {url}")

    def open(self, page: Path, query: str = "") -> Any:
        self.page.goto(page.as_uri() + query)
        return self.page
