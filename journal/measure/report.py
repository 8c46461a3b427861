"""From a solved state back to the caller's own origin, and the figures that go with it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from journal.measure.adjustment import UNCHECKED, Adjustment, Spot
from journal.measure.descent import cofactors
from journal.measure.linear import Array, Places, System, place, read_out
from journal.measure.loci import Place
from journal.measure.observations import Fixed


def centre_of(places: Fixed, edges: frozenset[str], dimension: int) -> Array:
    """The middle of the points given, number by number."""
    columns: list[list[float]] = [[] for _ in range(dimension)]
    for name, given in places.items():
        for column, number in zip(columns, given, strict=False):
            if number is not None and name not in edges:
                column.append(float(number))
    return np.array([sum(column) / len(column) if column else 0.0 for column in columns])


def shifted(given: Sequence[float], edge: bool, shift: Array) -> Place:
    """A place after everything was shifted; an edge's offset grows by the shift along its normal."""
    if not edge:
        return tuple(float(at + by) for at, by in zip(given, shift, strict=True))
    angle, offset = given
    return (float(angle), float(offset - math.sin(angle) * shift[0] + math.cos(angle) * shift[1]))


def shifted_given(given: Sequence[float | None], edge: bool, shift: Array) -> tuple[float | None, ...]:
    """The same where some numbers are not known; they stay so."""
    moved = shifted([0.0 if number is None else number for number in given], edge, shift)
    return tuple(None if number is None else at for number, at in zip(given, moved, strict=True))


def chi2_of(system: System, places: Places) -> float:
    """Sum of squared misfits over sigma."""
    return _sum_of_squares(system, system.misfit(place(system, places)))


def _sum_of_squares(system: System, misfit: Array) -> float:
    return float(((misfit / system.sigma) ** 2).sum())


def outside(
    system: System, places: Places, fixed: Fixed, centre: Array
) -> tuple[dict[str, Place], dict[str, tuple[float, float]]]:
    """Points and edges about the caller's own origin; what was fixed comes back as it was given."""
    inside = read_out(system, place(system, places))
    every = {name: tuple(map(float, _known(given))) for name, given in fixed.items() if None not in given}
    for name, here in inside.items():
        now = shifted(here, name in system.edges, centre)
        given = fixed.get(name, (None,) * len(now))
        every[name] = tuple(at if kept is None else float(kept) for at, kept in zip(now, given, strict=True))
    points = {name: at for name, at in every.items() if name not in system.edges}
    edges = {name: (math.remainder(every[name][0], math.tau), every[name][1]) for name in system.edges}
    return points, edges


def _known(given: Sequence[float | None]) -> list[float]:
    return [number for number in given if number is not None]


def report(
    system: System, places: Places, fixed: Fixed, centre: Array, datum: Array | None, others: Sequence[Spot]
) -> Adjustment:
    """The answer for one set of places about `centre`."""
    state = place(system, places)
    misfit = system.misfit(state)
    cofactor, reach = cofactors(system, state, datum)
    back = _back(system, state, centre)
    shares = np.clip(1 - (reach**2).sum(axis=1), 0.0, 1.0)
    points, edges = outside(system, places, fixed, centre)
    columns = [(name, part) for name, slot in system.slots.items() for part in range(slot.stop - slot.start)]
    return Adjustment(
        observations=system.observations,
        points=points,
        edges=edges,
        chi2=_sum_of_squares(system, misfit),
        redundancy=len(misfit) - len(system.free) + (0 if datum is None else datum.shape[1]),
        residuals=tuple(map(float, misfit)),
        redundancies=tuple(map(float, shares)),
        normalised=tuple(map(_normalised, misfit, system.sigma, shares)),
        cofactor=back @ cofactor @ back.T,
        unknowns=tuple(columns[column] for column in system.free),
        alternatives=tuple(others),
        reach=reach,
    )


def _normalised(misfit: float, sigma: float, share: float) -> float | None:
    return float(misfit / sigma / math.sqrt(share)) if share > UNCHECKED else None


def _back(system: System, state: Array, centre: Array) -> Array:
    """What shifting the origin back does to the unknowns: an edge's offset moves with its angle."""
    change = np.eye(len(state))
    for name in system.edges:
        slot = system.slots[name]
        angle = float(state[slot.start])
        change[slot.start + 1, slot.start] = -math.cos(angle) * centre[0] - math.sin(angle) * centre[1]
    back: Array = change[np.ix_(system.free, system.free)]
    return back
