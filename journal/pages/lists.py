"""The pages that are lists: places, measurements, jobs and orders, what is still to record, the overview."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from journal.ground.finding import Finding
from journal.judge.order import Step
from journal.judge.plan import days_late
from journal.model.entities import Job, Order, Place
from journal.pages import address, words
from journal.pages.days import day_row
from journal.pages.going_back import REFITTED, job_cautions, step_link
from journal.pages.part_page import ABOUT_RECORDS, BACK
from journal.pages.progressed import open_places, progress
from journal.pages.viewer import Viewer
from journal.pages.views import (
    Count,
    FindingView,
    JobRow,
    Jobs,
    Link,
    Mark,
    OrderRow,
    Overview,
    PartRow,
    PlacePage,
    PlaceRow,
    ToRecord,
    Warned,
)

# Findings that say a part's place is not on record, the gravest first.
NEWEST = 3
JOB_STATES = {"ready": words.JOB_READY, "waiting": words.JOB_WAITING, "done": words.JOB_DONE}


# --- places


def place_tree(viewer: Viewer) -> tuple[PlaceRow, ...]:
    """The places at the top with what lies below each."""
    tops = (place for path, place in viewer.book.places.items() if path[:-1] not in viewer.book.places)
    return tuple(place_row(viewer, place) for place in tops)


def place_row(viewer: Viewer, place: Place) -> PlaceRow:
    below = (viewer.place_by_id(child) for child in place.children)
    children = tuple(place_row(viewer, child) for child in below if child)
    rows = [viewer.row(part) for part in viewer.inside(place.path)]
    return PlaceRow(
        link=Link(place.path[-1], address.place(place.id)),
        name=place.path[-1],
        note=place.note,
        parts=len(rows),
        open=sum(_is_open(row) for row in rows),
        children=children,
    )


def _is_open(row: PartRow) -> bool:
    return row.record is not None and row.record.word != "position recorded"


def place_page(viewer: Viewer, place: Place) -> PlacePage:
    trail = [viewer.place(place.path[:n]) for n in range(1, len(place.path))]
    parts = viewer.inside(place.path)
    here = [part for part in parts if viewer.book.place_of(part) == place.path]
    readings = [r for part in here for r in viewer.book.readings_of(part)]
    return PlacePage(
        row=place_row(viewer, place),
        trail=tuple(link for link in trail if link),
        parts=tuple(viewer.row(part) for part in parts),
        readings=tuple(viewer.reading(r.id) for r in readings),
        photos=viewer.photos(key for part in here for key in viewer.pictures_of(part)),
    )


# --- jobs and orders


def jobs(viewer: Viewer) -> Jobs:
    rows = [(job, job_row(viewer, job)) for job in viewer.book.jobs.values()]
    done = sorted((row for _, row in rows if row.done), key=lambda row: (row.done or date.min, row.name), reverse=True)
    return Jobs(
        ready=tuple(row for job, row in rows if viewer.plan.state(job) == "ready"),
        waiting=tuple(row for job, row in rows if viewer.plan.state(job) == "waiting"),
        done=tuple(done),
        orders=tuple(sorted((order_row(viewer, o) for o in viewer.book.orders.values()), key=_order_place)),
    )


def job_row(viewer: Viewer, job: Job) -> JobRow:
    step, plan = Step("job", job.id), viewer.plan
    waiting = plan.waiting(step)
    away = [part for part in job.needs_parts if part in viewer.book.parts and viewer.book.state(part) not in BACK]
    waits = () if job.done else tuple(dict.fromkeys((
        *(step_link(viewer, wait.before) for wait in plan.order.told_waits_of(step)),
        *viewer.parts(away),  # one that is off with its host is not there either
        *_orders(viewer, waiting.orders),
    )))
    chain = () if job.done else plan.chain(job)
    return JobRow(
        anchor=f"job-{job.id}",
        name=job.name,
        state=JOB_STATES[plan.state(job)],
        place=viewer.place(job.place),
        parts=viewer.parts(job.parts),
        cuts=viewer.parts(job.cuts),
        waits_for=waits,
        needs=(*viewer.parts(job.needs_parts), *_orders(viewer, job.needs_orders), *_jobs(viewer, job.needs_jobs)),
        notes=job.notes,
        url=viewer.note_url(job.span),
        done=job.done,
        cautions=job_cautions(viewer, job),
        late=not job.done and any(order.id in waiting.orders for order in plan.late),
        chain=tuple(step_link(viewer, one) for one in chain) if len(chain) > 1 else (),
        before=len(plan.order.all_before(step)),
        said_cautions=viewer.job_cautions[job.id],
        unrecorded=() if job.done else viewer.lost_by(job),
    )


def _orders(viewer: Viewer, ids: Iterable[str]) -> list[Link]:
    return [Link(viewer.book.orders[i].name, address.order(i)) for i in ids if i in viewer.book.orders]


def _jobs(viewer: Viewer, ids: Iterable[str]) -> list[Link]:
    return [Link(viewer.book.jobs[i].name, address.job(i)) for i in ids if i in viewer.book.jobs]


def order_row(viewer: Viewer, order: Order) -> OrderRow:
    return OrderRow(
        anchor=f"order-{order.id}",
        name=order.name,
        state=_order_state(viewer, order),
        parts=viewer.parts(order.for_parts),
        words=order.for_words,
        due=words.say_date(order.due_date) if order.due_date else order.due,
        bought_from=order.bought_from,
        price=order.price,
        notes=order.notes,
        url=viewer.note_url(order.span),
        arrived=order.arrived,
    )


def _order_state(viewer: Viewer, order: Order) -> Mark:
    if order.arrived:
        return words.ORDER_HERE
    return words.ORDER_LATE if days_late(order, viewer.book.today) else words.ORDER_COMING


def _order_place(row: OrderRow) -> tuple[int, str]:
    return (("late", "on its way", "here").index(row.state.word), row.name)


# --- what is still to record


def to_record(viewer: Viewer) -> ToRecord:
    """The warning before the saw, then what could not be read, then the parts that have no full record."""
    findings = viewer.judgement.findings
    known = {"host-going", "lost-with-host", *ABOUT_RECORDS}
    others = [f for f in findings if f.word not in known]
    going = tuple(_warned(viewer, f) for f in findings if f.word == "host-going")
    named = {row.id for warned in going for row in warned.parts}
    return ToRecord(
        going=going,
        lost=tuple(viewer.finding(f) for f in findings if f.word == "lost-with-host"),
        unread=tuple(viewer.finding(f) for f in others if f.severity == "problem"),
        parts=tuple(_parts_to_record(viewer, findings, named)),
        others=tuple(viewer.finding(f) for f in others if f.severity == "warning"),
        remarks=tuple(viewer.finding(f) for f in others if f.severity == "remark"),
    )


def _warned(viewer: Viewer, finding: Finding) -> Warned:
    """The warning with its parts; each note leads to the part that it is about."""
    parts, view = viewer.unrecorded[finding.host or ""], viewer.finding(finding)
    notes = tuple(
        note._replace(url=address.part(part)) if part else note for note, part in zip(view.notes, parts, strict=True)
    )
    return Warned(view._replace(notes=notes), viewer.known(finding.host), tuple(viewer.row(p) for p in parts if p))


def _parts_to_record(viewer: Viewer, findings: Sequence[Finding], named: set[str]) -> list[tuple[PartRow, FindingView]]:
    """Each part once, the gravest first, with the finding that says so; those the saw warns of stand there."""
    found: list[tuple[int, PartRow, Finding]] = []
    for finding in findings:
        part = finding.part if viewer.known(finding.part) and finding.part not in named else None
        if part and finding.word in ABOUT_RECORDS:
            found.append((ABOUT_RECORDS.index(finding.word), viewer.row(part), finding))
    found.sort(key=lambda item: (item[0], item[1].link.text))
    return [(row, viewer.finding(finding)) for _, row, finding in found]


# --- the overview


def overview(viewer: Viewer) -> Overview:
    work = jobs(viewer)
    days = sorted(viewer.book.days, key=lambda day: day.date, reverse=True)
    rows = [viewer.row(part) for part in viewer.book.parts]
    return Overview(
        to_record=to_record(viewer),
        progress=progress(viewer),
        states=_counts(row.state for row in rows),
        records=_counts(row.record for row in rows if row.record),
        ready=work.ready,
        waiting=work.waiting,
        late=tuple(order for order in work.orders if order.state == words.ORDER_LATE),
        newest=tuple(day_row(viewer, day) for day in days[:NEWEST]),
        open_places=open_places(viewer, rows),
        back=_counts(REFITTED[refit.word] for refit in viewer.refits.values()),
        totals={
            "parts": len(rows),
            "measurements": len(viewer.book.readings),
            "days": len(days),
            "pictures": len(viewer.book.photos),
        },
    )


def _counts(marks: Iterable[Mark]) -> tuple[Count, ...]:
    """Most first."""
    found: dict[Mark, int] = {}
    for mark in marks:
        found[mark] = found.get(mark, 0) + 1
    most_first = sorted(found.items(), key=lambda item: (-item[1], item[0].word))
    return tuple(Count(mark, number) for mark, number in most_first)
