"""What build.toml lists as private is found as slips find it, or told; what only private words lead to goes along; and
nothing that is public does."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from journal.ground.atomic import WriteFault
from journal.ground.explanations import WORDS
from journal.ground.finding import Finding
from journal.judge.verdicts import RecordWord
from journal.make import lay_out
from journal.measure.methods import METHODS
from journal.measure.units import UNITS
from journal.model.book import Book
from journal.model.entities import State
from journal.notes.kinds import KEYS_OF
from journal.pages.erasing import eraser
from journal.pages.hidden import Hidden
from journal.pages.public_book import told_in_public
from journal.read.settings import KEYS, Private
from journal.read.tag_sheet import PAPERS, SHEETS
from tests.builds import TODAY, tell_files, write_build
from tests.golden import golden_cases
from tests.site_fixture import EXAMPLE, SiteFiles, site_of_files, text_of

DAY = "2026-03-07 a/note.md"
NEXT = "2026-03-08 the osprey day/note.md"
CLAMP = "```removed clamp\nfrom: panel\nheld by: 2 bolts\n```\n"
Files = Mapping[str, str]


def slip(first: str, *lines: str) -> str:
    return "\n".join((f"```{first}", *lines, "```", ""))


def private(**lists: list[str]) -> str:
    return "\n".join(('title = "Platform truck No. 9"', "[private]", *(f"{k} = {v!r}" for k, v in lists.items()), ""))


def told(site: SiteFiles, word: str) -> list[str]:
    """The files that say the word in their text or their path; the theme comes from no note."""
    texts = {path: content.decode() for path, content in site.items() if isinstance(content, bytes)}
    return [p for p, text in texts.items() if not p.startswith("theme/") and word in f"{p} {text}".casefold()]


def rows(site: SiteFiles, name: str) -> list[dict[str, object]]:
    return list(json.loads(text_of(site, f"data/{name}.json"))[name])


# --- what nothing makes private


ARTICLES = {
    "in a first line": slip("removed the lamp", "from: the panel", "held by: 2 welds", "hole to edge: 12 mm"),
    "in a host": slip("removed lamp", "from: the panel", "held by: 2 welds"),
    "in the middle": slip("removed bracket of the door", "from: rear of the cab"),
    "with a side": slip("removed the arm, left", "from: sill, both") + slip("removed the arm, right", "from: the sill"),
    "in another name": slip("part lamp bracket", "also called: the Guide") + slip("removed the guide, left"),
    "in what a job needs": slip("part rail") + slip("job weld", "part: the rail", "needs: The  Rail"),
    "in a reading": slip("removed lamp", "from: the panel", "hole to lower edge of the panel: 12 mm"),
    "in a picture": slip("part the lamp") + slip("photo IMG_1", "shows: the lamp"),
}


def builds() -> Iterator[tuple[str, Files]]:
    yield from ((name, {DAY: notes, "2026-03-07 a/IMG_1.jpg": "a picture"}) for name, notes in ARTICLES.items())
    yield from ((word, entry.example) for word, entry in WORDS.items() if entry.encoding == "utf-8")
    yield from ((str(case), case.files) for case in golden_cases())


def public_of(book: Book) -> Book:
    """The public book where a name is listed that stands nowhere, so that all of it is looked at."""
    return told_in_public(book, Hidden(replace(book, settings=replace(book.settings, private=Private(names=("Qxz",))))))


@pytest.mark.parametrize("files", [pytest.param(files, id=name) for name, files in builds()])
def test_where_nothing_is_private_the_public_book_is_the_whole_one(tmp_path: Path, files: Files) -> None:
    book = tell_files(tmp_path, files).book
    if book.settings.private != Private() or not Hidden(book).nothing:
        return  # it is about something private
    assert public_of(book).entities == book.entities
    assert told_in_public(book, Hidden(book)) is book


def test_the_example_without_what_it_keeps_private_is_whole(tmp_path: Path) -> None:
    files = {str(file.relative_to(EXAMPLE)): file.read_text() for file in EXAMPLE.rglob("*.md")}
    notes = {name: re.sub(r"^```private\n.*?^```\n", "", text, flags=re.M | re.S) for name, text in files.items()}
    notes = {name: re.sub(r"^private: yes\n", "", text, flags=re.M) for name, text in notes.items()}
    toml = (EXAMPLE / "build.toml").read_text().replace('[private]\nnames = ["Hollin Lane"]\n', "")
    book = tell_files(tmp_path, {**notes, "build.toml": toml}).book
    assert Hidden(book).nothing
    assert public_of(book).entities == book.entities


@pytest.mark.parametrize("notes", ARTICLES.values(), ids=ARTICLES)
def test_an_article_hides_no_part(tmp_path: Path, notes: str) -> None:
    build = {DAY: notes + CLAMP, "2026-03-07 a/IMG_1.jpg": "a picture"}
    build["build.toml"] = private(names=["Ada"])
    public, shop = site_of_files(tmp_path, build), site_of_files(tmp_path, build, "shop")
    assert [row["id"] for row in rows(public, "parts")] == [row["id"] for row in rows(shop, "parts")]
    assert told(public, "left out") == []


def test_another_name_that_only_a_private_slip_gives_is_none_with_an_article_either(tmp_path: Path) -> None:
    notes = slip("part secrethost", "private: yes", "also called: the box") + slip("removed clamp", "from: the Box")
    assert told(site_of_files(tmp_path, {DAY: notes}), "secrethost") == []


# --- entries that name something, and entries that name nothing


BEASTS = "zebra bracket front, left|quagga bracket, left|okapi, both|gnu set, left|gnu set, right|kudu".split("|")
PARTS = "".join(slip(f"removed {name}", "from: panel") for name in BEASTS)
PARTS += slip("part strongroom", "also called: safe")
FOUND = {
    "zebra bracket front left": ["zebra"],
    "zebra bracket, front left": ["zebra"],
    "quagga bracket,left": ["quagga"],
    "Left  quagga bracket": ["quagga"],
    "left-hand quagga bracket": ["quagga"],
    "okapi, both": ["okapi"],
    "okapi": ["okapi"],
    "left gnu set": ["gnu-set-left"],
    "the kudu": ["kudu"],
    "The safe": ["strongroom"],
}


@pytest.mark.parametrize(("entry", "gone"), FOUND.items(), ids=FOUND)
def test_a_private_part_is_found_as_slips_find_it(tmp_path: Path, entry: str, gone: list[str]) -> None:
    files = {"build.toml": private(parts=[entry]), DAY: PARTS}
    site = site_of_files(tmp_path, files)
    assert [told(site, word) for word in gone] == [[]] * len(gone)
    assert told(site, "panel") != []
    assert [f.word for f in tell_files(tmp_path, files).judgement.findings if f.word == "unknown-private"] == []


def test_the_other_side_of_a_private_part_stays(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {"build.toml": private(parts=["gnu set, left"]), DAY: PARTS})
    assert "parts/gnu-set-right/index.html" in site
    assert told(site, "gnu set, left") == []


LISTS: dict[str, tuple[str, str, str]] = {
    "a part in one word": ("parts", "strong room", "strongroom"),
    "a part without its side": ("parts", "kudu, left", "kudu"),
    "a part nobody names": ("parts", "wildebeest", ""),
    "a place written otherwise": ("places", "rear / loft-space", "rear / loft space"),
    "a day of one digit": ("days", "2026-3-8", "2026-03-08"),
    "a day with a hyphen": ("days", "2026-03-08 the osprey-day", "2026-03-08 the osprey day"),
    "a day in words": ("days", "8 March 2026", ""),
    "a picture": ("photos", "IMG_0909", ""),
    "a picture of another day": ("photos", "2026-03-08/IMG_0001", ""),
}
PLACED = slip("part lemur", "place: rear / loft space") + slip("part oryx", "place: cab / hidey hole")
BUILD = {
    DAY: CLAMP + PARTS + PLACED,
    NEXT: "# Osprey\n",
    **{f"2026-03-07 a/IMG_000{n}.jpg": "a picture" for n in (1, 2, 3, 4)},
}


@pytest.mark.parametrize(("kind", "entry", "near"), LISTS.values(), ids=LISTS)
def test_an_entry_that_names_nothing_is_told_and_nothing_is_published(
    tmp_path: Path, kind: str, entry: str, near: str
) -> None:
    build = write_build(tmp_path, {**BUILD, "build.toml": private(names=["Ada"], **{kind: [entry]})})
    found = [f for f in _findings(build) if f.word == "unknown-private"]
    assert [(f.severity, str(f.span)) for f in found] == [("problem", "build.toml:4:1")]
    assert f'"{entry}"' in found[0].message
    assert (f'the nearest is "{near}"' in found[0].help) == bool(near)
    with pytest.raises(WriteFault, match="no public edition is made"):
        lay_out(build, "public", TODAY, None)
    assert lay_out(build, "shop", TODAY, None).site


NAMED = {
    "photos": ["IMG_0001 to IMG_0003", "./img_0004.jpg", "2026-03-07/IMG_0002.jpg", "2026-03-07 a/IMG_0003"],
    "places": ["hidey hole", "Rear / Loft Space", "rear"],
    "days": ["2026-03-08", "The Osprey day", "2026-03-08 the osprey day"],
    "names": ["anybody at all"],
}  # fmt: skip


@pytest.mark.parametrize(("kind", "entry"), [(kind, entry) for kind in NAMED for entry in NAMED[kind]])
def test_an_entry_that_names_something_is_no_finding(tmp_path: Path, kind: str, entry: str) -> None:
    build = write_build(tmp_path, {**BUILD, "build.toml": private(**{kind: [entry]})})
    assert [f for f in _findings(build) if f.word == "unknown-private"] == []
    assert lay_out(build, "public", TODAY, None).site


def _findings(build: Path) -> Sequence[Finding]:
    return lay_out(build, "shop", TODAY, None).told.judgement.findings


def test_the_line_of_an_entry_is_told(tmp_path: Path) -> None:
    toml = 'title = "x"\n[private]\nparts = [\n  "clamp",\n  "wildebeest",\n]\n'
    build = write_build(tmp_path, {DAY: CLAMP, "build.toml": toml})
    assert [str(f.span) for f in _findings(build) if f.word == "unknown-private"] == ["build.toml:5:3"]


def test_a_day_that_is_not_read_yet_is_no_unknown_one(tmp_path: Path) -> None:
    """Told as it stood on an earlier day, a build knows its later days and pictures, and says so of parts."""
    late = {"2026-08-01/note.md": slip("part kiln"), "2026-08-01/IMG_0801.jpg": "a picture"}
    lists = private(days=["2026-08-01"], photos=["IMG_0801"])
    assert lay_out(write_build(tmp_path / "a", {**BUILD, **late, "build.toml": lists}), "public", TODAY, None).site
    build = write_build(tmp_path / "b", {**BUILD, **late, "build.toml": private(parts=["kiln"])})
    assert ["are not read" in f.help for f in _findings(build) if f.word == "unknown-private"] == [True]
    assert lay_out(build, "public", date(2026, 9, 1), None).site


@pytest.mark.parametrize("entry", ["hidey hole", "cab / hidey hole", "CAB/Hidey  Hole", "cab"])
def test_a_private_place_is_found_by_its_last_piece(tmp_path: Path, entry: str) -> None:
    site = site_of_files(tmp_path, {"build.toml": private(places=[entry]), DAY: CLAMP + PLACED})
    assert told(site, "oryx") == []
    assert told(site, "hidey") == []
    assert told(site, "lemur") != []


def test_a_day_of_a_year_folder_is_found_by_its_name(tmp_path: Path) -> None:
    days = {"2026/2026-03-08 osprey day/note.md": "zanzibar\n", "2026/2026-03-07/note.md": CLAMP}
    site = site_of_files(tmp_path, {"build.toml": private(days=["2026-03-08 osprey day"]), **days})
    assert told(site, "zanzibar") == []
    assert told(site, "clamp") != []


# --- what only private words lead to


PICTURES = {f"2026-03-07 a/IMG_000{n}.jpg": "a picture" for n in (1, 2)}
OF_PRIVATE = {
    "an order": slip("ordered gearbox", "private: yes", "photos: IMG_0001"),
    "a job": slip("job call them", "private: yes", "photos: IMG_0001"),
    "readings": slip("measured clamp", "private: yes", "photos: IMG_0001", "length: 3 mm"),
    "a part off": slip("removed clamp", "private: yes", "photos: IMG_0001"),
    "a treatment": slip("treated clamp", "private: yes", "photos: IMG_0001"),
    "a picture in words": slip("private", "![the bill](IMG_0001.jpg)"),
    "a picture without its ending": slip("private", "![the bill](IMG_0001)"),
    "a picture of its day": slip("private", "![the bill](../2026-03-07%20a/IMG_0001.jpg)"),
    "a link": slip("private", "see [the bill](IMG_0001.jpg)"),
    "a name": slip("private", "the bill is `IMG_0001.jpg`."),
    "work on a private part": slip("job open it", "part: strongbox", "photos: IMG_0001"),
}


@pytest.mark.parametrize("notes", OF_PRIVATE.values(), ids=OF_PRIVATE)
def test_a_picture_that_only_private_words_name_is_not_published(tmp_path: Path, notes: str) -> None:
    files = {DAY: CLAMP + slip("part strongbox") + notes, **PICTURES, "build.toml": private(parts=["strongbox"])}
    site = site_of_files(tmp_path, files)
    assert told(site, "img_0001") == []
    assert [row["file"] for row in rows(site, "photos")] == ["2026-03-07 a/IMG_0002.jpg"]


IN_PUBLIC = {
    "a slip": slip("measured clamp", "photos: IMG_0001"),
    "a picture slip": slip("photo IMG_0001", "caption: the clamp"),
    "the story": "![the clamp](IMG_0001.jpg)\n",
    "the story in words": "It is in IMG_0001.jpg.\n",
}


@pytest.mark.parametrize("public", IN_PUBLIC.values(), ids=IN_PUBLIC)
@pytest.mark.parametrize("notes", [OF_PRIVATE["an order"], OF_PRIVATE["a picture in words"]], ids=["slip", "words"])
def test_a_picture_that_public_words_name_too_is(tmp_path: Path, notes: str, public: str) -> None:
    site = site_of_files(tmp_path, {DAY: CLAMP + notes + "\n" + public, **PICTURES})
    assert len(rows(site, "photos")) == 2


ABOUT = {
    "a treatment of a place": slip("treated strong room", "with: zanzibar"),
    "a treatment of one of two": slip("treated strong room", "with: zanzibar")
    + slip("part oryx", "place: deck / strong room"),
    "a job on a part": slip("job zanzibar", "part: strongbox"),
    "a job that cuts it": slip("job zanzibar", "cuts: strongbox"),
    "a job at a place": slip("job zanzibar", "place: cab / strong room"),
    "a job, done": slip("job open it", "part: strongbox") + slip("done open it", "note: zanzibar"),
    "an order for a part": slip("ordered zanzibar", "for: strongbox"),
    "an order that came": slip("ordered lock", "for: strongbox") + slip("arrived lock", "note: zanzibar"),
    "an order for such a job": slip("job open it", "part: strongbox") + slip("ordered zanzibar", "for: open it"),
    "what waits for such a job": slip("job zanzibar", "part: strongbox") + slip("job weld", "needs: zanzibar"),
}
SECRET = {
    "build.toml": private(parts=["strongbox"], places=["cab / strong room"]),
    NEXT: slip("part strongbox") + slip("part lemur", "place: cab / strong room"),
}


@pytest.mark.parametrize("notes", ABOUT.values(), ids=ABOUT)
def test_what_is_about_nothing_but_private_things_is_not_told(tmp_path: Path, notes: str) -> None:
    site = site_of_files(tmp_path, {**SECRET, DAY: CLAMP + notes})
    assert told(site, "zanzibar") == []
    assert told(site, "clamp") != []


BESIDE = {
    "a treatment of a part": slip("treated clamp", "with: zanzibar"),
    "a job on two parts": slip("job zanzibar", "part: strongbox, clamp"),
    "a job on a part there": slip("job zanzibar", "part: clamp", "place: cab / strong room"),
    "a job about nothing": slip("job zanzibar"),
    "a job that needs it": slip("job zanzibar", "part: clamp", "needs: strongbox"),
    "an order for two": slip("ordered zanzibar", "for: strongbox, clamp"),
    "an order for nothing": slip("ordered zanzibar"),
}


@pytest.mark.parametrize("notes", BESIDE.values(), ids=BESIDE)
def test_what_is_about_something_public_too_is_told(tmp_path: Path, notes: str) -> None:
    site = site_of_files(tmp_path, {**SECRET, DAY: CLAMP + notes})
    assert told(site, "zanzibar") != []
    assert told(site, "strong") == []


# --- words


ERASED = {
    "a part with sides": "The radio set hides it. Left radio set, radio-set right, the left-hand radio set.",
    "a part's one side": "The okapi hides it; left okapi, okapi left.",
    "a place's last piece": "In the hidey hole, and cab: hidey-hole.",
    "a day without its year": "As on 8 March, March 8 and 8 Mar.",
}


@pytest.mark.parametrize("text", ERASED.values(), ids=ERASED)
def test_every_way_to_say_a_private_thing_goes(tmp_path: Path, text: str) -> None:
    toml = private(parts=["radio set", "okapi"], places=["cab / hidey hole"], days=["2026-03-08"])
    parts = slip("removed radio set, left") + slip("removed radio set, right") + slip("removed okapi, left")
    site = site_of_files(tmp_path, {"build.toml": toml, DAY: CLAMP + parts + PLACED + text + "\n", NEXT: "x\n"})
    assert [word for word in ("radio", "okapi", "hidey", "8 mar", "march 8") if told(site, word)] == []


def test_words_that_public_things_have_too_stay(tmp_path: Path) -> None:
    toml = private(parts=["okapi, left"], places=["cab / left", "cab / dash"], days=["2026-03-08"])
    days = {"2025-03-08/note.md": "zebra\n", NEXT: "x\n"}
    parts = slip("removed okapi, left") + slip("removed okapi, right") + slip("part dash")
    parts += slip("part lemur", "place: cab / left") + slip("part oryx", "place: cab / dash")
    text = "The okapi, the dash, left of it, on 8 March. Radio sets and okapis."
    site = site_of_files(tmp_path, {"build.toml": toml, DAY: parts + text, **days})
    assert text in text_of(site, "days/2026-03-07/index.html")


def test_names_that_are_alike_without_the_private_ones_stay_two(tmp_path: Path) -> None:
    both = "".join(
        slip(f"removed {name} clip", "from: panel", f"place: {name} side", f"hole to edge: {size} mm")
        + slip(f"job {name} weld", f"part: {name} clip") + slip(f"ordered {name} rod", f"for: {name} clip")
        for name, size in (("Zoe", 41), ("Ada", 42))
    )  # fmt: skip
    pictures = {f"2026-03-07 a/{name}.jpg": "a picture" for name in ("Zoe", "Ada")}
    files = {"build.toml": private(names=["Ada", "Zoe"]), DAY: CLAMP + both + "The Ada clip.\n", **pictures}
    site = site_of_files(tmp_path, files)
    parts = {row["id"]: row["name"] for row in rows(site, "parts")}
    assert parts == {"clamp": "clamp", "panel": "panel", "left-out-clip": "[left out] clip",
                     "left-out-2-clip": "[left out 2] clip"}  # fmt: skip
    read = {row["part"]: (row["written"], row["place"]) for row in rows(site, "measurements")}
    assert read == {"left-out-clip": ("41 mm", "[left out] side"), "left-out-2-clip": ("42 mm", "[left out 2] side")}
    assert [len(rows(site, "photos")), told(site, "zoe"), told(site, "ada ")] == [2, [], []]
    jobs = text_of(site, "jobs/index.html")
    for work in ("job-left-out-weld", "job-left-out-2-weld", "order-left-out-rod", "order-left-out-2-rod"):
        assert f'id="{work}"' in jobs
    assert "The [left out 2] clip." in text_of(site, "days/2026-03-07/index.html")


def test_one_name_alone_gets_no_number() -> None:
    erase = eraser(["Ada"], [], ["Ada clip", "ada  CLIP", "clip", "Zoe clip"])
    assert erase is not None
    assert [erase("Ada clip"), erase("ada-clip"), erase("Zoe clip")] == ["[left out] clip", "left-out-clip", "Zoe clip"]


OURS = {
    "papers": [*PAPERS, *SHEETS],
    "settings": ["mm", "in", "left", "right", "en", "bench", ".", ",", *(key.name for key in KEYS)],
    "kinds": [*KEYS_OF],
    "keys": sorted({key for keys in KEYS_OF.values() for key in keys}),
    "states": [*State.__args__],  # type: ignore[attr-defined]
    "records": [*RecordWord.__args__, "measurement", "adjustment", "fit", "own holes", "route"],  # type: ignore[attr-defined]
    "findings": [*WORDS, "problem", "warning", "remark"],
    "methods": [*METHODS],
    "units": [unit.symbol for unit in UNITS],
    "relations": ["to", "ahead of", "behind", "above", "below", "flush with", "square to", "parallel to", "over"],
    "values": ["range", "tolerance", "length", "angle", "mass", "torque", "count", "at least", "at most", "about"],
    "tokens": ["inline", "fence", "text", "p", "h1", "image", "paragraph_open", "heading_open"],
    "axes": ["x", "y", "z", "u", "v", "near", "far"],
    "carried": ["agrees", "not compared", "said"],
    "dimensions": ["diameter", "depth", "gap", "width", "height", "length", "pitch"],
}
RICH = "\n".join(
    (
        slip("removed clamp, left", "from: panel", "face: front", "held by: 2 M8 bolts at both ends, 12 N·m",
             "hole to left end: 3 mm", "lower edge to hole: 5 mm +1 -0 by rule", "hole diameter: 8 to 9 mm",
             "flush with panel", "gap to panel: at least 3 mm"),
        slip("removed clamp, right", "from: panel", "face: front", "hole to left end: 1/2 in", "edge square to front"),
        slip("cut panel", "away: front end"), slip("replaced panel"), slip("refitted clamp, left", "on: panel"),
        slip("measured panel", "length: 300 mm, want 301 mm"),
        slip("treated clamp, right", "with: primer", "next: paint, 2026-03-09"),
        slip("job weld it", "needs: clamp, right"), slip("ordered rod", "for: weld it", "due: 2026-03-09"),
        slip("photo IMG_1", "shows: clamp, left", "line: 0.1,0.1 0.9,0.9 hole to left end"),
        "# Heading\n\n![x](IMG_1.jpg)\n",
    )
)  # fmt: skip


@pytest.mark.parametrize("words", OURS.values(), ids=OURS)
def test_a_private_name_that_is_a_word_of_ours_breaks_nothing(tmp_path: Path, words: list[str]) -> None:
    build = {DAY: RICH, "2026-03-07 a/IMG_1.jpg": "a picture"}
    for n, names in enumerate([words, *([word] for word in words if words is OURS["papers"])]):
        for paper in PAPERS:
            tags = f'[tags]\nsheet = "{paper} plain"\n'
            toml = f'paper = "{paper}"\n' + "title = 'Truck'\n[private]\nnames = " + json.dumps(names) + "\n" + tags
            site = site_of_files(tmp_path / f"{n}{paper}", {**build, "build.toml": toml})
            assert "tags/index.html" in site


# --- what the public edition tells of private things by its own numbers


def test_no_line_of_the_notes_is_told_in_public(tmp_path: Path) -> None:
    notes = CLAMP + slip("private", *["a"] * 40) + slip("measured clamp", "length: 30 mm", "width: 20 mm")
    files = {DAY: notes}
    public, shop = site_of_files(tmp_path, files), site_of_files(tmp_path, files, "shop")
    assert {row["line"] for row in rows(public, "measurements")} == {None}
    assert {row["line"] for row in rows(shop, "measurements")} == {48, 49}
    page = text_of(public, "days/2026-03-07/index.html")
    assert set(re.findall(r'id="note-1-line-(\d+)"', page)) == {"1", "2", "3", "4", "5", "6"}
    links = re.findall(r"days/2026-03-07/index\.html#(note-1-line-\d+)", text_of(public, "parts/clamp/index.html"))
    assert links
    assert all(f'id="{link}"' in page for link in links)
    assert 'id="note-1-line-48"' in text_of(shop, "days/2026-03-07/index.html")


@pytest.mark.parametrize(("days", "shown"), [(["2031-05-08"], False), ([], True)], ids=["private", "public"])
def test_a_private_day_dated_ahead_is_not_the_day_it_is_told_for(tmp_path: Path, days: list[str], shown: bool) -> None:
    files = {DAY: CLAMP, "2031-05-08 x/note.md": "hm\n", "build.toml": private(days=days)}
    site = lay_out(write_build(tmp_path, files), "public", None, None).site
    assert ("2031-05-08" in text_of(site, "index.html")) is shown
    shop = lay_out(tmp_path, "shop", None, None).site
    assert 'datetime="2031-05-08"' in text_of(shop, "index.html")
