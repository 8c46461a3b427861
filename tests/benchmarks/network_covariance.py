"""The covariance of an adjustment against networks simulated with fresh normal errors.

    python -m tests.benchmarks.network_covariance [networks]

Prints the largest difference between the scatter seen and the covariance told, in parts of the spreads (chance alone
gives about 1 % for 20,000 networks), the mean chi2 against the redundancy, and how many true places the 95 % ellipses
hold. `compare` is also run, with fewer networks, by the slow tests.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass

import numpy as np

from journal.measure.network import Distance, Observation, Offset, adjust
from tests.benchmarks.network_face import within

FIXED = {"A": (0.0, 0.0), "B": (1000.0, 0.0), "C": (400.0, 900.0), "low": (0.0, 0.0)}
TRUTH = {"P": (300.0, 350.0), "Q": (800.0, 500.0)}
TAPES = [("A", "P"), ("B", "P"), ("C", "Q"), ("B", "Q"), ("P", "Q")]
SIGMA = 2.0


@dataclass(frozen=True)
class Outcome:
    """worst: largest difference of a covariance, in parts of the two spreads; inside: share of places held."""

    worst: float
    mean_chi2: float
    redundancy: int
    inside: float


def readings(errors: np.ndarray) -> list[Observation]:
    plain = {**FIXED, **TRUTH}
    tapes: list[Observation] = [
        Distance(a, b, math.dist(plain[a], plain[b]) + error, SIGMA)
        for (a, b), error in zip(TAPES, errors[1:], strict=True)
    ]
    return [Offset("P", "low", TRUTH["P"][1] + errors[0], SIGMA, 1), *tapes]


def compare(networks: int, seed: int = 7) -> Outcome:
    chance = np.random.default_rng(seed)
    true = adjust(readings(np.zeros(len(TAPES) + 1)), FIXED, TRUTH)
    places, chi2, inside = [], 0.0, 0
    for _ in range(networks):
        found = adjust(readings(chance.normal(0, SIGMA, len(TAPES) + 1)), FIXED, TRUTH)
        places.append([*found.points["P"], *found.points["Q"]])
        chi2 += found.chi2
        inside += sum(within(found.points[name], TRUTH[name], found.ellipse(name, 0.95)) for name in TRUTH)
    order = [true.unknowns.index((name, part)) for name in TRUTH for part in (0, 1)]
    told = true.cofactor[np.ix_(order, order)]
    spread = np.sqrt(np.diag(told))
    worst = float(np.abs((np.cov(np.array(places).T) - told) / np.outer(spread, spread)).max())
    return Outcome(worst, chi2 / networks, true.redundancy, inside / networks / len(TRUTH))


if __name__ == "__main__":
    outcome = compare(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
    print(f"largest difference of a covariance: {100 * outcome.worst:.2f} % of the spreads")
    print(f"mean chi2 {outcome.mean_chi2:.4f} for a redundancy of {outcome.redundancy}")
    print(f"95 % ellipses hold {100 * outcome.inside:.2f} of 100 true places")
