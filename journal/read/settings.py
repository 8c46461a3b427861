"""build.toml: the settings of a build, every key optional but the title."""

from __future__ import annotations

import re
import stat
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date, datetime
from pathlib import Path

from journal.ground.decoding import decode, shown
from journal.ground.finding import Finding
from journal.ground.names import NearIndex, fold, tidy
from journal.ground.records import record
from journal.ground.source import Source, Span
from journal.measure.units import find_unit
from journal.read.tag_sheet import PAPERS, TAG_KEYS, TagSheet, read_tag_sheet


@record
class Private:
    """What the public edition leaves out, by name.

    known  False where that could not be read, or not all of it: then there is no public edition
    lines  where a list has an entry, by both
    """

    days: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    known: bool = True
    lines: Mapping[tuple[str, str], Span] = field(default_factory=dict, compare=False)


NOT_KNOWN = Private(known=False)


@record
class Settings:
    """The settings of a build.

    title      what the build is called          about, author   a sentence; a name
    site       public address, "" if none        units    "mm" or "in": which is shown first
    bare       unit of a number written without one, None: such a number is a finding
    decimal    "." or ","                        sides    the pair of side words
    language   of the notes (BCP 47)             finished the date the build ended
    theme      its folder's name                 keep     names in the output folder to carry over untouched
    places     path -> note, in order            private  what the public edition leaves out
    tags       the print sheet of the bag tags
    paper      "A4" or "Letter": what full-size templates are printed on
    """

    title: str = ""
    about: str = ""
    author: str = ""
    site: str = ""
    units: str = "mm"
    bare: str | None = None
    decimal: str = "."
    sides: tuple[str, str] = ("left", "right")
    language: str = "en"
    finished: date | None = None
    theme: str = "bench"
    keep: tuple[str, ...] = ()
    private: Private = field(default_factory=Private)
    places: tuple[tuple[tuple[str, ...], str], ...] = ()
    tags: TagSheet = field(default_factory=TagSheet)
    paper: str = "A4"


FILE = "build.toml"


@record
class Key:
    """A key of build.toml: what it holds, which words it takes, what it says."""

    name: str
    holds: str
    says: str
    takes: tuple[str, ...] = ()


KEYS: tuple[Key, ...] = (
    Key("title", "text", "what the build is called (the one key that must be there)"),
    Key("about", "text", "a sentence or two for the overview"),
    Key("author", "text", "who keeps the journal"),
    Key("site", "text", "public address, for feeds and tags, such as https://example.org/truck/"),
    Key("units", "text", "which unit is shown first", ("mm", "in")),
    Key("bare", "text", "the unit of a number written without one; not set: such a statement is a finding"),
    Key("decimal", "text", "the decimal mark", (".", ",")),
    Key("sides", "pair", 'the two side words, such as ["port", "starboard"]'),
    Key("language", "text", "language of the notes, such as en-GB"),
    Key("finished", "date", "the date the build ended; nothing is counted past it"),
    Key("paper", "text", "what full-size templates are printed on", tuple(PAPERS)),
    Key("theme", "text", "which theme the site wears"),
    Key("keep", "list", "names in the output folder to carry over untouched, such as CNAME"),
    Key("private", "table", "days, places, parts, photos, names the public edition leaves out"),
    Key("places", "table", "places in the order you want them, each with a note"),
    Key(
        "tags",
        "table",
        "print sheet of the bag tags: `sheet` by name, or `paper`, `width`, `height`, `columns`, `rows`, `left`, "
        '`top`, `across`, `down` with lengths such as "95 mm", and `marks`',
    ),
)
LANGUAGE = re.compile(r"[A-Za-z]{2,8}(?:-[A-Za-z0-9]{1,8})*").fullmatch  # the shape of BCP 47
LINES = 'every line is key = "words in quotes" or key = ["a", "b"]'
LONG_NUMBER = re.compile(r"[=\[,]\s*[-+]?\w{17,}")
DEEP_LISTS = re.compile(r"(?:[\[{][^\[\]{}]*){9}|(?:\.\s*[\w-]+\s*){9}")
MOST_DEEP = 20  # pieces of a place: templates go down into places one by one, and have to come to an end
JOINERS = "\u200c\u200d"  # they join letters of some scripts and are part of words
PRIVATE_KEYS = ("days", "places", "parts", "photos", "names")


def settings_reference() -> str:
    """The README's table of build.toml, made from the keys that are read."""
    lines = ["| key | holds |", "| --- | --- |"]
    for key in KEYS:
        takes = f" ({' or '.join(f'`{word}`' for word in key.takes)})" if key.takes else ""
        lines.append(f"| `{key.name}` | {key.says}{takes} |")
    return "\n".join(lines)


def read_settings(build: Path) -> tuple[Settings, list[Finding]]:
    """The settings of a build folder; whatever is wrong with them is a finding and costs that key only."""
    path = build / FILE
    name = shown(build.resolve().name)
    try:
        if stat.S_ISREG(path.stat().st_mode):
            return parse_settings(path.read_bytes(), fallback=name)
        fault = _not_read("it is no ordinary file")  # to open a pipe would wait for ever
    except FileNotFoundError:
        help = 'write a file build.toml with title = "..." in it'
        none = Finding("unknown-setting", "this folder has no build.toml", Span(FILE), help=help)
        return Settings(title=name), [none]
    except OSError as refused:
        fault = _not_read(refused.strerror or "the system refused")
    return Settings(title=name, private=NOT_KNOWN), [fault]


def parse_settings(data: bytes, fallback: str = "") -> tuple[Settings, list[Finding]]:
    """Settings from the bytes of build.toml; `fallback` is the title where it gives none."""
    source, findings = decode(FILE, data, "build.toml")
    unread = Settings(title=fallback, private=NOT_KNOWN)
    try:
        table = {key: _seen(value) for key, value in tomllib.loads(source.text).items()}
    except tomllib.TOMLDecodeError as fault:
        return unread, [*findings, _bad_toml(str(fault), source)]
    except ValueError:
        return unread, [*findings, _not_read("a number in it is far too long", LONG_NUMBER, source)]
    except RecursionError:
        return unread, [*findings, _not_read("lists in it lie too deep", DEEP_LISTS, source)]
    reader = _Reader(table, source)
    settings = reader.settings(fallback)
    return settings, [*findings, *reader.findings]


def _seen(value: object) -> object:
    """A value whose words hold only signs that can be seen: escapes can put others into a TOML string.

    ValueError for a number that TOML need not know, RecursionError for lists that lie too deep.
    """
    if isinstance(value, int) and value.bit_length() > 64:
        raise ValueError("more than TOML asks for")
    if isinstance(value, str):
        kept = (sign if sign.isprintable() or sign in JOINERS else " " * sign.isspace() for sign in value)
        return value if value.isprintable() else "".join(kept)
    if isinstance(value, list):
        return [_seen(one) for one in value]
    if isinstance(value, dict):
        return {str(_seen(key)): _seen(one) for key, one in value.items()}
    return value


def _not_read(why: str, pattern: re.Pattern[str] | None = None, source: Source | None = None) -> Finding:
    """Nothing of build.toml could be taken; points to the first line that the pattern finds."""
    lines = source.lines if source and pattern else ()
    line = next((number for number, text in enumerate(lines, 1) if pattern and pattern.search(text)), 0)
    span = source.whole_line(line) if source and line else Span(FILE)
    return Finding("not-understood", f"build.toml cannot be read: {why}", span, help=LINES)


def _bad_toml(fault: str, source: Source) -> Finding:
    place = re.search(r"\(at line (\d+), column (\d+)\)", fault)
    line = int(place[1]) if place else len(source.lines)
    span = source.whole_line(line)
    words = re.sub(r"\s*\(at .*\)$", "", fault)
    return Finding(
        "not-understood",
        f"build.toml cannot be read from here on: {words[:1].lower()}{words[1:]}",
        span,
        help=LINES,
    )


class _Reader:
    """Takes the keys out of the table one by one and keeps what was wrong."""

    def __init__(self, table: dict[str, object], source: Source) -> None:
        self.table, self.source, self.findings = table, source, list[Finding]()

    def settings(self, fallback: str) -> Settings:
        self._unknown(self.table, [key.name for key in KEYS], "")
        found = {key.name: self._value(key) for key in KEYS if key.name in self.table}
        fields = {name: value for name, value in found.items() if value is not None}
        if not fields.get("title"):
            fields["title"] = fallback
            if "title" not in self.table:
                self._tell("unknown-setting", "build.toml gives no title", 1, 'write title = "..."')
        fields["private"] = self._private()
        fields["places"] = self._places()
        fields["tags"] = self._tags(str(fields.get("decimal", ".")))
        return Settings(**fields)  # type: ignore[arg-type]  # the table of keys gives the types

    def _value(self, key: Key) -> object:
        value = self.table[key.name]
        if key.holds == "text" and isinstance(value, str):
            if key.takes and value not in key.takes:
                self._wrong(key, value, " or ".join(f'"{word}"' for word in key.takes))
                return None
            return self._checked(key, value)
        if key.holds == "list" and _is_words(value):
            return tuple(value)  # type: ignore[arg-type]
        if key.holds == "pair":
            return self._pair(key, value)
        if key.holds == "date":
            return self._date(key, value)
        if key.holds == "table":
            return None
        self._wrong(key, value, {"text": "words in quotes", "list": 'a list such as ["a", "b"]'}[key.holds])
        return None

    def _checked(self, key: Key, value: str) -> str | None:
        if key.name == "bare" and find_unit(value) is None:
            self._wrong(key, value, 'a unit such as "mm" or "in"')
            return None
        if key.name == "site" and value and not value.startswith(("https://", "http://")):
            self._wrong(key, value, "an address that begins with https://")
            return None
        if key.name == "language" and not LANGUAGE(value):
            self._wrong(key, value, 'a language such as "en-GB"')
            return None
        if key.name == "theme" and not re.fullmatch(r"[A-Za-z0-9_-]+", value):
            self._wrong(key, value, "a folder's name in letters, digits and hyphens")
            return None
        return value

    def _pair(self, key: Key, value: object) -> tuple[str, str] | None:
        if _is_words(value) and len(value) == 2 and all(value) and fold(value[0]) != fold(value[1]):  # type: ignore[arg-type,index]
            return (fold(value[0]), fold(value[1]))  # type: ignore[index]
        self._wrong(key, value, 'two different words such as ["left", "right"]')
        return None

    def _date(self, key: Key, value: object) -> date | None:
        if isinstance(value, datetime):
            return value.date()
        if isinstance(value, date):
            return value
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                pass
        self._wrong(key, value, "a date such as 2026-05-02")
        return None

    def _private(self) -> Private:
        table = self.table.get("private", {})
        if not isinstance(table, dict):
            self._wrong(Key("private", "table", ""), table, "a section [private] with lists in it")
            return NOT_KNOWN
        self._unknown(table, PRIVATE_KEYS, "private")
        lists = {name: value for name, value in table.items() if name in PRIVATE_KEYS}
        for name, value in lists.items():
            if not _is_words(value):
                self._wrong(Key(name, "list", ""), value, 'a list such as ["a", "b"]')
        sound = all(map(_is_words, lists.values())) and lists.keys() == table.keys() and not self._meant_private()
        words = {name: tuple(value) for name, value in lists.items() if _is_words(value)}
        lines = {(name, entry): self._entry_line(name, entry) for name, entries in words.items() for entry in entries}
        return Private(**words, known=sound, lines=lines)

    def _entry_line(self, name: str, entry: str) -> Span:
        """The line of a list that has an entry; that of its name where none does to the letter."""
        first = self._line(name)
        later = range(first, len(self.source.lines) + 1)
        return self.source.whole_line(next((n for n in later if entry in self.source.line(n)), first))

    def _meant_private(self) -> bool:
        """Whether a section that there is not is [private] written wrong."""
        index = NearIndex()
        index.add("private")
        return any(name != "private" and index.near(name) for name in self.table)

    def _places(self) -> tuple[tuple[tuple[str, ...], str], ...]:
        table = self.table.get("places", {})
        if not isinstance(table, dict):
            self._wrong(Key("places", "table", ""), table, 'a section [places] with "place" = "note" lines')
            return ()
        for name in table:
            if deep := too_deep(name):
                self._tell("unknown-setting", deep, self._line(name), "take names out of it")
        return tuple((split_place(name), note if isinstance(note, str) else "") for name, note in table.items())

    def _tags(self, decimal: str) -> TagSheet:
        table = self.table.get("tags", {})
        if not isinstance(table, dict):
            self._wrong(Key("tags", "table", ""), table, 'a section [tags] with lines such as width = "95 mm"')
            return TagSheet()
        self._unknown(table, TAG_KEYS, "tags")
        sheet, faults = read_tag_sheet(table, decimal)
        for fault in faults:
            self._wrong(Key(fault.key, "text", ""), fault.value, fault.wants)
        return sheet

    def _unknown(self, table: dict[str, object], known: Iterable[str], section: str) -> None:
        index = NearIndex()
        for name in known:
            index.add(name)
        for name in table:
            if name not in known:
                near = index.near(name)
                where = f" in [{section}]" if section else ""
                self._tell(
                    "unknown-setting",
                    f'build.toml has no key "{name}"{where}',
                    self._line(name),
                    f'the nearest key is "{near[0]}"' if near else "the keys are " + ", ".join(known),
                )

    def _wrong(self, key: Key, value: object, wants: str) -> None:
        """Tell that a key holds something it does not take; the key then counts as not set."""
        shown = f'"{value}"' if isinstance(value, str) else str(value)
        self._tell("unknown-setting", f"{key.name} takes {wants}, not {shown[:60]}", self._line(key.name), "")

    def _line(self, name: str) -> int:
        pattern = re.compile(rf'\s*(\[\s*)?"?{re.escape(name)}"?\s*[=\].]')
        return next((n for n, text in enumerate(self.source.lines, 1) if pattern.match(text)), 1)

    def _tell(self, word: str, message: str, line: int, help: str) -> None:
        self.findings.append(Finding(word, message, self.source.whole_line(line), help=help))


def _is_words(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(word, str) for word in value)


def split_place(text: str) -> tuple[str, ...]:
    """`underside / left sill` as a path; empty pieces are dropped, and those that lie too deep."""
    return _pieces(text)[:MOST_DEEP]


def too_deep(text: str) -> str:
    """What there is to tell where a place has more pieces than are taken, or ""."""
    count = len(_pieces(text))
    return f"a place of {count} names, one in another, is too deep; the first {MOST_DEEP} count" * (count > MOST_DEEP)


def _pieces(text: str) -> tuple[str, ...]:
    return tuple(piece for piece in (tidy(part).strip() for part in text.split("/")) if piece)
