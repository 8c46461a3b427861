"""What waits for what: the removal turned round, what sits behind what, what jobs need.

    taken off a host that was on       goes back after it
    taken off a host already off       goes back on it first, on the bench
    `goes on: bench` or `machine`      overrides both
    `behind: X`                        X came off first, so X goes back after it
    `needs`, `before` of a job         as written
    a job that cuts a host             comes before what is to go on the new one

A host's new self is the same host here: the part's id stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from journal.ground.names import fold
from journal.judge.going import going_hosts
from journal.judge.order import Step, Wait
from journal.judge.verdicts import Record
from journal.model.book import Book
from journal.model.entities import Job, Moment, Part


@dataclass(frozen=True)
class Constraints:
    """Steps that are still to do and what each waits for, read off a book and the records of its parts."""

    book: Book
    records: Mapping[str, Record]

    @cached_property
    def off(self) -> Mapping[str, Moment]:
        """Parts that are off and are to come back, with the moment each came off."""
        return {id: self._came_off(self.book.parts[id]) for id, r in self.records.items() if r.asked}

    def _came_off(self, part: Part) -> Moment:
        event = self.book.lives.came_off(part.id, self.book.now)
        return event.when if event else self.book.lives.settled(part.id, self.book.now)

    @cached_property
    def _going(self) -> frozenset[str]:
        return frozenset(going_hosts(self.book))

    @cached_property
    def open_jobs(self) -> tuple[Job, ...]:
        return tuple(job for job in self.book.jobs.values() if job.done is None)

    def steps(self) -> list[Step]:
        """Parts, the newest removed first; then open jobs as they were written."""
        parts = sorted(self.off, key=lambda id: (self.off[id], id), reverse=True)
        return [*(Step("part", id) for id in parts), *(Step("job", job.id) for job in self.open_jobs)]

    def waits(self) -> Iterator[Wait]:
        for id in self.off:
            yield from self._turned(self.book.parts[id])
            yield from self._behind(self.book.parts[id])
        for job in self.open_jobs:
            yield from self._of_job(job)

    # --- the removal turned round

    def _turned(self, part: Part) -> Iterator[Wait]:
        """Up from a part to all that carries it: what came off later goes back before it."""
        left, seen = list(part.hosts), {part.id}
        while left:
            at = left.pop()
            if at in seen or at not in self.book.parts:
                continue
            seen.add(at)
            if at in self.off:
                if self._on_the_bench(part, at):
                    yield self._wait(part, part.id, at, f"{self.book.title(part.id)} goes on it first, on the bench")
                    continue
                why = f"it came off while {self.book.title(at)} was still on"
                yield self._wait(part, at, part.id, self._why_said(part) or why)
            left += self.book.parts[at].hosts

    def _wait(self, part: Part, before: str, after: str, why: str) -> Wait:
        said = part.latest("goes on")
        event = self.book.lives.came_off(part.id, self.book.now)
        if said:
            return Wait(Step("part", before), Step("part", after), why, said.span, said.when)
        span = event.span if event else part.first
        return Wait(Step("part", before), Step("part", after), why, span, self.off[part.id], "turned")

    def _why_said(self, part: Part) -> str:
        return "it goes on when that is on the machine" if part.latest("goes on") else ""

    def _on_the_bench(self, part: Part, host: str) -> bool:
        """Whether a part goes on a host that is off before that one goes back."""
        said = part.latest("goes on")
        if said:
            return fold(said.text) == "bench"
        never_off = self.book.lives.came_off(part.id, self.book.now) is None
        return not never_off and self.off[host] < self.off[part.id]

    # --- what is in front

    def carriers(self, part: str) -> tuple[str, ...]:
        """The part itself where it is off; else the nearest of what carries it that are; () where it is on."""
        left, seen, found = [part], set[str](), []
        while left:
            at = left.pop()
            if at in self.off:
                found.append(at)
            elif at in self.book.parts and at not in seen:
                seen.add(at)
                left += self.book.parts[at].hosts
        return tuple(dict.fromkeys(found))

    def _behind(self, part: Part) -> Iterator[Wait]:
        for said in part.every("behind"):
            for other in said.parts:
                for at in self.carriers(other):
                    if at != part.id:
                        rank = "said" if at == other else "likely"
                        why = f"{self.book.title(part.id)} sits behind it"
                        yield Wait(Step("part", part.id), Step("part", at), why, said.span, said.when, rank)  # type: ignore[arg-type]

    def in_the_way(self, part: Part) -> tuple[str, ...]:
        """Parts in front of it that are on already: they come off again before it can go on."""
        named = (other for said in part.every("behind") for other in said.parts if other in self.book.parts)
        return tuple(
            other
            for other in dict.fromkeys(named)
            if not self.carriers(other) and self.book.state(other) != "scrapped"
        )

    # --- jobs

    def _of_job(self, job: Job) -> Iterator[Wait]:
        me, name = Step("job", job.id), f'"{job.name}"'
        for part in job.needs_parts:
            for at in self.carriers(part):
                rank = "said" if at == part else "likely"
                why = "it needs that back on" if at == part else f"it needs {self.book.title(part)}, which is on that"
                yield Wait(Step("part", at), me, why, job.span, job.when, rank)  # type: ignore[arg-type]
        for other in job.needs_jobs:
            yield Wait(Step("job", other), me, "it needs that done", job.span, job.when)
        for other in job.before:
            yield Wait(me, Step("job", other), f"{name} says it comes before", job.span, job.when)
        yield from self._about(job)
        yield from self._cutting(job)

    def _about(self, job: Job) -> Iterator[Wait]:
        """A part that a job is about goes on with the job, so it waits for what the job needs."""
        steps = [Step("job", other) for other in job.needs_jobs]
        steps += [Step("part", part) for part in job.needs_parts if part in self.off]
        for part in job.parts:
            if part in self.off and part not in (*job.needs_parts, *job.cuts):
                for step in steps:
                    why = f'"{job.name}" is about it, and needs that first'
                    yield Wait(step, Step("part", part), why, job.span, job.when, "likely")

    def _cutting(self, job: Job) -> Iterator[Wait]:
        """What goes on a host that is still to be cut goes on after the cut, and after the work that follows it."""
        for host in job.cuts:
            if host in self._going:
                waiting = [id for id in self.off if host in (id, *self.book.parts[id].hosts)]
                for each in (job, *self._following(job, host)):
                    for id in waiting:
                        if id != host or each is job:
                            why = f'"{each.name}" changes what it goes on'
                            yield Wait(Step("job", each.id), Step("part", id), why, each.span, each.when, "likely")

    def _following(self, job: Job, host: str) -> Iterator[Job]:
        """Open jobs about the same host that come after one that cuts it."""
        for other in self.open_jobs:
            follows = job.id in other.needs_jobs or other.id in job.before
            if follows and host in other.parts and other.id != job.id:
                yield other
