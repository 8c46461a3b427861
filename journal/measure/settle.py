"""Least squares from a start that is known to be near: no search for other ways that things may lie.

A face of a host has hundreds of readings along known directions, whose start is found by adding up. Those are
settled here, group by group; `network.adjust` is for readings whose sides and turns are still to be found.

Imports numpy, so it is itself imported only when something is solved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from journal.measure import along, descent, linear
from journal.measure.adjustment import Adjustment
from journal.measure.linear import Array, System
from journal.measure.observations import Angle, Directed, Fixed, NetworkFault, Observation, edges_of, names_of
from journal.measure.report import report

WORTHLESS = 1.0  # of the size of the work: a deviation that large says nothing about a place


def groups(observations: Sequence[Observation], fixed: Fixed) -> Iterator[tuple[Observation, ...]]:
    """The readings that hang together by what is not known; those between known places are left out."""
    head: dict[str, str] = {}

    def top(name: str) -> str:
        while head.setdefault(name, name) != name:
            head[name] = head[head[name]]
            name = head[name]
        return name

    def open_names(item: Observation) -> list[str]:
        return [name for name in names_of(item) if name not in fixed or None in fixed[name]]

    for item in observations:
        names = open_names(item)
        for name in names[1:]:
            head[top(name)] = top(names[0])
    members: dict[str, list[Observation]] = {}
    for item in observations:
        if names := open_names(item):
            members.setdefault(top(names[0]), []).append(item)
    yield from map(tuple, members.values())


def settle(observations: Sequence[Observation], fixed: Fixed, start: Mapping[str, Sequence[float]]) -> Adjustment:
    """The rest nearest to `start`, which says about where everything is that `fixed` leaves open.

    The readings are taken as sound: values and sigmas are numbers, distances and sigmas above 0.

    Raises NetworkFault where the readings do not hold it there; `names` are those that they do not hold, if these can
    be told.
    """
    edges = edges_of(observations)
    lengths = [abs(item.value) for item in observations if not isinstance(item, Angle)]
    size = max(lengths, default=1.0) or 1.0
    answer = _few(observations, fixed, start) or _many(observations, fixed, start, size)
    points = [row for row, (name, _) in enumerate(answer.unknowns) if name not in edges]
    spread = np.sqrt(np.abs(answer.cofactor.diagonal()[points]))
    if not np.isfinite(spread).all() or spread.max(initial=0.0) > WORTHLESS * size:
        names = dict.fromkeys(name for item in observations for name in names_of(item))
        raise NetworkFault("not-held", "The readings hardly hold everything.", names)
    return answer


def _few(observations: Sequence[Observation], fixed: Fixed, start: Mapping[str, Sequence[float]]) -> Adjustment | None:
    if not along.all_along(observations):
        return None
    sought = along.unknowns(observations, fixed, start)
    return along.adjusted(observations, sought) if len(sought.columns) <= along.FEW else None


def _many(
    observations: Sequence[Observation], fixed: Fixed, start: Mapping[str, Sequence[float]], size: float
) -> Adjustment:
    system = linear.build(observations, fixed, 2, size)
    try:
        places = linear.read_out(system, _rest(system, linear.place(system, start)))
        return report(system, places, fixed, np.zeros(2), None, [])
    except np.linalg.LinAlgError:
        raise NetworkFault("not-held", "The readings do not hold everything.", system.slots) from None


def _rest(system: System, state: Array) -> Array:
    """Where everything comes to rest: in one step where all readings run along axes, else step by step."""
    if all(isinstance(item, Directed) for item in system.observations):
        misfit, slopes = system.linearise(state)
        design = slopes[:, system.free] / system.sigma[:, None]
        state[system.free] -= np.linalg.solve(design.T @ design, design.T @ (misfit / system.sigma))
        return state
    rest = descent.descend(system, state, near=True)
    if rest is None or not rest.settled:
        loose = descent.adrift(system, state if rest is None else rest.state)
        raise NetworkFault("not-found", "The readings come to no rest.", loose or system.slots)
    return rest.state
