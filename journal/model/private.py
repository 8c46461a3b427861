"""What [private] of build.toml lists: its days, places, parts and pictures, found as slips find them.

An entry that names nothing is a finding, as what it is meant for would be published whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from typing import TypeVar

from journal.ground.finding import Finding
from journal.ground.names import fold, words_of
from journal.ground.source import Span
from journal.model.album import Album
from journal.model.naming import ARTICLE, Registry
from journal.model.places import Path, place_key
from journal.notes.lines import Line, mend
from journal.notes.naming import parse_name
from journal.notes.records import Name
from journal.read.folders import DayFolder
from journal.read.settings import FILE, Settings, split_place

Named = TypeVar("Named")
ONE = {"days": "day", "places": "place", "parts": "part", "photos": "picture"}
WRITTEN = {
    "days": "it as 2026-03-08, or as its folder is called",
    "places": "it as the notes do, from the large to the small: cab / dash",
    "parts": "its name as the notes do",
    "photos": "the name of its file",
}


class PrivateLists:
    """Asked once for each list. `later` are days that are not read, as the book is told for an earlier one."""

    def __init__(self, settings: Settings, folders: Sequence[DayFolder], later: Sequence[DayFolder]) -> None:
        self.private, self.sides = settings.private, settings.sides
        self.folders, self.later = folders, later
        self.findings: list[Finding] = []

    def days(self) -> frozenset[date]:
        """By their date, their folder, or the words after its date."""
        named: dict[str, set[date]] = {}
        for folder in (*self.folders, *self.later):
            names = (folder.date.isoformat(), folder.path, folder.path.rpartition("/")[2], folder.title)
            for name in filter(None, map(fold, names)):
                named.setdefault(name, set()).add(folder.date)
        return frozenset(on for entry in self.private.days for on in self._found("days", entry, named, fold(entry)))

    def places(self, tree: Mapping[Path, Path]) -> frozenset[Path]:
        """Keys of places by their whole path; a last piece by itself means every place of that name."""
        named: dict[str, set[Path]] = {}
        for key in sorted(tree, key=len, reverse=True):
            named.setdefault(key[-1], set()).add(key)
            named[" / ".join(key)] = {key}
        return frozenset(
            key
            for entry in self.private.places
            for key in self._found("places", entry, named, " / ".join(place_key(split_place(entry))))
        )

    def parts(self, registry: Registry) -> frozenset[str]:
        """Ids of parts by their names; without a side both are meant, and a side may stand anywhere."""
        found: set[str] = set()
        for entry in self.private.parts:
            ids = self._parts(entry, registry)
            found.update(ids)
            if not ids:
                self._tell("parts", entry, (named.words for _, named in registry.items()))
        return frozenset(found)

    def _parts(self, entry: str, registry: Registry) -> set[str]:
        line = Line(FILE, entry, mend(entry), ((0, 0, 0),))
        name, _ = parse_name(line, 0, len(entry), self.sides)
        if name is None:
            return set()
        ids = {*registry.find(name), *registry.every_side(name)}
        if not name.sides:
            whole = {named.key for id, named in registry.items() if id in ids and not named.key[1]}
            ids |= {id for id, named in registry.items() if (named.key[0], "") in whole}
        return ids or set(self._with_side_inside(name, registry))

    def _with_side_inside(self, name: Name, registry: Registry) -> Iterable[str]:
        """`left radio set` and `radio set left` are `radio set, left` here, where no part has that name."""
        words = words_of(ARTICLE.sub("", name.written))
        for id, named in registry.items():
            if words in map(words_of, with_side(*named.key)):
                yield id

    def photos(self, album: Album) -> frozenset[str]:
        """Files by their names, of every day where the entry tells none; a range as in a slip."""
        later = Album(self.later, {})
        found: set[str] = set()
        for entry in self.private.photos:
            files = album.everywhere(entry)
            found.update(files)
            if not files and not later.everywhere(entry):
                self._tell("photos", entry, album.names())
        return frozenset(found)

    def _found(self, kind: str, entry: str, named: Mapping[str, set[Named]], key: str) -> set[Named]:
        if not (found := named.get(key, set())):
            self._tell(kind, entry, named)
        return found

    def _tell(self, kind: str, entry: str, names: Iterable[str]) -> None:
        known = {fold(name): name for name in names}
        near = get_close_matches(fold(entry.split(",")[0] if kind == "parts" else entry), known, 1)
        help = f'the nearest is "{known[near[0]]}"' if near else f"write {WRITTEN[kind]}"
        if self.later:
            help = f"days after the one that it is told for are not read; if none of them has it, {help}"
        else:
            help += "; take out what is still to come until a note has it"
        span = self.private.lines.get((kind, entry), Span(FILE))
        message = f'"{entry}" is listed as private and names no {ONE[kind]}, so there is no public edition'
        self.findings.append(Finding("unknown-private", message, span, help=help))


def with_side(words: str, side: str) -> tuple[str, ...]:
    """The ways somebody says a part with its side; the words alone where it has none."""
    if not side:
        return (words,)
    return f"{words} {side}", f"{side} {words}", f"{side} hand {words}"
