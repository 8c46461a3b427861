"""One headless Chromium for the tests of a file; where it or playwright is missing the tests say so and are skipped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from tests.browser.watched import CHROMIUM, playwright

    with playwright.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def watched(browser: Any) -> Iterator[Any]:
    """A page on which nothing unwanted may have happened by the end of the test."""
    from tests.browser.watched import Watched

    watched = Watched(browser)
    yield watched
    watched.page.close()
    assert not watched.unwanted
