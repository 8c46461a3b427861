"""The marks behind a value: `(a remark)`, `by METHOD`, `want VALUE`, `from memory`, `in doubt`."""

from __future__ import annotations

import re
from dataclasses import dataclass

from journal.measure.methods import find_method
from journal.measure.numerals import STARTS_NUMBER
from journal.notes.words import words_of

_DOUBT = (
    r"in doubt|doubtful|not (?:quite |very )?(?:sure|certain)|unsure|uncertain|(?:only )?an? guess|guess(?:ed|work)"
)
_DOUBTED = re.compile(rf"\b(?:{_DOUBT})\b", re.IGNORECASE)
_BRACKETS = re.compile(r"\([^()]*\)")
_MARKS = re.compile(
    rf",?\s*\b(?:(?P<memory>from memory)|(?P<doubt>{_DOUBT})|(?P<want>wanted|want)|(?P<by>by)(?=\s+[^\W\d_]))"
    r"\b(?:\s*:)?",
    re.IGNORECASE,
)
_WANT_ENDS = re.compile(r",(?!\d)|;")
_METHOD_WORDS = 4


@dataclass(slots=True)
class Marks:
    """The marks taken off a text, and the text with blanks where they stood."""

    text: str
    method: str | None = None
    want: tuple[int, int] | None = None
    from_memory: bool = False
    in_doubt: bool = False
    remark: str = ""

    def blank(self, start: int, end: int) -> None:
        self.text = self.text[:start] + " " * (end - start) + self.text[end:]


def without_brackets(plain: str) -> tuple[str, str]:
    """The text with blanks for what stands in round brackets, and that as a remark."""
    if "(" not in plain:
        return plain, ""
    inside = [found.group()[1:-1].strip() for found in _BRACKETS.finditer(plain)]
    return _BRACKETS.sub(lambda found: " " * len(found.group()), plain), "; ".join(inside)


def take_marks(plain: str, start: int) -> Marks:
    """Brackets, and behind `start` `by METHOD`, `want VALUE`, `from memory` and `in doubt`, or what says the same."""
    text, remark = without_brackets(plain)
    marks = Marks(text, remark=remark, in_doubt=_DOUBTED.search(remark) is not None)
    hits = list(_MARKS.finditer(marks.text, start))
    for hit, following in zip(hits, [*hits[1:], None], strict=False):
        limit = following.start() if following else len(plain)
        if hit["by"]:
            _take_method(marks, hit, limit)
        elif hit["want"]:
            _take_want(marks, hit, limit)
        else:
            marks.from_memory |= bool(hit["memory"])
            marks.in_doubt |= bool(hit["doubt"])
            marks.blank(hit.start(), hit.end())
    return marks


def _take_method(marks: Marks, hit: re.Match[str], limit: int) -> None:
    words = words_of(marks.text, hit.end(), limit)[:_METHOD_WORDS]
    for size in range(len(words), 0, -1):
        method = find_method(marks.text[words[0].start : words[size - 1].end].strip(" ,;."))
        if method:
            marks.method = marks.method or method
            marks.blank(hit.start(), words[size - 1].end)
            return


def _take_want(marks: Marks, hit: re.Match[str], limit: int) -> None:
    stop = _WANT_ENDS.search(marks.text, hit.end(), limit)
    end = stop.start() if stop else limit
    if STARTS_NUMBER.search(marks.text, hit.end(), end):
        marks.want = marks.want or (hit.end(), end)
        marks.blank(hit.start(), end)
