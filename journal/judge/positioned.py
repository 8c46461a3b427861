"""Findings that come out of places and comparisons: two spots, weak turns, slips of the tape, sides, refits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from journal.ground.finding import Finding, Note
from journal.judge.compared import amount, compared
from journal.judge.comparisons import HISTORY, disagreements, what
from journal.judge.desk import Desk, taken_off
from journal.judge.going import going_hosts
from journal.judge.hosts import unrecorded_on
from journal.judge.record import Sized
from journal.judge.refits import Pair, Refit, refits, unsettled
from journal.judge.verdicts import FacePosition, OtherSpot, Residual, Spot, steady
from journal.judge.weak import turn_of
from journal.measure.adjustment import BAARDA
from journal.measure.poses import WELL
from journal.model.entities import Part, Reading

MOST_SHOWN = 6
WIDER = "measure a hole or corner further out to the same edge, or set a square to it"
OFF_AGAIN = (
    "it is off again, and nothing says which of the two is where it belongs: mark the other one `, in doubt`, or write "
    "`moved: yes` in its `refitted` slip"
)


def two_spots(desk: Desk) -> Iterator[Finding]:
    """Parts that readings hold, and hold in a second place as well, with nothing that tells the two apart."""
    told = {part for host in going_hosts(desk.book) for part in unrecorded_on(desk, host)}
    for part in desk.asked():
        sized = desk.recorder.sized(part.id)
        second = sized.second_spot if sized.pinned and not sized.grounds else "no"
        if second == "no" or part.id in told or desk.recorder.lost_host(part.id):
            continue
        position = desk.solver.of(part.id)
        if second == "may" and position and _one_place_only(position, part.id):
            continue
        yield _two_spots(desk, part, sized, second == "is", _other(position, part.id))


def _one_place_only(position: FacePosition, part: str) -> bool:
    """Whether every point of the part is placed, two of them well apart, and the search found no other place.

    Points that lie hardly further apart than their readings may be out hold a turn so loosely that the part may go
    further than any sum of small errors says.
    """
    spots = position.of(part)
    placed = part in position.parts and part not in position.unsolved and len(spots) > 1
    return placed and _other(position, part) is None and any(_well_apart(*pair) for pair in combinations(spots, 2))


def _well_apart(a: Spot, b: Spot) -> bool:
    """By `poses.WELL` times what both may be out: a + m is at most sqrt(6) times sqrt((a² + m²) / 3)."""
    widths = (math.sqrt(6) * (mine + others) for mine, others in zip(a.sigma, b.sigma, strict=True))
    return math.dist((a.u, a.v), (b.u, b.v)) > WELL * math.hypot(*widths)


def _other(position: FacePosition | None, part: str) -> OtherSpot | None:
    found = (other for other in position.alternatives if other.part == part and not other.told_by) if position else ()
    return next(iter(found), None)


def _two_spots(desk: Desk, part: Part, sized: Sized, sure: bool, other: OtherSpot | None) -> Finding:
    only_turned = sized.doubt.turned == "no"
    how = "turned the other way" if only_turned else "in a second place"
    notes: tuple[Note, ...] = ()
    if other:
        turned = f"turned by {abs(other.turned):.0f}°" if abs(other.turned) >= 1 else "not turned"
        away = f"up to {other.apart:.0f} mm from the first" if other.apart >= 1 else "on the spot"
        notes = (Note(f"the second place: {turned}, {away}"),)
    word = "way round" if only_turned and not part.latest("way round") else ""
    advice = desk.record(part.id).next
    words = " and ".join(what(desk.book.readings[id]) for id in sized.either_side)
    helps = [
        f"write `above`, `below`, `ahead of` or `behind` in place of `to` in {words}" if words else "",
        "write which way round it sits, such as `way round: long leg to the front`" if word else "",
        f"measure {' and '.join(advice)}" if advice else "",
        "name a picture of it in place",
    ]
    return Finding(
        "two-spots",
        f"the readings of {part.title} {'fit' if sure else 'may fit'} just as well {how}",
        taken_off(desk.book, part),
        notes,
        ", or ".join(filter(None, helps)),
        part.id,
        part.host,
    )


def weak_turns(desk: Desk) -> Iterator[Finding]:
    """Parts that readings hold, and hold against turning only over a short stretch or roughly."""
    for part in desk.asked():
        sized = desk.recorder.sized(part.id)
        if not sized.pinned or sized.grounds or sized.face.round:
            continue
        position = desk.solver.of(part.id)
        spots = position.of(part.id) if position else ()
        weak = turn_of(desk.recorder, sized, spots).why_weak
        if weak:
            record = desk.record(part.id)
            gain = f" ({record.gain})" if record.gain else ""
            yield Finding(
                "weak-turn",
                f"the turn of {part.title} is weakly held: {weak}",
                taken_off(desk.book, part),
                help=f"measure {record.next[0]}{gain}" if record.next else WIDER,
                part=part.id,
                host=part.host,
            )


def suspect_measurements(desk: Desk) -> Iterator[Finding]:
    """The reading of a face that does not fit the others, and what they say; or that they do not hold together."""
    told = _told_already(desk)
    named: set[str] = set()
    for position in desk.solver.positions:
        for id in position.suspects:
            if id not in named and id not in told:
                named.add(id)
                yield _slip(desk, desk.book.readings[id], position.residuals[id])
        apart = list(position.contradicting)
        if position.suspect is None and not position.fits:
            apart.append(_worst(position))
        for ids in apart:
            if not any(id in told or id in named for id in ids):
                named.update(ids)
                readings = [desk.book.readings[id] for id in ids]
                yield _no_fit(desk, readings) if len(readings) > 1 else _far_out(desk, *readings)


def _told_already(desk: Desk) -> frozenset[str]:
    """Readings of which it is told already that they were taken twice and differ."""
    spans = {span for found in disagreements(desk) for span in (found.span, *(note.span for note in found.notes))}
    return frozenset(id for id, reading in desk.book.readings.items() if reading.span in spans)


def _worst(position: FacePosition) -> tuple[str, ...]:
    """Readings that do not hold together, the worst first: any of them can be the wrong one. Of those that are out
    alike, in the order they were taken in."""
    left_in = {id: each.normalised for id, each in position.residuals.items() if id not in position.suspects}
    sizes = {id: abs(said) for id, said in left_in.items() if said is not None}
    ranked = sorted(sizes, key=lambda id: -steady(sizes[id]))
    over = [id for id in ranked if sizes[id] > BAARDA]
    return tuple((over or ranked)[:MOST_SHOWN])


def _slip(desk: Desk, reading: Reading, residual: Residual) -> Finding:
    says = ""
    if residual.should_read:
        value, sigma = residual.should_read
        says = f", the others say {value:.1f} {residual.unit} ± {2 * sigma:.1f} {residual.unit}"
    return Finding(
        "suspect-measurement",
        f"{what(reading)} of {desk.book.title(reading.part)} does not fit the other readings: it is {reading.written}"
        + says,
        reading.span,
        help="measure it again and put the line right, or mark it `, in doubt`",
        part=reading.part,
        host=reading.host,
        measurement=reading.id,
    )


def _no_fit(desk: Desk, readings: list[Reading]) -> Finding:
    """Told once, at the line written last."""
    last = max(readings, key=lambda reading: (reading.when, reading.span.line))
    notes = tuple(
        Note(f"{what(reading)} of {desk.book.title(reading.part)} is {reading.written}", reading.span)
        for reading in readings
        if reading is not last
    )
    return Finding(
        "suspect-measurement",
        f"{what(last)} of {desk.book.title(last.part)} and the readings below do not hold together; which one is "
        "wrong cannot be told from them",
        last.span,
        notes,
        "measure them again, or add one more reading between the same things",
        last.part,
        last.host,
        last.id,
    )


def _far_out(desk: Desk, reading: Reading) -> Finding:
    return Finding(
        "suspect-measurement",
        f"{what(reading)} of {desk.book.title(reading.part)} is {reading.written}, and by the other readings it can be "
        "nothing like that",
        reading.span,
        help="measure it again, and what else was read of the same thing; put right what is wrong",
        part=reading.part,
        host=reading.host,
        measurement=reading.id,
    )


def sides_differ(desk: Desk) -> Iterator[Finding]:
    """The same reading on the left and on the right, where both were taken and differ."""
    book = desk.book
    done: set[frozenset[str]] = set()
    for part in book.parts.values():
        twin = _twin(desk, part)
        if twin is None or frozenset((part.id, twin)) in done:
            continue
        done.add(frozenset((part.id, twin)))
        mine, theirs = _newest(desk, part.id, swap=False), _newest(desk, twin, swap=True)
        for key in mine.keys() & theirs.keys():
            found = _sides(desk, mine[key], theirs[key])
            if found:
                yield found


def _twin(desk: Desk, part: Part) -> str | None:
    """The part of the same name on the other side, or the one that is said to be opposite."""
    said = part.latest("opposite")
    if said and said.parts:
        return said.parts[0]
    return desk.other_side.get(part.id)


def _newest(desk: Desk, id: str, swap: bool) -> dict[object, Reading]:
    """The newest reading of each thing of a part's present self, by words that are the same on both sides."""
    now = desk.book.lives.self_at(id, desk.book.now)
    found: dict[object, Reading] = {}
    for reading in desk.book.readings_of(id):
        plain = reading.value and reading.value.computable and not reading.doubted
        if plain and reading.self == now and reading.dimension not in HISTORY:
            found[_words(desk, reading, swap)] = reading
    return found


def _words(desk: Desk, reading: Reading, swap: bool) -> tuple[object, ...]:
    sides = desk.book.settings.sides
    other = dict(zip(sides, reversed(sides), strict=True)) if swap else {}

    def turned(text: str) -> str:
        return " ".join(other.get(word, word) for word in text.split())

    a, b = reading.subject, reading.reference
    owner = b.owner if b else None
    if swap and owner is not None:
        owner = desk.other_side.get(owner, owner)
    own = reading.own
    return (
        a and (turned(a.words), a.rim),
        turned(reading.relation),
        b and (None if own else owner, turned(b.words), b.rim),
        turned(reading.dimension),
        own,
    )


def _sides(desk: Desk, one: Reading, other: Reading) -> Finding | None:
    comparison = compared(one, other)
    if comparison is None or comparison.agree:
        return None
    first, last = sorted((one, other), key=lambda reading: reading.when)
    gap, allowed = amount(abs(comparison.difference), last), amount(comparison.limit, last)
    book = desk.book
    return Finding(
        "sides-differ",
        f"{what(last)} is {last.written} on {book.title(last.part)} and {first.written} on {book.title(first.part)} "
        f"({gap} apart, of which {allowed} can be the measuring)",
        last.span,
        (Note("the other side", first.span),),
        "measure both again; if they are meant to differ, write `settled: sides-differ, why`",
        last.part,
        last.host,
        last.id,
    )


def refits_off(desk: Desk) -> Iterator[Finding]:
    """Parts that are back, and not where they were."""
    for refit in refits(desk.book):
        if refit.was_on:
            yield _on_another(desk, refit)
        for pair in refit.pairs:
            if not pair.comparison.agree:
                yield _refit_off(desk, pair)
    for part in desk.book.parts.values():
        for pair in unsettled(desk.book, part):
            yield replace(_refit_off(desk, pair), help=OFF_AGAIN)


def _on_another(desk: Desk, refit: Refit) -> Finding:
    """It is back on something that it never came off, most likely on the other side."""
    book, part = desk.book, desk.book.parts[refit.part]
    return Finding(
        "refit-off",
        f"{part.title} is back on {book.title(part.host)}, and came off {book.title(refit.was_on)}",
        refit.event.span,
        help=f"put it on {book.title(refit.was_on)}, or write `moved: yes` in this slip if it is meant to sit there",
        part=part.id,
        host=part.host,
    )


def _refit_off(desk: Desk, pair: Pair) -> Finding:
    new, old = pair.after, pair.before
    gap, allowed = amount(abs(pair.comparison.difference), new), amount(pair.comparison.limit, new)
    return Finding(
        "refit-off",
        f"{what(new)} of {desk.book.title(new.part)} is {new.written} since it is back, and was {old.written} before "
        f"({gap} apart, of which {allowed} can be the measuring)",
        new.span,
        (Note("where it sat before", old.span),),
        "set it again, or write `moved: yes` in the `refitted` slip if it is meant to sit there",
        new.part,
        new.host,
        new.id,
    )
