"""Finding the slips of a note: markdown-it tells the fences at any depth, the table of kinds which are slips.

A fence that was never closed swallows what follows. Such a note is read a second time with the missing fences put
where the slip plainly ends, so that the rest of the day's story and the next slips are not lost.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from journal.ground.names import distance
from journal.ground.source import Source
from journal.notes.kinds import BY_NAME, KINDS_WITH, LANGUAGES
from journal.notes.lines import Row, colon_of, fold_key, mend
from journal.notes.words import CONTACTS

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token


@dataclass(frozen=True, slots=True)
class Fence:
    """A fenced block of a note.

    info    what stands behind the opening fence, to the letter; `info_at` its offset in that line
    rows    the lines between the fences, without the indent or quote marks of what holds them
    start, end  line numbers of the opening fence and of the last line that belongs to it
    closed  whether its closing fence is there
    """

    info: str
    info_at: int
    mark: str
    rows: tuple[Row, ...]
    start: int
    end: int
    closed: bool
    token: int

    @property
    def kind(self) -> str:
        """The kind of slip it is, or ""."""
        return kind_of(self.info)


@dataclass(frozen=True, slots=True)
class Reading:
    """The Markdown tokens of a note, its fences, and the first lines of those that were not closed."""

    tokens: tuple[Token, ...]
    fences: tuple[Fence, ...]
    unclosed: frozenset[int]


def kind_of(info: str) -> str:
    """The kind of slip an info string opens, or ""."""
    first = info.split(None, 1)[0] if info else ""
    word = first.rstrip(":").casefold()
    return word if word in BY_NAME else ""


@lru_cache(maxsize=2)
def markdown(html: bool = False) -> MarkdownIt:
    """The Markdown reader: CommonMark and tables; raw HTML only where a test of CommonMark itself asks for it."""
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": html}).enable("table")


def read_fences(source: Source, html: bool = False) -> Reading:
    """The tokens of a note with line numbers of `source`, and its fences."""
    lines = source.lines
    tokens = markdown(html).parse("\n".join(lines))
    fences = _fences(tokens, lines, range(1, len(lines) + 1))
    open_ones = {fence.start for fence in fences if fence.kind and not fence.closed}
    swallowing = {fence.start for fence in fences if _swallows(fence)}
    if not open_ones and not swallowing:
        return Reading(tuple(tokens), tuple(fences), frozenset())
    repaired = _Repair(lines, open_ones | swallowing)
    repaired.run()
    tokens = markdown(html).parse("\n".join(repaired.lines))
    fences = _fences(tokens, lines, repaired.origin)
    _renumber(tokens, repaired.origin)
    still = {fence.start for fence in fences if fence.kind and not fence.closed}
    return Reading(tuple(tokens), tuple(fences), frozenset(open_ones | swallowing | repaired.cut | still))


def _fences(tokens: Sequence[Token], lines: Sequence[str], origin: Sequence[int]) -> list[Fence]:
    """The fence tokens as fences; `origin` gives the number of each line the tokens count, 0 for one put in."""
    return [
        _fence(token, index, lines, origin)
        for index, token in enumerate(tokens)
        if token.type == "fence" and token.map is not None
    ]


def _fence(token: Token, index: int, lines: Sequence[str], origin: Sequence[int]) -> Fence:
    assert token.map is not None
    first, after = token.map
    content = token.content.split("\n")
    if content[-1] == "" and (token.content.endswith("\n") or not token.content):
        content.pop()
    numbers = origin[first:after]
    start = numbers[0]
    opening = lines[start - 1]
    info = token.info.strip()
    mark_at = opening.find(token.markup)
    info_at = max(opening.find(info, mark_at + len(token.markup)), 0) if info else len(opening)
    rows = tuple(
        _row(number, lines[number - 1], text) for number, text in zip(numbers[1:], content, strict=False) if number
    )
    closed = after - first >= 2 and after - first - 2 == len(content) and _closes(lines, numbers[-1], token.markup)
    end = numbers[-1] if closed and numbers[-1] else max([start, *(row.number for row in rows if row.text.strip())])
    return Fence(info, info_at, token.markup, rows, start, end, closed, index)


def _row(number: int, raw: str, text: str) -> Row:
    """One line of a fence; where its indent was made of tabs the text is taken from the file's own line."""
    if raw.endswith(text):
        return Row(number, len(raw) - len(text), text)
    bare = text.lstrip()
    return Row(number, max(raw.rfind(bare), 0), bare)


def _closes(lines: Sequence[str], number: int, mark: str) -> bool:
    if number == 0:
        return True
    bare = lines[number - 1].strip(" \t>")
    return len(bare) >= len(mark) and set(bare) == {mark[0]}


def _renumber(tokens: Sequence[Token], origin: Sequence[int]) -> None:
    """Let `map` count the lines of the note as written."""
    for token in tokens:
        if token.map is None:
            continue
        first, after = token.map
        numbers = [number for number in (origin[first], origin[after - 1]) if number] or [1]
        token.map = [numbers[0] - 1, numbers[-1]]


# ---- fences that were never closed

_OPENING = re.compile(r"(?P<lead>[ \t>]*(?:(?:[-*+]|\d{1,9}[.)])[ \t]+)*)(?P<mark>`{3,}|~{3,})[ \t]*(?P<info>[^`]*)$")
_HEADING = re.compile(r"[ \t>]*#{1,6}[ \t]")
_CONTACT = re.compile("|".join(rf"\b{phrase}\b" for phrases in CONTACTS.values() for phrase in phrases), re.IGNORECASE)


def _swallows(fence: Fence) -> bool:
    """Whether another block opens inside it, so that its own closing fence is missing."""
    if not fence.kind and fence.info:
        return False
    return any(fence.mark in row.text and _opens_another(row.text, fence.mark, fence.kind) for row in fence.rows)


def _opens_another(text: str, mark: str, kind: str) -> bool:
    """Whether a line inside a slip opens the next block: any with words behind its fence, but inside a `private`
    slip or a bare fence, which may hold Markdown, only a whole slip."""
    found = _OPENING.match(text)
    if not found or not found["mark"].startswith(mark):
        return False
    info = found["info"].strip()
    if kind and kind != "private":
        return bool(info)
    return bool(kind_of(info)) and (" " in info or kind_of(info) == "private")


class _Repair:
    """Copies the lines of a note and puts the missing closing fences in, in one pass.

    lines   the repaired lines; `origin` the number each had in the note, 0 for a fence put in
    cut     first lines of fences that were closed by us
    """

    def __init__(self, source: Sequence[str], broken: set[int]) -> None:
        self.source = source
        self.broken = broken
        self.lines: list[str] = []
        self.origin: list[int] = []
        self.cut: set[int] = set()

    def run(self) -> None:
        at = 0
        while at < len(self.source):
            opening = _OPENING.match(self.source[at])
            at = self._block(at, opening) if opening else self._copy(at, self.source[at])

    def _copy(self, at: int, text: str) -> int:
        self.lines.append(text)
        self.origin.append(at + 1)
        return at + 1

    def _block(self, at: int, opening: re.Match[str]) -> int:
        """Copy a fenced block from line `at`; the index after it."""
        kind = kind_of(opening["info"].strip())
        if not kind and at + 1 not in self.broken:
            return self._plain_block(at, opening["mark"])
        end, closed = self._end_of_slip(at, opening["mark"], kind)
        lead = self._inner_lead(opening["lead"])
        self._copy(at, self.source[at])
        for index in range(at + 1, end):
            self._copy(index, _inside(self.source[index], lead))
        if closed:
            return self._copy(end, lead + opening["mark"])
        self.cut.add(at + 1)
        self.lines.append(lead + opening["mark"])
        self.origin.append(0)
        return end

    def _plain_block(self, at: int, mark: str) -> int:
        at = self._copy(at, self.source[at])
        while at < len(self.source):
            done = _is_closing(self.source[at], mark)
            at = self._copy(at, self.source[at])
            if done:
                break
        return at

    def _end_of_slip(self, at: int, mark: str, kind: str) -> tuple[int, bool]:
        """The index where a slip ends and whether its own closing fence stands there."""
        plain_end = None
        for index in range(at + 1, len(self.source)):
            text = self.source[index]
            if mark in text and _is_closing(text, mark):
                return index, True
            opening = _OPENING.match(text)
            if opening and _opens_another(text, mark, kind):
                return plain_end or index, False
            if plain_end is None and kind not in ("", "private") and (opening or self._is_prose(index)):
                plain_end = index
        return plain_end or len(self.source), False

    def _is_prose(self, index: int) -> bool:
        """A heading or a line of the story: it follows a blank line and is neither key nor statement."""
        text = self.source[index]
        if self.source[index - 1].strip(" \t>") or not text.strip(" \t>"):
            return False
        if _HEADING.match(text):
            return True
        plain = mend(text)
        colon = colon_of(plain)
        if colon < 0:
            return not _CONTACT.search(plain)
        key = fold_key(plain[:colon].strip(" \t>-"))
        return key not in KINDS_WITH and not any(letter.isdigit() for letter in plain[colon:])

    @staticmethod
    def _inner_lead(lead: str) -> str:
        """What the lines inside begin with where the fence stands in a list or a quote."""
        return re.sub(r"[^\s>]", " ", lead)


def _inside(text: str, lead: str) -> str:
    """A line of a slip with the lead of its container, where it lacks it."""
    if not text.strip() or not lead:
        return text
    if ">" in lead:
        return text if text.lstrip().startswith(">") else lead + text
    width = len(text) - len(text.lstrip())
    return text if width >= len(lead) else lead + text.lstrip()


def _is_closing(text: str, mark: str) -> bool:
    bare = text.strip(" \t>")
    return len(bare) >= len(mark) and set(bare) == {mark[0]}


# ---- blocks that look like slips


def near_kind(info: str) -> str | None:
    """For a block that is no slip: the kind it was meant to be ("" if none is near), or None for ordinary code."""
    words = info.split()
    if not words:
        return None
    first = words[0].rstrip(":").casefold()
    if first in LANGUAGES or not first.isalpha():
        return None
    near = next((kind for kind in BY_NAME if _near_word(first, kind)), "")
    if near:
        return near
    attributes = any(mark in word for word in words[1:] for mark in "={}$<>|\\") or words[1:2] and words[1][0] == "-"
    return "" if len(words) > 1 and not attributes else None


def _near_word(word: str, kind: str) -> bool:
    """Within one letter of a short kind, two of a long one."""
    return distance(word, kind) <= (2 if len(kind) > 6 else 1)
