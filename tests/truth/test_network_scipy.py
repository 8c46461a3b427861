"""Random networks against another library's least squares, which minimises its own residuals, written anew here."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.optimize import least_squares

from journal.measure.network import (
    Angle,
    Directed,
    Distance,
    Observation,
    Offset,
    adjust,
    chi_square_limit,
)
from tests.benchmarks import network_covariance

Places = dict[str, tuple[float, float]]


class Face:
    """A random face: two known corners, an edge along x, perhaps one that slopes, points, and readings of them."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        wide, high = self.chance.uniform(300, 3000), self.chance.uniform(200, 1500)
        self.fixed: dict[str, tuple[float, float]] = {"A": (0.0, 0.0), "B": (wide, 0.0), "low": (0.0, 0.0)}
        self.truth: Places = {}
        for number in range(self.chance.randint(2, 7)):
            self.truth[f"P{number}"] = (self.chance.uniform(0.05, 1) * wide, self.chance.uniform(0.1, 1) * high)
        self.sloping = self.chance.random() < 0.5
        if self.sloping:
            slope = self.chance.uniform(-0.4, 0.4)
            self.truth["top"] = (slope, 1.3 * high * math.cos(slope))
        self.sigma = self.chance.uniform(0.2, 2.0)
        self.observations = self._readings()

    @property
    def every(self) -> Places:
        return {**self.fixed, **self.truth}

    def _readings(self) -> list[Observation]:
        points = [name for name in self.truth if name != "top"]
        found: list[Observation] = []
        for name in points:
            found.append(self._offset(name, "low"))
            others = [other for other in ("A", "B", *points) if other != name]
            found += [self._distance(name, other) for other in self.chance.sample(others, 2)]
            found.append(self._distance(name, self.chance.choice("AB")))
            if self.chance.random() < 0.5:
                found.append(self._directed(name))
            if self.sloping and self.chance.random() < 0.8:
                found.append(self._offset(name, "top"))
        if self.sloping:
            found += [self._offset("A", "top"), self._offset("B", "top")]
            turn = self.truth["top"][0] + self.chance.gauss(0, 0.01)
            found.append(Angle("top", ("A", "B"), turn, 0.01))
        return found

    def _noisy(self, value: float) -> float:
        return value + self.chance.gauss(0, self.sigma)

    def _distance(self, a: str, b: str) -> Distance:
        return Distance(a, b, self._noisy(math.dist(self.every[a], self.every[b])), self.sigma)

    def _directed(self, name: str) -> Directed:
        lean = self.chance.uniform(0, 6)
        axis = (math.cos(lean), math.sin(lean))
        along = sum(d * (p - a) for d, p, a in zip(axis, self.every[name], self.every["A"], strict=True))
        return Directed("A", name, axis, self._noisy(along), self.sigma)

    def _offset(self, name: str, edge: str) -> Offset:
        off = height(self.every[name], self.every[edge])
        return Offset(name, edge, max(0.0, self._noisy(abs(off))), self.sigma, 1 if off > 0 else -1)

    def reference(self) -> tuple[Places, float, NDArray[np.float64]]:
        """Places, chi2 and covariance as scipy finds them from the true places."""
        names = list(self.truth)

        def places(numbers: NDArray[np.float64]) -> Places:
            pairs = numbers.reshape(-1, 2)
            return {**self.fixed, **{name: tuple(pair) for name, pair in zip(names, pairs, strict=True)}}

        def residuals(numbers: NDArray[np.float64]) -> list[float]:
            here = places(numbers)
            return [miss(item, here) / item.sigma for item in self.observations]

        begin = np.array([self.truth[name] for name in names]).ravel()
        scale = np.array([[0.001, 1.0] if name == "top" else [1.0, 1.0] for name in names]).ravel()
        best = least_squares(residuals, begin, jac="3-point", x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15)
        return places(best.x), 2 * best.cost, np.linalg.inv(best.jac.T @ best.jac)


def height(point: tuple[float, float], edge: tuple[float, float]) -> float:
    return -math.sin(edge[0]) * point[0] + math.cos(edge[0]) * point[1] - edge[1]


def miss(item: Observation, here: Places) -> float:
    match item:
        case Distance(a, b, value):
            return math.dist(here[a], here[b]) - value
        case Directed(a, b, axis, value):
            assert not isinstance(axis, str)
            return axis[0] * (here[b][0] - here[a][0]) + axis[1] * (here[b][1] - here[a][1]) - value
        case Offset(point, edge, value, _, side):
            assert side is not None
            return side * height(here[point], here[edge]) - value
        case Angle(subject, _, value):
            assert isinstance(subject, str)
            return math.remainder(here[subject][0] - value, math.tau)


def same(face: Face, here: Mapping[str, Sequence[float]], places: Places) -> bool:
    size = max(abs(number) for place in places.values() for number in place)
    return all(np.abs(np.subtract(here[name], places[name])).max() < 1e-6 * size for name in face.truth)


def compare(seed: int) -> None:
    """Found without a start, among the spots told; then, begun near it, all the figures there."""
    face = Face(seed)
    places, chi2, covariance = face.reference()
    found = adjust(face.observations, face.fixed)
    assert any(same(face, {**spot.points, **spot.edges}, places) for spot in (found, *found.alternatives)), seed
    assert found.chi2 <= chi2 * (1 + 1e-9) + 1e-9
    found = adjust(face.observations, face.fixed, {name: places[name] for name in face.truth})
    assert same(face, {**found.points, **found.edges}, places), seed
    assert found.chi2 == pytest.approx(chi2, rel=1e-6, abs=1e-9), seed
    order = [found.unknowns.index((name, part)) for name in face.truth for part in (0, 1)]
    spread = np.sqrt(np.diag(covariance))
    mine = found.cofactor[np.ix_(order, order)]
    assert np.abs((mine - covariance) / np.outer(spread, spread)).max() < 1e-4, seed
    assert sum(found.redundancies) == pytest.approx(found.redundancy), seed


@pytest.mark.parametrize("start", range(0, 100, 10))
def test_a_hundred_networks(start: int) -> None:
    for seed in range(start, start + 10):
        compare(seed)


@pytest.mark.slow
@pytest.mark.parametrize("start", range(100, 1000, 100))
def test_nine_hundred_more(start: int) -> None:
    for seed in range(start, start + 100):
        compare(seed)


@pytest.mark.slow
def test_covariance_against_simulated_networks() -> None:
    """1,000 networks with fresh normal errors (the benchmark beside it runs 20,000): the scatter of the places is what
    the covariance says. An entry scatters by chance by about sqrt(2 / n) = 4.5 %; four times that is allowed."""
    outcome = network_covariance.compare(1000)
    assert outcome.worst < 0.18
    assert outcome.mean_chi2 == pytest.approx(outcome.redundancy, rel=0.13)
    assert 0.93 < outcome.inside < 0.97


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 40, 399, 2000])
@pytest.mark.parametrize("probability", [0.001, 0.05, 0.5, 0.95, 0.999])
def test_chi_square(freedom: int, probability: float) -> None:
    assert chi_square_limit(freedom, probability) == pytest.approx(stats.chi2.ppf(probability, freedom), rel=1e-9)


@pytest.mark.parametrize("spare", [1, 2, 5, 30])
def test_ellipse_from_the_scatter_found_uses_f(spare: int) -> None:
    readings: list[Observation] = []
    for number in range(spare + 2):
        station = (math.cos(number) * 100, math.sin(number) * 100)
        readings.append(Distance(f"S{number}", "P", math.dist(station, (3, 4)) + 0.01 * (-1) ** number, 0.02))
    fixed = {f"S{number}": (math.cos(number) * 100, math.sin(number) * 100) for number in range(spare + 2)}
    found = adjust(readings, fixed, {"P": (3, 4)})
    plain = found.ellipse("P", prior=False)[0]
    assert found.ellipse("P", 0.95, prior=False)[0] / plain == pytest.approx(
        math.sqrt(2 * stats.f.ppf(0.95, 2, spare)), rel=1e-9
    )
    assert found.ellipse("P", 0.95)[0] / found.ellipse("P")[0] == pytest.approx(math.sqrt(5.991), rel=1e-4)
