"""The marks behind a value: `(a remark)`, `by METHOD`, `want VALUE`, `from memory`, `in doubt`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from journal.measure.methods import find_method
from journal.measure.numerals import STARTS_NUMBER
from journal.notes.words import HEDGES, words_of

# What says that a reading may be wrong, in the words of whoever wrote it. An honest remark is none: `checked twice`.
_UNSURE = (
    r"in doubt|(?<!no )(?<!without )doubt(?:ful|ed|s)?|dubious|unsure|uncertain|suspect|questionable|"
    r"(?:only )?an? guess|guess(?:ed|work)|"
    r"I (?:think|guess|reckon|suppose|believe|hope)|assum(?:ed|ing)|estimated?|maybe|perhaps|poss(?:ibly)?|presumably|"
    r"prob(?:ably|able)?|hopefully|supposedly|apparently|might be|may be|"
    r"(?:not|never|cannot|\w+n['’]t|isnt|doesnt|dont|cant) (?:(?:be|look|seem|quite|very|yet|really) )*"
    r"(?:sure|certain|right|correct|reliable|trust(?:ed)?|use|add up|agree|make sense|checked|confirmed|verified|read)"
)
_MISTAKEN = (
    r"(?:looks |seems )?wrong|in error|mistaken?|typo|mis-?(?:read|measured)|ignore|disregard|hard to (?:read|see)|"
    r"illegible|smudged|blurred|un(?:checked|confirmed|verified|reliable|readable)"
)
# `check this`, `to check` is still to be done; what was `checked twice` is done, and a `check strap` is a thing.
_TO_DO = (
    r"tb[acd]|(?:to )?(?:confirm|verify|re-?measure)|to be (?:checked|confirmed|verified|measured|read)|"
    r"(?<!\ba )(?:re-?)?check(?=\W*$|\s*[,;.!]| (?:this|that|it|again|later|against|before|when)\b)"
)
_DOUBT = "|".join((_UNSURE, _MISTAKEN, _TO_DO))
# Never read here, but said by a picture or by somebody; read on another thing, or on what was no longer as it sat.
_ELSEWHERE = re.compile(
    r"\b(?:(?:from|off|per)(?: the| an?| old)* (?:photo(?:graph)?s?|pictures?|manual|drawings?)|according to|"
    r"on the (?:other|new|old|left|right|wrong|spare) one|on the other side(?! of\b)|"
    r"slipped(?! (?:over|on|in|into|through|under)\b)|shifted|was (?:bent|twisted|moved)|"
    r"(?:before|after) (?:bending|straightening|moving))\b",
    re.IGNORECASE,
)
_DOUBTED = re.compile(rf"\b(?:{_DOUBT})\b|\?", re.IGNORECASE)
_DOUBTED_BEFORE = re.compile(rf"\b(?:{_UNSURE})\b|\?", re.IGNORECASE)
_BRACKETS = re.compile(r"\([^()]*\)")
_DIGITS = re.compile(r"\d+")
_BEGINS = r"(?:,|\s[-–])?\s*\b"
_HOW = r"(?P<by>by|using|w/)(?=\s+[^\W\d_])"
_MARKS = re.compile(
    rf"{_BEGINS}(?:(?:(?P<memory>from memory)|(?P<doubt>{_DOUBT})|(?P<want>wanted|want))\b|{_HOW})(?:\s*:)?"
    r"|(?P<asked>\?+)",
    re.IGNORECASE,
)
_BY = re.compile(rf"{_BEGINS}{_HOW}(?:\s*:)?", re.IGNORECASE)
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


@lru_cache(1 << 12)  # notes say the same of many parts
def _kinds(tail: str) -> frozenset[str | None]:
    """Which marks stand in the end of a line; they do not hang on its numbers."""
    elsewhere = {"elsewhere"} if _ELSEWHERE.search(tail) else set()
    return frozenset(hit.lastgroup for hit in _MARKS.finditer(tail)) | elsewhere


@lru_cache(1 << 12)
def _doubted_before(text: str) -> bool:
    return _DOUBTED_BEFORE.search(text) is not None


def take_marks(plain: str, start: int) -> Marks:
    """Brackets, and behind `start` `by METHOD`, `want VALUE`, `from memory` and `in doubt`, or what says the same.

    What is doubted before `start` is doubted too: `hole 1 to rear end, I think: 150 mm`.
    """
    text, remark = without_brackets(plain)
    in_doubt = bool(remark and _DOUBTED.search(remark)) or _doubted_before(text[:start])
    marks = Marks(text, remark=remark, in_doubt=in_doubt)
    said = _kinds(_DIGITS.sub("0", text[start:]))
    hits = list((_BY if said == {"by"} else _MARKS).finditer(text, start)) if said else []
    for hit, following in zip(hits, [*hits[1:], None], strict=False):
        limit = following.start() if following else len(plain)
        if hit["by"]:
            _take_method(marks, hit, limit)
        elif hit["want"]:
            _take_want(marks, hit, limit)
        else:
            marks.from_memory |= bool(hit["memory"])
            marks.in_doubt |= bool(hit["doubt"] or hit["asked"])
            if start or hit.group().startswith(",") or HEDGES.isdisjoint(hit.group().casefold().split()):
                marks.blank(hit.start(), hit.end())  # `I think the hole is ...` has to stay a sentence
    if (remark or "elsewhere" in said) and not marks.want:  # what is wanted is so from a book
        marks.in_doubt |= _ELSEWHERE.search(plain, start) is not None
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
