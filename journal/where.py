"""`journal where`: all that is known of one part's place, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from journal.ground.names import NearIndex, fold
from journal.judge.verdicts import Judgement
from journal.measure.value import both
from journal.model.book import Book
from journal.model.entities import Part, Reading


class UnknownPart(Exception):
    """No part of that name; help holds the nearest ones."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.help = help


def where_lines(book: Book, judgement: Judgement, words: str) -> list[str]:
    """Every line about the part, or about each part the words could mean; raises UnknownPart."""
    parts = find_parts(book, words)
    if not parts:
        raise UnknownPart(f'there is no part "{words}"', _nearest(book, words))
    lines: list[str] = []
    for part in parts:
        lines += [*(("",) if lines else ()), *_tell(book, judgement, part)]
    return lines


def find_parts(book: Book, words: str) -> list[Part]:
    """Parts whose title, id or name is these words; a name without a side means both."""
    key = fold(words.replace(",", " "))
    exact = [p for p in book.parts.values() if key in (fold(p.title.replace(",", " ")), p.id)]
    return exact or [p for p in book.parts.values() if key in (fold(p.name), *(fold(name) for name in p.also_called))]


def _nearest(book: Book, words: str) -> str:
    index = NearIndex(fold(part.name) for part in book.parts.values())
    near = index.near(fold(words))
    holding = [p.title for p in book.parts.values() if all(w in fold(p.title).split() for w in fold(words).split())]
    if near:
        return f'the nearest name is "{near[0]}"'
    if holding:
        return "parts with these words: " + "; ".join(sorted(holding)[:8])
    return f"journal find searches all {len(book.parts)} parts by word"


def _tell(book: Book, judgement: Judgement, part: Part) -> Iterator[str]:
    record = judgement.records[part.id]
    yield part.title
    yield f"  state        {record.state}"
    hosts = " and ".join(book.title(host) for host in part.hosts) or "the machine"
    yield f"  sits on      {hosts}"
    if place := book.place_of(part.id):
        yield f"  place        {' / '.join(place)}"
    yield f"  record       {record.word}" + ("" if record.asked else " (it is on; this is what would be known)")
    yield f"  located by   {record.located_by}"
    yield from (f"  rests on     {text}" for text in record.grounds)
    yield from (f"  still free   {text}" for text in record.free)
    yield from (f"  measure next {text}" for text in record.next)
    for key in ("way round", "held by", "marks", "shims", "route", "connects", "stored"):
        yield from (f"  {key:<12} {said.text}" for said in part.every(key))
    if first := _first_on(book, part):
        yield f"  first on     {'; '.join(first)}"
    yield from (f"  photo        {photo}" for photo in part.photos)
    readings = book.readings_of(part.id)
    if readings:
        yield "  readings"
    for reading in readings:
        yield from _reading(book, judgement, reading)


def _first_on(book: Book, part: Part) -> list[str]:
    """What must be on before it: hosts that are off, and all that sits further in."""
    hosts = [host for host in part.hosts if book.lives.is_off(host, book.now)]
    return [book.title(host) for host in hosts]


def _reading(book: Book, judgement: Judgement, reading: Reading) -> Iterator[str]:
    standing = judgement.standings[reading.id]
    shown = reading.text
    if reading.value:
        conversion = both(reading.value, book.settings.units)[1]  # type: ignore[arg-type]  # "mm" or "in"
        shown += f"  ({conversion})" if conversion else ""
    mark = "counts" if standing.counts else "gone" if not standing.lives else "kept"
    yield f"    {mark:7} {shown}"
    taken = f"from {reading.taken_as}; " if reading.taken_as and not reading.own else ""
    yield f"            {taken}{reading.span.file}:{reading.span.line}"
    if standing.carried:
        yield f"            carried over: {standing.carried}"
    if standing.why:
        yield f"            {standing.why}"
    if reading.which:
        yield f'            holds nothing until it says whose: write "{reading.which}" or "own"'
