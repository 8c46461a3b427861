"""A face of 200 points and 800 readings: how long its places take.

    python -m tests.benchmarks.network_face [points] [rounds]

Every point has its offsets from two edges, some a third one, and tapes to near neighbours; the upper edge is not
known. Prints the figures of each round, the first with numpy's import in it. The aim is under 1 s a round.
"""

from __future__ import annotations

import math
import random
import sys
import time

from journal.measure.network import Distance, Observation, Offset, adjust

WIDE, HIGH, SIGMA = 3000.0, 1500.0, 2.0
EDGES = {"lower": (0.0, 0.0), "rear": (math.pi / 2, 0.0), "upper": (0.0, HIGH)}


def face(points: int, seed: int) -> tuple[list[Observation], dict[str, tuple[float, float]]]:
    """Readings with normal errors, four for each point, and the true places."""
    chance = random.Random(seed)
    places = {f"p{number}": (chance.uniform(0, WIDE), chance.uniform(0, HIGH)) for number in range(points)}
    readings: list[Observation] = []
    for name, (x, y) in places.items():
        for edge, off, side, share in (("lower", y, 1, 1.0), ("rear", x, -1, 1.0), ("upper", HIGH - y, -1, 0.3)):
            if chance.random() < share:
                readings.append(Offset(name, edge, abs(off + chance.gauss(0, SIGMA)), SIGMA, side))
    names = list(places)
    for number in range(4 * points - len(readings)):
        name = names[number % points]
        others = [other for other in chance.sample(names, min(15, points)) if other != name]
        near = min(others, key=lambda other: math.dist(places[name], places[other]))
        length = math.dist(places[name], places[near]) + chance.gauss(0, SIGMA)
        readings.append(Distance(name, near, max(length, 0.1), SIGMA))
    return readings, places


def main(points: int = 200, rounds: int = 5) -> None:
    print("round  wall s  cpu s  readings  redundancy    s0  spots  within the 95 % ellipse")
    for seed in range(1, rounds + 1):
        readings, places = face(points, seed)
        wall, cpu = time.perf_counter(), time.process_time()
        found = adjust(readings, {**EDGES, "upper": (0.0, None)})
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
        inside = sum(within(found.points[name], place, found.ellipse(name, 0.95)) for name, place in places.items())
        print(
            f"{seed:5}  {wall:6.3f}  {cpu:5.3f}  {len(readings):8}  {found.redundancy:10}  {found.s0 or 0:4.2f}"
            f"  {1 + len(found.alternatives):5}  {inside} of {points}"
        )


def within(here: tuple[float, ...], place: tuple[float, float], ellipse: tuple[float, float, float]) -> bool:
    """Whether the true place lies in the ellipse about the place found."""
    long, short, turn = ellipse
    x, y = place[0] - here[0], place[1] - here[1]
    along, across = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
    return (along / long) ** 2 + (across / short) ** 2 <= 1


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
