"""Names of parts as people write them: words, then a comma and a side where there are two.

    guide bracket front, left           wheel, front left (is `wheel front, left`)           hinge upper, both
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from journal.ground.names import distance
from journal.ground.records import record
from journal.notes.lines import Line
from journal.notes.records import Name

# Words that say where among its like a part sits; before a side word they belong to the name.
POSITION_WORDS = frozenset((
    "front", "rear", "fore", "aft", "top", "bottom", "upper", "lower", "inner", "outer", "inside",
    "outside", "middle", "centre", "center", "mid", "forward", "back", "inboard", "outboard", "first",
    "second", "third",
))


# Initials mean the build's sides where these are left and right: common practice, no published source. Which side is
# near depends on the country, and who drives on the build, so these only say that a side is meant.
_INITIALS = {"lh": "left", "lhs": "left", "rh": "right", "rhs": "right"}
_SOME_SIDE = frozenset((
    "ns", "os", "nearside", "offside", "near side", "off side", "passenger side", "driver side", "drivers side",
    "driver's side",
))
_SEVERAL = frozenset(("both", "both sides", "pair", "pair of", "x2", "2x"))
_NUMBERS = frozenset(("2", "two"))  # before a plural; behind a name they are part of it


@record
class SideFault:
    """A word after the last comma that is nearly a side: where it stands, what it was read as."""

    written: str
    side: str
    start: int
    end: int


@record
class _Sides:
    """How the words of one build say a side."""

    pair: tuple[str, str]

    def exact(self, text: str) -> tuple[str, ...]:
        words = text.casefold().split()
        if words and words[-1] in ("side", "sides", "hand"):
            words.pop()
        text = " ".join(words)
        one, two = (side.casefold() for side in self.pair)
        if text == "both" or _one_joint(text) in map(_one_joint, (f"{one} and {two}", f"{two} and {one}")):
            return self.pair
        return tuple(side for side in self.pair if side.casefold() == text)

    def ending(self, text: str) -> tuple[str, tuple[str, ...]]:
        """The words before a side at the end of `text`, and that side; ("", ()) where none ends it."""
        for side in self.pair:
            head = text[: len(text) - len(side)]
            if text.casefold().endswith(" " + side.casefold()) and head.strip():
                return head.strip(), (side,)
        return "", ()

    def leading(self, text: str) -> tuple[str, tuple[str, ...]]:
        """The position words behind a side (`left front`), and that side; ("", ()) where it is not so."""
        first, _, rest = text.partition(" ")
        said = tuple(side for side in self.pair if side.casefold() == first.casefold())
        return (rest.strip(), said) if said and rest.strip() and _is_position(rest) else ("", ())

    def nearly(self, text: str) -> str:
        """The side that `text` is a slip or a short form of, or ""."""
        word = text.casefold().strip(". ")
        return next((side for side in self.pair if _nearly(word, side.casefold())), "")


def _one_joint(text: str) -> str:
    """`left & right`, `left + right` and `left/right` as one spelling."""
    return re.sub(r"\s*(?:[&+/]|\band\b)\s*", "&", text)


def _nearly(word: str, side: str) -> bool:
    """A slip of the finger (`lfet`), a short form (`strbd`) or initials (`LH`)."""
    if not word or word[0] != side[0] or len(word) > len(side) + 2:
        return False
    if word in (side[0], f"{side[0]}h", f"{side[0]}hs", f"{side[0]}/h", f"{side[0]}.h"):
        return True
    letters = iter(side)
    shortened = word[-1] == side[-1] and all(letter in letters for letter in word)
    return len(word) > 1 and (shortened or distance(word, side) <= (2 if len(side) > 6 else 1))


@record
class _Piece:
    """A stretch of a list between two separators; `hard` where it begins after a `;` or at the start."""

    text: str
    start: int
    end: int
    hard: bool


def _pieces(text: str, start: int) -> list[_Piece]:
    found, hard = [], True
    for match in re.finditer(r"([^,;]*)([,;]|$)", text):
        raw = match.group(1)
        stripped = raw.strip()
        if stripped:
            at = start + match.start() + len(raw) - len(raw.lstrip())
            found.append(_Piece(stripped, at, at + len(stripped), hard))
            hard = False
        hard = hard or match.group(2) == ";"
    return found


@record
class Bare:
    """A name without the words in it that say which side, how many or that it is the same one again.

    words  its other words, in the order of the alphabet
    sides  those that the name meant may have, "" for none; () where nothing in it says any
    many   whether it names several, so that one of its words may be a plural
    """

    words: tuple[str, ...]
    sides: tuple[str, ...]
    many: bool = False

    @property
    def spellings(self) -> Iterator[tuple[str, ...]]:
        """The words, and those with one of them in the singular where several are named."""
        yield self.words
        for at, word in enumerate(self.words if self.many else ()):
            if word.endswith("s"):
                yield tuple(sorted((*self.words[:at], word[:-1], *self.words[at + 1 :])))


@lru_cache(1 << 14)  # names are looked at from several sides
def bare_name(words: str, sides: tuple[str, str]) -> Bare:
    """`LH beam`, `beam (left)`, `n/s beam`, `both beams`, `beam again`: of each of them `beam`, and what is meant."""
    kept: list[str] = []
    said: tuple[str, ...] = ()
    many = False
    left = name_words(words)
    while left:
        counted = not kept and left[-1].endswith("s")  # `2 stays`; a `2 bolt clamp` is one
        found = ((n, text, _sides_said(text, sides)) for n in (3, 2, 1) if (text := " ".join(left[:n])))
        size, text, meant = next((hit for hit in found if hit[2]), (1, left[0], ()))
        several = text in _SEVERAL or (counted and text in _NUMBERS)
        if not meant and not several:
            kept.append(left[0])
        said = said or (("", *sides) if several else meant)
        many, left = many or several, left[size:]
    return Bare(tuple(sorted(kept)), said, many)


def name_words(words: str) -> list[str]:
    """The words of a name, folded, without the signs between them; `l/h` and `L.H.` are `lh`."""
    found = re.split(r"[\s,;()\-]+", words.casefold())
    return [re.sub(r"^([a-z])[./]([a-z])\.?$", r"\1\2", word.strip("\"'")) for word in found if word]


@lru_cache(1 << 14)
def _sides_said(text: str, sides: tuple[str, str]) -> tuple[str, ...]:
    """The sides that a part so named may have; () for words that are none of a side's."""
    for side in sides:
        word = " ".join(name_words(side))
        if text in (word, f"{word} hand", f"{word} side", f"{word} hand side"):
            return (side,)
    if _INITIALS.get(text) in sides:
        return (_INITIALS[text],)
    if text in _SOME_SIDE:
        return sides
    return ("", *sides) if text in _SEVERAL or text == "again" else ()


def parse_name(
    line: Line, start: int, end: int, sides: tuple[str, str]
) -> tuple[Name | None, list[SideFault]]:
    """The one name between two offsets of a line; None where nothing is written."""
    known = _Sides(sides)
    pieces = _pieces(line.plain[start:end].replace(";", ","), start)
    if not pieces:
        return None, []
    *before, last = pieces
    if len(before) > 1 and known.exact(before[-1].text) and _is_position(last.text):
        before[-1], last = last, before[-1]  # `stay, right, upper` is `stay, upper, right`
    said: tuple[str, ...] = ()
    faults: list[SideFault] = []
    words = [piece.text for piece in before]
    if before:
        said = known.exact(last.text)
        near = "" if said else known.nearly(last.text)
        if near:
            said, faults = (near,), [SideFault(last.text, near, last.start, last.end)]
        elif not said:
            head, said = known.ending(last.text)
            if not said:
                head, said = known.leading(last.text)
            words = _with(words, head if said else last.text, said)
    else:
        words = [last.text]
    return _name(line, pieces, _joined(words), said), faults


def _with(words: list[str], more: str, moved: tuple[str, ...]) -> list[str]:
    """`words` with one more piece; words that stood before a side join the last piece without a comma."""
    return [*words[:-1], f"{words[-1]} {more}"] if moved else [*words, more]


def _joined(words: list[str]) -> str:
    """The pieces of a name; words that only say which of its like lose their comma: `axle, front`."""
    first, *rest = words
    return first + "".join(f" {piece}" if _is_position(piece) else f", {piece}" for piece in rest)


def _is_position(text: str) -> bool:
    return all(word in POSITION_WORDS for word in text.casefold().split())


def parse_names(
    line: Line, start: int, end: int, sides: tuple[str, str]
) -> tuple[list[Name], list[SideFault]]:
    """The names of a list: a side belongs to the name before the comma, `;` always separates."""
    known = _Sides(sides)
    names: list[Name] = []
    faults: list[SideFault] = []
    pieces = _pieces(line.plain[start:end], start)
    at = 0
    while at < len(pieces):
        words, used = pieces[at].text, [pieces[at]]
        said: tuple[str, ...] = ()
        at += 1
        while at < len(pieces) and not pieces[at].hard and (not said or _is_position(pieces[at].text)):
            longer, side, fault = _follow(known, words, pieces[at])
            if longer == words and not side:
                break
            words, said, faults = longer, said or side, faults + fault
            used.append(pieces[at])
            at += 1
        names.append(_name(line, used, words, said))
    return names, faults


def _follow(known: _Sides, words: str, piece: _Piece) -> tuple[str, tuple[str, ...], list[SideFault]]:
    """`words` and the side that the piece after their comma gives them, if it gives one; of `n/s` that is not known."""
    said = known.exact(piece.text)
    if said:
        return words, said, []
    if _is_position(piece.text):
        return f"{words} {piece.text}", (), []
    near = known.nearly(piece.text)
    if near:
        return words, (near,), [SideFault(piece.text, near, piece.start, piece.end)]
    head, said = known.ending(piece.text)
    if not said:
        head, said = known.leading(piece.text)
    if said and _is_position(head):
        return f"{words} {head}", said, []
    asked = bare_name(piece.text, known.pair)
    return (words if asked.words or not asked.sides else f"{words}, {piece.text}"), (), []


def _name(line: Line, pieces: list[_Piece], words: str, said: tuple[str, ...]) -> Name:
    start, end = pieces[0].start, pieces[-1].end
    written = " ".join(line.plain[start:end].split())
    return Name(written, " ".join(words.split()), said, line.span(start, end))
