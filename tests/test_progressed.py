"""What a day changed, where the parts are that are off, and the cards of public pages."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from journal.make import tell_build
from journal.pages.edition import Edition, reduced
from journal.pages.progressed import MOST_PLACES, changes_by_day, open_places
from journal.pages.viewer import Viewer
from tests.builds import TODAY, write_build
from tests.site_fixture import Page, pages_of, site_of_files, text_of

SITE = 'title = "Platform truck No. 9"\nabout = "A truck."\nsite = "https://example.org/truck/"\n'
FILES = {
    "2026-03-07 off/note.md": """```removed hinge, left
from: door post
place: cab / door post
held by: 2 spot welds
hole to lower edge: 312 mm by rule
```

```removed lamp
from: dash
place: dash
held by: 2 bolts
```

```removed horn
from: bumper
held by: weld
```
""",
    "2026-03-14 told/note.md": """```measured hinge, left
on: door post
hole to rear edge: 40 mm by rule
hole 2 to rear edge: 41 mm by rule
hole 2 to lower edge: 300 mm by rule
```
""",
    "2026-03-21 back/note.md": "Lamp on, horn gone.\n\n```refitted lamp\non: dash\n```\n\n```scrapped horn\n```\n",
}


def viewer(folder: Path, files: Mapping[str, str], edition: Edition = "shop") -> Viewer:
    told = tell_build(write_build(folder, files), TODAY)
    return Viewer(*reduced(told.book, told.judgement, edition), edition)


def test_a_day_tells_what_became_of_parts(tmp_path: Path) -> None:
    changes = changes_by_day(viewer(tmp_path, FILES))
    told = {day: [(one.label, [link.text for link in one.parts]) for one in changes[day]] for day in sorted(changes)}
    assert told == {
        date(2026, 3, 7): [("Off", ["hinge, left", "lamp", "horn"]), ("Position recorded", ["lamp"])],
        date(2026, 3, 14): [("Position recorded", ["hinge, left"])],
        date(2026, 3, 21): [("Back on", ["lamp"]), ("Gone for good", ["horn"])],
    }


def test_what_is_measured_or_said_again_was_known_since_the_first_time(tmp_path: Path) -> None:
    again = "```refitted hinge, left\nheld by: 2 spot welds\n```\n\n```measured hinge, left\non: door post\n"
    again += "hole to rear edge: 40 mm by rule\n```\n\n```refitted lamp\nheld by: 2 bolts\n```\n"
    changes = changes_by_day(viewer(tmp_path, FILES | {"2026-04-04 again/note.md": again}))
    told = {link.text: day for day, every in changes.items() for one in every if one.label == "Position recorded"
            for link in one.parts}  # fmt: skip
    assert told == {"lamp": date(2026, 3, 7), "hinge, left": date(2026, 3, 14)}


def test_a_private_part_changes_nothing_in_public(tmp_path: Path) -> None:
    files = FILES | {"build.toml": SITE + '[private]\nparts = ["lamp"]\n'}
    told = changes_by_day(viewer(tmp_path, files, "public"))
    assert "lamp" not in {link.text for one in told.values() for change in one for link in change.parts}
    assert [change.label for change in told[date(2026, 3, 21)]] == ["Gone for good"]


def test_a_days_page_says_since_which_day(tmp_path: Path) -> None:
    pages = pages_of(site_of_files(tmp_path, FILES, "shop"))
    since = {path[5:15]: Page(text) for path, text in pages.items() if path.startswith("days/2026")}
    headings = {day: [e.text for e in page.all("h2") if e.attrs.get("id") == "since"] for day, page in since.items()}
    assert headings == {
        "2026-03-07": ["What changed"],
        "2026-03-14": ["What changed since off"],
        "2026-03-21": ["What changed since told"],
    }


def test_the_places_of_parts_that_are_off_the_most_open_first(tmp_path: Path) -> None:
    files = {"2026-03-07 off/note.md": FILES["2026-03-07 off/note.md"]}
    shown = viewer(tmp_path, files)
    rows = [shown.row(part) for part in shown.book.parts]
    places = open_places(shown, rows)
    assert [(one.link.text, one.off, one.open, one.off_width, one.open_width) for one in places] == [
        ("cab / door post", 1, 1, 100, 100),
        ("no place written", 1, 1, 100, 100),
        ("dash", 1, 0, 100, 0),
    ]


def test_many_places_are_told_by_those_at_the_top(tmp_path: Path) -> None:
    slips = [
        f"```removed clip {n}\nfrom: rail\nplace: {'cab' if n % 3 else 'deck'} / corner {n}\n```\n"
        for n in range(MOST_PLACES + 1)
    ]
    shown = viewer(tmp_path, {"2026-03-07 off/note.md": "\n".join(slips)})
    places = open_places(shown, [shown.row(part) for part in shown.book.parts])
    assert [(one.link.text, one.off) for one in places] == [("cab", 8), ("deck", 5)]
    assert places[1].off_width == pytest.approx(62.5)


def test_the_overview_draws_a_bar_a_place_beside_the_words(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, FILES, "shop")
    page = Page(text_of(site, "index.html"))
    bars = [e for e in page.all("svg") if e.attrs.get("class") == "bar"]
    assert [e.attrs["aria-hidden"] for e in bars] == ["true", "true"]
    words = " ".join(page.all("main")[0].text.split())
    assert "cab / door post1 off" in words
    assert "no place written1 off, 1 not fully recorded" in words, "a scrapped horn wants a place for the next one"
    assert text_of(site, "index.html").count('class="open"') == 1


def cards(site: Mapping[str, bytes | Path], path: str) -> dict[str, str]:
    page = Page(text_of(site, path))
    found = {e.attrs["property"]: e.attrs["content"] for e in page.all("meta") if "property" in e.attrs}
    links = [e.attrs["href"] for e in page.all("link") if e.attrs["rel"] == "canonical"]
    return found | ({"canonical": links[0]} if len(links) == 1 else {})


def test_public_pages_carry_whole_addresses_where_the_site_is_known(tmp_path: Path) -> None:
    pictures = {f"2026-03-07 off/IMG_{n}.jpg": "a picture" for n in (1, 2)}
    files = FILES | {"build.toml": SITE} | pictures
    site = site_of_files(tmp_path, files)
    card = cards(site, "days/2026-03-07/index.html")
    picture = next(path for path in site if path.startswith("photos/"))
    assert card == {
        "canonical": "https://example.org/truck/days/2026-03-07/index.html",
        "og:type": "article",
        "og:url": "https://example.org/truck/days/2026-03-07/index.html",
        "og:site_name": "Platform truck No. 9",
        "og:title": "off",
        "og:description": "7 March 2026: 3 parts off, 1 measurement, 2 pictures",
        "og:image": f"https://example.org/truck/{picture}",
        "og:image:alt": "Picture IMG_1.jpg",
    }
    assert cards(site, "index.html")["og:image"] == card["og:image"], "of the newest day that has one"
    assert cards(site, "parts/index.html")["og:type"] == "website"
    assert cards(site, "404.html") == {}


def test_the_picture_of_a_card_is_the_first_that_is_public(tmp_path: Path) -> None:
    private = '[private]\nphotos = ["IMG_1.jpg"]\n'
    files = FILES | {"build.toml": SITE + private, "2026-03-07 off/IMG_1.jpg": "a picture taken 2026-03-07",
                     "2026-03-07 off/IMG_2.jpg": "a picture"}  # fmt: skip
    site = site_of_files(tmp_path, files)
    card = cards(site, "days/2026-03-07/index.html")
    assert card["og:image:alt"] == "Picture IMG_2.jpg"
    assert card["og:image"].removeprefix("https://example.org/truck/") in site


@pytest.mark.parametrize(("toml", "edition"), [(SITE, "shop"), (SITE.replace("site =", "# site ="), "public")])
def test_no_card_without_a_site_nor_in_the_shop(tmp_path: Path, toml: str, edition: Edition) -> None:
    site = site_of_files(tmp_path, FILES | {"build.toml": toml}, edition)
    assert all(cards(site, path) == {} for path in pages_of(site))


def test_followers_read_the_newest_day_first(tmp_path: Path) -> None:
    orders = []
    for edition in ("public", "shop"):
        page = Page(text_of(site_of_files(tmp_path / edition, FILES, edition), "index.html"))
        orders.append([e.attrs["id"] for e in page.all("h2") if "id" in e.attrs])
    assert orders == [["newest", "before", "progress", "next"], ["before", "progress", "next", "newest"]]
