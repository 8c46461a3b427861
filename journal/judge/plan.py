"""What to do next: the order of steps, what each waits for, jobs and orders as they stand, what is still to get."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from journal.ground.finding import Finding, Note
from journal.ground.records import record
from journal.judge.constraints import Constraints
from journal.judge.desk import Desk
from journal.judge.order import Order, Ring, Step, Wait, put_in_order
from journal.judge.verdicts import Record
from journal.model.book import Book
from journal.model.entities import Job, Part
from journal.model.entities import Order as Bought

JobState = Literal["ready", "waiting", "done"]


@record
class Waiting:
    """What one step of the order waits for.

    waits       steps that come before it
    orders      ids of orders that have not arrived
    in_the_way  ids of parts that are on and must come off again first
    to_get      the part was scrapped, and there is no new one yet
    """

    step: Step
    waits: tuple[Wait, ...]
    orders: tuple[str, ...]
    in_the_way: tuple[str, ...] = ()
    to_get: bool = False

    @property
    def is_ready(self) -> bool:
        return not (self.waits or self.orders or self.in_the_way or self.to_get)


@record
class ToGet:
    """A part that is to be bought or made and that nothing is ordered for."""

    part: str
    why: str


@dataclass(frozen=True)
class Plan:
    """The order with all that hangs on it."""

    book: Book
    constraints: Constraints
    order: Order

    def waiting(self, step: Step) -> Waiting:
        waits = self.order.waits_of(step)
        orders = tuple(order.id for order in self._orders_of[step] if order.arrived is None)
        part = self.book.parts[step.id] if step.kind == "part" else None
        in_the_way = self.constraints.in_the_way(part) if part else ()
        return Waiting(step, waits, orders, in_the_way, part is not None and self._is_to_get(part))

    @cached_property
    def _orders_of(self) -> Mapping[Step, list[Bought]]:
        """Orders by the part or job they are for."""
        found: dict[Step, dict[str, Bought]] = defaultdict(dict)
        for order in self.book.orders.values():
            for step in [*(Step("part", p) for p in order.for_parts), *(Step("job", j) for j in order.for_jobs)]:
                found[step][order.id] = order
        for job in self.book.jobs.values():
            for id in job.needs_orders:
                if id in self.book.orders:
                    found[Step("job", job.id)][id] = self.book.orders[id]
        return defaultdict(list, {step: list(orders.values()) for step, orders in found.items()})

    def state(self, job: Job) -> JobState:
        if job.done is not None:
            return "done"
        return "ready" if self.waiting(Step("job", job.id)).is_ready else "waiting"

    def chain(self, job: Job) -> tuple[Step, ...]:
        """The longest chain of steps that ends in a job; the job alone where it waits for none."""
        return self.order.chain(Step("job", job.id))

    @property
    def ready(self) -> tuple[Step, ...]:
        """What can be done today, in order."""
        return tuple(step for step in self.order.steps if self.waiting(step).is_ready)

    @cached_property
    def late(self) -> tuple[Bought, ...]:
        """Orders that should be here and are not, the longest late first."""
        late = [order for order in self.book.orders.values() if days_late(order, self.book.today) > 0]
        return tuple(sorted(late, key=lambda order: (order.due_date or date.max, order.when)))

    def waiting_for(self, order: Bought) -> tuple[Step, ...]:
        """Steps that an order holds up, in order."""
        return tuple(step for step in self.order.steps if order in self._orders_of[step])

    @cached_property
    def to_get(self) -> tuple[ToGet, ...]:
        """Scrapped or counted short, and nothing ordered for it."""
        return tuple(found for part in self.book.parts.values() for found in self._to_get(part))

    def _to_get(self, part: Part) -> Iterator[ToGet]:
        if self._is_ordered(part):
            return
        if self._is_to_get(part):
            yield ToGet(part.id, "it was scrapped and is to come back")
        short = _short(part)
        if short:
            had, has = short
            yield ToGet(part.id, f"counted {has}, there were {had}")

    def _is_to_get(self, part: Part) -> bool:
        scrapped = self.book.state(part.id) == "scrapped" and part.id in self.constraints.off
        return scrapped and not self._is_ordered(part)

    def _is_ordered(self, part: Part) -> bool:
        """Whether something was bought for its present self."""
        new = next((e.when for e in reversed(part.events) if e.kind == "replaced"), None)
        return any(new is None or o.when > new for o in self._orders_of[Step("part", part.id)])


def plan_of(book: Book, records: Mapping[str, Record]) -> Plan:
    """The order of a book and all that hangs on it."""
    constraints = Constraints(book, records)
    return Plan(book, constraints, put_in_order(constraints.steps(), constraints.waits()))


def days_late(order: Bought, today: date) -> int:
    """Days since an order was due that has not arrived; 0 where it is in time, or due in words only."""
    if order.arrived is not None or order.due_date is None:
        return 0
    return max(0, (today - order.due_date).days)


def _short(part: Part) -> tuple[int, int] | None:
    """How many there were and how many were counted last, where some are missing since it was last replaced."""
    new = next((e.when for e in reversed(part.events) if e.kind == "replaced"), None)
    counts = [
        int(number[0][:6])
        for said in part.every("count")
        if (new is None or said.when >= new) and (number := re.search(r"\d+", said.text))
    ]
    return (max(counts), counts[-1]) if counts and counts[-1] < max(counts) else None


# --- findings


def step_title(book: Book, step: Step) -> str:
    """A part by its title, a job by its name in quotes."""
    if step.kind == "part":
        return book.title(step.id)
    return f'"{book.jobs[step.id].name}"'


def order_of_work(desk: Desk) -> Iterator[Finding]:
    """Steps that wait for one another, at the line that closed the ring; orders that should have arrived."""
    plan = plan_of(desk.book, desk.records)
    yield from (_ring(desk.book, ring) for ring in plan.order.rings if ring.is_said)
    yield from (_late(plan, order) for order in plan.late)


def _ring(book: Book, ring: Ring) -> Finding:
    names = [step_title(book, step) for step in (*ring.steps, ring.steps[0])]
    notes = tuple(
        Note(f"{step_title(book, wait.before)} comes before {step_title(book, wait.after)}: {wait.why}", wait.span)
        for wait in ring.waits
    )
    part = next((step.id for step in (ring.broken.after, *ring.steps) if step.kind == "part"), None)
    return Finding(
        "ring-in-order",
        f"these wait for one another in a ring: {' before '.join(names)}",
        ring.broken.span,
        notes,
        "take out or change one of these lines; until then the order is shown as if this one were not there",
        part,
    )


def _late(plan: Plan, order: Bought) -> Finding:
    days, due = days_late(order, plan.book.today), order.due_date or plan.book.today
    held = [step_title(plan.book, step) for step in plan.waiting_for(order)]
    waits = f", and {' and '.join(held)} {'waits' if len(held) == 1 else 'wait'} for it" if held else ""
    return Finding(
        "late-order",
        f'"{order.name}" was due on {due.day} {due:%B %Y}, {days} {"day" if days == 1 else "days"} '
        f"ago, and has not arrived{waits}",
        order.span,
        help=f"write `arrived {order.name}` when it is here, or a new `due:` in an `ordered` slip",
        part=order.for_parts[0] if order.for_parts else None,
    )
