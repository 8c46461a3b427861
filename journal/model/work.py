"""Jobs, orders and treatments: what is to do, what is bought, what was cleaned, primed and painted."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from journal.ground.finding import Finding
from journal.ground.names import NearIndex, fold, unique_slugs
from journal.model.entities import Job, Order, Treatment
from journal.model.naming import Registry
from journal.model.places import spelt
from journal.model.written import Written
from journal.notes.records import Name, Slip
from journal.read.settings import split_place

ISO = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass
class _Needs:
    """What a list of names turned out to hold."""

    parts: list[str] = field(default_factory=list)
    orders: list[str] = field(default_factory=list)
    jobs: list[str] = field(default_factory=list)


class Planner:
    """Gathers `job`, `done`, `ordered`, `arrived` and `treated` slips."""

    def __init__(self, registry: Registry, tree: Mapping[tuple[str, ...], tuple[str, ...]]) -> None:
        self.registry, self.tree = registry, tree
        self.findings: list[Finding] = []
        self._jobs: dict[str, str] = {}
        self._orders: dict[str, str] = {}

    def plan(
        self,
        written: Sequence[Written],
        about: Mapping[int, tuple[str, ...]],
        is_place: Callable[[Slip], bool],
    ) -> tuple[dict[str, Job], dict[str, Order], tuple[Treatment, ...]]:
        """Jobs and orders by id, treatments in order of time."""
        self._jobs = _ids(each.slip for each in written if each.slip.kind in ("job", "done"))
        self._orders = _ids(each.slip for each in written if each.slip.kind in ("ordered", "arrived"))
        jobs: dict[str, Job] = {}
        orders: dict[str, Order] = {}
        treatments: list[Treatment] = []
        for each in written:
            kind = each.slip.kind
            if kind in ("job", "done"):
                id = self._jobs[fold(each.slip.about)]
                jobs[id] = self._job(each, jobs.get(id) or Job(id, each.slip.about, each.when, each.slip.span))
            elif kind in ("ordered", "arrived"):
                id = self._orders[fold(each.slip.about)]
                orders[id] = self._order(each, orders.get(id) or Order(id, each.slip.about, each.when, each.slip.span))
            elif kind == "treated":
                treatments += self._treatments(each, about[each.number], is_place(each.slip))
        return jobs, orders, tuple(treatments)

    def _job(self, each: Written, job: Job) -> Job:
        slip = each.slip
        needs = self._needs([name for entry in slip.all("needs") for name in entry.names])
        before = self._needs([name for entry in slip.all("before") for name in entry.names])
        place = slip.first("place")
        return replace(
            job,
            needs_parts=_more(job.needs_parts, needs.parts),
            needs_orders=_more(job.needs_orders, needs.orders),
            needs_jobs=_more(job.needs_jobs, needs.jobs),
            before=_more(job.before, before.jobs),
            cuts=_more(job.cuts, self._parts(slip, "cuts")),
            parts=_more(job.parts, self._parts(slip, "part")),
            place=(spelt(self.tree, split_place(place.value)) if place else ()) or job.place,
            notes=_more(job.notes, _notes(slip)),
            done=each.when.day if slip.kind == "done" else job.done,
            private=job.private or each.private,
        )

    def _order(self, each: Written, order: Order) -> Order:
        slip = each.slip
        value = {entry.key: entry.value for entry in slip.entries}
        wanted = self._needs([name for entry in slip.all("for") for name in entry.names])
        due = value.get("due", order.due)
        return replace(
            order,
            for_parts=_more(order.for_parts, wanted.parts),
            for_jobs=_more(order.for_jobs, wanted.jobs),
            for_words=value.get("for", order.for_words),
            bought_from=value.get("bought from", order.bought_from),
            price=value.get("price", order.price),
            due=due,
            due_date=day_in(due),
            notes=_more(order.notes, _notes(slip)),
            arrived=each.when.day if slip.kind == "arrived" else order.arrived,
            private=order.private or each.private,
        )

    def _treatments(self, each: Written, parts: Sequence[str], is_place: bool) -> list[Treatment]:
        value = {entry.key: entry.value for entry in each.slip.entries}
        place = spelt(self.tree, split_place(value.get("place", each.slip.about if is_place else "")))
        return [
            Treatment(
                part,
                each.when,
                each.slip.span,
                place,
                value.get("surface", ""),
                value.get("with", ""),
                value.get("coats", ""),
                value.get("next", ""),
                day_in(value.get("next", "")),
                each.private,
            )
            for part in (parts or (None,))
        ]

    def _parts(self, slip: Slip, key: str) -> list[str]:
        ids: list[str] = []
        for entry in slip.all(key):
            for name in entry.names:
                found = self.registry.find(name)
                ids += found
                if not found:
                    self.findings.append(self.registry.unknown(name))
        return ids

    def _needs(self, names: Sequence[Name]) -> _Needs:
        """Jobs and orders go by their whole name, parts by theirs; an unknown name is a finding."""
        needs = _Needs()
        for name in names:
            key = fold(name.written)
            parts = self.registry.find(name)
            if key in self._jobs:
                needs.jobs.append(self._jobs[key])
            elif key in self._orders:
                needs.orders.append(self._orders[key])
            elif parts:
                needs.parts += parts
            else:
                self._unknown(name)
        return needs

    def _unknown(self, name: Name) -> None:
        """A name that is none of a part, nor of an order or a job."""
        if self.registry.sided_only(name):
            self.findings.append(self.registry.unknown(name))
            return
        index = NearIndex()
        for key in (*self._jobs, *self._orders):
            index.add(key)
        close = [*index.near(fold(name.written)), *filter(None, [self.registry.near(name)])]
        self.findings.append(
            Finding(
                "unknown-name",
                f'"{name.written}" is no part, order or job of this journal',
                name.span,
                help=f'the nearest name is "{close[0]}"' if close else "name a part, an order or a job",
            )
        )


def _ids(slips: object) -> dict[str, str]:
    names = {fold(slip.about): slip.about for slip in slips}  # type: ignore[attr-defined]
    slugs = unique_slugs(names.values())
    return {key: slugs[name] for key, name in names.items()}


def _notes(slip: Slip) -> tuple[str, ...]:
    return tuple(entry.value for entry in slip.told if entry.key == "note")


def _more(have: Sequence[str], found: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*have, *found)))


def day_in(text: str) -> date | None:
    """The first ISO date in a text, or None."""
    match = ISO.search(text)
    try:
        return date.fromisoformat(match[0]) if match else None
    except ValueError:
        return None
