"""The page Going back: the order in stages, what each step waits for, what to write once it is done."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from journal.judge.changes import FATES, Carried, Changed
from journal.judge.compared import amount
from journal.judge.order import Step
from journal.judge.plan import Waiting
from journal.judge.refits import Pair, Refit
from journal.model.entities import Job, Part
from journal.pages import address, words
from journal.pages.part_page import hazard_words, safety_said
from journal.pages.safety import cautions
from journal.pages.viewer import Viewer
from journal.pages.views import Caution, Fact, Link, Mark, Photo, Reading
from journal.pages.work_views import CarriedView, ChangedView, GoingBack, RefitView, StepView, WaitView

IN_HAND = ("way round", "marks", "shims", "stored")
MOST_COMPARED = 6

FREE = Mark("free now", "square-full", "good")
WAITS = Mark("waits", "square-half", "plain")
TO_GET = Mark("to be made or bought first", "square-half", "plain")
REFITTED: dict[str, Mark] = {
    "within": Mark("back where it was recorded", "tick", "good"),
    "off": words.BACK_ELSEWHERE,
    "not measured": Mark("back, not measured again", "square-half", "plain"),
    "moved on purpose": Mark("put elsewhere on purpose", "square-full", "plain"),
}


IN_A_COUNT = {
    REFITTED["off"]: "not where it was recorded",
    REFITTED["not measured"]: "not measured again",
    REFITTED["moved on purpose"]: "put elsewhere on purpose",
    REFITTED["within"]: "measured again, where it was recorded",
}
WORST_FIRST = tuple(IN_A_COUNT)


def going_back(viewer: Viewer) -> GoingBack:
    """All of the page."""
    order = viewer.plan.order
    back = [refit_view(viewer, refit) for refit in viewer.refits.values()]
    told = [f for f in viewer.judgement.findings if f.word == "ring-in-order"]
    return GoingBack(
        store=_store(viewer),
        stages=tuple(tuple(step_view(viewer, step) for step in stage) for stage in order.stages),
        rings=tuple(viewer.finding(finding) for finding in told),
        changed=tuple(changed_view(viewer, one) for one in viewer.changed.values()),
        refits=tuple(sorted(back, key=lambda one: WORST_FIRST.index(one.mark))),
        told=_told(back),
    )


def _told(back: Sequence[RefitView]) -> str:
    """`15 parts back on: 1 not where it was recorded, 12 not measured again, 2 where they were recorded.`"""
    counts = Counter(one.mark for one in back)
    said = [f"{counts[mark]} {IN_A_COUNT[mark]}" for mark in WORST_FIRST if counts[mark]]
    return f"{words.count(len(back), 'part')} back on: {', '.join(said)}."


def _store(viewer: Viewer) -> str:
    """Where a browser keeps the ticks of this build: pages opened from folders share one store."""
    days = viewer.book.days
    first = days[0].date.isoformat() if days else ""
    return hashlib.sha256(f"{viewer.book.settings.title}\n{first}".encode()).hexdigest()[:12]


# --- steps


def step_link(viewer: Viewer, step: Step) -> Link:
    """A part's page, a job's place among the jobs."""
    if step.kind == "part":
        return viewer.part(step.id)
    return Link(viewer.book.jobs[step.id].name, address.job(step.id))


def step_view(viewer: Viewer, step: Step) -> StepView:
    book, waiting = viewer.book, viewer.plan.waiting(step)
    part = book.parts[step.id] if step.kind == "part" else None
    job = book.jobs[step.id] if step.kind == "job" else None
    nearest = viewer.plan.order.nearest_waits_of(step)
    return StepView(
        key=f"{step.kind} {step.id}{_since(viewer, part)}",
        anchor=f"{step.kind}-{step.id}",
        kind=step.kind,
        mark=_mark(viewer, waiting),
        link=step_link(viewer, step),
        row=viewer.row(part.id) if part else None,
        photo=_picture(viewer, part) if part else None,
        facts=tuple(_facts(viewer, part)) if part else (),
        waits=tuple(WaitView(step_link(viewer, wait.before), wait.why) for wait in nearest),
        orders=tuple(Link(book.orders[o].name, address.order(o)) for o in waiting.orders),
        in_the_way=viewer.parts(waiting.in_the_way),
        cautions=cautions(hazard_words(part), safety_said(part)) if part else job_cautions(viewer, job),
        said_cautions=_said_cautions(part) if part else viewer.job_cautions.get(step.id, ()),
        slip=_slip(viewer, part) if part else f"```done {job.name}\n```\n" if job else "",
        unrecorded=viewer.lost_by(job) if job else (),
    )


def _mark(viewer: Viewer, waiting: Waiting) -> Mark:
    if waiting.step.kind == "part" and viewer.lost(waiting.step.id):
        return words.WENT_WITH_HOST
    return FREE if waiting.is_ready else TO_GET if waiting.to_get else WAITS


def job_cautions(viewer: Viewer, job: Job | None) -> tuple[Caution, ...]:
    """What a job's words call for, and those of the parts it is about."""
    if job is None:
        return ()
    parts = [viewer.book.parts[id] for id in (*job.parts, *job.cuts) if id in viewer.book.parts]
    safety = next((said for part in parts if (said := safety_said(part))), "")
    return cautions((job.name, *job.notes, *viewer.job_cautions.get(job.id, ()), *(p.title for p in parts)), safety)


def _since(viewer: Viewer, part: Part | None) -> str:
    event = viewer.book.lives.came_off(part.id, viewer.book.now) if part else None
    return f" {event.when.day.isoformat()}" if event else ""


def _facts(viewer: Viewer, part: Part) -> Iterator[Fact]:
    """What is wanted with the part in the other hand."""
    for key in IN_HAND:
        said = part.latest(key)
        for one in part.every(key) if said else ():
            if said and one.when == said.when:
                yield Fact(words.label(key), one.text, (), viewer.note_url(one.span))
    held = [fixing.said.text for fixing in viewer.fixings[part.id].was]
    if held:
        yield Fact(words.label("held by"), "; ".join(held))


def _said_cautions(part: Part) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said.text for said in part.every("caution")))


def _picture(viewer: Viewer, part: Part) -> Photo | None:
    shown = viewer.best_picture(part.id)
    return viewer.photo(shown) if shown else None


def _slip(viewer: Viewer, part: Part) -> str:
    """The slip to paste into the next note: `refitted`, with what holds it as it was found, to be put right by hand; of
    a part that was scrapped there is only a new one to put on."""
    if viewer.book.state(part.id) == "scrapped":
        return f"```replaced {part.title}\nby:\n```\n"
    hosts = "; ".join(viewer.book.title(host) for host in part.hosts if host in viewer.book.parts)
    lines = [f"on: {hosts}"] if hosts else []
    lines += [f"held by: {fixing.said.text}" for fixing in viewer.fixings[part.id].was]
    return "\n".join([f"```refitted {part.title}", *lines, "```"]) + "\n"


# --- hosts that are going or have changed, parts that are back


def changed_view(viewer: Viewer, changed: Changed) -> ChangedView:
    host = viewer.row(changed.host)
    when = f" on {words.say_date(changed.on)}" if changed.on else ""
    what = "about to go" if changed.what == "going" else changed.what
    return ChangedView(
        host=host,
        words=f"{what}{when}",
        url=viewer.note_url(changed.span),
        parts=tuple(_carried(viewer, carried) for carried in changed.parts),
        summary=_summary(changed.parts),
    )


def _carried(viewer: Viewer, carried: Carried) -> CarriedView:
    fate = FATES[carried.fate]
    if carried.fate == "not recorded":
        fate = carried.record.word if carried.record.word != "position recorded" else "goes with it"
    return CarriedView(viewer.row(carried.part), fate, carried.days)


def _summary(parts: Iterable[Carried]) -> str:
    """`2 moved over, 1 recorded, not moved over`."""
    counts: dict[str, int] = {}
    for carried in parts:
        counts[FATES[carried.fate]] = counts.get(FATES[carried.fate], 0) + 1
    return "; ".join(f"{number} {fate}" for fate, number in counts.items())


def refit_view(viewer: Viewer, refit: Refit) -> RefitView:
    pairs = tuple(_pair(viewer, pair) for pair in refit.pairs[:MOST_COMPARED])
    return RefitView(viewer.row(refit.part), REFITTED[refit.word], pairs)


def _pair(viewer: Viewer, pair: Pair) -> tuple[Reading, Reading, str]:
    apart, allowed = amount(abs(pair.comparison.difference), pair.after), amount(pair.comparison.limit, pair.after)
    same, differs = "the same, as far as can be measured", f"{apart} apart, of which {allowed} can be the measuring"
    told = same if pair.comparison.agree else differs
    return viewer.reading(pair.before.id), viewer.reading(pair.after.id), told
