"""One note, from text to records: its tokens, its slips, and what was wrong with them.

A wrong line costs that line, never the slip or the note. Nothing here knows what other notes say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from journal.ground.finding import Finding
from journal.ground.finding import Note as Aside
from journal.ground.names import distance
from journal.ground.records import record
from journal.ground.source import Source, Span
from journal.notes.kinds import BY_NAME, BY_OTHER_WORD, KEYS_OF, KINDS, KINDS_WITH, NO, NOT_KEYS, YES, Key, Kind
from journal.notes.lines import Line, colon_of, fold_key, join_lines, mend
from journal.notes.meant import Meant, key_meant, not_begun
from journal.notes.naming import SideFault, parse_name, parse_names
from journal.notes.openings import kind_of, near_kind
from journal.notes.records import Entry, Name, Note, Sentence, Slip, Statement
from journal.notes.slips import Fence, read_fences
from journal.notes.statements import ValueSettings, read_statement

if TYPE_CHECKING:
    from markdown_it.token import Token

LONGEST_NAME = 200
NAMELESS = re.compile(r"from\s|(?:out|away|off)$", re.IGNORECASE)  # `removed from sill`, `cut out`


@record
class NoteSettings(ValueSettings):
    """What reading a note takes from build.toml: `sides`, `bare`, `decimal`."""

    sides: tuple[str, str] = ("left", "right")
    bare: str | None = None
    decimal: str = "."


def parse_note(source: Source, settings: NoteSettings) -> tuple[Note, list[Finding]]:
    """The note that `source` holds and the findings, in the order of its lines."""
    reading = read_fences(source)
    findings: list[Finding] = []
    slips: list[Slip] = []
    for fence in reading.fences:
        slip = _SlipReader(source, fence, settings, findings).read() if fence.kind else None
        unknown = None if fence.kind else _unknown_slip(source, fence)
        if slip:
            reading.tokens[fence.token].meta["slip"] = len(slips)
            slips.append(slip)
        elif fence.kind or unknown:
            reading.tokens[fence.token].meta["unread"] = True
        if unknown:
            findings.append(unknown)
        if fence.start in reading.unclosed:
            findings.append(_unclosed(source, fence))
    findings.sort(key=lambda finding: finding.span)
    return Note(source.file, _title(reading.tokens), reading.tokens, tuple(slips)), findings


def _title(tokens: Sequence[Token]) -> str:
    """The text of the first heading, its marks gone."""
    for before, token in pairwise(tokens):
        if before.type == "heading_open":
            children = token.children or ()
            pieces = (" " if child.type.endswith("break") else child.content for child in children)
            return " ".join("".join(pieces).split())
    return ""


# ---- blocks


def _unknown_slip(source: Source, fence: Fence) -> Finding | None:
    """What to tell of a block that was meant to be a slip; None for a listing."""
    near = near_kind(fence.info)
    if near is None:
        return None
    first = fence.info.split()[0]
    meant = near or getattr(BY_OTHER_WORD.get(first.rstrip(":").casefold()), "name", "")
    if meant:
        rest = fence.info[len(first) :].strip()
        help = f"write `{f'{meant} {rest}'.strip()}` behind the fence, or only one word if it is a listing"
    else:
        kinds = ", ".join(kind.name for kind in KINDS)
        help = f"the kinds are {kinds}; a listing has one word behind its fence, or none"
    span = source.span(fence.start, fence.info_at, fence.info_at + len(first))
    return Finding("unknown-slip", f'"{first}" is no kind of slip', span, help=help)


def _unclosed(source: Source, fence: Fence) -> Finding:
    if fence.kind:
        what = f'the slip "{fence.info}" has no closing fence; it was read as far as line {fence.end}'
        what += ", and what follows is public" if BY_NAME[fence.kind].private else ""
        help = f"write {fence.mark} on a line of its own below its last line, indented as its first"
    else:
        what = f"this fence opens a block that has no end before the next slip; it was ended at line {fence.end}"
        help = "leave it out, or write its closing fence"
    return Finding("unclosed-slip", what, source.whole_line(fence.start), help=help)


# ---- slips


@dataclass(slots=True)
class _SlipReader:
    """Reads one fenced block whose kind is known; what is wrong goes to `findings`."""

    source: Source
    fence: Fence
    settings: NoteSettings
    findings: list[Finding]
    entries: list[Entry] = field(default_factory=list)
    statements: list[Statement] = field(default_factory=list)
    sentences: list[Sentence] = field(default_factory=list)
    first_of: dict[str, Line] = field(default_factory=dict)
    given: set[str] = field(default_factory=set)

    @property
    def kind(self) -> Kind:
        return BY_NAME[kind_of(self.fence.info)]

    def read(self) -> Slip | None:
        """The slip, or None where its first line does not say what it is about."""
        kind, about = self.kind, self._about()
        name = self._name(about) if kind.about == "part" and about.plain.strip() else None
        if kind.about != "none" and (not about.plain.strip(" ,;") or (kind.about == "part" and name is None)):
            self.findings.append(self._nothing_named(kind))
            return None
        if not kind.private:
            keys = KEYS_OF[kind.name]
            lines = join_lines(self.source.file, self.fence.rows, KINDS_WITH.__contains__)
            self.given = {_word_of(line.plain) for line in lines}
            for line in lines:
                self._line(line, keys)
        return Slip(
            kind=kind.name,
            about=about.text,
            name=name,
            entries=tuple(self.entries),
            statements=tuple(self.statements),
            sentences=tuple(self.sentences),
            body="\n".join(row.text for row in self.fence.rows),
            private=kind.private or self._is_private(),
            span=self.source.whole_line(self.fence.start),
            end_line=self.fence.end,
        )

    def _about(self) -> Line:
        """What stands behind the kind, as a line of its own."""
        info = self.fence.info
        kind = info.split(None, 1)[0]
        rest = info[len(kind) :]
        text = rest.lstrip(" \t:")
        offset = self.fence.info_at + len(kind) + len(rest) - len(text)
        return Line(self.source.file, text, mend(text), ((0, self.fence.start, offset),))

    def _name(self, about: Line) -> Name | None:
        if len(about.text) > LONGEST_NAME:
            return None
        name, faults = parse_name(about, 0, len(about.text), self.settings.sides)
        self._side_faults(about, faults)
        if name and ";" in about.plain and "," in name.words:  # of `stay; left` no comma is left
            message = f'a slip is about one part, and "{name.written}" looks like several'
            self.findings.append(Finding("not-understood", message, name.span, help="write a slip for each"))
        return name if name and not NAMELESS.match(name.words) else None

    def _nothing_named(self, kind: Kind) -> Finding:
        span = self.source.whole_line(self.fence.start)
        if len(self.fence.info) > LONGEST_NAME:
            message = f"a name of {len(self.fence.info)} characters is too long"
            return Finding("not-understood", message, span, help=f"write at most {LONGEST_NAME} characters")
        what = {"part": "part", "photo": "picture", "job": "job", "order": "thing ordered"}[kind.about]
        example = kind.example.split("\n", 1)[0]
        return Finding(
            "not-understood", f'the slip "{kind.name}" names no {what}', span, help=f"write it as `{example}`"
        )

    def _is_private(self) -> bool:
        """`private:` with anything but no: what is not clear is kept back."""
        said = [entry for entry in self.entries if entry.key == "private"]
        empty = "private" in self.first_of and not said
        return empty or any(fold_key(entry.value) not in NO for entry in said)

    # ---- lines

    def _line(self, line: Line, keys: dict[str, Key]) -> None:
        colon, word = colon_of(line.plain), _word_of(line.plain)
        if word in keys:
            self._entry(line, colon, keys[word])
        elif word in KINDS_WITH:
            self.findings.append(_key_of_others(line, colon, word, self.kind))
        else:
            self._other(line, colon, word, keys)

    def _other(self, line: Line, colon: int, word: str, keys: dict[str, Key]) -> None:
        """A line that begins with no key: one that is meant for a key all the same, a statement or a sentence."""
        meant = key_meant(line, keys, self.given)
        if meant and meant.sure:
            self._meant(line, meant, keys)
            return
        read = read_statement(line, colon, self.settings, known_only=True)
        if read is None and (near := _near_key(word, keys)):
            read = _misspelt_key(line, colon, near)
            if keys[near].shape == "yes":
                self._keep_yes_or_no(line, near, line.text[colon + 1 :])
        read = read or read_statement(line, colon, self.settings)
        if isinstance(read, Finding):
            self.findings.append(read)
        elif read:
            self.statements.append(read)
        elif meant:
            self._meant(line, meant, keys)
        else:
            self.sentences.append(Sentence(line.text, line.span()))

    def _meant(self, line: Line, meant: Meant, keys: dict[str, Key]) -> None:
        self.findings.append(not_begun(line, meant, keys))
        if meant.key in keys and keys[meant.key].shape == "yes":
            self._keep_yes_or_no(line, meant.key, meant.rest)
        else:
            self.sentences.append(Sentence(line.text, line.span(), meant.key))

    def _keep_yes_or_no(self, line: Line, key: str, value: str) -> None:
        """A line meant for a key of yes or no is one, though it is told: a plain no says no, and all else neither,
        so that each reader of the key takes the worse way."""
        said = value.strip() if fold_key(value.rstrip(" .")) in NO else line.text
        self.entries.append(Entry(key, said, line.span(), items=(said,)))

    def _entry(self, line: Line, colon: int, key: Key) -> None:
        start = colon + 1 + len(line.plain[colon + 1 :]) - len(line.plain[colon + 1 :].lstrip())
        first = self.first_of.setdefault(key.name, line)
        if first is not line and not key.adds_up:
            self.findings.append(_twice(line, colon, key, first))
            if key.name != "private":  # of which one `yes` is enough
                self.sentences.append(Sentence(line.text, line.span(), key.name))
                return
        value = line.text[start:].rstrip()
        if not value and (key.shape != "yes" or key.name == "private"):  # an empty `private:` hides all the same
            return
        fault = _wrong_value(line, start, key)
        if fault:
            self.findings.append(fault)
            if key.shape != "yes":  # what says neither yes nor no is kept: each reader of it takes the worse way
                return
        names: list[Name] = []
        if key.shape == "names":
            names, faults = parse_names(line, start, len(line.plain), self.settings.sides)
            self._side_faults(line, faults)
        items = _items(line.plain[start:], key) if key.shape in ("list", "photos") else (value,)
        self.entries.append(Entry(key.name, value, line.span(start), tuple(names), items))

    def _side_faults(self, line: Line, faults: list[SideFault]) -> None:
        for fault in faults:
            self.findings.append(
                Finding(
                    "unknown-name",
                    f'"{fault.written}" is no side; it was read as "{fault.side}"',
                    line.span(fault.start, fault.end),
                    help=f"write `, {fault.side}`, or leave the comma out if it belongs to the name",
                )
            )


# ---- keys

LONGEST_KEY = 60


def _word_of(plain: str) -> str:
    """What stands before the colon of a line, as keys are compared; "" where that is no key."""
    colon = colon_of(plain)
    return fold_key(plain[:colon]) if 0 < colon <= LONGEST_KEY else ""


_NUMBER = r"(?:\d{1,9}(?:\.\d{1,9})?|\.\d{1,9})"
DIMENSION_LINE = re.compile(rf"({_NUMBER})\s*,\s*({_NUMBER})\s+({_NUMBER})\s*,\s*({_NUMBER})(?:\s+(\S.*?))?\.*\s*")


def _items(plain: str, key: Key) -> tuple[str, ...]:
    """The pieces of a list; pictures may be joined by `and` too."""
    marks = r"[,;]|\s(?:and|&)\s" if key.shape == "photos" else r"[,;]"
    return tuple(" ".join(piece.split()) for piece in re.split(marks, plain) if piece.strip())


def _near_key(word: str, keys: dict[str, Key]) -> str:
    """The key of this kind that a word before a colon was meant to be, or "".

    Two letters for long keys, one for short ones: `bolts:` and `rubber:` are honest words of the shop.
    """
    if not word or word in NOT_KEYS:
        return ""
    letters = set(word)
    # An edit changes at most two letters of the set: a quick look before the exact one.
    alike = (key for key in keys if abs(len(word) - len(key)) <= 2 and len(letters ^ set(key)) <= 4)
    near = [(distance(word, key), key) for key in alike]
    return next((key for size, key in sorted(near) if size <= _letters_allowed(key)), "")


def _letters_allowed(key: str) -> int:
    return 0 if len(key) < 4 else 1 if len(key) < 6 else 2


def _misspelt_key(line: Line, colon: int, near: str) -> Finding:
    shown = line.text[:colon].strip()
    help = f"write `{near}:`, or begin the line with `note:` to keep it as it is"
    return Finding("unknown-key", f'"{shown}" is no key; "{near}" is one', _key_span(line, colon), help=help)


def _key_of_others(line: Line, colon: int, word: str, kind: Kind) -> Finding:
    *most, last = KINDS_WITH[word]
    kinds = f"{', '.join(most)} or {last}" if most else last
    return Finding(
        "unknown-key",
        f'a "{kind.name}" slip has no key "{word}"',
        _key_span(line, colon),
        help=f'"{word}" goes into a slip of the kind {kinds}; `note:` keeps anything',
    )


def _twice(line: Line, colon: int, key: Key, first: Line) -> Finding:
    return Finding(
        "said-twice",
        f'"{key.name}" counts once and is given twice; the first is taken',
        _key_span(line, colon),
        notes=(Aside("the first is here", first.span()),),
        help=f"keep one line of `{key.name}:`",
    )


def _key_span(line: Line, colon: int) -> Span:
    return line.span(0, len(line.text[:colon].rstrip()))


def _wrong_value(line: Line, start: int, key: Key) -> Finding | None:
    """What is wrong with the value of a key that takes only certain ones."""
    value = line.plain[start:].strip().rstrip(".")
    folded = fold_key(value)
    help = ""
    if key.shape == "yes" and key.name != "private" and folded not in YES | NO:
        help = f"write `{key.name}: yes`, or leave the line out"
    elif key.shape == "count" and not re.fullmatch(r"[1-9]\d{0,5}", value):
        help = f"write `{key.name}:` and a number, as `{key.name}: 4`"
    elif key.shape == "choice" and folded not in key.choices:
        help = f"write one of {', '.join(f'`{choice}`' for choice in key.choices)}"
    elif key.shape == "line" and not DIMENSION_LINE.fullmatch(value):
        help = "write `line: 0.32,0.41 0.58,0.41 hole edge to web`: two points, then the words"
    if not help:
        return None
    shown = value if len(value) <= 40 else value[:37] + "..."
    message = f'"{shown}" does not fit the key "{key.name}"' if value else f'nothing stands behind "{key.name}"'
    return Finding("not-understood", message, line.span(start), help=help)
