"""Which picture a name means, and what every picture shows."""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from journal.ground.finding import Finding
from journal.ground.names import fold, near
from journal.ground.source import Span
from journal.model.entities import Part, Photo, PhotoLine, Picture, Reading
from journal.model.naming import Registry
from journal.model.written import Written
from journal.notes.kinds import says_no
from journal.notes.lines import mend
from journal.notes.parse import DIMENSION_LINE
from journal.notes.records import Note, Slip
from journal.read.folders import DayFolder
from journal.read.photos import PHOTO_SUFFIXES

if TYPE_CHECKING:
    from markdown_it.token import Token

RANGE = re.compile(r"(.+?)\s+(?:to|until|\.\.)\s+(.+)")
NUMBERED = re.compile(r"(.*?)(\d{1,12})$")
MOST_IN_A_RANGE = 500
LEADS_UP = re.compile(r"\A(?:\./)*(?:(?:\.\./)+(?=[^/]+/))?")  # from a day to another, as Markdown writes it
ELSEWHERE = re.compile(r"/|[a-zA-Z][a-zA-Z0-9+.\-]*:")  # an address with a scheme (RFC 3986), or from the top of a disk


class Album:
    """All pictures of the build by name; knows what the notes said of each."""

    def __init__(self, folders: Sequence[DayFolder], pictures: Mapping[str, Picture]) -> None:
        self.pictures = pictures
        self._folders = folders
        self.findings: list[Finding] = []
        self._in_folder: dict[str, dict[tuple[str, str], str]] = {}
        self._in_day: dict[object, dict[tuple[str, str], str]] = defaultdict(dict)
        self._anywhere: dict[str, list[str]] = defaultdict(list)
        self._days = {file: folder for folder in folders for file in folder.photos}
        for file, folder in self._days.items():
            name = _plain(file)
            self._anywhere[_stem(name)].append(file)
            for known in (
                self._in_folder.setdefault(fold(folder.path), {}),
                self._in_folder.setdefault(fold(_plain(folder.path)), {}),
                self._in_folder.setdefault(fold(folder.date.isoformat()), {}),
                self._in_day[folder.date],
            ):
                for spelling in _spellings(name):
                    known.setdefault(spelling, file)

    def named(self, folder: DayFolder, items: Sequence[tuple[str, Span]]) -> tuple[str, ...]:
        """The pictures a slip names, in order; one that is not there is a finding and costs that name only."""
        found: list[str] = []
        for text, span in items:
            for name in self._spread(text, folder):
                file = self.find(name, folder)
                if file:
                    found.append(file)
                else:
                    self.findings.append(self._missing(name, folder, span))
        return tuple(dict.fromkeys(found))

    def find(self, name: str, folder: DayFolder) -> str | None:
        """The picture a name means: in the folder that it names, else in its own folder, then its day. The one of that
        very name goes before one in other capitals, and that before one with another ending, as a phone that sends a
        HEIC as a JPEG gives it."""
        where, _, last = LEADS_UP.sub("", name.strip()).rpartition("/")
        inside = [self._in_folder.get(fold(folder.path), {}), self._in_day[folder.date]]
        if where:
            inside = [self._in_folder.get(fold(where)) or self._in_folder.get(fold(where.partition(" ")[0]), {})]
        spelt = [known.get(spelling) for known in inside for spelling in _spellings(last)]
        return next(filter(None, spelt), None)

    def illustrated(self, note: Note, folder: DayFolder) -> Note:
        """The note with the pictures of its story under the names of their files, so that nobody has to find them
        again; one that is not there is a finding and stays as it is written."""
        tokens, line = [], 1
        for token in note.tokens:
            line = token.map[0] + 1 if token.map else line
            found = []
            for child in token.children or ():
                found.append(self._illustrated(child, Span(note.file, line), folder))
                line += child.type in ("softbreak", "hardbreak")
            changed = any(new is not old for new, old in zip(found, token.children or (), strict=True))
            tokens.append(token.copy(children=found) if changed else token)
        return replace(note, tokens=tuple(tokens))

    def _illustrated(self, child: Token, place: Span, folder: DayFolder) -> Token:
        """A piece of a line; a picture by an address of its own, `https://...` or `/...`, is none of the build's."""
        name = unquote(str(child.attrs.get("src", ""))) if child.type == "image" else ""
        if not name or ELSEWHERE.match(name):
            return child
        file = self.find(name, folder)
        if file:
            return child.copy(attrs={**child.attrs, "src": quote(file)}, meta={**child.meta, "picture": file})
        if os.path.splitext(name)[1].lower() in PHOTO_SUFFIXES:
            top = "../" * place.file.count("/")
            self.findings.append(self._missing(name, folder, place, lambda file: top + quote(file)))
        return child

    def everywhere(self, text: str) -> set[str]:
        """The pictures of a name or a range, of every day where it names none."""
        spread = ((name, folder) for folder in self._folders for name in self._spread(text, folder))
        return {file for name, folder in spread if (file := self.find(name, folder))}

    def names(self) -> list[str]:
        """The names of all pictures, each once."""
        return list(dict.fromkeys(map(_plain, self._days)))

    def _spread(self, text: str, folder: DayFolder) -> list[str]:
        """The names of `IMG_0451 to IMG_0455` that are there, ends always; any other text is one name."""
        match = RANGE.fullmatch(text.strip())
        if not match or self.find(text, folder):
            return [text]
        where, _, first = match[1].rpartition("/")
        first, last = _bare(first), _bare(match[2].rpartition("/")[2])
        a, b = NUMBERED.fullmatch(first), NUMBERED.fullmatch(last)
        if not a or not b or fold(a[1]) != fold(b[1]) or not 0 < int(b[2]) - int(a[2]) <= MOST_IN_A_RANGE:
            return [text]
        names = [f"{a[1]}{number:0{len(a[2])}d}" for number in range(int(a[2]), int(b[2]) + 1)]
        prefix = f"{where}/" if where else ""
        return [
            prefix + name
            for n, name in enumerate(names)
            if n in (0, len(names) - 1) or self.find(prefix + name, folder)
        ]

    def _missing(
        self, name: str, folder: DayFolder, span: Span, written: Callable[[str], str] = str
    ) -> Finding:
        """That it is not there; one of another day is named as it is to be `written`."""
        stem = _stem(name.rsplit("/", 1)[-1])
        here = self._in_day[folder.date]
        elsewhere = [f for f in self._anywhere.get(stem, []) if "/" not in name or written is not str]
        if elsewhere:
            help = f'it is in another day: write "{written(elsewhere[0])}"'
        else:
            close = sorted({_plain(file) for file in here.values() if _one_off(stem, _stem(_plain(file)))})[:3]
            shown = close or sorted({_plain(file) for file in here.values()})[:6]
            help = f"the pictures of this day are {', '.join(shown)}" if shown else "this day has no pictures"
            if close:
                help = f"near it there is {', '.join(shown)}"
        return Finding("missing-photo", f'there is no picture "{name.strip()}" in this day', span, help=help)

    def photos(
        self,
        about: Sequence[tuple[Written, tuple[str, ...]]],
        registry: Registry,
        readings: Mapping[str, Reading],
        parts: Mapping[str, Part],
        shown: Mapping[str, set[str]],
        listed: frozenset[str],
    ) -> dict[str, Photo]:
        """Every picture with what slips say of it; those `listed` are private whatever slips say.

        about  `photo` slips, each with its picture, if that is there
        """
        shows: dict[str, list[str]] = defaultdict(list)
        slips: dict[str, list[tuple[Written, Slip]]] = defaultdict(list)
        for part in parts.values():
            for file in part.photos:
                shows[file].append(part.id)
        for each, found in about:
            if not found:
                self.findings.append(self._missing(each.slip.about, each.folder, each.slip.span))
            for file in found:
                slips[file].append((each, each.slip))
                shows[file] += self._named_parts(each.slip, registry)
        reader, private = _Lines(readings), self._private(slips, listed)
        return {
            file: self._photo(
                file, slips.get(file, ()), tuple(dict.fromkeys(shows.get(file, ()))), shown.get(file, set()), reader,
                without_ending(file) in private,
            )
            for file in self._days
        }

    def _private(self, slips: Mapping[str, Sequence[tuple[Written, Slip]]], listed: frozenset[str]) -> set[str]:
        """Those that are, without their endings: a HEIC and a JPEG of one name are most likely one picture."""
        private = {file for file, of_it in slips.items() if any(each.private for each, _ in of_it)}
        return {without_ending(file) for file in private | listed}

    def _named_parts(self, slip: Slip, registry: Registry) -> list[str]:
        ids: list[str] = []
        for entry in slip.all("shows"):
            for name in entry.names:
                found = registry.find(name)
                ids += found
                if not found:
                    self.findings.append(registry.unknown(name))
        return ids

    def _photo(
        self,
        file: str,
        slips: Sequence[tuple[Written, Slip]],
        shows: tuple[str, ...],
        in_place: set[str],
        reader: _Lines,
        private: bool,
    ) -> Photo:
        folder, picture = self._days[file], self.pictures.get(file, Picture())
        name = file.rsplit("/", 1)[1]
        off = any(_yes(slip, "off the machine") for _, slip in slips)
        captions = [entry.value for _, slip in slips for entry in slip.all("caption")]
        lines = tuple(
            line
            for _, slip in slips
            for entry in slip.all("line")
            if (line := reader.line(entry.value, entry.span, shows, picture, file, folder.date, self.findings))
            is not None
        )
        return Photo(
            file,
            name,
            folder.date,
            captions[0] if captions else "",
            picture.taken,
            picture.width,
            picture.height,
            picture.sizes,
            shows,
            () if off else tuple(id for id in shows if id in in_place),
            off,
            lines,
            private,
            picture.order or picture.taken or "",
        )


class _Lines:
    """Reads `line:` entries; a line whose words are a reading's left side is tied to that reading."""

    def __init__(self, readings: Mapping[str, Reading]) -> None:
        self._by_words: dict[tuple[str, str], list[Reading]] = defaultdict(list)
        for reading in readings.values():
            left = reading.text.split(":")[0] if reading.written else reading.text
            self._by_words[reading.part, fold(left)].append(reading)

    def _reading(self, words: str, shows: Sequence[str], file: str, day: date) -> str | None:
        """The reading a line draws: the one whose slip names the picture, else the newest up to its day."""
        found = [reading for part in shows for reading in self._by_words.get((part, fold(words)), ())]
        if not found:
            return None
        return max(found, key=lambda r: (file in r.photos, r.when.day <= day, r.when)).id

    def line(
        self,
        text: str,
        span: Span,
        shows: Sequence[str],
        picture: Picture,
        file: str,
        day: date,
        findings: list[Finding],
    ) -> PhotoLine | None:
        match = DIMENSION_LINE.fullmatch(mend(text))
        if not match:
            findings.append(
                Finding(
                    "not-understood",
                    f'"{text}" is no dimension line',
                    span,
                    help="write two points and the words, such as `0.32,0.41 0.58,0.41 hole edge to web`",
                )
            )
            return None
        numbers = [float(match[n]) for n in range(1, 5)]
        if max(numbers) > 1:  # pixels of the upright picture
            if not picture.width:
                return None
            numbers = [n / (picture.width, picture.height)[i % 2] for i, n in enumerate(numbers)]
        if max(numbers) > 1:
            findings.append(
                Finding(
                    "not-understood",
                    f'"{text}" lies outside the picture',
                    span,
                    help=f"the picture is {picture.width} wide and {picture.height} high",
                )
            )
            return None
        words = text[match.start(5) : match.end(5)] if match[5] else ""
        reading = self._reading(words, shows, file, day)
        return PhotoLine((numbers[0], numbers[1]), (numbers[2], numbers[3]), words, reading, span)


def _spellings(name: str) -> tuple[tuple[str, str], ...]:
    """What a picture is known by, the surest first: its very name, that in any capitals, that without its ending."""
    return ("name", name), ("folded", fold(name)), ("stem", _stem(name))


def _bare(name: str) -> str:
    stem, suffix = os.path.splitext(name.strip())
    return stem if 2 <= len(suffix) <= 5 else name.strip()


def _stem(name: str) -> str:
    return fold(_bare(name))


def without_ending(file: str) -> str:
    """A file with its folder, less its ending."""
    folder, slash, name = file.strip().rpartition("/")
    return f"{fold(folder)}{slash}{_stem(name)}"


def _plain(file: str) -> str:
    return file.rsplit("/", 1)[-1]


def _one_off(a: str, b: str) -> bool:
    """A picture's name one digit or two letters away: here numbers may differ, unlike in names of parts."""
    return (len(a) == len(b) and sum(x != y for x, y in zip(a, b, strict=True)) <= 2) or near(a, b)


def _yes(slip: Slip, key: str) -> bool:
    entry = slip.first(key)
    return entry is not None and not says_no(entry.value)
