"""Finding the slips of a note: markdown-it tells the fences at any depth, the table of kinds which are slips.

A fence that was never closed swallows what follows. Such a note is read a second time with the missing fences
put where the slip plainly ends, so that the rest of the day's story and the next slips are not lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from journal.ground.records import record
from journal.ground.source import Source
from journal.notes.lines import Row
from journal.notes.openings import is_closing, kind_of, opens_another
from journal.notes.repair import Repair

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token


@record
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


@record
class Reading:
    """The Markdown tokens of a note, its fences, and the first lines of those that were not closed."""

    tokens: tuple[Token, ...]
    fences: tuple[Fence, ...]
    unclosed: frozenset[int]


@lru_cache(maxsize=2)
def markdown(html: bool = False) -> MarkdownIt:
    """The Markdown reader: CommonMark and tables; raw HTML only where a test of CommonMark asks for it."""
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": html}).enable("table")


def read_fences(source: Source, html: bool = False) -> Reading:
    """The tokens of a note with line numbers of `source`, and its fences."""
    lines = source.lines
    tokens = markdown(html).parse("\n".join(lines))
    fences = _fences(tokens, lines, range(1, len(lines) + 1))
    broken = {fence.start for fence in fences if (fence.kind and not fence.closed) or _swallows(fence)}
    if not broken:
        return Reading(tuple(tokens), tuple(fences), frozenset())
    repair = Repair(lines, broken)
    repair.run()
    tokens = markdown(html).parse("\n".join(repair.lines))
    fences = _fences(tokens, lines, repair.origin)
    _renumber(tokens, repair.origin)
    broken |= repair.cut | {fence.start for fence in fences if fence.kind and not fence.closed}
    return Reading(tuple(tokens), tuple(fences), frozenset(broken))


def _fences(tokens: Sequence[Token], lines: Sequence[str], origin: Sequence[int]) -> list[Fence]:
    """The fences; `origin` gives the number of each line that the tokens count, 0 for one that was put in."""
    return [
        _fence(token, index, lines, origin[token.map[0] : token.map[1]])
        for index, token in enumerate(tokens)
        if token.type == "fence" and token.map is not None
    ]


def _fence(token: Token, index: int, lines: Sequence[str], numbers: Sequence[int]) -> Fence:
    """One fence; `numbers` are those of its lines, the opening fence first."""
    content = token.content.removesuffix("\n").split("\n") if token.content else []
    closed = len(numbers) == len(content) + 2 and _closes(lines, numbers[-1], token.markup)
    start, opening, info = numbers[0], lines[numbers[0] - 1], token.info.strip()
    mark_at = opening.find(token.markup)
    info_at = max(opening.find(info, mark_at + len(token.markup)), 0) if info else len(opening)
    pairs = zip(numbers[1:], content, strict=False)
    rows = tuple(_row(number, lines[number - 1], text) for number, text in pairs if number)
    filled = max([start, *(row.number for row in rows if row.text.strip())])
    end = numbers[-1] if closed and numbers[-1] else filled
    return Fence(info, info_at, token.markup, rows, start, end, closed, index)


def _row(number: int, raw: str, text: str) -> Row:
    """One line of a fence; where its indent was made of tabs the text is taken from the file's own line."""
    if raw.endswith(text):
        return Row(number, len(raw) - len(text), text)
    bare = text.lstrip()
    return Row(number, max(raw.rfind(bare), 0), bare)


def _closes(lines: Sequence[str], number: int, mark: str) -> bool:
    return number == 0 or is_closing(lines[number - 1], mark)


def _renumber(tokens: Sequence[Token], origin: Sequence[int]) -> None:
    """Let `map` count the lines of the note as written."""
    for token in tokens:
        if token.map is not None:
            first, last = origin[token.map[0]], origin[token.map[1] - 1]
            token.map = [(first or 1) - 1, max(last, first, 1)]


def _swallows(fence: Fence) -> bool:
    """Whether another block opens inside it, so that its own closing fence is missing."""
    if not fence.kind and fence.info:
        return False
    near = (row.text for row in fence.rows if fence.mark in row.text)
    return any(opens_another(text, fence.mark, fence.kind) for text in near)
