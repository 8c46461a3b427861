"""What to say of a part that is off and is to come back: at most one of six things, and what is quickly added."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from journal.ground.finding import Finding, Note
from journal.judge.desk import Desk, taken_off
from journal.judge.going import GONE, going_hosts
from journal.judge.hosts import unrecorded_on
from journal.judge.living import day, days_in_words
from journal.judge.located import located_by
from journal.model.entities import BEFORE_ALL, Event, Part, Reading

WRITE_A_ROUTE = (
    "write a line such as `route: from the tank, along the left rail, to the pump`, or `connects:` for each end"
)
REMARK_DAYS = 30  # so long a part may wait for its new host before it is a warning


def one_of(desk: Desk) -> Iterator[Finding]:
    """The one thing to say of a part that is off and is to come back."""
    told = {part for host in going_hosts(desk.book) for part in unrecorded_on(desk, host)}
    for part in desk.asked():
        if part.id not in told and not desk.recorder.lost_host(part.id):
            finding = _one_of(desk, part)
            if finding:
                yield finding


def _one_of(desk: Desk, part: Part) -> Finding | None:
    record, sized = desk.record(part.id), desk.recorder.sized(part.id)
    if record.word == "position recorded":
        return _not_moved_over(desk, part)
    if sized.pinned:
        return None  # held in two places, which is a finding of its own
    if sized.ever_enough:
        why = sized.lost or _reasons(desk, _dead(desk, part))
        return _tell(
            desk, part, "reference-gone", f"what held the place of {part.title} is gone", why, _carried(desk, part)
        )
    is_off = _is_off(desk, part)
    if record.located_by == "route":
        missing = "has no second end" if "route" in sized.hints else "is not written down"
        return _tell(desk, part, "no-route", f"{is_off} and its way {missing}", help=WRITE_A_ROUTE)
    if record.rank_ever:
        left = " and ".join(record.free) or "is not held"
        it = "" if sized.one_of_many and sized.now.held else "it "
        message = f"{is_off} and partly recorded: {it}{left}"
        return _tell(desk, part, "partly-recorded", message, _reasons(desk, _dead(desk, part)))
    if record.word == "seen, not measured":
        message = f"{is_off}; it was seen in place, and nothing measured holds it"
        return _tell(desk, part, "seen-not-measured", message)
    return _tell(desk, part, "no-position", f"{is_off} and nothing says where it sat", _twin(desk, part))


def _is_off(desk: Desk, part: Part) -> str:
    """`handrail is off`, or `is scrapped`: then its place is asked for what will be made in its stead."""
    return f"{part.title} is {'scrapped' if desk.book.state(part.id) == 'scrapped' else 'off'}"


def _tell(desk: Desk, part: Part, word: str, message: str, notes: Iterable[str | Note] = (), help: str = "") -> Finding:
    advice = desk.record(part.id).next
    help = help or (f"measure {' and '.join(advice)}" if advice else "")
    if desk.book.state(part.id) == "scrapped":
        help = "; or ".join(filter(None, (help, "write `not coming back: yes` if nothing takes its place")))
    return Finding(
        word,
        message,
        taken_off(desk.book, part),
        tuple(note if isinstance(note, Note) else Note(note) for note in notes),
        help,
        part.id,
        part.host,
    )


def _dead(desk: Desk, part: Part) -> list[Reading]:
    """Readings of its place that no longer count."""
    return [
        reading
        for reading in desk.book.readings_of(part.id)
        if not reading.own and (standing := desk.recorder.standings.get(reading.id)) and not standing.lives
    ]


def _reasons(desk: Desk, dead: Iterable[Reading]) -> list[Note]:
    """Why readings no longer count, each reason once."""
    reasons: dict[str, Note] = {}
    for reading in dead:
        why = desk.recorder.standings[reading.id].why
        reasons.setdefault(why, Note(f'"{reading.text}": {why}', reading.span))
    return list(reasons.values())


def _carried(desk: Desk, part: Part) -> str:
    """What to write where a new host may have what the old one had; "" where no host was replaced."""
    lives, sat = desk.book.lives, desk.recorder.sat(part)
    new = [host for host in part.hosts if lives.self_at(host, sat) != lives.self_at(host, desk.book.now)]
    if not new:
        return ""
    living, host = desk.recorder.living, desk.book.parts[new[0]]
    gone = dict.fromkeys(
        f.name
        for reading in _dead(desk, part)
        if (f := reading.reference) and f.owner == host.id and f.words
        if living.uncut(host, f.words, reading.when).lives
    )
    seated = desk.record(part.id).located_by in ("own holes", "fit")
    if not gone and seated and not living.cut_under(part, host.id, sat, holes=True):
        gone = {"own holes": None}
    if not gone:
        return ""
    if not any(event.kind == "replaced" and event.when > sat for event in host.events):
        again = f"if it is the same {host.title}, take the `scrapped` slip out; "
        return f"{again}if it is another one, write `replaced` for the day it came, with `carries: {', '.join(gone)}`"
    return (
        f"if the new {host.title} has them in the same place, write `carries: {', '.join(gone)}` where it was replaced"
    )


def _twin(desk: Desk, part: Part) -> list[Note]:
    """The twin that is still on or recorded: it can be measured instead."""
    book = desk.book
    said = part.latest("opposite")
    twins = (
        said.parts
        if said
        else tuple(
            other.id
            for other in book.named(part.name)
            if part.side and other.side and other.side != part.side
        )
    )
    for twin in twins:
        if twin in book.parts and (
            not book.lives.is_off(twin, book.now) or desk.record(twin).word == "position recorded"
        ):
            state = "is still on" if not book.lives.is_off(twin, book.now) else "is recorded"
            return [Note(f"{book.title(twin)} {state}: measure that one", book.parts[twin].first)]
    return []


def _not_moved_over(desk: Desk, part: Part) -> Finding | None:
    """Recorded well enough, and its host is another by now: it waits to be moved over."""
    book = desk.book
    if part.host is None or not book.lives.is_off(part.id, book.now) or book.state(part.id) == "scrapped":
        return None
    sat = desk.recorder.sat(part)
    host = book.parts[part.host]
    replaced = book.lives.self_at(host.id, book.now) != book.lives.self_at(host.id, sat)
    done = "replaced" if replaced else "scrapped"
    event = next((e for e in host.events if e.kind == done and e.when > sat), None)
    if event is None or not (replaced or book.state(host.id) == "scrapped"):
        return None
    days = (book.today - event.when.day).days
    finding = _tell(
        desk,
        part,
        "not-moved-over",
        f"{part.title} is recorded and waits to be moved over: {host.title} was {done} {days_in_words(days)} ago",
        notes=[Note(f"{host.title} was {done} on {day(event)}", event.span)],
    )
    help = "fit it and write a `refitted` slip"
    return replace(finding, severity="remark" if days <= REMARK_DAYS else "warning", help=help)


def small_gaps(desk: Desk) -> Iterator[Finding]:
    """Way round, picture in place, fixing: what is quickly written while it is fresh."""
    book = desk.book
    for part in desk.asked():
        if not book.lives.is_off(part.id, book.now) or book.state(part.id) == "scrapped":
            continue
        record, sized = desk.record(part.id), desk.recorder.sized(part.id)
        if not located_by(part)[1]:
            yield Finding(
                "no-fixing",
                f"nothing says how {part.title} is held",
                taken_off(book, part),
                help="write a line such as `held by: 4 bolts M8 x 25`",
                part=part.id,
            )
        seated = record.located_by in ("own holes", "fit") and bool(sized.grounds)
        bare = not (sized.hints or sized.ever_enough or record.rank_ever)  # then it is no-position
        if seated or bare or record.located_by == "route":
            continue
        if not part.latest("way round") and not (sized.pinned and sized.second_spot != "no"):
            yield Finding(
                "no-way-round",
                f"nothing says which way round {part.title} sits",
                taken_off(book, part),
                help="write a line such as `way round: long leg to the front`",
                part=part.id,
            )
        if "photo" not in sized.hints:
            yield Finding(
                "no-photo-in-place",
                part.title,
                taken_off(book, part),
                help="name one in the slip that takes it off: `photos: IMG_0451`",
                part=part.id,
            )


def one_a_day(found: Iterable[Finding]) -> Iterator[Finding]:
    """Findings as they come, those of missing pictures put into one a day folder, which names the parts."""
    unpictured: dict[str, list[Finding]] = defaultdict(list)
    for finding in found:
        if finding.word == "no-photo-in-place":
            unpictured[finding.span.file.rpartition("/")[0]].append(finding)
        else:
            yield finding
    for same_day in unpictured.values():
        names = "; ".join(finding.message for finding in same_day)
        yield replace(same_day[0], message=f"no picture shows where it sat: {names}")


def _host_went(desk: Desk, part: Part, refit: Event) -> bool:
    """Whether something took the host from under the part before it was refitted, since it last was: then it came off
    with it, whether or not anybody wrote that."""
    since = max((e.when for e in part.events if e.kind == "refitted" and e.when < refit.when), default=BEFORE_ALL)
    hosts = (desk.book.parts[host] for host in part.hosts)
    return any(e.kind in GONE and since < e.when < refit.when for host in hosts for e in host.events)


def off_and_on(desk: Desk) -> Iterator[Finding]:
    """A part taken off twice, or refitted without having been off."""
    for part in desk.book.parts.values():
        off: Event | None = None
        renewed = False
        for event in part.events:
            if event.kind == "removed" and off:
                yield Finding(
                    "already-off",
                    f"{part.title} is off already",
                    event.span,
                    (Note(f"taken off on {day(off)}", off.span),),
                    "write `measured` for more readings, or `refitted` for the day it went back",
                    part.id,
                )
            if event.kind == "refitted" and not (off or renewed or _host_went(desk, part, event)):
                yield Finding(
                    "not-off",
                    f"{part.title} is refitted, and nothing says it was off",
                    event.span,
                    help="write a `removed` slip for the day it came off",
                    part=part.id,
                )
            if event.kind in ("removed", "scrapped"):
                off = off or event
            elif event.kind in ("refitted", "replaced"):
                off, renewed = None, event.kind == "replaced"
