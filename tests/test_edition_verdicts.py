"""Verdicts of the public edition rest on what is public alone, and say nothing is missing that only is private."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from journal.build import Told
from journal.judge.verdicts import Judgement
from journal.model.book import Book
from journal.pages import edition
from journal.pages.edition import reduced
from tests.builds import TODAY, tell_files, write_build
from tests.site_fixture import SiteFiles, site_of, text_of

# Each private thing carries a word or a number that stands nowhere else.
BUILD = {
    "build.toml": """title = "Platform truck No. 9"
site = "https://example.org/truck/"

[places]
"cab" = "where one stands"
""",
    "2026-03-05 before/note.md": """```part shield
private: yes
note: pelican
```
""",
    "2026-03-07 at it/note.md": """```part sill
from: frame
place: underside
```

```measured bracket
on: sill
private: yes
hole to edge: 17.3 mm by rule
```

```measured strut
on: sill
private: yes
hole to end: 47.25 mm by rule, want 55.5 mm
```

```part step
from: rail
```

```measured step
on: rail
hole to end of rail: 61 mm by rule
```

```removed foot
from: sill
held by: 2 welds
hole to flange edge: 20 mm by rule
hole to rear end: 300 mm by tape
foot square to flange edge
```

```removed lug
from: sill
held by: 1 weld
hole to flange edge: 20 mm by rule
tip to flange edge: 20 mm by rule
hole to rear end: 500 mm by tape
tip to rear end: 540 mm by tape
```

```removed lug
private: yes
face: zebra flange
way round: cassowary up
```

```removed foot
private: yes
way round: kestrel up
```

```removed plate
from: sill
```

```part plate
private: yes
held by: 4 merlin screws
```

```removed cover
from: sill
held by: 1 weld
template: card on the ostrich shelf
```

```removed ledge
from: sill
held by: 2 welds
place: cab
```

```part ledge
private: yes
place: cab / hidden by the wyvern
```

```measured beam
length: 712 mm by tape
hole to rear end: 90 mm by rule
```

```job look behind
private: yes
place: goshawk cellar
```

```measured knob
hole to edge: 12.5 mm by rule
```

```part knob
private: yes
from: toucan post
```

```part toucan post
```
""",
    "2026-03-09 more/note.md": """```measured bracket
on: sill
hole to edge: 29.1 mm by rule
```

```measured strut
on: sill
hole to end: 47 mm by rule
```

```scrapped rail
private: yes
```

```part shield
from: sill
```

```replaced beam
private: yes
by: an osprey casting
```
""",
    "2026-03-12 last/note.md": """```replaced beam
by: new steel
length: 713 mm by tape
```

```part rail
number: 7
```
""",
}  # fmt: skip
PRIVATE = (
    "17.3", "55.5", "rail was scrapped", "kestrel", "zebra", "cassowary", "merlin", "ostrich", "wyvern", "goshawk",
    "osprey", "pelican", "own holes", "toucan post since", "edge of toucan",
)  # fmt: skip


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_build(tmp_path_factory.mktemp("build"), BUILD)


@pytest.fixture(scope="module")
def public(build: Path) -> SiteFiles:
    return site_of(build, "public")


@pytest.fixture(scope="module")
def shop(build: Path) -> SiteFiles:
    return site_of(build, "shop")


def words_of(path: str, content: bytes | Path) -> str:
    """The text of a made file, in small letters; of a template what a reader finds in it."""
    data = content if isinstance(content, bytes) else content.read_bytes()
    if path.endswith(".pdf"):
        return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).casefold()
    return data.decode("utf-8", "replace").casefold()


def found_in(site: SiteFiles, word: str) -> list[str]:
    return [path for path, content in site.items() if not path.startswith("theme/") and word in words_of(path, content)]


@pytest.mark.parametrize("word", PRIVATE)
def test_no_verdict_says_what_is_private(public: SiteFiles, word: str) -> None:
    assert found_in(public, word) == []


@pytest.mark.parametrize("word", [word for word in PRIVATE if "toucan" not in word])
def test_the_shop_edition_says_it(shop: SiteFiles, word: str) -> None:
    assert found_in(shop, word)


def test_templates_for_the_printer_are_among_what_is_searched(public: SiteFiles) -> None:
    assert {path.rpartition(".")[2] for path in public} >= {"html", "json", "js", "xml", "pdf", "dxf"}


def test_what_holds_a_part_in_public_was_said_in_public(public: SiteFiles, shop: SiteFiles) -> None:
    def located(site: SiteFiles) -> str:
        parts = json.loads(text_of(site, "data/parts.json"))["parts"]
        return str(next(part["located_by"] for part in parts if part["id"] == "plate"))

    assert located(shop) == "own holes"
    assert located(public) == "measurement"


# --- on a book


def both(folder: Path, files: Mapping[str, str]) -> tuple[Told, Book, Judgement]:
    told = tell_files(folder, files)
    return (told, *reduced(told.book, told.judgement, "public"))


def one(folder: Path, note: str, later: str = "") -> tuple[Told, Book, Judgement]:
    return both(folder, {"2026-03-07 one/note.md": note, "2026-03-09 two/note.md": later})


def said(judgement: Judgement) -> set[str]:
    return {finding.word for finding in judgement.findings}


HELD = """```removed foot
from: sill
held by: 2 welds
hole to flange edge: 20 mm by rule
```

```removed foot
from: sill
private: yes
tip to flange edge: 40 mm by rule
hole to rear end: 300 mm by tape
way round: tip up
```
"""


def test_nothing_is_told_as_missing_that_only_is_private(tmp_path: Path) -> None:
    told, _, public = one(tmp_path, HELD)
    assert told.judgement.records["foot"].word == public.records["foot"].word == "position recorded"
    assert public.records["foot"].free == public.records["foot"].next == ()
    assert not said(public) & {"partly-recorded", "no-position", "seen-not-measured"}


def test_what_is_missing_for_all_is_told_in_public(tmp_path: Path) -> None:
    note = "```removed foot\nfrom: sill\nhole to flange edge: 20 mm by rule\n```\n```private\nA secret.\n```\n"
    told, _, public = one(tmp_path, note)
    assert "partly-recorded" in said(told.judgement) & said(public)
    assert public.records["foot"].free == told.judgement.records["foot"].free != ()


def test_a_part_that_privately_came_off_is_told_as_on(tmp_path: Path) -> None:
    told, book, public = one(tmp_path, "```part foot\nfrom: sill\n```\n", "```removed foot\nprivate: yes\n```\n")
    assert told.judgement.records["foot"].asked
    assert (book.state("foot"), public.records["foot"].asked) == ("on", False)


def test_a_new_self_that_is_private_leaves_no_gap(tmp_path: Path) -> None:
    later = "```replaced sill\nprivate: yes\n```\n```replaced sill\nby: steel\nhole to end: 90 mm by rule\n```\n"
    note = "```part sill\n```\n```measured sill\nhole to end: 91 mm by rule\n```\n"
    told, book, public = one(tmp_path, note, later)
    assert [event.self for event in told.book.parts["sill"].events if event.kind == "replaced"] == [2, 3]
    assert [event.self for event in book.parts["sill"].events if event.kind == "replaced"] == [2]
    assert [reading.self for reading in book.readings_of("sill")] == [1, 2]
    assert "replaced" in next(iter(public.standings.values())).why


def test_a_part_dates_from_where_it_was_first_named_in_public(tmp_path: Path) -> None:
    told, book, _ = one(tmp_path, "```part foot\nprivate: yes\n```\n", "```part foot\nfrom: sill\n```\n")
    assert told.book.parts["foot"].since == date(2026, 3, 7)
    assert book.parts["foot"].since == book.parts["foot"].named.day == date(2026, 3, 9)
    assert book.parts["foot"].first.file.startswith("2026-03-09")


def test_a_host_that_is_private_is_told_by_no_reading_and_no_event(tmp_path: Path) -> None:
    note = "```part foot\nfrom: post\nprivate: yes\n```\n```part post\n```\n"
    told, book, _ = one(tmp_path, note, "```removed foot\nhole to edge: 12 mm by rule\n```\n")
    assert told.book.parts["foot"].events[0].host == told.book.readings_of("foot")[0].host == "post"
    assert book.parts["foot"].events[0].host is None
    assert book.readings_of("foot") == ()


def test_what_was_settled_in_private_stays_settled(tmp_path: Path) -> None:
    note = "```removed foot\nfrom: sill\nheld by: weld\n```\n"
    _, _, open_ = one(tmp_path / "open", note + "```private\nA secret.\n```\n")
    assert "no-position" in said(open_)
    settled = "```part foot\nprivate: yes\nsettled: no-position, it was never there\nnote: a secret\n```\n"
    _, book, public = one(tmp_path / "settled", note + settled)
    assert "no-position" not in said(public)
    assert book.parts["foot"].latest("settled") is None


def test_a_template_is_told_and_not_where_it_hangs(tmp_path: Path) -> None:
    note = "```removed foot\nfrom: sill\ntemplate: card on the shelf\n```\n"
    _, book, public = one(tmp_path, note)
    assert public.records["foot"].grounds == ("a template",)
    assert book.parts["foot"].latest("template") is None


def test_a_build_without_anything_private_is_judged_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = tell_files(tmp_path, {"2026-03-07 one/note.md": HELD.replace("private: yes\n", "") + "```ordered bulb\n"
                                 "price: 3 pounds\n```\n"})  # fmt: skip
    monkeypatch.setattr(edition, "judge", None)
    _, public = reduced(told.book, told.judgement, "public")
    assert public.records == told.judgement.records
    assert public.positions is told.judgement.positions


def test_places_that_were_solved_are_kept_for_the_public_too(tmp_path: Path) -> None:
    told, cache = tell_files(tmp_path / "build", BUILD, today=TODAY), tmp_path / "cache"
    _, first = reduced(told.book, told.judgement, "public", cache)
    kept = {file.name for file in (cache / "positions").iterdir()}
    assert kept
    assert reduced(told.book, told.judgement, "public", cache)[1].positions == first.positions
    assert {file.name for file in (cache / "positions").iterdir()} == kept


def test_a_place_spelt_in_two_ways_is_one_in_public_too(tmp_path: Path) -> None:
    note = "```part sill\nplace: underside / Left\n```\n```part foot\nplace: Underside / left\n```\n"
    _, book, _ = one(tmp_path, note + "```part foot\nplace: /\n```\n")
    assert {part.place for part in book.parts.values()} == {("underside", "Left")}
    assert book.places["underside", "Left"].parts == ("sill", "foot")


def test_what_tells_two_places_apart_is_named_and_not_quoted(tmp_path: Path) -> None:
    told, _, public = both(tmp_path, BUILD)

    def told_by(judgement: Judgement) -> dict[str, str]:
        return {other.part: other.told_by for face in judgement.positions for other in face.alternatives}

    assert "kestrel up" in told_by(told.judgement)["foot"]
    assert told_by(public)["foot"] == "way round"
