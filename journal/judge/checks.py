"""All verdicts on a book: records, standings, and the checks that make findings, one visible tuple of one shape."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import TypeVar

from journal.ground.finding import Finding
from journal.ground.kept_work import KeptWork
from journal.ground.names import fold
from journal.ground.shares import in_shares
from journal.ground.source import Span
from journal.judge.advice import Adviser
from journal.judge.comparisons import disagreements, near_features, photo_dates, wants
from journal.judge.desk import Check, Desk
from journal.judge.hosts import host_going, host_rings, lost_with_host
from journal.judge.off_parts import off_and_on, one_a_day, one_of, small_gaps
from journal.judge.plan import order_of_work
from journal.judge.positioned import refits_off, sides_differ, suspect_measurements, two_spots, weak_turns
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.judge.refits import UNSETTLED, unsettled
from journal.judge.treatments import welded_after_paint
from journal.judge.verdicts import Judgement, Standing
from journal.model.book import Book

FOLDER = "positions"  # of the cache
WORTH_SHARING = 10_000  # readings: of fewer all is said sooner than a copy of the process is made
AT_ONCE = 100  # parts to be advised on
Given = TypeVar("Given")
PROGRAM = (Path(__file__).parent, Path(__file__).parents[1] / "measure")  # all that has a say in them

CHECKS: tuple[Check, ...] = (
    one_of,
    lost_with_host,
    host_going,
    host_rings,
    small_gaps,
    off_and_on,
    disagreements,
    wants,
    near_features,
    photo_dates,
    two_spots,
    weak_turns,
    suspect_measurements,
    sides_differ,
    refits_off,
    order_of_work,
    welded_after_paint,
)


def judge(book: Book, reading_findings: Iterable[Finding] = (), cache: Path | None = None) -> Judgement:
    """Every verdict on a book.

    reading_findings  those of the stages before, to be settled and put in order
    cache             where solved positions are kept between runs
    """
    first = Recorder(book)
    solver = Solver(first, KeptWork(cache / FOLDER if cache else None, PROGRAM))
    pairs = [pair for part in book.parts.values() for pair in unsettled(book, part)]
    twice = {each.id: UNSETTLED for pair in pairs for each in (pair.before, pair.after)}
    recorder = first.doubting(solver.unsure | twice)
    adviser = Adviser(recorder, solver)
    records = {part: recorder.record(part) for part in book.parts}
    asked = [part for part, record in records.items() if record.asked or book.parts[part].host in adviser.going]
    adviser.weigh_ahead(asked)
    told = partial(_all_told, solver.kept, len(book.readings) >= WORTH_SHARING)
    some = [asked[at : at + AT_ONCE] for at in range(0, len(asked), AT_ONCE)]
    advice = chain.from_iterable(told([partial(_advice, adviser, parts) for parts in some]))
    records |= {part: replace(records[part], next=next, gain=gain) for part, next, gain in advice}
    desk = Desk(book, recorder, records, solver)
    checked = told([partial(_findings, check, desk) for check in CHECKS])
    found = [*reading_findings, *chain.from_iterable(checked)]
    found = [*one_a_day(_settle(book, found))]
    found.sort(key=lambda f: (f.span.file, f.span.line, f.span.column, f.word, f.message))
    solver.kept.forget()
    return Judgement(records, _all_standings(book, recorder), tuple(found), solver.positions)


def _advice(adviser: Adviser, parts: Sequence[str]) -> list[tuple[str, tuple[str, ...], str]]:
    return [(part, adviser.next(part), adviser.gain(part)) for part in parts]


def _findings(check: Check, desk: Desk) -> list[Finding]:
    return list(check(desk))


def _all_told(kept: KeptWork, large: bool, tasks: Sequence[Callable[[], list[Given]]]) -> list[list[Given]]:
    """What each task gives, in their order; of a large build on all cores.

    What is asked of the kept positions elsewhere is asked of `kept` too, or it would be forgotten.
    """
    if not large:
        return [task() for task in tasks]
    given, used = in_shares(tasks, lambda: kept.used)
    kept.used.update(*used)
    return given


def _all_standings(book: Book, recorder: Recorder) -> dict[str, Standing]:
    return {id: recorder.standings.get(id, Standing(False, True)) for id in book.readings}


def _settle(book: Book, found: list[Finding]) -> Iterator[Finding]:
    """Findings less those a `settled:` line ends, and a remark for every such line that ends none."""
    settled: dict[tuple[str, str], list[Span]] = defaultdict(list)
    about: dict[Span, tuple[str, str]] = {}
    for part in book.parts.values():
        for said in part.every("settled"):
            word = fold(said.text.split(",")[0]).strip("[]`").replace(" ", "-")
            settled[part.id, word].append(said.span)
            about.setdefault(said.span, (part.id, word))
    used: set[Span] = set()
    for finding in found:
        spans = settled.get((finding.part or "", finding.word))
        if spans:
            used.update(spans)
        else:
            yield finding
    for span, (id, word) in about.items():
        if span not in used:
            yield Finding(
                "settles-nothing",
                f'there is no finding "{word}" about {book.title(id)} to settle',
                span,
                help="take the line out, or write the word as the finding gives it in brackets",
                part=id,
            )
