"""Every place where a rigid part keeps its readings: many starts at once, each going down to where it rests.

Imports numpy, so it is itself imported only when something is searched.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Point = tuple[float, float]
TURNS, SHIFTS, STEPS = 36, 5, 40


class Turning:
    """The readings of one part, its points known, as sums over (turn, shift u, shift v).

    ties      (point, target, direction or None, sigma), as `poses.Tie`
    parallel  the turn is kept as it starts: none, or half
    """

    def __init__(self, ties: Sequence[tuple[Point, Point, Point | None, float]], parallel: bool) -> None:
        points, targets, directions, sigmas = zip(*ties, strict=True)
        self.points, self.targets = np.array(points), np.array(targets)
        self.straight = np.array([direction is None for direction in directions])
        self.normals = np.array([direction or (0.0, 0.0) for direction in directions])
        self.sigma = np.array(sigmas)
        self.lengths = np.hypot(*(self.points - self.targets).T)
        self.levels = (self.normals * self.points).sum(axis=1)
        self.parallel = parallel
        self.middle = self.points.mean(axis=0)
        reach = np.hypot(*(self.points - self.middle).T).max()
        self.size = float(max(reach, self.lengths[self.straight].max(initial=0.0), 10.0))

    def _misfit(self, state: Array) -> tuple[Array, Array]:
        """Weighted misfits (starts x ties) and their slopes (starts x ties x 3)."""
        c, s = np.cos(state[:, 0])[:, None], np.sin(state[:, 0])[:, None]
        p = self.points - self.middle
        turned = np.stack([c * p[:, 0] - s * p[:, 1], s * p[:, 0] + c * p[:, 1]], axis=2)
        at = turned + self.middle + state[:, None, 1:]
        apart = at - self.targets
        far = np.maximum(np.sqrt((apart**2).sum(axis=2)), 1e-9)
        n = np.where(self.straight[:, None], apart / far[:, :, None], self.normals)
        miss = np.where(self.straight, far - self.lengths, (self.normals * at).sum(axis=2) - self.levels)
        across = n[:, :, 1] * turned[:, :, 0] - n[:, :, 0] * turned[:, :, 1]
        if self.parallel:
            across = np.zeros_like(across)
        slopes = np.concatenate([across[:, :, None], n], axis=2)
        return miss / self.sigma, slopes / self.sigma[:, None]

    def rests(self) -> Iterator[tuple[float, float, float, float]]:
        """(turn, shift u, shift v about the origin, chi2) of every start's end, the best first."""
        state = self._starts()
        damping = np.full(len(state), 1e-3)
        miss, slopes = self._misfit(state)
        cost = (miss**2).sum(axis=1)
        scale = np.array([self.size, 1.0, 1.0])
        for _ in range(STEPS):
            scaled = slopes / scale
            normal = scaled.transpose(0, 2, 1) @ scaled
            trace = np.trace(normal, axis1=1, axis2=2)[:, None, None] + 1e-12
            right = -(scaled.transpose(0, 2, 1) @ miss[:, :, None])
            step = np.linalg.solve(normal + damping[:, None, None] * trace * np.eye(3), right)[:, :, 0] / scale
            trial = state + step
            new_miss, new_slopes = self._misfit(trial)
            new_cost = (new_miss**2).sum(axis=1)
            better = new_cost < cost
            state = np.where(better[:, None], trial, state)
            miss = np.where(better[:, None], new_miss, miss)
            slopes = np.where(better[:, None, None], new_slopes, slopes)
            cost = np.where(better, new_cost, cost)
            damping = np.clip(np.where(better, damping / 10, damping * 10), 1e-12, 1e6)
        for row in np.argsort(cost):
            turn = float(state[row, 0])
            c, s = math.cos(turn), math.sin(turn)
            u, v = self.middle
            yield (
                turn,
                float(u - c * u + s * v + state[row, 1]),
                float(v - s * u - c * v + state[row, 2]),
                float(cost[row]),
            )

    def _starts(self) -> Array:
        turns = np.array([0.0, math.pi]) if self.parallel else np.arange(TURNS) * math.tau / TURNS
        steps = np.linspace(-2, 2, SHIFTS) * self.size
        grid = np.meshgrid(turns, steps, steps, indexing="ij")
        starts: Array = np.stack([axis.ravel() for axis in grid], axis=1)
        return starts
