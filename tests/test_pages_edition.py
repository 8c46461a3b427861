"""The public edition holds nothing private: every file is searched, byte by byte."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from journal.pages.erasing import eraser
from tests.builds import write_build
from tests.site_fixture import SiteFiles, pages_of, site_of, text_of

# Each private thing carries a word that stands nowhere else.
BUILD = {
    "build.toml": """title = "Platform truck No. 9, with thanks to Zebedee Quill"
about = "Kept at Nightjar Cottage."
author = "Zebedee Quill"

[private]
days = ["2026-03-08"]
places = ["cab / hidey hole"]
parts = ["strongbox", "radio set, left"]
photos = ["IMG_0909"]
names = ["Zebedee Quill", "Nightjar Cottage", "Müller-Ångström", "O'Brien & Sons"]

[places]
"cab / hidey hole" = "behind the wyvern panel"
"cab / dash" = "Where Zebedee Quill sat."
""",
    "2026-03-07 at Nightjar Cottage/note.md": """# A day with Zebedee Quill

Zebedee *Quill* came, and so did **Müller-Ångström**. [Here](https://example.com/nightjar-cottage/Zebedee%20Quill).
zebedee
quill slept. O'Brien & Sons sent the bill. ![the flamingo picture](IMG_0909.jpg)

```private
The key is under the gargoyle.
```

```removed lamp bracket, left
from: dash
held by: 2 bolts
stored: tin pelican
way round: arm to the left
template: card pattern on the ostrich shelf
note: Zebedee Quill held the other end
photos: IMG_0901
hole to lower edge of dash: 40 mm by rule
hole to end of strongbox: 99 mm
```

```removed bonnet clip of Zebedee Quill
from: dash
hole to end: 5 mm
```

```removed horn
from: dash
place: cab / dash
private: yes
held by: 1 capercaillie
hole to end: 777.125 mm by rule
```

```removed strongbox
from: dash
held by: 4 partridge bolts
hole to end: 31.0625 mm
```

```removed radio set, left
from: dash
hole to end: 32.0625 mm
```

```part toucan cover
from: dash
place: cab / hidey hole
```

```photo IMG_0901
caption: with Zebedee Quill
shows: lamp bracket, left
```

```photo IMG_0909
caption: flamingo
shows: lamp bracket, left
```

```photo IMG_0902
shows: strongbox
caption: kestrel
```

```ordered merlin bulbs
for: lamp bracket, left
bought from: the buzzard shop
price: 1234567 pounds
due: 2026-04-01
```

```job call the goshawk man
private: yes
```
""",
    "2026-03-07 at Nightjar Cottage/IMG_0901.jpg": "a picture",
    "2026-03-07 at Nightjar Cottage/IMG_0902.jpg": "a picture",
    "2026-03-07 at Nightjar Cottage/IMG_0909.jpg": "a picture",
    "2026-03-08 the osprey day/note.md": """# Osprey

```removed hobby lamp
from: dash
hole to end: 55.5625 mm
```
""",
    "2026-03-08 the osprey day/IMG_0950.jpg": "a picture",
}

PRIVATE = (
    "zebedee", "quill", "nightjar", "ller-ångstr", "m%c3%bcller", "o'brien", "o&#39;brien", "gargoyle", "pelican",
    "ostrich", "strongbox", "partridge", "31.0625", "radio", "32.0625", "hidey", "wyvern", "toucan", "flamingo",
    "img_0909", "kestrel", "img_0902", "buzzard", "1234567", "goshawk", "capercaillie", "777.125", "osprey", "hobby",
    "55.5625", "2026-03-08", "8 march", "8 mar ", "img_0950", "99 mm",
)  # fmt: skip
PUBLIC = ("lamp bracket", "img_0901", "40 mm", "merlin bulbs", "2 bolts", "arm to the left", "platform truck")


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_build(tmp_path_factory.mktemp("build"), BUILD)


@pytest.fixture(scope="module")
def public(build: Path) -> SiteFiles:
    return site_of(build, "public")


@pytest.fixture(scope="module")
def shop(build: Path) -> SiteFiles:
    return site_of(build, "shop")


def everything(site: SiteFiles) -> str:
    """All paths and all text of a site, in small letters; theme and pictures aside, which come from no note."""
    made = {p: c for p, c in site.items() if isinstance(c, bytes) and not p.startswith("theme/")}
    text = "\n".join([*site, *(content.decode() for content in made.values())])
    return text.casefold()


@pytest.mark.parametrize("word", PRIVATE)
def test_the_public_edition_never_says(public: SiteFiles, word: str) -> None:
    found = [path for path, content in public.items() if isinstance(content, bytes) and not path.startswith("theme/")
             and word in content.decode().casefold()]  # fmt: skip
    assert found == []
    assert word not in "\n".join(public).casefold()


SHOP = (*PUBLIC, "zebedee quill", "gargoyle", "tin pelican", "buzzard", "1234567", "strongbox", "777.125", "osprey")


@pytest.mark.parametrize("word", SHOP)
def test_the_shop_edition_says_everything(shop: SiteFiles, word: str) -> None:
    assert word in everything(shop)


@pytest.mark.parametrize("word", PUBLIC)
def test_what_is_not_private_is_still_there(public: SiteFiles, word: str) -> None:
    assert word in everything(public)


def test_private_pictures_are_not_published(public: SiteFiles, shop: SiteFiles) -> None:
    def pictures(site: SiteFiles) -> list[str]:
        return [row["file"] for row in json.loads(text_of(site, "data/photos.json"))["photos"]]

    assert len(pictures(shop)) == 4
    assert [p.rpartition("/")[2] for p in pictures(public)] == ["IMG_0901.jpg"]


def test_a_part_that_only_private_slips_name_has_no_page(public: SiteFiles, shop: SiteFiles) -> None:
    assert "parts/horn/index.html" in shop
    assert "parts/horn/index.html" not in public
    assert "parts/lamp-bracket-left/index.html" in public


def test_findings_about_the_notes_are_for_whoever_writes_them(tmp_path: Path) -> None:
    """A line that could not be read is quoted in the shop edition only; the public one says what is off."""
    note = "```removed hinge, left\nfrom: door post\nhole to edge: 12 dodos\n```\n"
    build = write_build(tmp_path, {"2026-03-07 a/note.md": note})
    assert "dodos" in text_of(site_of(build, "shop"), "to-record/index.html")
    public = site_of(build, "public")
    assert "hinge" in text_of(public, "to-record/index.html")
    assert "note.md:" not in everything(public)


def test_file_and_line_stand_in_the_shop_edition_only(public: SiteFiles, shop: SiteFiles) -> None:
    assert re.search(r"note\.md:\d+", text_of(shop, "parts/lamp-bracket-left/index.html"))
    assert not [path for path, text in pages_of(public).items() if re.search(r"note\.md:\d+", text)]


def test_a_name_is_erased_in_every_spelling_and_nothing_else_is() -> None:
    erase = eraser(["Ann Lee"], ["radio"])
    assert erase is not None
    assert erase("with ann  LEE, and ann-lee") == "with [left out], and [left out]"
    assert erase("ann-lee-s-box") == "left-out-s-box"
    assert erase("https://example.com/Ann%20Lee") == "https://example.com/[left out]"
    assert erase("radio, radiology") == "[left out], radiology"
    assert erase("Annie Leeward, annual leech") == "Annie Leeward, annual leech"
    assert eraser([], []) is None
