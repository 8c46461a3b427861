"""Lists of work: fixings of the whole build, treatments with what is due, what is to get."""

from __future__ import annotations

from collections.abc import Sequence

from journal.judge.fixings import Fixing, Found, PartFixings
from journal.judge.treatments import Coat, coats
from journal.model.entities import Part, Treatment
from journal.pages import words
from journal.pages.viewer import Viewer
from journal.pages.views import Link, Mark, Reading
from journal.pages.work_views import FixingRow, FixingsView, ToGetView, TreatmentRow

VERDICTS = {
    "": None,
    "as wanted": Mark("as wanted", "tick", "good"),
    "too low": Mark("too low", "triangle", "warn"),
    "too high": Mark("too high", "triangle", "warn"),
}
LATE = Mark("late", "triangle", "warn")
NEXT = Mark("to come", "square-open", "plain")


def all_fixings(viewer: Viewer) -> tuple[FixingsView, ...]:
    """What holds each part, in the order of their names."""
    known = (one for one in viewer.fixings.values() if one.was or one.now or one.found)
    every = [fixings_view(viewer, one) for one in known]
    return tuple(sorted(every, key=lambda one: (one.row.name.casefold(), one.row.side)))


def part_fixings(viewer: Viewer, part: Part) -> FixingsView | None:
    """What holds one part; None where nothing is known."""
    one = viewer.fixings[part.id]
    return fixings_view(viewer, one) if one.was or one.now or one.found else None


def fixings_view(viewer: Viewer, one: PartFixings) -> FixingsView:
    differ = one.counts_differ
    return FixingsView(
        viewer.row(one.part),
        _rows(viewer, one.was),
        _rows(viewer, one.now),
        tuple(_found(viewer, found) for found in one.found),
        f"{differ[0]} came off, {differ[1]} went on" if differ else "",
    )


def _rows(viewer: Viewer, every: Sequence[Fixing]) -> tuple[FixingRow, ...]:
    return tuple(_row(viewer, fixing) for fixing in every)


def _row(viewer: Viewer, fixing: Fixing) -> FixingRow:
    kind = f"{fixing.kind} ({fixing.remark})" if fixing.remark else fixing.kind
    count = "" if fixing.count is None else str(fixing.count)
    url = viewer.note_url(fixing.said.span)
    return FixingRow(count, fixing.size, kind, fixing.where, url, fixing.said.when.day)


def _found(viewer: Viewer, found: Found) -> tuple[Reading, Mark | None, str]:
    told = f"by {found.misses_by}" if found.misses_by else ""
    return viewer.reading(found.reading.id), VERDICTS[found.verdict], told


# --- treatments


def treatments(viewer: Viewer) -> tuple[TreatmentRow, ...]:
    """Those whose next step is due first, the longest due first of them; then the newest first."""
    rows = [treatment_row(viewer, coat) for coat in coats(viewer.book)]
    return tuple(sorted(rows, key=lambda row: (-row.days_due, -row.date.toordinal())))


def treatment_row(viewer: Viewer, coat: Coat) -> TreatmentRow:
    treatment = coat.treatment
    place = viewer.place(treatment.place) or Link(words.path(treatment.place), "")
    return TreatmentRow(
        link=viewer.known(treatment.part) or (place if place.text else None),
        date=treatment.when.day,
        surface=treatment.surface,
        product=treatment.product,
        coats=treatment.coats,
        next=_undated(treatment) if coat.is_last else "",
        due=_due(coat) if coat.is_last and treatment.next else None,
        days_due=coat.days_due,
        url=viewer.note_url(treatment.span),
    )


def _undated(treatment: Treatment) -> str:
    """What is next without its date, which stands with what is due."""
    day = treatment.next_date.isoformat() if treatment.next_date else ""
    return treatment.next.removesuffix(day).rstrip(" ,;") if day else treatment.next


def _due(coat: Coat) -> Mark:
    """`to come`, `due 9 May 2026`, `due 9 May 2026, 201 days late`."""
    day = coat.treatment.next_date
    if day is None:
        return NEXT
    told = f"due {words.say_date(day)}"
    if not coat.days_due:
        return NEXT._replace(word=told)
    return LATE._replace(word=f"{told}, {words.count(coat.days_due, 'day')} late")


# --- what is to get


def to_get(viewer: Viewer) -> tuple[ToGetView, ...]:
    """What was scrapped or counted short, and nothing is ordered for."""
    return tuple(ToGetView(viewer.row(one.part), one.why) for one in viewer.plan.to_get)
