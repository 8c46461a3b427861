"""The way down to the least squares, and what the equations there say: is it held, and how well.

Imports numpy, so it is itself imported only when something is solved.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from journal.measure.linear import Array, System

STEPS = 60  # of Gauss-Newton with Levenberg damping; a sound network needs 4 to 10
SAME_SPOT = 1e-5  # of the size of the work
NEAR = 1e-2  # chi2 still to gain when a way down can be said to end here
LARGE = 80  # unknowns, from where on speed counts
ADRIFT = 0.05  # of the size of the work: what the slopes leave so free is held by nothing
SINGULAR = 1e-6  # a reading's error comes out a million times larger: not held


@dataclass(frozen=True, eq=False)
class Rest:
    """Where a way down ended. `settled` is False where no further step helps but the slope is not level."""

    state: Array
    chi2: float
    settled: bool


def descend(
    system: System,
    state: Array,
    datum: Array | None = None,
    hopeless: float = math.inf,
    known: Sequence[Array] = (),
    near: bool = False,
) -> Rest | None:
    """Gauss-Newton with Levenberg damping from `state`.

    datum     for a free network: one column for each motion to leave out of every step
    hopeless  chi2 that is of no use: None as soon as it is plain that the rest would lie above it
    known     states where others came to rest: None as soon as it is plain that this one will too
    near      the start is known to be near the rest: a step longer than the work, where something hangs on nothing,
              leads to none
    """
    state, damping, free = state.copy(), 0.0, system.free
    rounding = (1e-15 * system.size / float(system.sigma.min())) ** 2
    misfit, jacobian, chi2 = _weighted(system, state)
    last = math.inf
    for _ in range(STEPS):
        step, gain = _step(jacobian, misfit, damping, datum)
        lost = not np.isfinite(gain) or float(np.abs(step).max(initial=0.0)) > system.size
        if near and damping == 0.0 and lost and adrift(system, state):
            return Rest(state, chi2, False)
        fine = damping == 0.0 and gain <= 1e-10 * chi2  # too little for chi2 to show
        if damping == 0.0 and (gain <= 1e-24 + 1e-18 * chi2 + rounding or (fine and gain >= last)):
            return Rest(state, chi2, True)
        if damping == 0.0 and (chi2 - 1.5 * gain > hopeless or (gain < NEAR and _at(system, state, known))):
            return None
        trial = state.copy()
        trial[free] += step
        if fine or float(((system.misfit(trial) / system.sigma) ** 2).sum()) < chi2:
            state, damping = trial, damping / 10 if damping > 1e-4 else 0.0
            misfit, jacobian, chi2 = _weighted(system, state)
        elif damping == 0.0 and (bent := _newton(system, state, jacobian, misfit, chi2, datum)) is not None:
            state = bent
            misfit, jacobian, chi2 = _weighted(system, state)
        elif damping > 1e6:
            break
        else:
            damping = max(damping * 10, 1e-3)
        last = gain if fine else math.inf
    _, gain = _step(jacobian, misfit, 0.0, datum)
    return Rest(state, chi2, gain <= 1e-6 * (1 + chi2) + rounding)


def _at(system: System, state: Array, known: Sequence[Array]) -> bool:
    return any(bool((np.abs(state - other) < SAME_SPOT * system.size * system.scale).all()) for other in known)


def _weighted(system: System, state: Array) -> tuple[Array, Array, float]:
    misfit, jacobian = system.linearise(state)
    misfit = misfit / system.sigma
    return misfit, jacobian[:, system.free] / system.sigma[:, None], float((misfit**2).sum())


def _step(jacobian: Array, misfit: Array, damping: float, datum: Array | None) -> tuple[Array, float]:
    """The damped step, and how far the undamped line would bring chi2 down."""
    count = jacobian.shape[1]
    norms: Array = np.sqrt((jacobian**2).sum(axis=0))
    norms[norms == 0] = 1.0
    if count > LARGE:
        return _step_by_normals(jacobian / norms, misfit, damping, None if datum is None else datum.T / norms, norms)
    parts = [np.column_stack([jacobian / norms, -misfit])]
    if datum is not None:
        parts.append(np.column_stack([datum.T / norms, np.zeros(datum.shape[1])]))
    if damping:
        parts.append(np.column_stack([damping * np.eye(count), np.zeros(count)]))
    stacked = np.concatenate(parts)
    if len(stacked) <= count:
        stacked = np.concatenate([stacked, np.zeros((count + 1 - len(stacked), count + 1))])
    triangle: Array = np.asarray(np.linalg.qr(stacked, mode="r"))
    upper: Array = triangle[:count, :count]
    right: Array = triangle[:count, count]
    diagonal = np.abs(upper.diagonal())
    if diagonal.min(initial=1.0) < 1e-14 * diagonal.max(initial=1.0):
        return np.zeros(count), math.inf
    step: Array = np.linalg.solve(upper, right) / norms
    return step, float(right @ right)


def _newton(
    system: System, state: Array, jacobian: Array, misfit: Array, chi2: float, datum: Array | None
) -> Array | None:
    """Where a step that minds the bending of the readings leads, if that is lower; large misfits on short distances
    or thin cuts need it."""
    free = system.free
    normal = _normal(jacobian) + system.bend(state, misfit / system.sigma)[np.ix_(free, free)]
    if datum is not None:
        normal += datum @ datum.T * float(normal.diagonal().max())
    if normal.diagonal().min() <= 0:
        return None
    scale = 1 / np.sqrt(normal.diagonal())
    bent = normal * scale * scale[:, None]
    try:
        np.linalg.cholesky(bent)
        step = np.linalg.solve(bent, scale * (jacobian.T @ misfit))
    except np.linalg.LinAlgError:
        return None
    trial = state.copy()
    trial[free] -= scale * step
    return trial if float(((system.misfit(trial) / system.sigma) ** 2).sum()) < chi2 else None


def _step_by_normals(
    design: Array, misfit: Array, damping: float, datum: Array | None, norms: Array
) -> tuple[Array, float]:
    """The same from the normal equations: some digits fewer, many times faster where there is much to solve."""
    normal = _normal(design)
    if datum is not None:
        normal += datum.T @ datum
    normal[np.diag_indices_from(normal)] += damping**2
    right: Array = -(design.T @ misfit)
    try:
        step: Array = np.asarray(np.linalg.solve(normal, right))
    except np.linalg.LinAlgError:
        return np.zeros(len(right)), math.inf
    gain = float(step @ right)
    return (step / norms, gain) if gain >= 0 else (np.zeros(len(right)), math.inf)


def _normal(design: Array) -> Array:
    """design.T @ design, for rows that are nearly all zeros."""
    rows, columns = np.nonzero(design)
    place = np.arange(len(rows)) - np.searchsorted(rows, rows)
    width = int(place.max(initial=0)) + 1
    count = design.shape[1]
    values = np.zeros((len(design), width))
    at = np.zeros((len(design), width), dtype=np.intp)
    values[rows, place], at[rows, place] = design[rows, columns], columns
    cells = (at[:, :, None] * count + at[:, None, :]).ravel()
    products = (values[:, :, None] * values[:, None, :]).ravel()
    normal = np.bincount(cells, products, minlength=count * count).astype(float)
    return normal.reshape(count, count)


def adrift(system: System, state: Array) -> list[str]:
    """What its own readings do not hold at `state`, all else taken as fixed: a point to whose place along an axis a
    distance runs square, so that it says nothing about it."""
    _, jacobian, _ = _weighted(system, state)
    slopes = np.full(len(state), math.inf)
    slopes[system.free] = np.sqrt((jacobian**2).sum(axis=0)) * system.scale[system.free]
    return [name for name, slot in system.slots.items() if slopes[slot].min() * ADRIFT * system.size < 1]


def pulls(system: System, state: Array) -> Array:
    """How hard the misfits still pull at each unknown where a way down has come to rest, 0 to 1."""
    misfit, jacobian, chi2 = _weighted(system, state)
    sizes = np.sqrt((jacobian**2).sum(axis=0) * max(chi2, 1e-300))
    pull: Array = np.abs(jacobian.T @ misfit) / np.where(sizes > 0, sizes, 1.0)
    return pull


def rank_gap(system: System, state: Array, datum: Array | None = None) -> tuple[int, Array]:
    """How many motions the readings do not hold at `state`, and each unknown's share in them (0 to 1)."""
    free = system.free
    _, jacobian = system.linearise(state)
    design = jacobian[:, free] * system.scale[free] * system.row_scale[:, None]
    if datum is not None:
        design = np.concatenate([design, (datum / system.scale[free][:, None]).T])
    values, vectors = np.linalg.eigh(_normal(design))
    loose = values < SINGULAR**2 * max(float(values.max(initial=0.0)), 1e-300)
    moves: Array = np.sqrt((vectors[:, loose] ** 2).sum(axis=1))
    return int(loose.sum()), moves


def held(system: System, state: Array, datum: Array | None = None) -> bool:
    """Whether the readings say where everything is, to within the size of the work at least."""
    if rank_gap(system, state, datum)[0]:
        return False
    variances = cofactors(system, state, datum)[0].diagonal() / system.scale[system.free] ** 2
    return bool(variances.max(initial=0.0) < system.size**2)


def cofactors(system: System, state: Array, datum: Array | None = None) -> tuple[Array, Array]:
    """Covariance of the unknowns from the sigmas as given, and an orthonormal base of what they can do to the
    weighted readings (readings x unknowns)."""
    _, jacobian, _ = _weighted(system, state)
    norms = np.sqrt((jacobian**2).sum(axis=0))
    stacked = jacobian / norms
    if datum is not None:
        stacked = np.concatenate([stacked, datum.T / norms])
    base, upper = np.linalg.qr(stacked)
    reach = base[: len(jacobian)]
    inverse = np.linalg.solve(upper, np.eye(len(norms))) / norms[:, None]
    inner = reach.T @ reach if datum is not None else np.eye(len(norms))
    return inverse @ inner @ inverse.T, reach
