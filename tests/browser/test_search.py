"""The search page in a real browser from file://: the same table of cases as the terminal, and the page around it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from journal.measure.units import UNITS
from journal.pages.query import Range, read_query
from journal.pages.search import Row, arrange, files
from tests.browser.watched import THEME, Watched, expect
from tests.search_cases import as_json, cases, rows, written

pytestmark = pytest.mark.browser


def made(out: Path, found: list[Row]) -> Path:
    """A folder with the search page's scripts, the index of some rows, and a page as the theme's template has it."""
    for path, text in files(arrange(found)).items():
        (out / path).parent.mkdir(parents=True, exist_ok=True)
        (out / path).write_text(text, "utf-8")
    (out / "theme").mkdir()
    for name in ("query.js", "find.js", "search.js"):
        (out / "theme" / name).write_bytes((THEME / name).read_bytes())
    (out / "search" / "index.html").write_text(PAGE, "utf-8")
    return out


PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Search</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'">
<script defer src="query-data.js"></script><script defer src="index-data.js"></script>
<script defer src="../theme/query.js"></script><script defer src="../theme/find.js"></script>
<script defer src="../theme/search.js"></script>
<form><input type="search" id="q" name="q"></form><p id="hits-status" aria-live="polite"></p>
<details class="narrow"><summary>Narrow it down</summary><div id="facets"></div></details><ol id="hits"></ol></html>"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made(tmp_path_factory.mktemp("site"), rows())


def search_page(site: Path) -> Path:
    return site / "search" / "index.html"


def heads(page: Any) -> list[str]:
    return list(page.locator(".hit-head").all_inner_texts())


def test_the_table_of_cases(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site))
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
    wrong = [
        f"{case}\n  wants {case.found} {case.near}\n  gives {written(answer['groups'])} {answer['near']}"
        for case, answer in zip(cases(), answers, strict=True)
        if (written(answer["groups"]), tuple(answer["near"])) != (case.found, case.near)
    ]
    assert not wrong, "\n".join(wrong)


def test_both_read_a_query_alike(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site))
    typed = [case.query for case in cases()] + SPELLINGS
    there = page.evaluate("(typed) => typed.map((one) => window.journalQuery.readQuery(one))", typed)
    here = [read_query(one) for one in typed]
    assert [(tuple(q["words"]), tuple(Range(**r) for r in q["ranges"])) for q in there] == [
        (q.words, q.ranges) for q in here
    ]
    assert sum(len(query.ranges) for query in here) > 60  # the spellings below are values, not words


UNITS_SPELT = [f"7 {word}" for unit in UNITS for word in (unit.symbol, *unit.spellings, *unit.exact)]
SPELLINGS = [
    *UNITS_SPELT, "1½ in", "1-5/8 in", "5/8-3/4 in", "3/0 in", "20..25mm", "5 to 6 kg", "5 mm to 6 kg", "16 ± 1 mm",
    "16 mm +/- 0.5", "~ 16mm", "about 5/8 in", "8’-4 3/8”", "3 ft 4 in", "5’", "１６ mm", "Ⅷ ℃ ﬁn", "Straße ÅNGSTRÖM",
    "e\u0301trier", "25 N m", "999999999999999 mm", "1" * 5000, "a" * 5000, "\u0000\ud83d\ude00 16\u00a0mm", "١٢ mm",
    ".5 in", "0,5 mm", "5 a side", "5 A", "16 mm²", "5 mΩ", "5 MΩ", "__proto__ 5 constructor", "-5 °C", "20 TO 25 mm",
]  # fmt: skip


def test_the_words_that_were_looked_for_are_marked(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site))
    page.fill("#q", "web edge rul 16 mm left")
    assert page.inner_text(".hit-row") == "hole edge to web 5/8 in by rule 21\u00a0March\u00a02026"
    assert page.locator(".hit-head mark").all_inner_texts() == ["left"]
    assert page.locator(".hit-row mark").all_inner_texts() == ["edge", "web", "rule"]
    page.fill("#q", "16 mm")
    assert page.locator("#hits mark").count() == 0, "a value is found by its size, not by its letters"


def test_typing_finds_and_the_address_keeps_it(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site))
    assert "16 mm" in page.inner_text("#hits-status")
    page.fill("#q", "16 mm left")
    assert heads(page) == ["guide bracket front, left"]
    assert page.inner_text(".hit-row") == "hole edge to web 5/8 in by rule 21\u00a0March\u00a02026"
    assert page.inner_text("#hits-status") == "1 found."
    page.wait_for_url("**?q=16+mm+left")
    page.reload()
    assert page.input_value("#q") == "16 mm left"
    assert heads(page) == ["guide bracket front, left"]


def test_facets_are_clicked_or_pressed_and_kept_in_the_address(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site), "?q=hole")
    page.get_by_text("Narrow it down").click()
    page.get_by_role("button", name="right 2").click()
    assert heads(page) == ["guide bracket front, right"]
    page.wait_for_url("**?q=hole&side=right")
    page.keyboard.press("Space")  # the same button still has the focus
    page.wait_for_url("**?q=hole")
    assert len(heads(page)) == 2
    assert page.get_by_role("button", name="underside / left sill 2").is_visible()  # the one way down is taken
    page.fill("#q", "b")
    page.get_by_role("button", name="underside 11").click()
    page.get_by_role("button", name="left sill 5").click()
    assert page.get_by_role("button", name="left sill").get_attribute("aria-pressed") == "true"
    page.reload()
    assert heads(page) == ["guide bracket front, left"]


def test_a_near_spelling_is_offered_as_a_link(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site))
    page.fill("#q", "braket")
    assert page.inner_text("#hits-status") == "Nothing found."
    page.get_by_role("link", name="bracket").click()
    assert page.input_value("#q") == "bracket"
    assert heads(page)[0] == "bracket"
    page.wait_for_url("**?q=bracket")


def test_what_no_longer_counts_is_struck_and_says_why(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site), "?q=bore")
    row = page.locator(".hit-row.gone")
    expect(row.locator("a s")).to_have_text("bore")
    expect(row.locator(".hit-value s")).to_have_text("15 to 16 mm")
    expect(row.locator(".why")).to_have_text("Read on the one that was renewed.")
    page.fill("#q", "17 mm")
    expect(page.locator(".hit-row .remark")).to_have_text("In doubt")
    assert page.locator("s").count() == 0


def test_nothing_found_says_what_to_try_and_offers_nothing_to_narrow(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site), "?q=zzzz")
    expect(page.locator("#hits")).to_contain_text("Try fewer words")
    expect(page.get_by_text("Narrow it down")).to_be_hidden()
    page.fill("#q", "hole")
    expect(page.get_by_text("Narrow it down")).to_be_visible()


def test_a_part_bears_no_day_and_a_picture_is_called_one(watched: Watched, site: Path) -> None:
    page = watched.open(search_page(site), "?q=hose")
    assert page.locator(".hit-about").all_inner_texts() == ["back on · underside", "day · 18\u00a0April\u00a02026"]
    assert page.get_by_role("button", name="pictures").count() == 0
    page.fill("#q", "bracket")
    page.get_by_text("Narrow it down").click()
    expect(page.get_by_role("button", name="pictures 1")).to_be_visible()


def test_twenty_rows_at_once_and_more_when_asked(watched: Watched, tmp_path: Path) -> None:
    parts = [Row("part", f"clip {n}", f"parts/clip-{n}/index.html") for n in range(60)]
    page = watched.open(search_page(made(tmp_path, parts)), "?q=clip")
    expect(page.locator(".hit-head")).to_have_count(20)
    page.get_by_role("button", name="Show more").press("Enter")
    assert len(heads(page)) == 40
    assert page.evaluate("document.activeElement.textContent") == heads(page)[20]
    page.get_by_role("button", name="Show more").click()
    assert len(set(heads(page))) == 60
    assert page.get_by_role("button", name="Show more").is_hidden()


def test_many_readings_of_one_part_do_not_bury_the_others(watched: Watched, tmp_path: Path) -> None:
    many = [Row("reading", f"hole {n} to web", f"p/index.html#m-{n}", group="p/index.html") for n in range(100)]
    two = [Row("part", "plate", "p/index.html"), Row("part", "plate cover", "c/index.html"), *many]
    page = watched.open(search_page(made(tmp_path, two)), "?q=plate")
    expect(page.locator(".hit-head")).to_have_text(["plate", "plate cover"])
    assert page.get_by_role("link", name="92 more on its page").get_attribute("href") == "../p/index.html"
    page.fill("#q", "hole plate web")
    expect(page.locator(".hit-row")).to_have_count(19)
    page.get_by_role("button", name="Show more").click()
    assert page.locator(".hit-row").count() == 39
    assert heads(page) == ["plate"]


HOSTILE = [
    "<script>document.title='got in'</script>", "<img src=x onerror=\"document.title='got in'\">", "');alert(1)//",
    "\\'; document.title='got in'; //", "</script><script>document.title='got in'</script>", "\u2028\u2029\u0000\u0007",
    "javascript:document.title='got in'", "a" * 3000, "\u202egnp.exe",
]  # fmt: skip


def test_hostile_words_stay_words(watched: Watched, tmp_path: Path) -> None:
    parts = [
        Row("part", f"plate {n} {words}", f"parts/{words[:40]}/index.html#{words[:40]}", words, (words,), "", (words,),
            words, words)
        for n, words in enumerate(HOSTILE)
    ]  # fmt: skip
    page = watched.open(search_page(made(tmp_path, parts)), "?q=plate&place=%3Cimg%20src%3Dx%20onerror%3Dalert(1)%3E")
    assert page.inner_text("#hits-status") == "Nothing found."
    page.goto(page.url.partition("?")[0] + "?q=plate")
    expect(page.locator(".hit-head")).to_have_count(len(HOSTILE))
    assert HOSTILE[0] in page.inner_text("#hits")
    assert page.title() == "Search"
    assert page.locator("#hits script, #hits img, #facets img").count() == 0
    assert all(href.startswith("../parts/") for href in page.eval_on_selector_all(
        ".hit-head a", "links => links.map((link) => link.getAttribute('href'))"))  # fmt: skip
