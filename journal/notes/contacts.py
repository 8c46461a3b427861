"""Contacts, which need no colon: `upright square to web by square`; and what is nearly one."""

from __future__ import annotations

import re

from journal.ground.finding import Finding
from journal.notes.left import make_split
from journal.notes.lines import Line
from journal.notes.marks import take_marks
from journal.notes.records import Split, Statement
from journal.notes.words import (
    ANOTHER,
    ARTICLES,
    BLEMISHES,
    FILLERS,
    HEDGES,
    LONGEST_NAME,
    NO_REFERENCE,
    NO_SUBJECT,
    PRONOUNS,
    Found,
    Word,
    feature_words,
    phrases_of,
    words_of,
)

LONGEST_CONTACT = 160
_NEGATED = re.compile(r"\w+n't|(?:is|are|was|were|do|does|did|ai|wo|has|have|had|could|would|should)nt")
_NO_NAME = re.compile(r"\d ?(?:mm|cm|in|inch|thou|deg|°|\"|')(?!\w)|\bhalf[ -]?way\b", re.IGNORECASE)

_YES = re.compile(r"\s*(?:yes|ok|true)?\s*[.!]?\s*$", re.IGNORECASE)


def read_contact(line: Line, sides: tuple[str, str]) -> Statement | None:
    """`[subject] CONTACT reference [by method]`; None where the line is a tale, a wish or something else."""
    if len(line.text) > LONGEST_CONTACT or "?" in line.plain:
        return None
    phrases = phrases_of(sides)
    if not any(phrase.contact for phrase in phrases.find(words_of(line.plain, 0, len(line.plain)))):
        return None
    marks = take_marks(line.plain, 0)
    words = words_of(marks.text, 0, _end_of_contact(marks.text))
    found = [hit for hit in phrases.find(words) if hit.contact and hit.at + hit.size < len(words)]
    if not found or any(_hedges(word.fold) for word in words):
        return None
    ordered = sorted(found, key=lambda phrase: (-phrase.size, -phrase.at))
    readings = [_contact_reading(line, words, phrase, sides) for phrase in ordered]
    splits = tuple(split for split, _ in filter(None, readings))
    if not splits:
        return None
    rest = next(filter(None, readings))[1]
    remark = "; ".join(filter(None, (rest, marks.remark)))
    return Statement(
        text=line.text,
        splits=splits,
        value=None,
        written="",
        span=line.span(),
        value_span=line.span(len(line.text)),
        method=marks.method,
        from_memory=marks.from_memory,
        in_doubt=marks.in_doubt,
        remark=remark,
    )


def _hedges(fold: str) -> bool:
    """Whether a word makes a tale or a wish of a line, or says that it is not so: `slightly`, `isnt`, `nowhere`."""
    adverb = fold.endswith("ly") and fold not in FILLERS and not fold.endswith(("assembly", "supply", "ply", "belly"))
    return fold in HEDGES or adverb or _NEGATED.fullmatch(fold) is not None


def _is_name(line: Line, words: list[Word], others: frozenset[str]) -> bool:
    """Whether words can name a feature: none of `others` and no length in them, articles only first or after `of`, and
    no `of` at the end (`just clear of touching`)."""
    folds = [word.fold for word in words]
    if folds[-1:] == ["of"]:
        return False
    inside = any(fold in ARTICLES and at and folds[at - 1] != "of" for at, fold in enumerate(folds))
    said = line.plain[words[0].start : words[-1].end] if words else ""
    return not (inside or others.intersection(folds) or _NO_NAME.search(said))


def _end_of_contact(text: str) -> int:
    """Where a contact ends: before `: yes`, else at the end of the text."""
    colon = text.rfind(":")
    return colon if colon > 0 and _YES.match(text, colon + 1) else len(text)


def _contact_reading(line: Line, words: list[Word], phrase: Found, sides: tuple[str, str]) -> tuple[Split, str] | None:
    """One reading of a contact and the words after it that are a remark."""
    subject, reference = words[: phrase.at], words[phrase.at + phrase.size :]
    while subject and subject[-1].fold in FILLERS:
        subject = subject[:-1]
    if subject and subject[0].fold == "it" and len(subject) == 1:
        subject = []
    if any(":" in line.plain[word.start : word.end] for word in (*subject[:-1], *reference)):
        return None
    reference, rest = up_to_comma(line, reference, sides)
    if len(subject) > LONGEST_NAME or not 0 < len(reference) <= LONGEST_NAME:
        return None
    if not (_is_name(line, subject, NO_SUBJECT | PRONOUNS) and _is_name(line, reference, NO_REFERENCE)):
        return None
    if subject and (subject[-1].fold in BLEMISHES or ANOTHER.search(line.plain, subject[0].start, subject[-1].end)):
        return None
    remark = line.plain[rest[0].start : rest[-1].end].strip(" ,;.") if rest else ""
    return make_split(line, subject, phrase.meaning, reference), remark


def up_to_comma(line: Line, words: list[Word], sides: tuple[str, str]) -> tuple[list[Word], list[Word]]:
    """The words up to a comma that no side follows, and the rest: in `web of sill, left` there is none."""
    lower = {side.casefold() for side in sides}
    for index, word in enumerate(words):
        if line.plain[word.end - 1] not in ",;":
            continue
        if index + 1 < len(words) and words[index + 1].fold in lower:
            continue
        return words[: index + 1], words[index + 1 :]
    return words, []


def contact_with_value(line: Line, words: list[Word], sides: tuple[str, str]) -> Finding | None:
    found = [phrase for phrase in phrases_of(sides).find(words) if phrase.contact]
    if not found:
        return None
    phrase = found[-1]
    left = feature_words(line.plain, words[: phrase.at])
    right = feature_words(line.plain, words[phrase.at + phrase.size :])
    angle = phrase.meaning in ("square to", "parallel to")
    instead = f"{left} {'at angle to' if angle else 'to'} {right}".strip()
    return Finding(
        "not-understood",
        f'"{phrase.meaning}" takes no value',
        line.span(words[phrase.at].start, words[phrase.at + phrase.size - 1].end),
        help=f"write `{left} {phrase.meaning} {right}` alone, or the value as `{instead}: ...`",
    )
