"""The lines of a slip: what phones type is mended, indented lines join the one above, spans stay exact.

A `Row` is one line as it stands in the file, a `Line` what is read: `key: value`, a statement or a sentence.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterable

from journal.ground.records import record
from journal.ground.source import Span

# Letter for letter, so that an offset in the mended text is the offset in the text as written.
_MENDED = str.maketrans(
    {
        **dict.fromkeys("‘’‚‛′ʹ`´", "'"),
        **dict.fromkeys("“”„‟″ʺ", '"'),
        **dict.fromkeys(("\u00a0", "\u202f", "\u205f", "\u3000", *map(chr, range(0x2000, 0x200B))), " "),
        **dict.fromkeys((chr(code) for code in (*range(0x20), *range(0x7F, 0xA0))), " "),
        **dict.fromkeys("\u2028\u2029\u200b\u200c\u200d\u2060\ufeff", " "),
        "−": "-", "‐": "-", "‑": "-", "：": ":", "；": ";", "，": ",",
    }
)
_BULLET = re.compile(r"[-*•–][ \t\u00a0]+")
# Keys that give something away, and do so in a slip of any kind.
SECRET = frozenset({"private", "stored", "price", "bought from", "template"})
_READING = re.compile(r"[^:]{2,80}:\s*[^:]*\d")


def mend(text: str) -> str:
    """`text` with curly quotes, primes, minus signs and odd spaces made plain; the same length."""
    return text.translate(_MENDED)


def fold_key(text: str) -> str:
    """The spelling under which keys and words are compared: `Held-By ` is `held by`."""
    return " ".join(mend(text).replace("_", " ").replace("-", " ").casefold().split())


def colon_of(plain: str) -> int:
    """Offset of the colon that ends a key or a left side, or -1; the one in `12:30` is none."""
    at = plain.find(":")
    while 0 < at < len(plain) - 1 and plain[at - 1].isdigit() and plain[at + 1].isdigit():
        at = plain.find(":", at + 1)
    return at


@record
class Row:
    """One line of a slip as it stands: its number (from 1), the offset (from 0) where `text` begins in it."""

    number: int
    offset: int
    text: str


@record
class Line:
    """A line with its continuations joined by a space.

    text    to the letter, without a leading "- "
    plain   the same text mended, letter for letter
    pieces  (offset in text, line number, offset in that line) of each row it is made of
    """

    file: str
    text: str
    plain: str
    pieces: tuple[tuple[int, int, int], ...]

    def span(self, start: int = 0, end: int | None = None) -> Span:
        """The span between two offsets; one that runs over a line's end stops there."""
        end = len(self.text) if end is None else end
        index = 0
        if len(self.pieces) > 1:
            index = max(bisect_right(self.pieces, start, key=lambda piece: piece[0]) - 1, 0)
        offset, number, column = self.pieces[index]
        if index + 1 < len(self.pieces):
            end = min(end, self.pieces[index + 1][0] - 1)
        return Span(self.file, number, column + start - offset + 1, column + max(end, start) - offset + 1)


class _Joiner:
    """Collects the rows of one line."""

    def __init__(self, row: Row) -> None:
        self.parts: list[str] = []
        self.pieces: list[tuple[int, int, int]] = []
        self.length = 0
        self.add(row)

    def add(self, row: Row) -> None:
        text = row.text.rstrip()
        offset = row.offset + len(text) - len(text.lstrip())
        text = text.lstrip()
        bullet = _BULLET.match(text)
        if bullet:
            offset, text = offset + bullet.end(), text[bullet.end() :]
        if self.parts:
            glue = "; " if bullet and not self.parts[-1].endswith(":") else " "
            self.parts.append(glue)
            self.length += len(glue)
        self.pieces.append((self.length, row.number, offset))
        self.parts.append(text)
        self.length += len(text)

    def line(self, file: str) -> Line:
        text = "".join(self.parts)
        return Line(file, text, mend(text), tuple(self.pieces))


def join_lines(file: str, rows: Iterable[Row], is_key: Callable[[str], bool]) -> list[Line]:
    """The lines of a slip, comments and blank lines gone.

    A line indented more than the slip as a whole continues the one above, but for two that slipped in by a space:
    `private: yes` and other keys of `SECRET`, and a reading under a reading (a line whose words before the colon are
    no key, `is_key`).
    """
    rows = list(rows)
    filled = [len(row.text) - len(row.text.lstrip()) for row in rows if row.text.strip()]
    margin = min(filled, default=0)
    done: list[Line] = []
    current: _Joiner | None = None
    comment = False
    for row in rows:
        text = row.text.strip()
        indented = len(row.text) - len(row.text.lstrip()) > margin
        if text.startswith("#") and indented:
            continue
        if indented and comment:
            continue
        comment = text.startswith("#")
        if indented and text and current and not _stands_alone(current, text, is_key):
            current.add(row)
            continue
        if current:
            done.append(current.line(file))
        current = None if comment or not text else _Joiner(row)
    if current:
        done.append(current.line(file))
    return done


def _stands_alone(above: _Joiner, text: str, is_key: Callable[[str], bool]) -> bool:
    begins, colon, _ = mend(text).partition(":")
    if colon and fold_key(_BULLET.sub("", begins, count=1)) in SECRET:
        return True
    if not _READING.match(mend(text)) or not _READING.match(mend(above.parts[0])):
        return False
    return not is_key(fold_key(above.parts[0].split(":", 1)[0]))
