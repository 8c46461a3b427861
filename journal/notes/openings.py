"""The line that opens a fenced block: the kind of slip it says or was meant to say, or ordinary code."""

from __future__ import annotations

import re

from journal.ground.names import distance
from journal.notes.kinds import BY_NAME, LANGUAGES

OPENING = re.compile(
    r"(?P<lead>[ \t>]*(?:(?:[-*+]|\d{1,9}[.)])[ \t]+)*)(?P<mark>`{3,}|~{3,})[ \t]*(?P<info>[^`]*)$"
)


def kind_of(info: str) -> str:
    """The kind of slip an info string opens, or ""."""
    first = info.split(None, 1)[0] if info else ""
    word = first.rstrip(":").casefold()
    return word if word in BY_NAME else ""


def opens_another(text: str, mark: str, kind: str) -> bool:
    """Whether a line inside a block opens the next one.

    In a slip, any fence with words behind it does; in a `private` slip or a bare fence, which may hold
    Markdown, only one that opens a slip.
    """
    found = OPENING.match(text)
    if not found or not found["mark"].startswith(mark):
        return False
    info = found["info"].strip()
    if kind and kind != "private":
        return bool(info)
    return bool(kind_of(info)) and (" " in info or kind_of(info) == "private")


def is_closing(text: str, mark: str) -> bool:
    bare = text.strip(" \t>")
    return len(bare) >= len(mark) and set(bare) == {mark[0]}


def near_kind(info: str) -> str | None:
    """For a block that is no slip: the kind it was meant to be, "" if none is near, None for plain code."""
    words = info.split()
    if not words:
        return None
    first = words[0].rstrip(":").casefold()
    if first.strip("{}[]()<>!*_.\"'") == "private":
        return "private"
    if first in LANGUAGES or not first.isalpha():
        return None
    near = next((kind for kind in BY_NAME if _near_word(first, kind)), "")
    if near:
        return near
    like_code = any(mark in word for word in words[1:] for mark in "={}$<>|\\`~") or words[-1].startswith("-")
    return "" if len(words) > 1 and not like_code else None


def _near_word(word: str, kind: str) -> bool:
    """Within one letter of a short kind, two of a long one."""
    return distance(word, kind) <= (2 if len(kind) > 6 else 1)
