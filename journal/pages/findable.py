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
from journal.pages.views import Reading as ShownReading

SAID = ("caution", "held by", "way round", "face", "number", "marks", "shims", "stands off", "route", "connects",
        "doubt", "note", "stored", "template", "by", "source", "with", "surface", "next", "why")  # fmt: skip
LAST_STANDS = frozenset({"held by", "way round", "face", "marks", "shims", "stands off", "route", "connects", "doubt",
                         "stored", "template", "next"})  # fmt: skip
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
        text = "; ".join((*job.notes, *viewer.job_cautions[job.id]))
        state = "done" if job.done else ""
        told = job.done or job.when.day
        yield Row("job", job.name, address.job(job.id), text, place=job.place, state=state, date=told)
    for order in book.orders.values():
        text = "; ".join(filter(None, (order.for_words, *order.notes)))
        yield Row("order", order.name, address.order(order.id), text, date=order.when.day)
    for day in book.days:
        yield Row("day", title_of(day), address.day(day.date), _story(day), date=day.date)
    for key in viewer.seen(book.photos):
        yield _photo(viewer, book.photos[key])


def _part(viewer: Viewer, part: Part, code: str) -> Row:
    last = max((event.when.day for event in part.events), default=part.since)
    stands, before = _said(viewer, part)
    record = viewer.record(part.id)
    return Row(
        "part", part.title, address.part(part.id),
        text="; ".join((f"on {viewer.book.title(part.host)}", *stands)),
        note=f"Before: {'; '.join(before)}" if before else "",
        also=(*part.also_called, code, *((record.word,) if record else ())),
        group=address.part(part.id),
        place=viewer.book.place_of(part.id),
        side=part.side,
        state=viewer.book.state(part.id),
        date=last,
        source=str(part.first).rpartition(":")[0],
    )  # fmt: skip


def _said(viewer: Viewer, part: Part) -> tuple[list[str], list[str]]:
    """What is said of a part and stands today, and what held it before; it is in a tin only while it is off."""
    off = viewer.book.lives.is_off(part.id, viewer.book.now)
    stands: dict[str, None] = {}
    before: dict[str, None] = {}
    for said in part.every(*SAID):
        last = part.latest(said.key)
        if said.key not in LAST_STANDS or (last and said.when == last.when):
            stands |= {said.text: None} if off or said.key != "stored" else {}
        elif said.key == "held by":
            before[said.text] = None
    return list(stands), [text for text in before if text not in stands]


def _reading(viewer: Viewer, reading: Reading) -> Row:
    """With all that its part's page says of it: its conversion, its remarks, why it no longer counts."""
    part = viewer.book.parts[reading.part]
    shown = viewer.reading(reading.id)
    return Row(
        "reading", shown.what, address.reading(reading.part, reading.id),
        text=_value(shown),
        note=" · ".join((*shown.remarks, shown.today) if shown.today else shown.remarks),
        gone="" if shown.lives else shown.why,
        also=(viewer.book.title(reading.host),),
        group=address.part(reading.part),
        place=viewer.place_of(reading),
        side=part.side,
        state=viewer.book.state(reading.part),
        date=reading.when.day,
        numbers=reading.value.numbers if reading.value else (),
        source=f"{reading.span.file}:{reading.span.line}",
    )  # fmt: skip


def _value(shown: ShownReading) -> str:
    """`5/8 in (16 mm) by rule`; of things that touch or lie square `yes, by square`."""
    by = f"by {shown.method}" if shown.method else ""
    if shown.figure is None:
        return f"yes, {by}" if by else "yes"
    converted = f"({shown.figure.converted})" if shown.figure.converted else ""
    return " ".join(piece for piece in (shown.figure.written, converted, by) if piece)


def _story(day: Day) -> str:
    """The words of a day's notes outside its slips, and of what is written there for the shop alone."""
    private = (placed.slip.body for note in day.notes for placed in note.slips if placed.slip.kind == "private")
    lines = (token.children or () for note in day.notes for token in note.note.tokens if token.type == "inline")
    told = (" ".join(child.content for child in line if child.type != "html_inline") for line in lines)
    return " ".join(" ".join((*told, *private)).split())[:STORY_LENGTH]


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
