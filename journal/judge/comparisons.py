"""Readings against readings and against what is wanted; names and dates that do not fit together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from journal.ground.finding import Finding, Note
from journal.ground.names import NearIndex
from journal.ground.source import Span
from journal.judge.compared import amount, compared, u
from journal.judge.desk import Desk
from journal.measure.compare import Miss, against_want
from journal.measure.value import Value
from journal.model.book import Book
from journal.model.entities import Reading

HISTORY = frozenset(
    [
        "thickness",
        "torque",
        "mass",
        "pressure",
        "voltage",
        "current",
        "resistance",
        "volume",
        "temperature",
        "gap",
        "play",
    ]
)


def disagreements(desk: Desk) -> Iterator[Finding]:
    """The same relation on the same selves, read twice, and the size of the new one against the old."""
    groups: dict[object, list[Reading]] = defaultdict(list)
    for reading in desk.book.readings.values():
        usable = reading.value and reading.value.computable and not reading.doubted
        if usable and reading.dimension not in HISTORY:
            groups[_same_thing(reading)].append(reading)
    for readings in groups.values():
        for old, new in pairwise(readings):
            if _refitted_between(desk.book, old, new) or _missed(old, old.want):
                continue  # put back, or put right, in between
            found = _differs(desk.book, old, new)
            if found:
                yield found


def _same_thing(reading: Reading) -> tuple[object, ...]:
    a, b = reading.subject, reading.reference
    return (
        reading.part,
        a and (a.words, a.rim),
        reading.relation,
        b and (b.owner, b.words, b.rim),
        reading.dimension,
        reading.remark,
        None if reading.own else (reading.self, reading.reference_self),
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
            f"the new {part} differs: {what(new)} is {new.written}, it was {old.written} on the old one ({gap} apart, "
            f"of which {allowed} can be the measuring)",
            new.span,
            (Note("read on the old one here", old.span),),
            "measure both again; if the new one is right, say what goes with it in `carries:`",
            new.part,
            new.host,
            new.id,
        )
    return Finding(
        "disagree",
        f"{what(new)} of {part} is {new.written} here and {old.written} before ({gap} apart, {allowed} can be the "
        "measuring)",
        new.span,
        (Note("the earlier reading", old.span),),
        "measure it once more, and mark the wrong line `, in doubt`",
        new.part,
        new.host,
        new.id,
    )


def what(reading: Reading) -> str:
    """The left side of a reading, as written."""
    return f'"{reading.text.split(":")[0].strip()}"'


def _missed(reading: Reading, want: Value | None) -> Miss | None:
    """By how much a reading misses what was wanted; None where it does not, or cannot be held against it."""
    if reading.value is None or want is None or not reading.value.computable:
        return None
    return against_want(reading.value, u(reading), want)


def wants(desk: Desk) -> Iterator[Finding]:
    """What was found last against what was wanted last of the same thing, and how much to take off or add."""
    groups: dict[object, list[Reading]] = defaultdict(list)
    for reading in desk.book.readings.values():
        if reading.value is not None and reading.value.computable:
            groups[_same_thing(reading)].append(reading)
    for readings in groups.values():
        want = next((r.want for r in reversed(readings) if r.want is not None), None)
        reading = next((r for r in reversed(readings) if not r.doubted), readings[-1])
        miss = None if reading.doubted else _missed(reading, want)
        if miss is None or want is None:
            continue
        yield Finding(
            "out-of-want",
            f"{what(reading)} of {desk.book.title(reading.part)} is {reading.written}, wanted {want.written}",
            reading.span,
            help=_put_right(reading, miss),
            part=reading.part,
            host=reading.host,
            measurement=reading.id,
        )


def _put_right(reading: Reading, miss: Miss) -> str:
    """`take off 1.5 mm at least`; of a gap that is too small, off the metal beside it. Other quantities only miss."""
    least = amount(miss.least, reading)
    if reading.value is None or reading.value.quantity != "length":
        return f"it is {least} too {'high' if miss.too_big else 'low'} at least"
    left = reading.text.split(":")[0].split()
    gap = reading.relation == "gap to" or "gap" in (reading.dimension, *left)
    return f"{'take off' if miss.take_off(gap) else 'add'} {least} at least"


def near_features(desk: Desk) -> Iterator[Finding]:
    """Two spellings of one feature within a part: readings of the one do not help the other."""
    first: dict[str | None, dict[str, Reading]] = defaultdict(dict)
    indexes: dict[str | None, NearIndex] = defaultdict(lambda: NearIndex(sides=desk.book.settings.sides))
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
                    reading.span,
                    (Note(f'"{near[0]}" stands here', other.span),),
                    "write both alike if they are one",
                    feature.owner,
                    severity="remark",
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
        yield Finding(
            "photo-date-differs",
            f"taken on another day than the folder says: {shown}",
            Span(folder),
            help="move them to the folder of their day, or leave them if the clock was wrong",
        )
