"""What can be found on the site, as rows, and the index the search page loads.

A `Row` is one thing to be found: a part, a reading, a place, a job, an order, a day's story, a picture. Rows
hold only what may be shown in the edition they are made for: whoever makes them leaves private things out,
nothing is looked up behind their back. Rows of one part stand together: each names its part's address as its
`group`.

`arrange` puts rows into groups, newest first; `files` writes the two scripts of the search page: columns,
every phrase, address, date and interval written once and numbered: a phone has to load 50,000.
`journal.find` searches the same groups in the terminal.
"""

from __future__ import annotations

import json
from collections.abc import Hashable, Iterable, Mapping, Sequence
from datetime import date
from functools import cache
from typing import Final, Literal, TypeVar

from journal.ground.records import record
from journal.measure.value import Number
from journal.pages.query import grammar

Kind = Literal["part", "reading", "place", "job", "order", "day", "photo"]
KINDS: Final[tuple[Kind, ...]] = ("part", "reading", "place", "job", "order", "day", "photo")
# As the facet buttons call them.
KIND_WORDS: Final[dict[Kind, str]] = {
    "part": "parts", "reading": "measurements", "place": "places", "job": "jobs", "order": "orders",
    "day": "days", "photo": "pictures",
}  # fmt: skip
# A string of JSON as a string of JavaScript; "<" so that nothing in it can ever end a script element.
ESCAPES: Final = (
    ("\\", "\\\\"), ("'", "\\'"), ("\u2028", "\\u2028"), ("\u2029", "\\u2029"), ("<", "\\x3c"),
)  # fmt: skip
INDEX_FILE: Final = "search/index-data.js"
QUERY_FILE: Final = "search/query-data.js"


@record
class Row:
    """One thing that can be found.

    title    shown, searched: "guide bracket front, left", "hole edge to web", a day's title, a caption
    url      target from the site's root
    text     shown below the title, searched: the value with its conversion and its method, a day's story, `held by`
    note     shown below that, searched: what is to be known of a value (in doubt, wanted), what held a part before
    gone     why a reading no longer counts, searched, shown below it, the rest struck through; "" where it lives
    also     searched, never shown: other names, the host's title, names of pictures, the parts in a picture
    group    url of the row it is listed under, nearly always its part's; "" stands alone
    place    path; side and state in the words shown: those of the part for all that is grouped under it
    date     when it was said or taken; a part's last day
    numbers  every number of its value as written, for search
    source   "file:line", for the terminal; never goes into the index
    """

    kind: Kind
    title: str
    url: str
    text: str = ""
    also: tuple[str, ...] = ()
    group: str = ""
    place: tuple[str, ...] = ()
    side: str = ""
    state: str = ""
    date: date | None = None
    numbers: tuple[Number, ...] = ()
    source: str = ""
    note: str = ""
    gone: str = ""

    @property
    def place_words(self) -> str:
        return " / ".join(self.place)

    @property
    def said(self) -> tuple[str, ...]:
        """What many rows share with others, as the index holds it."""
        return (self.place_words, self.side, self.state, self.note, self.gone)


# The head, a part or a thing that stands alone, then what belongs to it, newest first.
Group = tuple[Row, ...]


def arrange(rows: Iterable[Row]) -> tuple[Group, ...]:
    """Rows in groups, the newest group first; a row whose group is not among the rows stands alone."""
    rows = tuple(rows)
    heads = {row.url: row for row in rows if not row.group or row.group == row.url}
    members: dict[str, list[Row]] = {url: [] for url in heads}
    alone: list[Group] = []
    for row in rows:
        if row is heads.get(row.url):
            continue
        if row.group in members:
            members[row.group].append(row)
        else:
            alone.append((row,))
    groups = [(head, *sorted(members[url], key=_newest_first)) for url, head in heads.items()]
    return tuple(sorted(groups + alone, key=_newest_group_first))


def _newest_first(row: Row) -> tuple[int, int]:
    """What ties stays in the order given, that of the notes."""
    return (-row.date.toordinal() if row.date else 0, KINDS.index(row.kind))


def _newest_group_first(group: Group) -> tuple[int, str, str]:
    return (-max(row.date.toordinal() if row.date else 0 for row in group), group[0].title, group[0].url)


Key = TypeVar("Key", bound=Hashable)


class _Numbered(dict[Key, int]):
    """Things numbered in the order they are first met."""

    def __missing__(self, key: Key) -> int:
        self[key] = len(self)
        return self[key]


def interval(number: Number) -> tuple[str, float, float]:
    """Quantity and interval of a number as the index holds it; a one-sided one is its written number only."""
    low = number.low if number.low is not None else number.high
    high = number.high if number.high is not None else number.low
    return (number.quantity, round(float(low or 0), 6), round(float(high or 0), 6))


def columns(groups: Iterable[Group]) -> dict[str, object]:
    """The index as columns of numbers, and the tables they point into.

    phrases   one string, a line each                 sizes     rows in each group
    contexts  place, side, state, note, gone, also and date of rows
    also      sets of phrases
    pages     addresses without fragment              numbers   sets of intervals
    """
    phrases, pages, dates = _Numbered[str](), _Numbered[str](), _Numbered[str]()
    intervals, quantities = _Numbered[tuple[str, float, float]](), _Numbered[str]()
    also, numbers = _Numbered[tuple[int, ...]](), _Numbered[tuple[int, ...]]()
    contexts = _Numbered[tuple[int, ...]]()
    phrases[""], dates[""], also[()], numbers[()]
    groups = tuple(groups)
    rows = [row for group in groups for row in group]

    @cache  # most rows share theirs with others
    def context(said: tuple[str, ...], known_as: tuple[str, ...], day: date | None) -> tuple[int, ...]:
        words = (phrases[_line(text)] for text in said)
        found_by = also[tuple(phrases[_line(text)] for text in known_as)]
        return (*words, found_by, dates[day.isoformat() if day else ""])

    table: dict[str, object] = {
        "sizes": [len(group) for group in groups],
        "kind": [KINDS.index(row.kind) for row in rows],
        "title": [phrases[_line(row.title)] for row in rows],
        "text": [phrases[_line(row.text)] for row in rows],
        "context": [contexts[context(r.said, r.also, r.date)] for r in rows],
        "page": [pages[row.url.partition("#")[0]] for row in rows],
        "fragment": "\n".join(_line(row.url.partition("#")[2]) for row in rows),
        "number": [numbers[tuple(intervals[interval(n)] for n in row.numbers)] for row in rows],
    }
    table["contexts"] = _turned(contexts, 7)
    table["intervals"] = _turned([(quantities[what], low, high) for what, low, high in intervals], 3)
    tables: Mapping[str, Iterable[object]] = {
        "quantities": quantities, "also": also, "numbers": numbers, "dates": dates, "pages": pages,
    }  # fmt: skip
    return table | {name: list(made) for name, made in tables.items()} | {"phrases": "\n".join(phrases)}


def _turned(rows: Iterable[Sequence[object]], width: int) -> list[list[object]]:
    """Rows as columns, also where there is no row."""
    rows = list(rows)
    return [[row[n] for row in rows] for n in range(width)]


def _line(text: str) -> str:
    return " ".join(text.split())


def files(groups: Iterable[Group]) -> Mapping[str, str]:
    """The scripts of the search page, by path from the site's root; classic ones, which file:// loads."""
    kinds = {"kinds": KINDS, "kindWords": [KIND_WORDS[kind] for kind in KINDS]}
    return {
        QUERY_FILE: script("journalGrammar", grammar()),
        INDEX_FILE: script("journalIndex", columns(groups) | kinds),
    }


def script(name: str, data: object) -> str:
    """`data` as a classic script that sets one global; JSON.parse reads faster than a literal."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for raw, safe in ESCAPES:
        text = text.replace(raw, safe)
    return f"window.{name} = JSON.parse('{text}');\n"
