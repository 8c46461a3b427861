"""`journal where`: all that is known of one part's place, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from journal.ground.names import NearIndex, fold
from journal.judge.order import Step
from journal.judge.plan import plan_of, step_title
from journal.judge.verdicts import FacePosition, Judgement, Residual
from journal.measure.adjustment import BAARDA
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
    gain = f"  ({record.gain})" if record.gain else ""
    yield from (f"  measure next {text}{gain}" for text in record.next)
    for key in ("caution", "way round", "held by", "marks", "shims", "route", "connects", "stored", "note"):
        yield from (f"  {key:<12} {said.text}" for said in part.every(key))
    yield from (f"  first on     {text}" for text in _first_on(book, judgement, part))
    yield from (f"  photo        {photo}" for photo in part.photos)
    positions = [each for each in judgement.positions if part.id in (*each.parts, each.host if not each.parts else "")]
    for position in positions:
        yield from _position(book, position, part)
    heard = {id: residual for each in judgement.positions for id, residual in each.residuals.items()}
    left_out = {id: why for each in positions for id, why in each.rejected.items()}
    readings = book.readings_of(part.id)
    if readings:
        yield "  readings"
    for reading in readings:
        yield from _reading(book, judgement, reading)
        if reading.id in heard:
            yield f"            {_checked(heard[reading.id])}"
        elif reading.id in left_out and left_out[reading.id] != judgement.standings[reading.id].why:
            yield f"            no part in the sum: {left_out[reading.id]}"


def _first_on(book: Book, judgement: Judgement, part: Part) -> Iterator[str]:
    """What must be on, or done, before it, each with why; of a part that is on, nothing."""
    if not judgement.records[part.id].asked:
        return
    for wait in plan_of(book, judgement.records).order.waits_of(Step("part", part.id)):
        yield f"{step_title(book, wait.before)}: {wait.why}"


def _position(book: Book, position: FacePosition, part: Part) -> Iterator[str]:
    """Places of the part's points on its face, other places that fit, and what is missing."""
    face = f"{position.face} of " if position.face else ""
    yield f"  on the face  {face}{book.title(position.host)}, mm along it and across it, from {_origin(position)}"
    if position.too_large:
        yield "               more than 1,000 points: listed, not worked out"
    for spot in position.of(part.id):
        along, across = (
            f"{_tenths(at)} ± {2 * sigma:.1f}" for at, sigma in zip((spot.u, spot.v), spot.sigma, strict=True)
        )
        yield f"    {spot.words or part.name}: {along}, {across}; 95 in 100 within ± {spot.ellipse95[0]:.1f}"
    for other in position.alternatives:
        if other.part == part.id:
            told = f"; told apart by {other.told_by}" if other.told_by else "; nothing tells the two apart"
            away = f"up to {other.apart:.0f} mm away" if other.apart >= 1 else "on the spot"
            yield f"    fits as well turned by {other.turned:.0f}°, {away}{told}"
    if part.id in position.unsolved:
        yield f"    not worked out: {position.unsolved[part.id]}"
    assumed = position.taken_for_granted(book.title, position.host, part.id)
    yield from (f"    taken for granted: {text}" for text in assumed)


def _origin(position: FacePosition) -> str:
    """The two edges, or the point, that the places start from."""
    edges = [edge.words for edge in position.edges if edge.sigma == 0]
    points = [spot.words for spot in position.spots if spot.sigma == (0.0, 0.0)]
    return " and ".join(dict.fromkeys(edges)) or next(iter(points), "the first feature")


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
    if standing.today:
        yield f"            {standing.today}"
    if standing.why:
        yield f"            {standing.why}"
    if reading.which:
        either = f'holds nothing until it says whose: write "{reading.which}" or "own"'
        yield f"            {either if reading.own else f'holds nothing: {reading.which}'}"


def _checked(residual: Residual) -> str:
    """What the others say of a reading: how far off it is, and how large a mistake would show."""
    if residual.notices is None or residual.should_read is None:
        return "nothing else checks it"
    value, unit = residual.should_read[0], residual.unit
    if residual.normalised is not None and abs(residual.normalised) > BAARDA:
        return f"it does not fit the others, which make it {_tenths(value)} {unit}"
    return f"the others make it {_tenths(value)} {unit}; a mistake of {residual.notices:.0f} {unit} would show"


def _tenths(number: float) -> str:
    return f"{round(number, 1) + 0.0:.1f}"
