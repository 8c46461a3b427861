"""What the search can find, as rows, made from the book of an edition: the page and the terminal get the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from journal.model.entities import Day, Part, Photo, Reading
from journal.pages import address, words
from journal.pages.days import title_of
from journal.pages.search import Row
from journal.pages.tags import short_codes
from journal.pages.viewer import Viewer

SAID = ("held by", "way round", "face", "number", "marks", "shims", "route", "connects", "note", "stored", "template",
        "by", "source", "with", "why")  # fmt: skip
STORY_LENGTH = 4000  # characters of a day's story that are searched


def rows(viewer: Viewer) -> Iterator[Row]:
    """Parts with their readings, then places, jobs, orders, days and pictures."""
    book = viewer.book
    codes = short_codes(book.parts)
    for part in book.parts.values():
        yield _part(viewer, part, codes[part.id])
    for reading in book.readings.values():
        yield _reading(viewer, reading)
    for place in book.places.values():
        title, url = words.path(place.path), address.place(place.id)
        yield Row("place", title, url, text=place.note, place=place.path)
    for job in book.jobs.values():
        text = "; ".join(job.notes)
        state = "done" if job.done else ""
        yield Row("job", job.name, address.job(job.id), text, place=job.place, state=state, date=job.when.day)
    for order in book.orders.values():
        yield Row("order", order.name, address.order(order.id), order.for_words, date=order.when.day)
    for day in book.days:
        yield Row("day", title_of(day), address.day(day.date), _story(day), date=day.date)
    for key in viewer.seen(book.photos):
        yield _photo(viewer, book.photos[key])


def _part(viewer: Viewer, part: Part, code: str) -> Row:
    last = max((event.when.day for event in part.events), default=part.since)
    return Row(
        "part", part.title, address.part(part.id),
        text="; ".join((f"on {viewer.book.title(part.host)}", *dict.fromkeys(said.text for said in part.every(*SAID)))),
        also=(*part.also_called, code),
        group=address.part(part.id),
        place=viewer.book.place_of(part.id),
        side=part.side,
        state=viewer.book.state(part.id),
        date=last,
        source=str(part.first).rpartition(":")[0],
    )  # fmt: skip


def _reading(viewer: Viewer, reading: Reading) -> Row:
    part = viewer.book.parts[reading.part]
    method = f"by {reading.method}" if reading.method else ""
    return Row(
        "reading", viewer.what(reading), address.reading(reading.part, reading.id),
        text=" ".join(piece for piece in (reading.written, method, reading.remark) if piece),
        also=(viewer.book.title(reading.host),),
        group=address.part(reading.part),
        place=viewer.place_of(reading),
        side=part.side,
        state=viewer.book.state(reading.part),
        date=reading.when.day,
        numbers=reading.value.numbers if reading.value else (),
        source=f"{reading.span.file}:{reading.span.line}",
    )  # fmt: skip


def _story(day: Day) -> str:
    """The words of a day's notes outside its slips."""
    lines = (token.children or () for note in day.notes for token in note.note.tokens if token.type == "inline")
    told = (" ".join(child.content for child in line if child.type != "html_inline") for line in lines)
    return " ".join(" ".join(told).split())[:STORY_LENGTH]


def _photo(viewer: Viewer, photo: Photo) -> Row:
    """A picture, listed under the first part it shows."""
    links = viewer.parts(photo.shows)
    titles = tuple(link.text for link in links)
    title = photo.caption or ", ".join(titles) or photo.name
    row = Row("photo", title, viewer.photo_url(photo.key), also=(photo.name, *titles), date=photo.day)
    first = next((viewer.book.parts[part] for part in photo.shows if part in viewer.book.parts), None)
    if first is None:
        return row
    place, state = viewer.book.place_of(first.id), viewer.book.state(first.id)
    return replace(row, group=address.part(first.id), place=place, side=first.side, state=state)
