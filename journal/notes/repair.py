"""Fences that were never closed: the missing ones are put where the slip plainly ends.

So that little is lost: a slip is read as far as its closing fence, the next block, or the first line after a
blank one that is plainly story. One pass over the lines, whatever they hold.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from journal.notes.kinds import KINDS_WITH
from journal.notes.lines import colon_of, fold_key, mend
from journal.notes.openings import OPENING, is_closing, kind_of, opens_another
from journal.notes.words import CONTACTS

_HEADING = re.compile(r"[ \t>]*#{1,6}[ \t]")
_CONTACT = re.compile(
    "|".join(rf"\b{phrase}\b" for phrases in CONTACTS.values() for phrase in phrases), re.IGNORECASE
)


class Repair:
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
            opening = OPENING.match(self.source[at])
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
            done = is_closing(self.source[at], mark)
            at = self._copy(at, self.source[at])
            if done:
                break
        return at

    def _end_of_slip(self, at: int, mark: str, kind: str) -> tuple[int, bool]:
        """The index where a slip ends and whether its own closing fence stands there."""
        plain_end = None
        for index in range(at + 1, len(self.source)):
            text = self.source[index]
            if mark in text and is_closing(text, mark):
                return index, True
            opening = OPENING.match(text)
            if opening and opens_another(text, mark, kind):
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
