"""What private slips and days name stays out of the public edition, also where public words lead to it."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.ground.names import fold
from journal.pages.erasing import eraser
from tests.site_fixture import SiteFiles, site_of_files, text_of

DAY = "2026-03-07 a/note.md"
NEXT = "2026-03-08 b/note.md"


def slip(first: str, *lines: str) -> str:
    return "\n".join((f"```{first}", *lines, "```", ""))


def private(**lists: list[str]) -> str:
    """A build.toml with these lists under [private]."""
    return "\n".join(('title = "Platform truck No. 9"', "[private]", *(f"{k} = {v!r}" for k, v in lists.items())))


def told(site: SiteFiles, word: str) -> list[str]:
    """The files that say the word in their text or their path; the theme comes from no note."""
    texts = {path: content.decode() for path, content in site.items() if isinstance(content, bytes)}
    made = {path: f"{path} {text}".casefold() for path, text in texts.items() if not path.startswith("theme/")}
    return [path for path, text in made.items() if word in text]


CLAMP = slip("removed clamp", "held by: 2 bolts")
HOSTS = {
    "a private slip": slip("part clamp", "private: yes", "from: secrethost") + CLAMP,
    "a private slip, and readings": slip("part clamp", "private: yes", "from: secrethost")
    + slip("removed clamp", "held by: 2 bolts", "hole 3 to rear end: 12 mm"),
    "a private other name": slip("part secrethost", "private: yes", "also called: box")
    + slip("measured box", "length: 300 mm")
    + slip("removed clamp", "from: box"),
    "a slip about a private part": slip("removed strongbox", "from: secrethost") + CLAMP,
    "a private place": slip("removed radio", "from: secrethost", "place: hidey hole") + CLAMP,
}


@pytest.mark.parametrize("notes", HOSTS.values(), ids=HOSTS)
def test_a_host_that_only_private_words_name_is_not_told(tmp_path: Path, notes: str) -> None:
    build = {"build.toml": private(parts=["strongbox"], places=["hidey hole"]), DAY: notes}
    site = site_of_files(tmp_path, build)
    assert told(site, "secrethost") == []
    assert told(site, "clamp") != []


def test_a_host_that_only_a_private_day_names_is_not_told(tmp_path: Path) -> None:
    notes = {
        DAY: CLAMP,
        NEXT: slip("refitted clamp", "on: secrethost"),
        "2026-03-09 c/note.md": slip("measured clamp", "hole 3 to rear end: 12 mm"),
    }
    site = site_of_files(tmp_path, {"build.toml": private(days=["2026-03-08"]), **notes})
    assert told(site, "secrethost") == []
    assert "parts/clamp/index.html" in site


NAMED = {
    "from": slip("removed clamp", "from: panel"),
    "on": slip("refitted clamp", "on: panel"),
    "a first line": slip("measured panel", "length: 300 mm"),
    "a first line alone": slip("part panel"),
    "a link": slip("removed clamp", "behind: panel"),
    "a job": slip("job weld it", "needs: panel"),
    "a reading": slip("measured clamp", "hole 3 to rear end of the panel: 12 mm"),
    "its nearest surface": slip("measured clamp", "hole 3 to panel: 12 mm"),
    "another name for it": slip("part panel", "also called: sheet") + slip("removed clamp", "from: sheet"),
}


@pytest.mark.parametrize("notes", NAMED.values(), ids=NAMED)
def test_a_host_that_public_words_name_too_is_told(tmp_path: Path, notes: str) -> None:
    site = site_of_files(tmp_path, {DAY: slip("part clamp", "private: yes", "from: panel") + CLAMP, NEXT: notes})
    assert "parts/panel/index.html" in site


def test_every_side_that_public_words_name_is_told(tmp_path: Path) -> None:
    """Also one that is written as the side of another name for it, or is that of the part it is said about."""
    notes = slip("part guide bracket", "also called: guide") + slip("removed guide, both", "held by: 2 bolts")
    notes += slip("part clip", "from: sill, left", "private: yes")
    notes += slip("removed hinge, left", "from: sill") + slip("removed hinge, right", "from: sill, right")
    site = site_of_files(tmp_path, {DAY: notes})
    for part in ("guide-bracket-left", "guide-bracket-right", "sill-left", "sill-right"):
        assert f"parts/{part}/index.html" in site


WORK = {
    "an order": slip("ordered secretwork", "private: yes"),
    "a job": slip("job secretwork", "private: yes"),
}


@pytest.mark.parametrize("notes", WORK.values(), ids=WORK)
@pytest.mark.parametrize("key", ["needs", "before"])
@pytest.mark.parametrize("day", [False, True], ids=["slip", "day"])
def test_work_of_a_private_slip_or_day_is_not_told_by_what_waits_for_it(
    tmp_path: Path, notes: str, key: str, day: bool
) -> None:
    notes = notes.replace("private: yes\n", "") if day else notes
    public = slip("job weld it", f"{key}: secretwork") + slip("ordered rod", "for: secretwork")
    public += "For the secretwork.\n"
    build = {DAY: public, NEXT: notes, "build.toml": private(days=["2026-03-08"] if day else [])}
    site = site_of_files(tmp_path, build)
    assert told(site, "secretwork") == []
    assert told(site, "weld it") != []


def test_work_that_is_public_is_told(tmp_path: Path) -> None:
    public = slip("job weld it", "needs: new rods") + slip("ordered new rods", "price: 3 pounds")
    assert told(site_of_files(tmp_path, {DAY: public}), "new rods") != []


# --- names


ACROSS = {
    "cells": "| a | b |\n| --- | --- |\n| Ada | Quibble |\n",
    "cells of code": "| a | b |\n| --- | --- |\n| `Ada` | `Quibble` |\n",
    "items": "- Ada\n- Quibble\n",
    "paragraphs": "Ada\n\n*Quibble*\n",
    "a heading": "# With Ada\n\nQuibble came.\n",
    "lines": "Ada  \nQuibble\n",
    "emphasis": "A**da** Quib*ble*\n",
    "a slip between": "Ada\n\n" + CLAMP + "\nQuibble\n",
    "notes of a part": slip("removed clamp", "note: with Ada", "note: Quibble came"),
    "keys of a part": slip("removed clamp", "held by: a bolt of Ada", "way round: Quibble side up"),
    "notes of a job": slip("job weld it", "note: ask Ada", "Quibble knows"),
    "a list": slip("part clamp", "also called: Ada, Quibble"),
    "signs": "Ada. Quibble, Ada_Quibble; ada/quibble\n",
    "an accent": "Adá Quibble came.\n",
    "an accent apart": "Ada\u0301 Quibble came.\n",
    "a soft hyphen": "Ada Quib\u00adble and A\u200bda Quibble came.\n",
    "an address": "[here](https://example.com/ad%C3%A1%20quibble/ada+quibble)\n",
    "wide letters": "\uff21da Quibble came.\n",
    "one word": "adaquibble@example.com, or AdaQuibble\n",
}


@pytest.mark.parametrize("text", ACROSS.values(), ids=ACROSS)
def test_a_private_name_is_not_told_in_pieces(tmp_path: Path, text: str) -> None:
    build = {"build.toml": private(names=["Ada Quibble"]), DAY: slip("removed bracket", "from: sill") + text}
    site = site_of_files(tmp_path, build)
    left = {path: content.decode() for path, content in site.items() if isinstance(content, bytes)}
    shown = {path: fold(content) for path, content in left.items() if not path.startswith("theme/")}
    assert [path for path, content in shown.items() if "quib" in content or "%c3%a1" in content] == []
    assert told(site, "bracket") != []


def test_what_is_no_private_name_stays(tmp_path: Path) -> None:
    text = "# Ada came\n\nAda and *Quibble*, the adaptation quibbled. Quibble Ada.\n\n- C\n- Quibbles\n- Ada\n"
    site = site_of_files(tmp_path, {"build.toml": private(names=["Ada Quibble", "C++"]), DAY: text})
    page = text_of(site, "days/2026-03-07/index.html")
    assert "left out" not in page
    assert "Ada and <em>Quibble</em>, the adaptation quibbled. Quibble Ada." in page


@pytest.mark.parametrize(
    ("name", "text", "left"),
    [
        ("Ådne Ødegård", "adne odegard; ådne-ødegård!", "[left out]; [left out]!"),
        ("Adne Odegard", "Ådne  Ødegård", "[left out]"),
        ("O'Brien & Sons", "O\u2019Brien & Sons, obrien-sons", "[left out], [left out]"),
        ("J. Smith Jr.", "J. Smith Jr came, j-smith-jr", "[left out] came, [left out]"),
        ("Groß", "GROSS, groß", "[left out], [left out]"),
        ("C++", "C++ or c", "[left out] or c"),
        ("Вера", "ВЕРА", "[left out]"),
        ("50% Ada", "50% ada", "[left out]"),
        ("Ann Lee", "annlee, annleeward", "[left out], annleeward"),
        ("Ann", "A\u00adnn\u0301\u00ad, Mann", "[left out], M[left out]"),
        ("\U0001f98a", "a \U0001f98a", "a [left out]"),
    ],
)
def test_every_spelling_of_a_name_goes(name: str, text: str, left: str) -> None:
    erase = eraser([name], [])
    assert erase is not None
    assert erase(text) == left


def test_a_name_in_pieces_is_said_to_be_left_out_in_each() -> None:
    erase = eraser(["Ann Lee"], [])
    assert erase is not None
    assert erase.pieces(["with Ann", "Lee came", "", "Ann Lee", "Lee"]) == [
        "with [left out]", "[left out] came", "", "[left out]", "Lee",
    ]  # fmt: skip


@pytest.mark.parametrize("key", ["stored", "template", "price", "bought from", "settled"])
def test_a_key_that_is_never_public_is_not_when_it_is_said_twice(tmp_path: Path, key: str) -> None:
    first = "ordered clamp" if key in ("price", "bought from") else "removed clamp"
    site = site_of_files(tmp_path, {DAY: slip(first, f"{key}: tin 4", f"{key}: zanzibar", "the long bolt is on top")})
    assert told(site, "zanzibar") == []
    assert told(site, "the long bolt is on top") != []


@pytest.mark.parametrize("named", ["IMG_0451.HEIC", "IMG_0451.JPG", "IMG_0451", "2026-03-07/img_0451.heic"])
@pytest.mark.parametrize("listed", [False, True], ids=["in its slip", "in build.toml"])
def test_pictures_that_differ_in_their_ending_only_are_private_together(
    tmp_path: Path, named: str, listed: bool
) -> None:
    """A HEIC and a JPEG of one name are one picture, as a phone gives them."""
    slips = slip(f"photo {named}", "caption: zanzibar") if listed else slip(f"photo {named}", "private: yes")
    build = {
        DAY: slip("removed clamp", "photos: IMG_0452") + (slips if "/" not in named else ""),
        NEXT: slips if "/" in named else "",
        **{f"2026-03-07 a/{name}": "no picture" for name in ("IMG_0451.HEIC", "IMG_0451.JPG", "IMG_0452.JPG")},
    }
    toml = private(photos=[named.rpartition("/")[2]]) if listed else private()
    site = site_of_files(tmp_path, {"build.toml": toml, **build})
    assert told(site, "img_0451") == []
    assert told(site, "zanzibar") == []
    assert told(site, "img_0452") != []


@pytest.mark.parametrize("first", ["remved safe", "removed", "privat", "{private}", "PRIVATE!", "stord things here"])
def test_a_block_that_was_meant_to_be_a_slip_and_was_not_read_is_not_published(tmp_path: Path, first: str) -> None:
    site = site_of_files(tmp_path, {DAY: slip(first, "private: yes", "zanzibar") + CLAMP + slip("", "a listing stays")})
    assert told(site, "zanzibar") == []
    assert told(site, "a listing stays") != []


def test_a_name_that_holds_the_letters_of_an_article_stays_whole(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {DAY: slip("removed lathe bed", "held by: 2 bolts")})
    assert told(site, "labed") == []
    assert told(site, "lathe bed") != []
