"""A line that is meant for a key and does not begin with it: `held by 4 bolts`, `private - yes`, `1. stored: tin 4`.

It is told rather than read. What a key would have kept back is kept back all the same.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final

from journal.ground.finding import Finding
from journal.ground.records import record
from journal.notes.kinds import KEYS_OF, KINDS_WITH, NO
from journal.notes.lines import SECRET, Line, fold_key
from journal.notes.naming import POSITION_WORDS
from journal.notes.words import ARTICLES, FILLERS, HEDGES

# Other words for these. Such as begin many a tale (`paid`, `kept in`) need a sign or a figure behind them.
_HIDE: Final = ("keep private", "keep this private", "keep it private", "not public", "not for public")
_OTHER_WORDS: Final = {
    "kept in": "stored", "kept at": "stored", "kept on": "stored", "kept under": "stored", "storage": "stored",
    "cost": "price", "costs": "price", "paid": "price",
    "supplier": "bought from", "seller": "bought from", "bought at": "bought from",
}  # fmt: skip

# What must follow the words of a key where no sign stands between them, for the line to be meant for it. Keys of
# several words that are not here need nothing; single words that are not here begin too many sentences.
_FOLLOWS: Final = {
    "private": "",
    "stored": "",
    "price": "",
    "moved": r"$|(?:yes|no)\b|\d",  # `moved the lamp to get at it` is a tale
    "off the machine": r"$|(?:yes|no)\b",
    "goes on": r"(?:.*\s)?(?:bench|machine)\b",
    "photos": r".*?[a-z]+[_-]?\d",
    "count": r"\d+\W*$",
    "coats": r"\d+\W*$",
}
# These are meant only where a few words without a verb follow, and no other line of the slip has the key.
_HOST_KEYS: Final = frozenset({"from", "on", "behind"})
_WORD_KEYS: Final = frozenset({"marks", "shims", "template", "route"})
_MOST_WORDS: Final = 5
_TALE: Final = HEDGES | FILLERS | frozenset(
    "it they them this that these those there here he she you has had have be been being came come comes went goes "
    "look fits fit shows show got".split()
)  # fmt: skip
_NO_NAME: Final = POSITION_WORDS | ARTICLES | frozenset(
    "memory new stock above below underneath beneath now then left right".split()
)

# Before a key: the number or the box of a list, marks of emphasis. Behind it: what stands for a colon.
_LEAD: Final = re.compile(r"[>(\s]*(?:\d{1,2}[.)]\s+)?(?:\[[ x]?\]\s*)?[*_~\"'(]*", re.IGNORECASE)
_SIGN: Final = re.compile(r"[*_~\"')]*\s*(?:[:=;]+|[-–—]+>?(?=\s|$))[*_~\"']*")
_FIGURE: Final = re.compile(r"\s*[£$€]?\s?\d")
_IN_FRONT: Final = re.compile(r"(?:(?:in|at|on|under)\s*[:=])?[\s,.:;=]*")  # `stored in: tin 4`
_NAMES: Final = {name: name for name in KINDS_WITH if name != "note"}
_KEYS: Final = {**dict.fromkeys(_HIDE, "private"), **_OTHER_WORDS, **_NAMES}
_SPELT: Final = {words.replace(" ", ""): words for words in _KEYS}
_WORDS: Final = re.compile(
    "|".join(r"[\s_-]*".join(words.split()) for words in sorted(_KEYS, key=len, reverse=True)), re.IGNORECASE
)
_UNTIL_THEN: Final = {
    "private": "; until then the slip stays out of the public edition",
    "moved": "; until then the part counts as moved",
}


@record
class Meant:
    """The key that a line is meant for, and what stands behind its words.

    sure  False for a few words behind one that begins many a sentence: `from beam`, `marks 2 dots`
    """

    key: str
    rest: str
    sure: bool


def key_meant(line: Line, keys: Collection[str], given: Collection[str]) -> Meant | None:
    """The key that a line without one is meant for; None for a sentence.

    keys   those of the slip's kind
    given  what the lines of the slip begin with, up to their colons
    """
    found = _WORDS.match(line.plain, _LEAD.match(line.plain).end())  # type: ignore[union-attr]  # it matches nothing too
    if not found or line.plain[found.end() : found.end() + 1].isalnum():
        return None
    words = _SPELT[re.sub(r"[\s_-]+", "", found.group().casefold())]
    key = _KEYS[words]
    if key not in keys and key not in SECRET:
        return None
    sign = _SIGN.match(line.plain, found.end())
    end = sign.end() if sign else found.end()
    rest = line.text[_IN_FRONT.match(line.plain, end).end() :]  # type: ignore[union-attr]
    if sign or _needs_no_sign(words, rest, key in keys):
        return Meant(key, rest, sure=True)
    short = key not in given and ((key in _HOST_KEYS and _is_name(rest)) or key in _WORD_KEYS)
    return Meant(key, rest, sure=False) if short and _is_short(rest) else None


def _needs_no_sign(words: str, rest: str, is_of_kind: bool) -> bool:
    """Whether words and what follows say enough; `cost 40` does so in an order only, elsewhere it may be hours."""
    if words in _OTHER_WORDS:
        return is_of_kind and _FIGURE.match(rest) is not None
    follows = _FOLLOWS.get(words, "" if " " in words else None)
    return follows is not None and re.match(follows, rest, re.IGNORECASE) is not None


def _is_short(rest: str) -> bool:
    words = _folded(rest)
    return 0 < len(words) <= _MOST_WORDS and not _TALE.intersection(words) and rest[-1] not in "?!"


def _is_name(rest: str) -> bool:
    """Whether words begin with more than where something is: no `from the front, bent`."""
    return not rest[:1].isdigit() and not _NO_NAME.issuperset(_folded(rest.partition(",")[0]))


def _folded(text: str) -> list[str]:
    return [word.casefold().strip(",.;()") for word in text.split()]


def not_begun(line: Line, meant: Meant, keys: Collection[str]) -> Finding:
    """What to tell of a line that is meant for a key."""
    shown = line.text if len(line.text) <= 60 else line.text[:57] + "..."
    value, until_then = meant.rest or "...", ""
    if _is_yes(meant.key) and fold_key(meant.rest) not in NO:
        value, until_then = "yes", _UNTIL_THEN.get(meant.key, "")
    elsewhere = "" if meant.key in keys else f" in a slip of the kind {' or '.join(KINDS_WITH[meant.key])}"
    public = ", which is public," if meant.key in SECRET else ""
    message = f'"{shown}" looks like the key "{meant.key}" and does not begin with `{meant.key}:`'
    write = f"write `{meant.key}: {value}`{elsewhere}"
    help = f"{write}, or begin the line with `note:`{public} if it is none{until_then}"
    return Finding("not-understood", message, line.span(), help=help)


def _is_yes(key: str) -> bool:
    return any(keys[key].shape == "yes" for keys in KEYS_OF.values() if key in keys)
