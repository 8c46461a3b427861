"""The page of a part, in the order it is read in the shop."""

from __future__ import annotations

from collections.abc import Iterable

from journal.judge.order import Step
from journal.judge.verdicts import Record
from journal.model.entities import Event as EventEntity
from journal.model.entities import Part, Said
from journal.pages import words
from journal.pages.safety import cautions
from journal.pages.viewer import NAMES, Viewer
from journal.pages.views import Event, Fact, PartPage, PartRow, Reading, ReadingGroup

# What is wanted first, with the part in the other hand.
AT_HAND = ("caution", "way round", "held by", "route", "connects", "stored", "note")
MORE = ("face", "located by", "marks", "shims", "template", "stands off", "count", "opposite",
        "behind", "goes on", "going", "number", "also called", "doubt", "by", "source", "carries")  # fmt: skip
ADD_UP = frozenset({"note", "behind", "caution"})  # all that was ever said
ADD_UP_IN_A_SLIP = frozenset({"held by", "connects", "shims"})  # all that the last slip said
HAZARD_KEYS = ("held by", "with", "surface", "caution", "by")
BACK = frozenset({"on", "back on", "replaced", "going"})

# What the word for its record and what is still free say already.
ABOUT_RECORDS = ("no-position", "reference-gone", "partly-recorded", "seen-not-measured", "no-route", "not-moved-over")

HAPPENED = {
    "removed": "Taken off",
    "refitted": "Put back on",
    "replaced": "Replaced by a new one",
    "cut": "Cut",
    "scrapped": "Scrapped",
    "treated": "Treated",
    "measured": "Measured",
}


def part_page(viewer: Viewer, part: Part) -> PartPage:
    """Everything about a part."""
    record, lost = viewer.record(part.id), viewer.lost(part.id)
    told = cautions(hazard_words(part), safety_said(part))
    readings = [viewer.reading(r.id) for r in viewer.book.readings_of(part.id)]
    children = viewer.book.children(part.id)
    going = next((host for host in part.hosts if part.id in viewer.unrecorded.get(host, ())), None)
    wanted = record or (viewer.judgement.records[part.id] if going else None)
    findings = tuple(f for f in viewer.findings_of(part.id) if f.severity != "remark" or viewer.shop)
    return PartPage(
        row=viewer.row(part.id),
        hosts=viewer.parts(part.hosts),
        goes_with=viewer.known(going),
        unrecorded=viewer.parts(viewer.unrecorded.get(part.id, ())),
        standing=standing(viewer, part, record),
        free=tuple(words.sentence(free) for free in record.free) if record and not lost else (),
        next=wanted.next if wanted and not lost else (),
        facts=tuple(_facts(viewer, part, AT_HAND)),
        more_facts=tuple(_facts(viewer, part, MORE)),
        groups=tuple(_groups(readings)),
        from_here=tuple(sorted((viewer.reading(r.id) for r in viewer.book.readings_from(part.id)), key=_of)),
        photos=viewer.photos(viewer.pictures_of(part.id)),
        first=tuple(_first(viewer, part)) if record else (),
        carries=tuple(viewer.row(child) for child in children),
        history=tuple(_history(viewer, part)),
        findings=findings,
        to_check=sum(f.severity != "remark" and f.word not in ABOUT_RECORDS for f in findings),
        cautions=told,
        safety=next((c for c in told if c.first), None),
    )


def standing(viewer: Viewer, part: Part, record: Record | None) -> str:
    """One sentence on how well it is recorded where the part goes."""
    if record is None:
        return _where_it_is(viewer, part)
    if viewer.lost(part.id):
        return "It was never said to be off, and what it sat on is gone: nobody wrote what became of it."
    grounds = "; ".join(record.grounds or _holding(viewer, part)) if record.word == "position recorded" else ""
    return words.sentence(words.capital(record.word) + (grounds and f": {grounds}"))


def _holding(viewer: Viewer, part: Part) -> tuple[str, ...]:
    """How many readings hold it; () for a part that something private holds."""
    counts = sum(viewer.standing(reading.id).counts for reading in viewer.book.readings_of(part.id))
    return (f"{words.count(counts, 'reading')} hold it",) if counts > 1 else ()


def _where_it_is(viewer: Viewer, part: Part) -> str:
    """`On sill, left since 11 April 2026.`"""
    state = viewer.book.state(part.id)
    if state not in BACK:
        return words.sentence(state)
    host = words.listed([viewer.book.title(host) for host in part.hosts or (None,)])
    last = next((e for e in reversed(part.events) if e.kind in ("refitted", "replaced")), None)
    since = f" since {words.say_date(last.when.day)}" if last and state != "on" else ""
    going = " and about to go" if state == "going" else ""
    return words.sentence(f"on {host}{since}{going}")


def safety_said(part: Part) -> str:
    """What stands under `safety`, "" where nothing does."""
    said = part.latest("safety")
    return said.text if said else ""


def hazard_words(part: Part) -> list[str]:
    """All of a part's words that a caution may hang on."""
    return [part.title, *part.also_called, *(said.text for said in part.every(*HAZARD_KEYS))]


def _facts(viewer: Viewer, part: Part, keys: Iterable[str]) -> Iterable[Fact]:
    """What stands under each key."""
    for key in keys:
        last = part.latest(key)
        if last and _is_over(viewer, part, last):
            continue
        said = [s for s in part.every(key) if last and _stands(s, last)]
        for one in {s.text: s for s in said}.values():
            yield _fact(viewer, one)


def _is_over(viewer: Viewer, part: Part, last: Said) -> bool:
    """Whether it no longer is so: what is back on is stored nowhere."""
    return last.key == "stored" and not viewer.book.lives.is_off(part.id, viewer.book.now)


def _stands(said: Said, last: Said) -> bool:
    """Whether what was said still stands beside the last word under its key."""
    if said.key in ADD_UP:
        return True
    return said.when == last.when if said.key in ADD_UP_IN_A_SLIP else said is last


def _fact(viewer: Viewer, said: Said) -> Fact:
    links = viewer.parts(said.parts) if said.key in NAMES else ()
    return Fact(words.label(said.key), words.say_words(said.text), links, viewer.note_url(said.span))


def _groups(readings: list[Reading]) -> Iterable[ReadingGroup]:
    """Where it sits, by what it was measured from; then its own sizes. Those that hold it come first."""
    where: dict[str, list[Reading]] = {}
    for reading in readings:
        if not reading.own:
            where.setdefault(reading.host.text if reading.host else "the machine", []).append(reading)
    for host, rows in where.items():
        rows.sort(key=lambda r: (not r.lives, not r.counts, -r.date.toordinal()))
        yield ReadingGroup(f"Where it sits on {host}", _about(rows), tuple(rows))
    sizes = sorted((r for r in readings if r.own), key=lambda r: not r.lives)
    if sizes:
        yield ReadingGroup("Its own sizes", _about(sizes), tuple(sizes))


def _about(rows: list[Reading]) -> str:
    gone = sum(not row.lives for row in rows)
    if not gone:
        return ""
    return "Struck through: what it was measured from is gone."


def _of(reading: Reading) -> str:
    """Whose it is, so that readings of one part stand together."""
    return reading.part.text


def _first(viewer: Viewer, part: Part) -> Iterable[PartRow]:
    """What must be on before it can go back: its hosts, and what sits behind it, as far as they are off and it does
    not go on them on the bench."""
    book, me = viewer.book, Step("part", part.id)
    for other in dict.fromkeys((*part.hosts, *viewer.behind(part.id))):
        after_me = any(wait.before == me for wait in viewer.plan.order.waits_of(Step("part", other)))
        if other in book.parts and book.state(other) not in BACK and not after_me:
            yield viewer.row(other)


def _history(viewer: Viewer, part: Part) -> Iterable[Event]:
    """What happened to it, and which findings were ended for good (shop edition)."""
    lines = [(event.when, Event(event.when.day, _happened(viewer, event), viewer.note_url(event.span)))
             for event in part.events]
    if viewer.shop:
        lines += [(said.when, Event(said.when.day, f"Settled: {said.text}", viewer.note_url(said.span)))
                  for said in part.every("settled")]
    return [event for _, event in sorted(lines, key=lambda line: line[0])]


def _happened(viewer: Viewer, event: EventEntity) -> str:
    told = HAPPENED[event.kind]
    if event.kind in ("removed", "refitted"):
        return f"{told} {viewer.book.title(event.host)}"
    if event.kind == "cut" and event.away:
        return f"{told}: {words.listed(event.away)} gone with the piece"
    return told
