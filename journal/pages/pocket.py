"""The pocket file: the shop edition as one HTML file that holds all it needs, to send to a phone and open anywhere.

A phone often cannot open a folder of files. This one has every part in order with its readings, the order of going
back, what is still to record, a search, and small pictures as `data:` addresses. It can be read without scripts, asks
for nothing, and its policy names its own script and style by their SHA-256 and lets nothing else in.

A picture stands once, with the first of its parts; the others lead there. Where all would make the file too large,
every part gets one before any gets a second.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import sha256
from itertools import zip_longest
from pathlib import Path
from urllib.parse import quote

from markupsafe import Markup

from journal.ground.records import record
from journal.judge.verdicts import Judgement
from journal.model.book import Book
from journal.model.entities import Part
from journal.pages import lists, search
from journal.pages.findable import rows
from journal.pages.going_back import going_back
from journal.pages.part_page import part_page
from journal.pages.render import site_view
from journal.pages.safety import RECORD_ONLY
from journal.pages.theme import Theme
from journal.pages.viewer import Viewer
from journal.pages.views import Link, PartPage, Photo

MOST_BYTES = 25_000_000  # what mail and messengers still carry (common practice, no published source)
TEMPLATE = "pocket.html"
STYLES = ("theme/bench.css", "theme/pocket.css")
SCRIPTS = ("theme/query.js", "theme/find.js", "theme/pocket.js")
FOUND = frozenset({"part", "reading"})  # kinds of rows that have a place in the file
MARK = "<!-- a pocket file of build-journal: each `journal make --pocket` writes it anew -->\n"
POLICY = ("default-src 'none'; script-src 'sha256-{script}'; style-src 'sha256-{style}'; img-src data:; "
          "base-uri 'none'; form-action 'none'")  # fmt: skip


@record
class Embedded:
    """A picture in the file: what is known of it, its anchor, its bytes as a `data:` address."""

    photo: Photo
    anchor: str
    src: str


@record
class PocketPart:
    """A part in the file.

    pictures  those that stand with it       elsewhere  those that stand with another part
    left_out  how many there was no room for
    """

    anchor: str
    page: PartPage
    pictures: tuple[Embedded, ...]
    elsewhere: tuple[Link, ...]
    left_out: int


@record
class Pocket:
    """The file, and what it holds; `pictures` of the `of` that show a part."""

    data: bytes
    parts: int
    readings: int
    pictures: int
    of: int

    @property
    def told(self) -> str:
        """`1.4 MB: 53 parts, 111 measurements, 23 pictures`."""
        room = f" of {self.of}, there is no room for more" if self.pictures < self.of else ""
        return (
            f"{len(self.data) / 1_000_000:.1f} MB: {self.parts} parts, {self.readings} measurements, "
            f"{self.pictures} small pictures{room}"
        )


def make_pocket(
    book: Book,
    judgement: Judgement,
    *,
    themes: Sequence[Path],
    cache: Path | None = None,
    pictures: Mapping[str, Path] | None = None,
    most: int = MOST_BYTES,
) -> Pocket:
    """The pocket file of a build; arguments as for `render.render_site`.

    most  bytes of the file in all; pictures get what the words leave
    """
    viewer = Viewer(book, judgement, "shop")
    maker = _Maker(viewer, Theme(tuple(themes), cache), pictures or {})
    chosen = maker.choose(most)
    data = maker.write(chosen)
    if len(data) > most:
        chosen = maker.choose(most - (len(data) - sum(map(_length, chosen.values()))))
        data = maker.write(chosen)
    return Pocket(data, len(book.parts), len(book.readings), len(chosen), len(maker.wanted))


def inside(target: str) -> str:
    """The place in the file for a target of the site: a part or a reading of one; "" for what it does not hold."""
    path, _, fragment = target.partition("#")
    pieces = path.split("/")
    if len(pieces) != 3 or pieces[0] != "parts":
        return ""
    return "#" + quote(fragment or f"part-{pieces[1]}", safe="-._~")


def _length(file: Path) -> int:
    """What a picture takes in the file."""
    return len(_embedded(b"")) + 4 * (-(-file.stat().st_size // 3))


def _embedded(data: bytes) -> str:
    return "data:image/jpeg;base64," + b64encode(data).decode()


@dataclass(frozen=True)
class _Maker:
    viewer: Viewer
    theme: Theme
    files: Mapping[str, Path]

    @cached_property
    def parts(self) -> list[Part]:
        return sorted(self.viewer.book.parts.values(), key=lambda part: (part.name.casefold(), part.side, part.id))

    @cached_property
    def wanted(self) -> list[str]:
        """Pictures that show a part: the best of every part, then the second of every part, and so on."""
        by_part = [self._best_first(part.id) for part in self.parts]
        return list(dict.fromkeys(key for rank in zip_longest(*by_part) for key in rank if key))

    def _best_first(self, part: str) -> list[str]:
        best = self.viewer.best_picture(part)
        keys = [key for key in self.viewer.pictures_of(part) if self._small(key)]
        return sorted(keys, key=lambda key: key != best)

    def _small(self, key: str) -> Path | None:
        sizes = self.viewer.book.photos[key].sizes
        return self.files.get(sizes[0].path) if sizes else None

    def choose(self, most: int) -> dict[str, Path]:
        """Pictures in the order they are wanted, as long as they take less than `most` bytes together."""
        chosen: dict[str, Path] = {}
        for key in self.wanted:
            file = self._small(key)
            most -= _length(file) if file else 0
            if file is None or most < 0:
                break
            chosen[key] = file
        return chosen

    def write(self, chosen: Mapping[str, Path]) -> bytes:
        """The file with these pictures."""
        script, style = self._script(), self._style()
        context: dict[str, object] = {
            "site": site_view(self.viewer),
            "href": inside,
            "title": self.viewer.book.settings.title,
            "record_only": RECORD_ONLY,
            "policy": POLICY.format(script=_sum(script), style=_sum(style)),
            "script": Markup(script),  # ours, and data whose "<" are escaped
            "style": Markup(style),
            "parts": tuple(self._pocket_parts(chosen)),
            "to_record": lists.to_record(self.viewer),
            "back": going_back(self.viewer),
        }
        return (MARK + self.theme.render(TEMPLATE, context)).encode("utf-8", "replace")

    def _pocket_parts(self, chosen: Mapping[str, Path]) -> Iterator[PocketPart]:
        stands: dict[str, str] = {}
        for part in self.parts:
            keys = self._best_first(part.id)
            here = [key for key in keys if key in chosen and key not in stands]
            there = [Link(self.viewer.photo_link(key).text, stands[key]) for key in keys if key in stands]
            stands |= {key: f"picture-{len(stands) + n}" for n, key in enumerate(here, 1)}
            yield PocketPart(
                anchor=f"part-{part.id}",
                page=part_page(self.viewer, part),
                pictures=tuple(self._picture(key, stands[key], chosen[key]) for key in here),
                elsewhere=tuple(there),
                left_out=sum(key not in chosen for key in keys),
            )

    def _picture(self, key: str, anchor: str, file: Path) -> Embedded:
        return Embedded(self.viewer.photo(key), anchor, _embedded(file.read_bytes()))

    def _style(self) -> str:
        return _plain(self._theme_text(STYLES)).replace("</", "<\\/")

    def _script(self) -> str:
        found = (row for row in rows(self.viewer) if row.kind in FOUND)
        here = (replace(row, url=inside(row.url), group=inside(row.group)) for row in found)
        return _plain("".join(search.files(search.arrange(here)).values())) + _as_script(self._theme_text(SCRIPTS))

    def _theme_text(self, names: Iterable[str]) -> str:
        files = self.theme.files()
        return "\n".join(files[name].read_text(encoding="utf-8") for name in names)


def _plain(text: str) -> str:
    """The text as a browser takes it from a page: it hashes what it has read, line ends and all."""
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")


def _as_script(text: str) -> str:
    """A script that can stand in a page: nothing in its strings ends it or begins a comment of the page's."""
    return re.sub(r"<(?=/script|script|!--)", r"\\x3c", _plain(text), flags=re.IGNORECASE)


def _sum(text: str) -> str:
    """As a content policy names it (W3C CSP 3)."""
    return b64encode(sha256(text.encode("utf-8", "replace")).digest()).decode()
