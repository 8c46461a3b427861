"""What an adjustment tells: places, how far to trust them, and which reading does not fit the others."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from journal.ground.records import record
from journal.measure.observations import Observation

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Two-sided normal value of 0.1 %, the usual limit for one normalised residual: W. Baarda, A testing procedure
# for use in geodetic networks, Netherlands Geodetic Commission, 1968 (from memory; the normal value is 3.2905).
BAARDA = 3.29
# Non-centrality of a mistake that this test misses once in five times: (3.2905 + 0.8416)², from memory as well.
NON_CENTRALITY = 17.075
# A reading so little checked that a residual says nothing (common practice, no published source).
LEAST_CHECK = 0.05
UNCHECKED = 1e-8  # below this a reading's redundancy is rounding


@record
class Spot:
    """Another place for everything that fits the readings as well."""

    points: Mapping[str, tuple[float, ...]]
    edges: Mapping[str, tuple[float, float]]
    chi2: float


@dataclass(frozen=True, eq=False)
class Adjustment:
    """The answer of `network.adjust`.

    observations  as given; all per-reading tuples are in this order
    points        name -> (x, y) or (x, y, z), the fixed ones too
    edges         name -> (angle, offset), see `observations`
    chi2          sum of (residual / sigma)²
    redundancy    readings beyond the number needed
    residuals     adjusted minus observed
    redundancies  share of each reading that the others check, 0 to 1; they add up to `redundancy`
    normalised    residual over its own standard deviation, a priori; None where nothing else checks it
    cofactor      covariance of the unknowns from the sigmas as given (a priori), rows as `unknowns`
    unknowns      (name, component) of each row; an edge's components are angle and offset
    alternatives  other solutions that fit as well, best first, each different from all others
    """

    observations: tuple[Observation, ...]
    points: Mapping[str, tuple[float, ...]]
    edges: Mapping[str, tuple[float, float]]
    chi2: float
    redundancy: int
    residuals: tuple[float, ...]
    redundancies: tuple[float, ...]
    normalised: tuple[float | None, ...]
    cofactor: Array
    unknowns: tuple[tuple[str, int], ...]
    alternatives: tuple[Spot, ...]
    reach: Array  # orthonormal columns that span what the unknowns can do to the weighted readings

    @property
    def s0(self) -> float | None:
        """sqrt(chi2 / redundancy), no unit: 1 when the sigmas were right; None where nothing is redundant."""
        return math.sqrt(self.chi2 / self.redundancy) if self.redundancy else None

    @cached_property
    def covariance(self) -> Array:
        """A posteriori (scaled by s0²) where something is redundant, else a priori."""
        return self.cofactor if self.s0 is None else self.cofactor * self.s0**2

    @property
    def sigma(self) -> dict[str, tuple[float, ...]]:
        """Standard deviations of the points' coordinates and the edges' (angle, offset), as `covariance`."""
        variances = dict(zip(self.unknowns, self.covariance.diagonal(), strict=True))
        return {
            name: tuple(math.sqrt(variances.get((name, part), 0.0)) for part in range(len(place)))
            for name, place in {**self.points, **self.edges}.items()
        }

    @cached_property
    def detectable(self) -> tuple[float | None, ...]:
        """The smallest mistake in each reading that the test at 3.29 finds four times in five; None: never."""
        return tuple(
            None if said is None else math.sqrt(NON_CENTRALITY / share) * item.sigma
            for item, share, said in zip(self.observations, self.redundancies, self.normalised, strict=True)
        )

    @cached_property
    def rows(self) -> dict[tuple[str, int], int]:
        """(name, component) of each unknown to its row."""
        return {unknown: row for row, unknown in enumerate(self.unknowns)}

    def block(self, name: str, other: str | None = None, prior: bool = False) -> tuple[tuple[float, ...], ...]:
        """Covariance of one point or edge, or between two; rows are `name`'s components."""
        matrix = self.cofactor if prior else self.covariance
        rows = self.rows
        places = {**self.points, **self.edges}

        def entry(left: tuple[str, int], right: tuple[str, int]) -> float:
            return float(matrix[rows[left], rows[right]]) if left in rows and right in rows else 0.0

        other = name if other is None else other
        across = range(len(places[other]))
        return tuple(tuple(entry((name, i), (other, j)) for j in across) for i in range(len(places[name])))

    def ellipse(self, name: str, probability: float | None = None, prior: bool = True) -> tuple[float, float, float]:
        """(semi-major, semi-minor, angle of the long axis from +x towards +y in radians, 0 to pi).

        probability   that the true place lies inside; None: the standard ellipse. A point in space: its plan.
        prior         from the sigmas as given; False: from the scatter found, where something is redundant
        """
        (xx, xy, *_), (_, yy, *_), *_ = self.block(name, prior=prior)
        middle, half = (xx + yy) / 2, math.hypot((xx - yy) / 2, xy)
        scale = 1.0 if probability is None else self._scale(probability, prior)
        turn = math.atan2(2 * xy, xx - yy) / 2 % math.pi
        return scale * math.sqrt(middle + half), scale * math.sqrt(max(middle - half, 0.0)), turn

    def _scale(self, probability: float, prior: bool) -> float:
        """Two degrees of freedom, so both quantiles are closed: chi-square, and F where s0 is found."""
        outside = 1 - probability
        if prior or not self.redundancy:
            return math.sqrt(-2 * math.log(outside))
        return math.sqrt(self.redundancy * (outside ** (-2 / self.redundancy) - 1))

    def fits(self, level: float = 0.001) -> bool:
        """The global test: whether the misfit as a whole is what the sigmas allow (False alarms: `level`)."""
        return not self.redundancy or self.chi2 <= chi_square_limit(self.redundancy, 1 - level)

    def others_say(self, index: int) -> tuple[float, float] | None:
        """What the other readings say reading `index` should be, and the sigma of that; None: they cannot."""
        if self.normalised[index] is None:
            return None
        item, share = self.observations[index], self.redundancies[index]
        return item.value + self.residuals[index] / share, item.sigma * math.sqrt(max(1 / share - 1, 0.0))


def suspect(adjustment: Adjustment) -> int | None:
    """The reading that is most likely a slip of the tape: its index, or None.

    It is named only if its normalised residual is above 3.29, other readings check it, and it stands out:
    further above every other one than the chance spread of their difference. With one redundant reading all are
    equal and none is named; `Adjustment.fits` still says that something is wrong. (That two residuals which move
    together cannot be told apart: W. Förstner, 1983, from memory; the limit of one deviation is our own.)
    """
    sizes = [abs(said) if said is not None else 0.0 for said in adjustment.normalised]
    worst = max(range(len(sizes)), key=sizes.__getitem__, default=None)
    if worst is None or sizes[worst] <= BAARDA or adjustment.redundancies[worst] < LEAST_CHECK:
        return None
    rivals = (row for row in range(len(sizes)) if row != worst and adjustment.normalised[row] is not None)
    return worst if all(_stands_out(adjustment, sizes, worst, rival) for rival in rivals) else None


def _stands_out(adjustment: Adjustment, sizes: list[float], worst: int, rival: int) -> bool:
    shared = float(adjustment.reach[worst] @ adjustment.reach[rival])
    shares = adjustment.redundancies[worst] * adjustment.redundancies[rival]
    together = min(abs(shared) / math.sqrt(shares), 1.0)
    return sizes[worst] - sizes[rival] > max(math.sqrt(2 * (1 - together)), 1e-6 * sizes[worst])


@lru_cache(maxsize=256)
def chi_square_limit(freedom: int, probability: float) -> float:
    """What chi-square with `freedom` (1 or more) degrees of freedom stays below with `probability`."""
    if freedom < 1 or not 0 < probability < 1:
        raise ValueError(f"no chi-square limit for {freedom} degrees of freedom at {probability}")
    low, high = 0.0, freedom + 10.0
    while chi_square_tail(freedom, high) > 1 - probability:
        high *= 2
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if chi_square_tail(freedom, middle) > 1 - probability else (low, middle)
    return (low + high) / 2


def chi_square_tail(freedom: int, value: float) -> float:
    """The chance of more than `value`: finite sums, Abramowitz & Stegun 26.4.4 and 26.4.5 (from memory)."""
    half = value / 2
    if half <= 0:
        return 1.0
    odd = freedom % 2
    tail = math.erfc(math.sqrt(half)) if odd else 0.0
    terms = (step + odd / 2 for step in range(freedom // 2))
    return min(1.0, tail + math.fsum(math.exp(a * math.log(half) - half - math.lgamma(a + 1)) for a in terms))
