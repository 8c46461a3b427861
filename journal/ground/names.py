"""Names as people type them: made plain, made into keys and paths, and compared with one another."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache
from hashlib import sha256
from itertools import combinations, pairwise, product
from typing import Final

# What phones and word processors put for the keyboard's signs, one character for one.
PLAIN_SIGNS: Final[dict[int, str]] = str.maketrans(
    {
        **dict.fromkeys("‘’‛′ʹʼ`´", "'"),
        **dict.fromkeys("“”„‟″ʺ", '"'),
        **dict.fromkeys("‐‑‒–—―−﹣－", "-"),
        **dict.fromkeys("\t\n\r\v\f\x1c\x1d\x1e\x1f\x85\u00a0\u1680\u2028\u2029\u202f\u205f\u3000", " "),
        **dict.fromkeys(map(chr, range(0x2000, 0x200B)), " "),
    }
)
# Without them emoji and some scripts fall apart; all other signs that cannot be seen go.
_JOINERS: Final = "\u200c\u200d"
# Latin letters that Unicode does not take apart.
_LATIN: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ħ": "h", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d"}
)
_MARKS_END: Final = 0x0370
_LAST_WITH_ACCENTS: Final = 0x0400  # Latin and Greek; in later scripts a mark makes another letter

MOST_SLUG: Final = 60
_RESERVED: Final = frozenset(
    ["con", "prn", "aux", "nul"] + [f"{port}{number}" for port in ("com", "lpt") for number in range(10)]
)  # file names that Windows keeps for devices


def tidy(text: str) -> str:
    """`text` with the keyboard's quotes, dashes and spaces, without signs that cannot be seen, as NFC."""
    if text.isascii() and text.isprintable():
        return text.replace("`", "'")
    seen = "".join(letter for letter in text.translate(PLAIN_SIGNS) if _is_seen(letter))
    return unicodedata.normalize("NFC", seen)


def _is_seen(letter: str) -> bool:
    return letter in _JOINERS or unicodedata.category(letter) not in ("Cc", "Cf", "Cs")


@lru_cache(maxsize=1 << 16)
def fold(text: str) -> str:
    """The key of a name: capitals, accents and spacing do not count."""
    return " ".join(_without_accents(_without_accents(tidy(text))).split())


def _without_accents(text: str) -> str:
    if text.isascii():
        return text.casefold()
    apart = unicodedata.normalize("NFD", text.casefold())
    kept: list[str] = []
    base = ""
    for letter in apart:
        mark = 0x0300 <= ord(letter) < _MARKS_END
        base = base if mark else letter
        if not (mark and base and ord(base) < _LAST_WITH_ACCENTS):
            kept.append(letter)
    return unicodedata.normalize("NFC", "".join(kept).translate(_LATIN))


def slug(text: str) -> str:
    """A safe piece of a path for a name: a-z, 0-9 and hyphens, 1 to 60 characters.

    Letters that have no place there and names that are too long are stood for by a short hash of the whole.
    """
    key = fold(text)
    latin = unicodedata.normalize("NFKD", key).replace("⁄", "-")
    plain = re.sub(r"[^a-z0-9]+", "-", latin).strip("-")
    lost = not plain or plain in _RESERVED or len(plain) > MOST_SLUG or _loses_letters(latin)
    return _with_hash(plain, key) if lost else plain


def _loses_letters(latin: str) -> bool:
    return any(letter.isalnum() and not letter.isascii() for letter in latin)


def _with_hash(plain: str, key: str) -> str:
    mark = sha256(key.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{plain[: MOST_SLUG - 9].strip('-')}-{mark}".lstrip("-")


def unique_slugs(names: Iterable[str]) -> dict[str, str]:
    """A slug for each name, no two the same; the first of those that would share one has it, the rest get a hash."""
    wanted = {name: slug(name) for name in names}
    first: dict[str, str] = {}
    for name, short in wanted.items():
        first.setdefault(short, name)
    used = set(first)
    found: dict[str, str] = {}
    for name, short in wanted.items():
        found[name] = short if first[short] == name else _unused(short, name, used)
        used.add(found[name])
    return found


def _unused(short: str, name: str, used: set[str]) -> str:
    number = 0
    while (tried := _with_hash(short, f"{name}{number or ''}")) in used:
        number += 1
    return tried


def distance(a: str, b: str, most: int = 2) -> int:
    """Letters to change, add, drop or swap with their neighbour to make `a` into `b`; `most + 1` if more.

    Damerau-Levenshtein in its restricted form (each stretch is edited once), in a band of `most` beside the
    diagonal, so the time grows with the length only.
    """
    if abs(len(a) - len(b)) > most:
        return most + 1
    far = most + 1
    last: list[int] = []
    row = [min(j, far) for j in range(len(b) + 1)]
    for i, letter in enumerate(a, 1):
        before, row = row, [min(i, far)] + [far] * len(b)
        for j in range(max(1, i - most), min(len(b), i + most) + 1):
            row[j] = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != b[j - 1]), far)
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == b[j - 1]:
                row[j] = min(row[j], last[j - 2] + 1)
        if min(row) >= far:
            return far
        last = before
    return row[-1]


# Words that tell two parts apart though they look alike.
OPPOSITES: Final = (
    "front rear back", "fore aft", "forward backward rearward", "upper lower", "top bottom", "inner outer",
    "inside outside", "inboard outboard", "in out", "inlet outlet", "input output", "intake exhaust", "left right",
    "port starboard", "nearside offside", "near far off", "lh rh", "ns os", "male female", "up down", "high low",
    "long short", "big small", "large small", "hot cold", "on off", "open closed", "first last", "wide narrow",
    "thick thin", "live earth neutral", "positive negative", "feed return", "new old", "driver passenger",
    "driving driven", "leading trailing", "primary secondary", "master slave", "fixed moving", "middle end",
    "before after", "above below", "over under", "north south", "east west",
)  # fmt: skip
_OPPOSITE: Final = frozenset(pair for row in OPPOSITES for pair in product(row.split(), repeat=2) if pair[0] != pair[1])
_NUMBER_WORDS: Final = frozenset(
    "one two three four five six seven eight nine ten eleven twelve first second third fourth fifth sixth seventh "
    "eighth ninth tenth single double triple".split()
)
_LABEL: Final = re.compile(r".*[0-9].*|.|[ivx]{2,4}")
_WORDS: Final = re.compile(r"[^\W_]+(?:'[^\W_]+)*")


def words_of(name: str) -> tuple[str, ...]:
    """The words of a name, folded, without the punctuation between them."""
    return tuple(_WORDS.findall(fold(name)))


def near(a: str, b: str, sides: tuple[str, ...] = ("left", "right")) -> bool:
    """Whether two names look like one, mistyped; a name is not near itself.

    Near are: the same words in another order or with other punctuation, the same letters with other spaces, and up
    to two letters apart in all, each word by what `_is_slip` allows. Never near are names that differ in a number, a
    letter label, a side or a pair of opposites.
    """
    if fold(a) == fold(b):
        return False
    return _apart(words_of(a), words_of(b), frozenset(map(fold, sides))) is not None


def _apart(a: tuple[str, ...], b: tuple[str, ...], sides: frozenset[str]) -> int | None:
    """How far two names' words are apart, 0 to 2; None where they are not near."""
    if tuple(filter(_is_label, a)) != tuple(filter(_is_label, b)):
        return None
    if sorted(a) == sorted(b):
        return 0
    if "".join(a) == "".join(b):
        return 1
    if len(a) != len(b):
        return None
    pairs = [(one, other) for one, other in zip(a, b, strict=True) if one != other]
    if len(pairs) > 2 or not all(_may_be_one(one, other, sides) for one, other in pairs):
        return None
    total = sum(distance(one, other) for one, other in pairs)
    return total if total <= 2 else None


def _is_label(word: str) -> bool:
    return word in _NUMBER_WORDS or bool(_LABEL.fullmatch(word))


@lru_cache(maxsize=1 << 14)  # parts have the same edges and holes: their words are compared once
def _may_be_one(one: str, other: str, sides: frozenset[str]) -> bool:
    if (one, other) in _OPPOSITE or (one in sides and other in sides) or _is_label(one) or _is_label(other):
        return False
    return _is_slip(one, other)


def _is_slip(one: str, other: str) -> bool:
    """Whether one word is the other, mistyped.

    A long one may be two letters off. Of a short one, behind its first letter, a letter too many or too few, two
    swapped, and the key beside the right one; any other change makes of one word of the shop another: brace, brake.
    """
    far, letters = distance(one, other), min(len(one), len(other))
    if letters >= _LONG:
        return far <= 2
    if letters < 3 or far != 1 or one[0] != other[0]:
        return False
    changed = [pair for pair in zip(one, other, strict=False) if pair[0] != pair[1]]
    return len(one) != len(other) or len(changed) == 2 or changed[0] in _BESIDE


_LONG: Final = 7
_KEYBOARD: Final = ("qwertyuiop", "asdfghjkl", "zxcvbnm")


def _beside() -> Iterator[tuple[str, str]]:
    """Letters whose keys touch: in a row, and across to the next, which stands half a key to the right."""
    rows = [(row, row[1:]) for row in _KEYBOARD]
    for upper, lower in pairwise(_KEYBOARD):
        rows += [(upper, lower), (upper[1:], lower)]
    for row, other in rows:
        for one, two in zip(row, other, strict=False):
            yield from ((one, two), (two, one))


_BESIDE: Final = frozenset(_beside())


class NearIndex:
    """Finds names near a given one among many without comparing all pairs.

    Each word is filed under itself with a letter or two left out; words that share such a rest are looked at.
    A name is then looked up with one or two of its words put right.
    """

    def __init__(self, names: Iterable[str] = (), sides: tuple[str, ...] = ("left", "right")) -> None:
        self._sides = frozenset(map(fold, sides))
        self._rests: dict[str, list[str]] = {}
        self._words: set[str] = set()
        self._names: dict[tuple[str, ...], dict[str, None]] = {}
        self._same_words: dict[tuple[str, ...], set[tuple[str, ...]]] = {}
        self._same_letters: dict[str, set[tuple[str, ...]]] = {}
        for name in names:
            self.add(name)

    def add(self, name: str) -> None:
        """File a name; twice does no harm."""
        words = words_of(name)
        self._names.setdefault(words, {})[name] = None
        self._same_words.setdefault(tuple(sorted(words)), set()).add(words)
        self._same_letters.setdefault("".join(words), set()).add(words)
        for word in set(words) - self._words:
            self._words.add(word)
            if not _is_label(word):
                for rest in _rests(word):
                    self._rests.setdefault(rest, []).append(word)

    def near(self, name: str) -> list[str]:
        """The names filed that are near `name`, the nearest first, as they were added."""
        words, key = words_of(name), fold(name)
        ranked = [
            (far, fold(known), known)
            for candidate in self._candidates(words)
            if (far := _apart(words, candidate, self._sides)) is not None
            for known in self._names[candidate]
            if fold(known) != key
        ]
        return [known for _, _, known in sorted(ranked)]

    def _candidates(self, words: tuple[str, ...]) -> set[tuple[str, ...]]:
        found = self._same_words.get(tuple(sorted(words)), set()) | self._same_letters.get("".join(words), set())
        found |= {changed for changed in self._with_words_changed(words) if changed in self._names}
        return found | ({words} & self._names.keys())

    def _with_words_changed(self, words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        close = {at: others for at, word in enumerate(words) if (others := self._close_words(word))}
        for at, others in close.items():
            for other in others:
                yield (*words[:at], other, *words[at + 1 :])
        for (at, others), (later, more) in combinations(close.items(), 2):
            ones = [word for word in others if distance(word, words[at]) == 1]
            for other, another in product(ones, [word for word in more if distance(word, words[later]) == 1]):
                yield (*words[:at], other, *words[at + 1 : later], another, *words[later + 1 :])

    def _close_words(self, word: str) -> list[str]:
        if _is_label(word):
            return []
        seen = {other for rest in _rests(word) for other in self._rests.get(rest, ())} - {word}
        return sorted(other for other in seen if _may_be_one(word, other, self._sides))


@lru_cache(maxsize=4096)
def _rests(word: str) -> frozenset[str]:
    """The word, and what is left of it with one letter out, or two of a long word.

    Of a very long word only the beginning counts, so that the number of rests stays small; `_apart` has the last word.
    """
    start = word[:_MOST_INDEXED]
    out = range(0, 2 if len(word) < _LONG else 3)
    places = range(len(start))
    return frozenset(
        "".join(letter for at, letter in enumerate(start) if at not in gone)
        for many in out
        for gone in combinations(places, many)
    )


_MOST_INDEXED: Final = 14
