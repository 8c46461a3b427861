"""Words of the notes are marked with the notes' language, labels with English, wherever both stand on a page."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.builds import write_build
from tests.site_fixture import VOID, pages_of, site_of

# Every word of this build that a person wrote begins with zz, as no word of ours does.
NOTE = """# Zzerster Zztag

Zzworte zzüber den zzanfang.

```removed zzbügel, left
from: zzschweller, left
place: zzunten / zzlinks
held by: 2 bolts zzschrauben
way round: zzöffnung nach zzhinten
note: zzanmerkung
photos: IMG_1
zzloch to zzkante: 12 mm by rule
```

```photo IMG_1.jpg
caption: Zzbild vom zzbügel
shows: zzbügel, left
```

```job zzschweißen
needs: zzbügel, left
place: zzunten
```

```ordered zzfarbe
for: zzbügel, left
```

```treated zzschweller, left
with: zzgrund
surface: zzblech
```
"""
FILES = {
    "2026-03-21 zztag/note.md": NOTE,
    "2026-03-21 zztag/IMG_1.jpg": "a picture",
    "2026-03-28 zzregen/note.md": "Zzregen.\n",
}
# Where names stand within sentences of ours.
SENTENCES = (
    "finding", "verdict", "settle", "help", "position", "desc", "history", "write", "noscript", "changed", "waits",
    "meta", "label", "caption", "states span",
)  # fmt: skip
LABELS = re.compile(
    r"\b(Taken off|Held by|Way round|Readings|Pictures|Overview|Search|Goes on|Note|Ordered|Treated|What|How)\b"
)


class Tongues(HTMLParser):
    """Each piece of text with the language it is marked with and the elements it stands in."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[tuple[str, str, str]] = [("", "", "")]
        self.pieces: list[tuple[str, str, str]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            given = dict(attrs)
            above = self.open[-1]
            self.open.append((tag, given.get("lang") or above[1], f"{above[2]} {given.get('class') or tag}"))

    def handle_endtag(self, tag: str) -> None:
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.pieces.append((data.strip(), self.open[-1][1], self.open[-1][2]))


def pieces(folder: Path, language: str, edition: str = "shop") -> list[tuple[str, str, str, str]]:
    toml = f'title = "Zzkarre"\nabout = "Zzüber zzalles."\nauthor = "Zz"\nlanguage = "{language}"\n'
    site = site_of(write_build(folder, {"build.toml": toml, **FILES}), edition)  # type: ignore[arg-type]
    return [(path, *piece) for path, page in pages_of(site).items() for piece in Tongues(page).pieces]


@pytest.fixture(scope="module")
def german(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str, str, str]]:
    return pieces(tmp_path_factory.mktemp("build"), "de-AT")


def test_words_of_the_notes_are_marked_with_their_language(german: list[tuple[str, str, str, str]]) -> None:
    """Aside from a page's title and names within a sentence of ours, which cannot be or are said the English way."""
    ours = re.compile(rf"title$|{'|'.join(SENTENCES)}")
    theirs = [piece for piece in german if re.search(r"\bzz", piece[1], re.IGNORECASE) and not ours.search(piece[3])]
    assert len(theirs) > 100
    wrong = {(path, text, where) for path, text, lang, where in theirs if lang != "de-AT"}
    assert wrong == set()


def test_labels_stay_english(german: list[tuple[str, str, str, str]]) -> None:
    labels = [piece for piece in german if LABELS.fullmatch(piece[1])]
    assert len(labels) > 50
    assert {(path, text, where) for path, text, lang, where in labels if lang != "en"} == set()


def test_a_story_is_marked_whole(german: list[tuple[str, str, str, str]]) -> None:
    told = [lang for path, text, lang, _ in german if path.startswith("days/2026") and text.startswith("Zzworte")]
    assert told == ["de-AT"]


def test_in_english_only_the_stories_are_marked(tmp_path: Path) -> None:
    found = pieces(tmp_path, "en-GB")
    assert {lang for _, _, lang, where in found if " story" not in where} == {"en"}
    assert {lang for _, _, lang, where in found if " story" in where} == {"en-GB"}
