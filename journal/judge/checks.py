"""The checks that make findings of a book: one visible tuple, all of one shape, none changing anything."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from journal.ground.finding import Finding, Note
from journal.ground.names import NearIndex, fold
from journal.ground.source import Span
from journal.judge.advice import Adviser
from journal.judge.compared import amount, compared, u
from journal.judge.living import day
from journal.judge.located import located_by
from journal.judge.record import Recorder
from journal.judge.verdicts import Judgement, Record, Standing
from journal.measure.compare import against_want
from journal.model.book import Book
from journal.model.entities import Event, Part, Reading

HISTORY = frozenset(
    "thickness torque mass pressure voltage current resistance volume temperature gap play".split()
)
REMARK_DAYS = 30  # so long a part may wait for its new host before it is a warning
ONE_OF = ("no-position", "seen-not-measured", "partly-recorded", "reference-gone", "not-moved-over", "no-route")


@dataclass(frozen=True)
class Desk:
    """What a check may look at."""

    book: Book
    recorder: Recorder
    adviser: Adviser
    records: dict[str, Record]

    def record(self, part: str) -> Record:
        return self.records[part]

    def asked(self) -> Iterator[Part]:
        """Parts whose place is wanted, in the order they were first named."""
        return (part for part in self.book.parts.values() if self.records[part.id].asked)


Check = Callable[[Desk], Iterable[Finding]]


def judge(book: Book, reading_findings: Iterable[Finding] = ()) -> Judgement:
    """Every verdict on a book. `reading_findings` are those of the stages before, to be settled and put in order."""
    recorder = Recorder(book)
    adviser = Adviser(recorder)
    records = {part: recorder.record(part) for part in book.parts}
    records = {
        part: replace(record, next=adviser.next(part)) if record.asked or book.parts[part].host in adviser.going
        else record
        for part, record in records.items()
    }
    desk = Desk(book, recorder, adviser, records)
    found = [*reading_findings, *(finding for check in CHECKS for finding in check(desk))]
    found = [*_settle(book, found)]
    found.sort(key=lambda f: (f.span.file, f.span.line, f.span.column, f.word, f.message))
    return Judgement(records, _all_standings(book, recorder), tuple(found))


def _all_standings(book: Book, recorder: Recorder) -> dict[str, Standing]:
    return {id: recorder.standings.get(id, Standing(False, True)) for id in book.readings}


def _settle(book: Book, found: list[Finding]) -> Iterator[Finding]:
    """Findings less those a `settled:` line ends, and a remark for every such line that ends none."""
    settled: dict[tuple[str, str], list[Span]] = defaultdict(list)
    for part in book.parts.values():
        for said in part.every("settled"):
            word = fold(said.text.split(",")[0]).replace(" ", "-")
            settled[part.id, word].append(said.span)
    used = set()
    for finding in found:
        key = (finding.part or "", finding.word)
        if key in settled:
            used.add(key)
        else:
            yield finding
    for (part, word), spans in settled.items():
        if (part, word) not in used:
            for span in spans:
                yield Finding(
                    "settles-nothing", f'there is no finding "{word}" about {book.title(part)} to settle', span,
                    help="take the line out, or write the word as the finding gives it in brackets", part=part,
                )


def one_of(desk: Desk) -> Iterator[Finding]:
    """The one thing to say of a part that is off and is to come back."""
    told = {part for host in _going_hosts(desk) for part in _unrecorded_on(desk, host)}
    for part in desk.asked():
        if part.id not in told and not desk.recorder.lost_host(part.id):
            finding = _one_of(desk, part)
            if finding:
                yield finding


def _one_of(desk: Desk, part: Part) -> Finding | None:
    record, sized = desk.record(part.id), desk.recorder.sized(part.id)
    if record.word == "position recorded":
        return _not_moved_over(desk, part)
    if record.located_by == "route" and not sized.ever_enough and not record.rank_ever:
        return _tell(desk, part, "no-route", f"{part.title} is off and its way is not written down"
                     if "route" not in sized.hints else f"{part.title} is off and its way has no second end")
    if sized.ever_enough:
        why = sized.lost or _dead(desk, part)
        return _tell(desk, part, "reference-gone", f"what held the place of {part.title} is gone", notes=why)
    if record.rank_ever or (sized.one_of_many and sized.now.held):
        left = " and ".join(record.free) or "is not held"
        return _tell(desk, part, "partly-recorded", f"{part.title} is off and partly recorded: it {left}"
                     if not sized.one_of_many else f"{part.title} is off and partly recorded: {left}",
                     notes=_dead(desk, part))
    if record.word == "seen, not measured":
        return _tell(desk, part, "seen-not-measured",
                     f"{part.title} is off; it was seen in place, and nothing measured holds it")
    return _tell(desk, part, "no-position", f"{part.title} is off and nothing says where it sat", notes=_twin(desk, part))


def _tell(desk: Desk, part: Part, word: str, message: str, notes: Iterable[str | Note] = ()) -> Finding:
    advice = desk.record(part.id).next
    help = "measure " + " and ".join(f'"{text}"' for text in advice) if advice else ""
    if word == "no-route":
        help = "write a line such as `route: from the tank, along the left rail, to the pump`, or `connects:` for each end"
    return Finding(
        word, message, _taken_off(desk.book, part),
        tuple(note if isinstance(note, Note) else Note(note) for note in notes), help, part.id, part.host,
    )


def _taken_off(book: Book, part: Part) -> Span:
    """The first line of the slip that took the part off, else of the slip that first names it."""
    event = book.lives.came_off(part.id, book.now)
    return event.span if event else part.first


def _dead(desk: Desk, part: Part) -> list[Note]:
    """Why readings no longer count, each reason once."""
    reasons: dict[str, Note] = {}
    for reading in desk.book.readings_of(part.id):
        standing = desk.recorder.standings.get(reading.id)
        if standing and not standing.lives and standing.why and not reading.own:
            reasons.setdefault(standing.why, Note(f'"{reading.text}": {standing.why}', reading.span))
    return list(reasons.values())


def _twin(desk: Desk, part: Part) -> list[Note]:
    """The twin that is still on or recorded: it can be measured instead."""
    book = desk.book
    said = part.latest("opposite")
    twins = said.parts if said else tuple(
        other.id for other in book.parts.values()
        if part.side and other.side and other.side != part.side and fold(other.name) == fold(part.name)
    )
    for twin in twins:
        if twin in book.parts and (not book.lives.is_off(twin, book.now)
                                   or desk.record(twin).word == "position recorded"):
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
    event = next((e for e in host.events if e.kind in ("replaced", "scrapped") and e.when > sat), None)
    replaced = book.lives.self_at(host.id, book.now) != book.lives.self_at(host.id, sat)
    if event is None or not (replaced or book.state(host.id) == "scrapped"):
        return None
    days = (book.today - event.when.day).days
    done = "replaced" if replaced else "scrapped"
    finding = _tell(
        desk, part, "not-moved-over",
        f"{part.title} is recorded and waits to be moved over: {host.title} was {done} {_days(days)} ago",
        notes=[Note(f"{host.title} was {done} on {day(event)}", event.span)],
    )
    help = "fit it and write a `refitted` slip"
    return replace(finding, severity="remark" if days <= REMARK_DAYS else "warning", help=help)


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"


def lost_with_host(desk: Desk) -> Iterator[Finding]:
    """Parts never said to be off, whose host is gone, or has lost the features they sat on."""
    book = desk.book
    for part in book.parts.values():
        if part.host is None or book.lives.is_off(part.id, book.now):
            continue
        event = _gone_from_under(desk, part)
        if event:
            host = book.parts[part.host]
            verb = {"replaced": "replaced", "scrapped": "scrapped", "cut": "cut"}[event.kind]
            yield Finding(
                "lost-with-host",
                f"{part.title} was never taken off, and {host.title} was {verb} on {day(event)}",
                part.first,
                (Note(f"{host.title} was {verb} here", event.span),),
                "write a `removed` slip for it on the day it came off, or `scrapped`, or `refitted` if it is on the "
                "new one",
                part.id, host.id,
            )


def _gone_from_under(desk: Desk, part: Part) -> Event | None:
    """The event that took the host, or the piece of it, from under a part that is still said to be on."""
    book = desk.book
    assert part.host is not None
    host = book.parts[part.host]
    sat = book.lives.settled(part.id, book.now)
    if desk.recorder.lost_host(part.id):
        return next((e for e in host.events if e.kind in ("replaced", "scrapped") and e.when > sat), None)
    for event in host.events:
        if event.kind == "cut" and event.when > sat and event.self == book.lives.self_at(host.id, book.now):
            if not event.away or any(_sat_on(part, item, desk) for item in event.away):
                return event
    return None


def _sat_on(part: Part, item: str, desk: Desk) -> bool:
    """Whether a piece cut away is what the part sat on: its face, its place, or own holes it hangs in."""
    word = fold(item)
    face, place = part.latest("face"), part.place
    if word == "own holes":
        return desk.record(part.id).located_by in ("own holes", "fit")
    return bool((face and fold(face.text) == word) or (place and fold(place[-1]) == word))


def host_going(desk: Desk) -> Iterator[Finding]:
    """The warning to give before the saw: parts on a host that is going, without a full record."""
    book = desk.book
    for host, why in _going_hosts(desk).items():
        parts = _unrecorded_on(desk, host)
        if not parts:
            continue
        notes = []
        for id in parts:
            record = desk.record(id)
            left = f"{record.word}; {' and '.join(record.free)}" if record.free else record.word
            if record.word == "position recorded":
                left = f"held by {record.grounds[0]}, which may go with it"
            advice = f": measure {' and '.join(record.next)}" if record.next else ""
            notes.append(Note(f"{book.title(id)}: {left}{advice}", book.parts[id].first))
        count = f"{len(parts)} parts on it have" if len(parts) > 1 else "1 part on it has"
        yield Finding(
            "host-going", f"{book.title(host)} is about to go, and {count} no full record", why,
            tuple(notes), "measure them now, while the old one can still be measured", host, host,
        )


def _going_hosts(desk: Desk) -> dict[str, Span]:
    """Hosts that are announced to go or that an open job cuts, with the place that says so."""
    book, found = desk.book, {}
    for part in book.parts.values():
        said = part.latest("going")
        if said and book.state(part.id) == "going":
            found[part.id] = said.span
    for job in book.jobs.values():
        if job.done is None:
            for id in job.cuts:
                gone = any(e.kind in ("cut", "scrapped", "replaced") and e.when > job.when for e in book.parts[id].events)
                if not gone and book.state(id) != "scrapped":
                    found.setdefault(id, job.span)
    return found


def _unrecorded_on(desk: Desk, host: str) -> list[str]:
    """Parts of a host whose place is lost with it: no full record, or one that rests on its own holes only."""
    return [
        id
        for id in desk.book.children(host)
        if not _never_back(desk.book, id)
        and (desk.record(id).word != "position recorded" or _only_on_seat(desk, id))
    ]


def _never_back(book: Book, part: str) -> bool:
    said = book.parts[part].latest("not coming back")
    return book.state(part) == "scrapped" and said is not None


def _only_on_seat(desk: Desk, part: str) -> bool:
    """Whether own holes or a fit are all that holds it: they go with the panel."""
    sized = desk.recorder.sized(part)
    seat = [ground for ground in sized.grounds if not ground.startswith(("own holes in", "its fit in"))]
    return not sized.held and not seat


def small_gaps(desk: Desk) -> Iterator[Finding]:
    """Way round, picture in place, fixing: what is quickly written while it is fresh."""
    book = desk.book
    unpictured: dict[str, list[Part]] = defaultdict(list)
    for part in desk.asked():
        if not book.lives.is_off(part.id, book.now) or book.state(part.id) == "scrapped":
            continue
        record, sized = desk.record(part.id), desk.recorder.sized(part.id)
        if not located_by(part)[1]:
            yield Finding("no-fixing", f"nothing says how {part.title} is held", _taken_off(book, part),
                          help="write a line such as `held by: 4 bolts M8 x 25`", part=part.id)
        seated = record.located_by in ("own holes", "fit") and bool(sized.grounds)
        bare = record.word == "not recorded"
        if seated or bare or record.located_by == "route":
            continue
        if not part.latest("way round"):
            yield Finding("no-way-round", f"nothing says which way round {part.title} sits", _taken_off(book, part),
                          help="write a line such as `way round: long leg to the front`", part=part.id)
        if "photo" not in sized.hints:
            unpictured[_taken_off(book, part).file.rsplit("/", 1)[0]].append(part)
    for parts in unpictured.values():
        names = ", ".join(part.title for part in parts)
        yield Finding("no-photo-in-place", f"no picture shows where it sat: {names}", _taken_off(book, parts[0]),
                      help="name one in the slip that takes it off: `photos: IMG_0451`", part=parts[0].id)


def off_and_on(desk: Desk) -> Iterator[Finding]:
    """A part taken off twice, or refitted without having been off."""
    for part in desk.book.parts.values():
        off: Event | None = None
        for event in part.events:
            if event.kind == "removed" and off:
                yield Finding("already-off", f"{part.title} is off already", event.span,
                              (Note(f"taken off on {day(off)}", off.span),),
                              "write `measured` for more readings, or `refitted` for the day it went back", part.id)
            if event.kind == "refitted" and not off:
                yield Finding("not-off", f"{part.title} is refitted, and nothing says it was off", event.span,
                              help="write a `removed` slip for the day it came off", part=part.id)
            if event.kind in ("removed", "scrapped"):
                off = off or event
            elif event.kind in ("refitted", "replaced"):
                off = None


def disagreements(desk: Desk) -> Iterator[Finding]:
    """The same relation on the same selves, read twice, and the size of the new one against the old."""
    groups: dict[object, list[Reading]] = defaultdict(list)
    for reading in desk.book.readings.values():
        if reading.value and reading.value.computable and not reading.which and reading.dimension not in HISTORY:
            groups[_same_thing(reading)].append(reading)
    for readings in groups.values():
        for old, new in zip(readings, readings[1:], strict=False):
            if _refitted_between(desk.book, old, new):
                continue
            found = _differs(desk.book, old, new)
            if found:
                yield found


def _same_thing(reading: Reading) -> tuple[object, ...]:
    a, b = reading.subject, reading.reference
    return (
        reading.part, a and (a.words, a.rim), reading.relation, b and (b.owner, b.words, b.rim), reading.dimension,
        reading.remark, None if reading.own else (reading.self, reading.reference_self),
    )


def _refitted_between(book: Book, old: Reading, new: Reading) -> bool:
    """Whether the part was put back between the two: then the second checks the refit, not the first."""
    return not old.own and any(
        e.kind in ("refitted", "replaced") and old.when < e.when <= new.when for e in book.parts[old.part].events
    )


def _differs(book: Book, old: Reading, new: Reading) -> Finding | None:
    comparison = compared(old, new)
    if comparison is None or comparison.agree:
        return None
    gap, allowed = amount(abs(comparison.difference), new), amount(comparison.limit, new)
    part = book.title(new.part)
    if old.self != new.self and old.own:
        return Finding(
            "new-one-differs",
            f"the new {part} differs: {_what(new)} is {new.written}, it was {old.written} on the old one ({gap} apart, "
            f"{allowed} can be the measuring)",
            new.span, (Note("read on the old one here", old.span),),
            "measure both again; if the new one is right, say what goes with it in `carries:`",
            new.part, new.host, new.id,
        )
    return Finding(
        "disagree",
        f"{_what(new)} of {part} is {new.written} here and {old.written} before ({gap} apart, {allowed} can be the "
        "measuring)",
        new.span, (Note("the earlier reading", old.span),),
        "measure it once more, and mark the wrong line `, in doubt`",
        new.part, new.host, new.id,
    )


def _what(reading: Reading) -> str:
    """The left side of a reading, as written."""
    return f'"{reading.text.split(":")[0].strip()}"'


def wants(desk: Desk) -> Iterator[Finding]:
    """What was found against what was wanted, and how much to take off or add."""
    for reading in desk.book.readings.values():
        if reading.value is None or reading.want is None:
            continue
        miss = against_want(reading.value, u(reading), reading.want) if reading.value.computable else None
        if miss is None:
            continue
        gap = reading.relation == "gap to" or "gap" in (reading.dimension, *reading.text.split(":")[0].split())
        verb = "take off" if miss.take_off(gap) else "add"
        yield Finding(
            "out-of-want",
            f"{_what(reading)} of {desk.book.title(reading.part)} is {reading.written}, wanted {reading.want.written}",
            reading.span, help=f"{verb} {amount(miss.least, reading)} at least", part=reading.part,
            host=reading.host, measurement=reading.id,
        )


def near_features(desk: Desk) -> Iterator[Finding]:
    """Two spellings of one feature within a part: readings of the one do not help the other."""
    first: dict[str | None, dict[str, Reading]] = defaultdict(dict)
    indexes: dict[str | None, NearIndex] = defaultdict(NearIndex)
    for reading in desk.book.readings.values():
        for feature in (reading.subject, reading.reference):
            if feature is None or not feature.words or feature.words in first[feature.owner]:
                continue
            near = indexes[feature.owner].near(feature.words)
            if near:
                other = first[feature.owner][near[0]]
                yield Finding(
                    "nearly-same-name",
                    f'"{feature.words}" of {desk.book.title(feature.owner)} looks like "{near[0]}" written another way',
                    reading.span, (Note(f'"{near[0]}" stands here', other.span),),
                    "write both alike if they are one", feature.owner, severity="remark",
                )
            first[feature.owner][feature.words] = reading
            indexes[feature.owner].add(feature.words)


def photo_dates(desk: Desk) -> Iterator[Finding]:
    """Pictures taken on another day than their folder says, one remark a folder."""
    folders: dict[tuple[str, date], list[str]] = defaultdict(list)
    for photo in desk.book.photos.values():
        if photo.taken and photo.taken[:10] != photo.day.isoformat():
            folders[photo.key.rpartition("/")[0], photo.day].append(f"{photo.name} on {photo.taken[:10]}")
    for (folder, _), names in folders.items():
        shown = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
        yield Finding("photo-date-differs", f"taken on another day than the folder says: {shown}", Span(folder),
                      help="move them to the folder of their day, or leave them if the clock was wrong")


CHECKS: tuple[Check, ...] = (
    one_of, lost_with_host, host_going, small_gaps, off_and_on, disagreements, wants, near_features, photo_dates,
)
