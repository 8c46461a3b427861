"""The search page's own search runs through the same table of cases, in a real browser from file://."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from journal.pages.search import arrange, files
from tests.search_cases import as_json, cases, rows, written

pytestmark = pytest.mark.browser
CHROMIUM = Path("/usr/bin/chromium")
THEME = Path(__file__).parents[2] / "themes" / "bench" / "files"

if not CHROMIUM.exists():
    pytest.skip("needs Debian's chromium", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="needs playwright")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the search page's scripts and the index of the table's rows."""
    out = tmp_path_factory.mktemp("site")
    for path, text in files(arrange(rows())).items():
        (out / path).parent.mkdir(exist_ok=True)
        (out / path).write_text(text, "utf-8")
    (out / "theme").mkdir()
    for name in ("query.js", "find.js", "search.js"):
        (out / "theme" / name).write_bytes((THEME / name).read_bytes())
    return out


BARE = """<!doctype html><meta charset="utf-8"><title>Bare</title>
<script src="query-data.js"></script><script src="index-data.js"></script>
<script src="../theme/query.js"></script><script src="../theme/find.js"></script>"""


def test_the_table_of_cases(browser: Any, site: Path) -> None:
    (site / "search" / "bare.html").write_text(BARE, "utf-8")
    page = browser.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto((site / "search" / "bare.html").as_uri())
    answers = page.evaluate(
        """(cases) => {
          const search = window.journalFind(window.journalIndex);
          const key = (row) => search.shown(row).url;
          return cases.map(([query, facets]) => {
            const result = search.find(query, facets);
            return {
              groups: result.groups.map((group) => [key(group.head), search.ordered(group).map(key)]),
              near: result.count || (!query && !Object.keys(facets).length) ? [] : search.nearQueries(query),
            };
          });
        }""",
        [as_json(case) for case in cases()],
    )
    assert not faults
    wrong = [
        f"{case}\n  wants {case.found} {case.near}\n  gives {written(answer['groups'])} {answer['near']}"
        for case, answer in zip(cases(), answers, strict=True)
        if (written(answer["groups"]), tuple(answer["near"])) != (case.found, case.near)
    ]
    assert not wrong, "\n".join(wrong)
    page.close()
