"""Views of a day: its row in a list, its slips, its page."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from journal.model.entities import Day, DayNote, PlacedSlip
from journal.notes.records import Slip as RawSlip
from journal.pages import address, words
from journal.pages.safety import cautions
from journal.pages.viewer import NAMES, UNSHOWN, Viewer
from journal.pages.views import Change, DayPage, DayRow, FindingView, Link, Photo, Slip, SlipLine

NAMED_IN_SLIP = ("with", "held by", "surface", "why", "note", "by")  # keys whose words may name a hazard
# What a day did, as its line in a list says it: to parts, then beside them.
DID_TO_PARTS = {"removed": "off", "refitted": "back on", "replaced": "replaced", "cut": "cut", "scrapped": "scrapped"}
DID_BESIDE = {"treated": ("treatment", "treatments", ""), "done": ("job", "jobs", "done"),
              "ordered": ("order", "orders", "placed"), "arrived": ("order", "orders", "arrived")}  # fmt: skip


def day_row(viewer: Viewer, day: Day) -> DayRow:
    """A day as it stands in a list, with its first picture that could be read."""
    photos = [viewer.photo(key) for key in day.photos]
    placed = [slip for note in day.notes for slip in note.slips]
    readings = sum(len(slip.readings) for slip in placed)
    changed = viewer.parts(p for slip in placed if slip.slip.kind in DID_TO_PARTS for p in slip.parts)
    return DayRow(
        link=Link(title_of(day), address.day(day.date)),
        date=day.date,
        title=title_of(day),
        photo=next((photo for photo in photos if photo.src), None),
        photos=len(photos),
        readings=readings,
        changed=changed,
        summary=_summary(placed, len(photos), readings),
    )


def title_of(day: Day) -> str:
    """What a day is called; by its date where neither its folder nor a heading names it."""
    return day.title or words.say_date(day.date)


def _summary(placed: list[PlacedSlip], photos: int, readings: int) -> str:
    """`3 parts off, 1 part back on, 2 treatments, 1 job done, 8 measurements, 4 pictures`."""
    told = []
    for kind, verb in DID_TO_PARTS.items():
        parts = {p for slip in placed if slip.slip.kind == kind for p in slip.parts}
        if parts:
            told.append(f"{words.count(len(parts), 'part')} {verb}")
    for kind, (one, many, verb) in DID_BESIDE.items():
        number = sum(slip.slip.kind == kind for slip in placed)
        if number:
            told.append(f"{words.count(number, one, many)} {verb}".strip())
    told += [words.count(readings, "measurement")] if readings else []
    told += [words.count(photos, "picture")] if photos else []
    return ", ".join(told)


def day_page(
    viewer: Viewer, day: Day, before: Day | None, after: Day | None, changes: tuple[Change, ...] = ()
) -> DayPage:
    """All of a day but its stories, which the theme tells (see `story`)."""
    return DayPage(
        row=day_row(viewer, day),
        before=Link(title_of(before), address.day(before.date)) if before else None,
        after=Link(title_of(after), address.day(after.date)) if after else None,
        gallery=viewer.photos(day.photos),
        cautions=cautions(_hazard_words(day)),
        findings=tuple(f for note in day.notes for f in _not_beside(viewer, note)),
        changes=changes,
    )


def _not_beside(viewer: Viewer, note: DayNote) -> Iterator[FindingView]:
    """What there is to tell about a note that stands beside no slip and no other block of it."""
    fences = (token.map for token in note.note.tokens if token.type == "fence" and token.map)
    beside = {line for first, end in fences for line in range(first + 1, end + 1)}
    for line, told in sorted(viewer.findings_by_line(note.note.file).items()):
        yield from told if line not in beside else ()


def _hazard_words(day: Day) -> list[str]:
    slips = [placed.slip for note in day.notes for placed in note.slips]
    told = [slip.about for slip in slips if slip.kind in ("job", "done", "treated", "removed", "cut", "replaced")]
    return told + [entry.value for slip in slips for entry in slip.entries if entry.key in NAMED_IN_SLIP]


def photo_finder(viewer: Viewer, day: Day) -> Callable[[str], Photo | None]:
    """Which picture a name stands for: one of the build by its folder and name, as the model has put it into a story;
    one of the day with or without its ending or its folder, capitals aside."""
    names: dict[str, str] = {}
    for key in viewer.seen(day.photos):
        for spelling in words.spellings(key):
            names.setdefault(spelling, key)

    def find(written: str) -> Photo | None:
        key = names.get(written.strip().removeprefix("./").casefold())
        known = viewer.seen([written]) or ([key] if key else [])
        return viewer.photo(known[0]) if known else None

    return find


def slip_view(viewer: Viewer, placed: PlacedSlip) -> Slip:
    """What a slip says, in plain shop words, and what there is to tell about each line of it."""
    slip = placed.slip
    readings = tuple(viewer.reading(r) for r in placed.readings)
    spans = [viewer.book.readings[r].span for r in placed.readings]
    told = _told_of(viewer, slip)
    anchors: list[str] = []
    beside: list[tuple[FindingView, ...]] = []
    seen: set[int] = set()
    for span in spans:
        anchors.append("" if span.line in seen else viewer.anchor(span))
        seen.add(span.line)
        beside.append(told.pop(span.line, ()))
    lines = tuple(_lines(viewer, placed, seen, told))
    return Slip(
        anchor=viewer.anchor(slip.span),
        kind=slip.kind,
        verb=words.VERBS[slip.kind],
        subject=slip.about,
        parts=viewer.parts(placed.parts) if slip.name else (),
        lines=lines,
        readings=readings,
        line_anchors=tuple(anchors),
        private=slip.private or slip.kind == "private",
        findings=tuple(finding for line in sorted(told) for finding in told[line]),
        reading_findings=tuple(beside),
    )


def _told_of(viewer: Viewer, slip: RawSlip) -> dict[int, tuple[FindingView, ...]]:
    """What there is to tell about a slip, by line of the note."""
    told = viewer.findings_by_line(slip.span.file)
    return {line: told[line] for line in range(slip.span.line, slip.end_line + 1) if line in told}


def _lines(
    viewer: Viewer, placed: PlacedSlip, read: set[int], told: dict[int, tuple[FindingView, ...]]
) -> list[SlipLine]:
    """Keys and sentences in the order written; a statement that became no reading stands as it was written.

    What is told beside them is taken out of `told`; a picture's own lines are not shown, so nothing is beside them.
    """
    slip = placed.slip
    found: dict[int, SlipLine] = {}
    for entry in slip.entries:
        if entry.key in UNSHOWN:
            continue
        links = _named(viewer, placed, entry.key, entry.span.line)
        anchor = viewer.anchor(entry.span)
        found[entry.span.line] = SlipLine(anchor, words.label(entry.key), words.say_words(entry.value), links)
    plain = [(sentence.span, sentence.text) for sentence in slip.sentences]
    plain += [(one.span, one.text) for one in slip.statements if one.span.line not in read]
    for span, text in plain:
        found[span.line] = SlipLine(viewer.anchor(span), "", text)
    if slip.kind == "photo":
        return [found[line] for line in sorted(found)]
    return [found[line]._replace(findings=told.pop(line, ())) for line in sorted(found)]


def _named(viewer: Viewer, placed: PlacedSlip, key: str, line: int) -> tuple[Link, ...]:
    """What an entry names, as links that stand for its words: parts, or the slip's pictures."""
    if key == "photos":
        return tuple(viewer.photo_link(k) for k in viewer.seen(placed.photos))
    if key not in NAMES:
        return ()
    said = (s for part in placed.parts for s in viewer.book.parts[part].said if s.span.line == line and s.key == key)
    first = next((s for s in said if s.when == placed.when), None)
    return viewer.parts(first.parts) if first else ()

