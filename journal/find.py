"""Searching: the same hits in the terminal as the search page gives.

The browser does this with `files/find.js` of the theme, the same steps in the same order; one table of
cases, tests/cases/search.md, runs through both. Groups (a part with its readings) come in the order of
CRITERIA, the first that tells two apart decides; groups that none tells apart stay as they are, newest first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import Final

from journal.ground.names import distance
from journal.ground.records import record
from journal.pages.query import EPS, Query, Range, fold, read_query, words_of
from journal.pages.search import Group, Row, interval

MOST_NEAR: Final = 3  # near spellings offered
MOST_SHOWN: Final = 80  # characters of a line in the terminal


@record
class Facets:
    """What was clicked; "" is not chosen. A place takes in all that lies below it."""

    kind: str = ""
    side: str = ""
    place: str = ""
    state: str = ""


@record
class Hit:
    """A row that was found.

    whole  every word stands in it, or in its group's name, whole
    near   how near its value is to what was asked, see `closeness`
    """

    row: Row
    whole: bool
    near: int


@record
class Found:
    """A group with what was found in it, the best first; the head leads it, found or not."""

    group: Group
    hits: tuple[Hit, ...]

    @property
    def head(self) -> Row:
        return self.group[0]


@record
class Result:
    """What was found; `near` are whole queries with another spelling, given only when nothing was found."""

    groups: tuple[Found, ...]
    near: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        return sum(len(found.hits) for found in self.groups)


# How a word stands in a phrase.


def level(phrase: str, word: str) -> int:
    """2: the word stands whole in the folded phrase, 1: at the start of a word, 0: it does not."""
    best, at = 0, phrase.find(word)
    while at >= 0 and best < 2:
        if _starts(phrase, at):
            best = 2 if _ends(phrase, at + len(word)) else 1
        at = phrase.find(word, at + 1)
    return best


def _starts(text: str, at: int) -> bool:
    """Whether a word may start here: after a sign, where letters go over to digits, not within a number."""
    before, here = text[at - 1 : at], text[at]
    if before.isalnum():
        return not before.isdecimal() and here.isdecimal()
    return not (before in (".", ",", "/") and here.isdecimal() and text[at - 2 : at - 1].isdecimal())


def _ends(text: str, at: int) -> bool:
    after = text[at : at + 1]
    if after.isalnum():
        return False
    return not (after in (".", ",", "/") and text[at - 1].isdecimal() and text[at + 1 : at + 2].isdecimal())


MONTHS: Final = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip


def date_level(iso: str, word: str) -> int:
    """The same for a date: from the year on (2026, 2026-03, 2026-03-21), or the month's name."""
    if not iso:
        return 0
    if len(word) >= 4 and iso.startswith(word):
        return 2
    month = MONTHS[int(iso[5:7]) - 1]
    return 2 if month == word else int(len(word) >= 3 and month.startswith(word))


# How a value stands to an interval.


def overlaps(asked: Range, low: float, high: float) -> bool:
    """Whether they share more than a point; something that is only a point must lie within."""
    shared = min(asked.high, high) - max(asked.low, low)
    is_point = high - low <= EPS or asked.high - asked.low <= EPS
    return shared >= -EPS if is_point else shared > EPS


def closeness(asked: Range, low: float, high: float) -> int:
    """0: the very number asked for, 1: its middle lies within, 2: they overlap, 3: they do not."""
    if not overlaps(asked, low, high):
        return 3
    middle = (low + high) / 2
    if abs(middle - asked.middle) <= EPS:
        return 0
    return 1 if asked.low - EPS <= middle <= asked.high + EPS else 2


# Finding.


class _Search:
    """One query over many groups; every phrase and set of numbers is looked at once."""

    def __init__(self, query: Query) -> None:
        self.query = query
        self._levels = cache(self._read_levels)
        self._date = cache(lambda iso: tuple(date_level(iso, word) for word in query.words))

    def _read_levels(self, phrase: str) -> tuple[int, ...]:
        folded = _folded(phrase)
        return tuple(level(folded, word) for word in self.query.words)

    def levels(self, row: Row) -> tuple[int, ...]:
        """How each word stands in a row's own phrases, at its best."""
        phrases = (row.title, row.text, row.note, row.gone, row.place_words, row.side, *row.also)
        state = (self._levels(row.state),) if row.kind == "part" else ()
        date = self._date(row.date.isoformat() if row.date else "")
        return _best((*map(self._levels, phrases), *state, date))

    def name_levels(self, head: Row) -> tuple[int, ...]:
        """The same in the name of a group: all that belongs to it can be found by it."""
        return _best(tuple(map(self._levels, (head.title, *head.also))))

    def near(self, row: Row) -> int:
        """How near a row's numbers are to the values asked for, the worst of them."""
        return max((self._nearest(asked, row) for asked in self.query.ranges), default=0)

    def _nearest(self, asked: Range, row: Row) -> int:
        same = (interval(number) for number in row.numbers if number.quantity == asked.quantity)
        return min((closeness(asked, low, high) for _, low, high in same), default=3)

    def hits(self, group: Group, facets: Facets) -> tuple[Hit, ...]:
        """What is found in a group, whole words first, then near values, then as it stands."""
        name = self.name_levels(group[0])
        found = []
        for row in group:
            if not _chosen(row, facets):
                continue
            levels = _best((name, self.levels(row)))
            if 0 not in levels and (near := self.near(row)) < 3:
                found.append(Hit(row, 1 not in levels, near))
        return tuple(sorted(found, key=lambda hit: (not hit.whole, hit.near)))


def _best(levels: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    return tuple(map(max, zip(*levels, strict=True)))


_folded = cache(fold)


def _chosen(row: Row, facets: Facets) -> bool:
    return (
        facets.kind in ("", row.kind)
        and facets.side in ("", row.side)
        and facets.state in ("", row.state)
        and (not facets.place or f"{row.place_words} / ".startswith(f"{facets.place} / "))
    )


def find(groups: Iterable[Group], typed: str, facets: Facets | None = None) -> Result:
    """What is found for a query as typed; nothing typed and nothing chosen finds nothing."""
    query, groups = read_query(typed), tuple(groups)
    facets = facets or Facets()
    if not query.words and not query.ranges and facets == Facets():
        return Result(())
    search = _Search(query)
    found = [Found(group, hits) for group in groups if (hits := search.hits(group, facets))]
    found.sort(key=lambda one: tuple(worse(one, search) for _, worse in CRITERIA))
    return Result(tuple(found), () if found else near_queries(groups, query, typed))


# Which group comes first.


def _name_is_not_it(found: Found, search: _Search) -> bool:
    return tuple(words_of(_folded(found.head.title))) != search.query.words


def _part_does_not_start_so(found: Found, search: _Search) -> bool:
    name, asked = tuple(words_of(_folded(found.head.title))), search.query.words
    if found.head.kind != "part" or not asked or len(name) < len(asked):
        return True
    return name[: len(asked) - 1] != asked[:-1] or not name[len(asked) - 1].startswith(asked[-1])


def _name_has_not_all(found: Found, search: _Search) -> bool:
    return 0 in search.name_levels(found.head)


def _words_not_whole(found: Found, search: _Search) -> bool:
    return not any(hit.whole for hit in found.hits)


def _how_near(found: Found, search: _Search) -> int:
    return min(hit.near for hit in found.hits)


def _no_part(found: Found, search: _Search) -> bool:
    return found.head.kind != "part"


CRITERIA: Final[tuple[tuple[str, Callable[[Found, _Search], int]], ...]] = (
    ("the name is what was typed", _name_is_not_it),
    ("a part whose name starts with what was typed", _part_does_not_start_so),
    ("every word is in the name", _name_has_not_all),
    ("the words stand whole", _words_not_whole),
    ("the value is near", _how_near),
    ("a part", _no_part),
)  # then the newest, as the groups are arranged


# Near spellings.


def near_queries(groups: Iterable[Group], query: Query, typed: str) -> tuple[str, ...]:
    """The query with the first word that is nowhere spelt as it stands somewhere; codes are left alone."""
    phrases = {
        phrase
        for group in groups
        for row in group
        for phrase in (row.title, row.text, *row.said, *row.also)
    }
    counts = Counter(
        word for phrase in phrases for word in words_of(_folded(phrase)) if word.isalpha() and len(word) > 2
    )
    counts.update(MONTHS)
    lost = next((word for word in query.words if word.isalpha() and not _begins_one(word, counts)), None)
    if lost is None:
        return ()
    most = 1 if len(lost) < 6 else 2  # letters
    near = [(far, -counts[word], word) for word in counts if (far := distance(lost, word, most)) <= most]
    return tuple(_respelt(typed, lost, word) for _, _, word in sorted(near)[:MOST_NEAR])


def _begins_one(word: str, known: Iterable[str]) -> bool:
    return any(one.startswith(word) for one in known)


def _respelt(typed: str, lost: str, word: str) -> str:
    return " ".join(word if fold(one) == lost else one for one in typed.split())


# The terminal.


def told(result: Result, most: int = 20) -> Iterator[str]:
    """The result in `most` lines: a group's name, below it what was found and where that is written."""
    if not result.groups:
        yield "Nothing found."
        yield from (f"Spelt nearly so: {near}" for near in result.near)
        return
    lines = [line for found in result.groups for line in _lines(found)]
    yield from lines[:most]
    if len(lines) > most:
        yield f"... and {len(lines) - most:,} more lines"


def _lines(found: Found) -> Iterator[str]:
    head = found.head
    day = "" if head.kind == "part" else _day(head)  # many things happened to a part: no one day is its own
    about = ", ".join(words for words in (head.state, head.place_words, day) if words)
    yield f"{head.title} ({about})" if about else head.title
    if any(hit.row is head for hit in found.hits) and head.source:
        yield f"    {head.source}"
    for hit in found.hits:
        if hit.row is not head:
            told = f"{hit.row.title}: {hit.row.text}" if hit.row.text else hit.row.title
            yield "  " + "  ".join(words for words in (_short(told), _day(hit.row), hit.row.source) if words)
            gone = f"no longer counts: {hit.row.gone}" if hit.row.gone else ""
            yield from (f"      {words}" for words in (gone, hit.row.note) if words)


def _day(row: Row) -> str:
    return row.date.isoformat() if row.date else ""


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= MOST_SHOWN else text[: MOST_SHOWN - 1].rstrip() + "…"
