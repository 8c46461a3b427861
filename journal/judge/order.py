"""What goes before what, put into an order: stages of what can be done at the same time, and rings told and broken.

Nothing here knows parts or jobs: `constraints` says what waits for what, this sorts it (`graphlib`).
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Literal

from journal.ground.records import record
from journal.ground.source import Span
from journal.model.entities import Moment


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """A part that goes back, or a job that is done; `id` is the book's."""

    kind: Literal["part", "job"]
    id: str


@record
class Wait:
    """`before` comes first, then `after`.

    why   in words, `after` its subject: "it came off while the dash was still on"
    rank  "said" by a line of the notes; "turned": the removal turned round; "likely": dropped where it would
          close a ring, for nobody wrote it
    """

    before: Step
    after: Step
    why: str = field(compare=False)
    span: Span = field(compare=False)
    when: Moment = field(compare=False)
    rank: Literal["said", "turned", "likely"] = "said"


@record
class Ring:
    """Steps that wait for one another, each for the one before it and the first for the last.

    waits   one of each step, in the order of `steps`: the wait for the step after it by the step before
    broken  the one left out, so that there is an order all the same
    """

    steps: tuple[Step, ...]
    waits: tuple[Wait, ...]
    broken: Wait

    @property
    def is_said(self) -> bool:
        """Whether a line makes it; hosts that hang on one another are told as such already."""
        return any(wait.rank == "said" for wait in self.waits)


@dataclass(frozen=True)
class Order:
    """Steps in an order that keeps every wait.

    steps   one after the other, the newest removed first where free
    stages  what can be done at the same time, each stage after all those before it
    waits   those that are kept
    rings   those that could not be, each told once
    """

    steps: tuple[Step, ...]
    stages: tuple[tuple[Step, ...], ...]
    waits: tuple[Wait, ...]
    rings: tuple[Ring, ...] = ()

    @cached_property
    def _waits_of(self) -> Mapping[Step, list[Wait]]:
        found: dict[Step, list[Wait]] = defaultdict(list)
        for wait in self.waits:
            found[wait.after].append(wait)
        return found

    def waits_of(self, step: Step) -> tuple[Wait, ...]:
        """What a step waits for, each step once, by the strongest reason."""
        once: dict[Step, Wait] = {}
        for wait in sorted(self._waits_of.get(step, ()), key=lambda w: RANKS.index(w.rank)):
            once.setdefault(wait.before, wait)
        return tuple(sorted(once.values(), key=lambda wait: self._at[wait.before]))

    def nearest_waits_of(self, step: Step) -> tuple[Wait, ...]:
        """The same without those that another of them waits for itself."""
        waits = self.waits_of(step)
        further = {wait.before for near in waits for wait in self._waits_of.get(near.before, ())}
        return tuple(wait for wait in waits if wait.before not in further)

    def told_waits_of(self, step: Step) -> tuple[Wait, ...]:
        """The nearest, and all that a line says: what a job needs is told for as long as it is not there."""
        nearest = self.nearest_waits_of(step)
        return tuple(wait for wait in self.waits_of(step) if wait.rank == "said" or wait in nearest)

    @cached_property
    def _at(self) -> Mapping[Step, int]:
        return {step: number for number, step in enumerate(self.steps)}

    @cached_property
    def _longest(self) -> Mapping[Step, tuple[int, Step | None]]:
        """Length of the longest chain that ends in each step, and the step before it there."""
        found: dict[Step, tuple[int, Step | None]] = {}
        for step in self.steps:
            before = [wait.before for wait in self.waits_of(step)]
            last = max(before, key=lambda b: found[b][0], default=None)
            found[step] = (1 + found[last][0], last) if last else (1, None)
        return found

    def chain(self, step: Step) -> tuple[Step, ...]:
        """The longest chain of steps that ends in this one, first step first; () where it is not in the order."""
        chain: list[Step] = []
        at = step if step in self._at else None
        while at is not None:
            chain.append(at)
            at = self._longest[at][1]
        return tuple(reversed(chain))

    def all_before(self, step: Step) -> tuple[Step, ...]:
        """Everything that comes before a step, in order."""
        found: set[Step] = set()
        left = [step]
        while left:
            for wait in self._waits_of.get(left.pop(), ()):
                if wait.before not in found:
                    found.add(wait.before)
                    left.append(wait.before)
        return tuple(sorted(found, key=self._at.__getitem__))


RANKS = ("said", "turned", "likely")


def put_in_order(steps: Sequence[Step], waits: Iterable[Wait]) -> Order:
    """An order of `steps`, which come in the order they are wanted in where nothing else is said."""
    number = {step: n for n, step in enumerate(steps)}
    ours = [wait for wait in waits if wait.before in number and wait.after in number]
    kept, rings = _without_rings(steps, number, [wait for wait in ours if wait.rank != "likely"])
    kept = _with_likely(kept, [wait for wait in ours if wait.rank == "likely"])
    graph = _graph(number, kept)
    stages = tuple(tuple(steps[n] for n in stage) for stage in _stages(graph))
    return Order(tuple(steps[n] for n in _one_by_one(graph)), stages, tuple(kept), tuple(rings))


Graph = Mapping[int, set[int]]  # the number of each step to those of the steps before it


def _graph(number: Mapping[Step, int], waits: Iterable[Wait]) -> dict[int, set[int]]:
    graph: dict[int, set[int]] = {n: set() for n in number.values()}
    for wait in waits:
        graph[number[wait.after]].add(number[wait.before])
    return graph


def _without_rings(
    steps: Sequence[Step], number: Mapping[Step, int], waits: list[Wait]
) -> tuple[list[Wait], list[Ring]]:
    """The waits less those that close a ring, and every ring that was broken."""
    graph = _graph(number, waits)
    between: dict[tuple[int, int], list[Wait]] = defaultdict(list)
    for wait in waits:
        between[number[wait.before], number[wait.after]].append(wait)
    rings: list[Ring] = []
    while cycle := _cycle(graph):
        ring = _ring([steps[n] for n in cycle[:-1]], [between[pair] for pair in pairwise(cycle)])
        rings.append(ring)
        before, after = number[ring.broken.before], number[ring.broken.after]
        graph[after].discard(before)
        del between[before, after]
    return [wait for wait in waits if (number[wait.before], number[wait.after]) in between], rings


def _cycle(graph: Graph) -> Sequence[int]:
    """Steps in a ring, each waited for by the next, the first again at the end; () where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as fault:
        return fault.args[1]  # type: ignore[no-any-return]  # so documented
    return ()


def _ring(steps: Sequence[Step], links: Iterable[Sequence[Wait]]) -> Ring:
    """A ring from the waits of each step for the one before it."""
    firm = [min(link, key=lambda wait: (wait.rank == "said", wait.when)) for link in links]
    # What happened outweighs what was written, and what was written last closed the ring.
    broken = max(firm, key=lambda wait: (wait.rank == "said", wait.when))
    return Ring(tuple(steps), tuple(firm), broken)


def _with_likely(kept: list[Wait], likely: Iterable[Wait]) -> list[Wait]:
    """The likely waits too, as far as they close no ring."""
    before: dict[Step, set[Step]] = defaultdict(set)
    for wait in kept:
        before[wait.after].add(wait.before)
    kept = list(kept)
    for wait in likely:
        if not _reaches(before, wait.before, wait.after):
            before[wait.after].add(wait.before)
            kept.append(wait)
    return kept


def _reaches(before: Mapping[Step, set[Step]], start: Step, wanted: Step) -> bool:
    """Whether `wanted` comes before `start`, or is it."""
    seen, left = {start}, [start]
    while left:
        at = left.pop()
        if at == wanted:
            return True
        more = before.get(at, set()) - seen
        seen |= more
        left += more
    return False


def _stages(graph: Graph) -> Iterator[list[int]]:
    sorter = TopologicalSorter(graph)
    sorter.prepare()
    while sorter.is_active():
        ready = sorter.get_ready()
        yield sorted(ready)
        sorter.done(*ready)


def _one_by_one(graph: Graph) -> Iterator[int]:
    """The order of one pair of hands: of what is free the first wanted."""
    sorter = TopologicalSorter(graph)
    sorter.prepare()
    free: list[int] = []
    while sorter.is_active():
        for step in sorter.get_ready():
            heapq.heappush(free, step)
        yield (step := heapq.heappop(free))
        sorter.done(step)
