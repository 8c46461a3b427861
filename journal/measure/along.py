"""Least squares where few numbers are unknown and all readings run along axes: plain arithmetic.

Most groups of a face are of that kind, one hole between two edges; numpy takes ten times as long to begin with them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple, TypeGuard

from journal.measure.adjustment import UNCHECKED, Adjustment
from journal.measure.observations import Directed, Fixed, NetworkFault, Observation

FEW = 6  # unknown numbers, up to which this is the faster way
AXIS = {"x": 0, "y": 1}
LOOSE = 1e-12  # of what readings put on an unknown number: so little left for it alone is rounding

Row = list[float]


class Unknowns(NamedTuple):
    """What is to be found: (name, component) -> its column, and every place as it is thought to be."""

    columns: dict[tuple[str, int], int]
    places: dict[str, tuple[float, float]]


def all_along(observations: Sequence[Observation]) -> TypeGuard[Sequence[Directed]]:
    """Whether every reading runs along an axis of the plane."""
    return all(isinstance(item, Directed) and item.axis in AXIS for item in observations)


def unknowns(observations: Sequence[Directed], fixed: Fixed, start: Mapping[str, Sequence[float]]) -> Unknowns:
    """What readings name, in their order."""
    columns: dict[tuple[str, int], int] = {}
    places: dict[str, tuple[float, float]] = {}
    for name in dict.fromkeys(name for item in observations for name in (item.a, item.b)):
        given = fixed.get(name, (None, None))
        for part, number in enumerate(given):
            if number is None:
                columns[name, part] = len(columns)
        u, v = (start[name][part] if number is None else number for part, number in enumerate(given))
        places[name] = u, v
    return Unknowns(columns, places)


def adjusted(observations: Sequence[Directed], sought: Unknowns) -> Adjustment:
    """The adjustment, as `settle.settle` gives it; NetworkFault where the readings do not hold all that is sought."""
    import numpy as np

    columns, places = sought
    count = len(columns)
    design, misfits = [], []
    for item in observations:
        row, part = [0.0] * count, AXIS[str(item.axis)]
        for name, sign in ((item.a, -1.0), (item.b, 1.0)):
            column = columns.get((name, part))
            if column is not None:
                row[column] += sign / item.sigma
        design.append(row)
        misfits.append((places[item.b][part] - places[item.a][part] - item.value) / item.sigma)
    inverse = _inverse_root(_normal(design, count), tuple(places))
    reach = [[_dot(row, column) for column in inverse] for row in design]
    pulls = [sum(row[column] * misfit for row, misfit in zip(reach, misfits, strict=True)) for column in range(count)]
    steps = [sum(row[column] * pull for row, pull in zip(inverse, pulls, strict=True)) for column in range(count)]
    misfits = [misfit - _dot(row, pulls) for row, misfit in zip(reach, misfits, strict=True)]
    shares = [min(1.0, max(0.0, 1.0 - _dot(row, row))) for row in reach]
    moved = {name: list(place) for name, place in places.items()}
    for (name, part), step in zip(columns, steps, strict=True):
        moved[name][part] -= step
    return Adjustment(
        observations=tuple(observations),
        points={name: tuple(place) for name, place in moved.items()},
        edges={},
        chi2=_dot(misfits, misfits),
        redundancy=len(misfits) - count,
        residuals=tuple(misfit * item.sigma for misfit, item in zip(misfits, observations, strict=True)),
        redundancies=tuple(shares),
        normalised=tuple(
            misfit / math.sqrt(share) if share > UNCHECKED else None
            for misfit, share in zip(misfits, shares, strict=True)
        ),
        cofactor=np.array([[sum(row[i] * row[j] for row in inverse) for j in range(count)] for i in range(count)]),
        unknowns=tuple(columns),
        alternatives=(),
        reach=np.array(reach),
    )


def _dot(one: Row, other: Row) -> float:
    return sum(map(float.__mul__, one, other))


def _normal(design: Sequence[Row], count: int) -> list[Row]:
    """design.T @ design."""
    return [[sum(row[i] * row[j] for row in design) for j in range(count)] for i in range(count)]


def _inverse_root(normal: Sequence[Row], names: tuple[str, ...]) -> list[Row]:
    """The inverse of the lower triangle whose square is the normal matrix (Cholesky), row by row."""
    count = len(normal)
    lower: list[Row] = []
    inverse: list[Row] = []
    for i in range(count):
        row: Row = []
        for j in range(i):
            row.append((normal[i][j] - sum(a * b for a, b in zip(row, lower[j], strict=False))) / lower[j][j])
        left = normal[i][i] - sum(a * a for a in row)
        if left <= LOOSE * normal[i][i]:
            raise NetworkFault("not-held", "The readings do not hold everything.", names)
        root = math.sqrt(left)
        lower.append([*row, root])
        inverse.append(
            [-sum(row[k] * inverse[k][j] for k in range(j, i)) / root for j in range(i)]
            + [1.0 / root]
            + [0.0] * (count - i - 1)
        )
    return inverse
