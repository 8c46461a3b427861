"""One face with many points and readings: how long it takes to solve.

    python tests/benchmarks/large_face.py [points] [readings]

Points lie anywhere on a panel 3 m by 1 m, readings go from each to edges, ends and other points, with normal errors.
Prints CPU seconds for solving alone, the redundancy, and the largest error against the truth over its own sigma.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from random import Random

from journal.judge.face import faces
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.make import tell_build

PER_PART = 4
EDGES = (("ahead of rear end", 0, 0, 1), ("behind front end", 0, 3000, -1), ("above lower edge", 1, 0, 1),
         ("below upper edge", 1, 1000, -1))  # fmt: skip


def build(folder: Path, points: int, readings: int) -> dict[tuple[str, str], tuple[float, float]]:
    """Write the build; returns (part, hole) -> true place."""
    chance = Random(9)
    truth: dict[tuple[str, str], tuple[float, float]] = {}
    lines = ["```measured panel", "rear end to front end: 3000 mm by tape", "lower edge to upper edge: 1000 mm by tape"]
    lines += ["```", ""]
    parts = points // PER_PART
    for part in range(parts):
        name = f"plate {part}"
        lines += [f"```removed {name}", "from: panel", "held by: 4 welds", "way round: as drawn"]
        middle = chance.uniform(150, 2850), chance.uniform(150, 850)
        for hole in range(PER_PART):
            truth[name, f"hole {hole + 1}"] = tuple(at + chance.uniform(-140, 140) for at in middle)  # type: ignore[assignment]
        for number in range(readings // parts):
            hole = f"hole {number % PER_PART + 1}"
            at = truth[name, hole]
            words, axis, start, sign = EDGES[number // PER_PART % 4]
            lines.append(f"{hole} {words}: {(at[axis] - start) * sign + chance.gauss(0, 0.4):.2f} mm ± 0.5 by rule")
        for a, b in ((1, 2), (1, 3), (2, 4)):
            apart = math.dist(truth[name, f"hole {a}"], truth[name, f"hole {b}"])
            lines.append(f"hole {a} to hole {b}: {apart + chance.gauss(0, 0.4):.2f} mm ± 0.5 by rule")
        lines += ["```", ""]
    (folder / "2026-03-21").mkdir(parents=True)
    (folder / "build.toml").write_text('title = "Large face"\n', encoding="utf-8")
    (folder / "2026-03-21" / "note.md").write_text("\n".join(lines), encoding="utf-8")
    return truth


def main(points: int, readings: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        truth = build(Path(folder) / "build", points, readings)
        told = tell_build(Path(folder) / "build", date(2026, 5, 9))
    recorder = Recorder(told.book)
    face = next(face for face in faces(recorder) if face.parts)
    start = time.process_time(), time.perf_counter()
    (position,) = Solver(recorder).solve([face])
    cpu, wall = time.process_time() - start[0], time.perf_counter() - start[1]
    worst = max(
        abs(found - true) / sigma
        for spot in position.spots
        for found, true, sigma in zip(
            (spot.u, spot.v), truth[told.book.title(spot.owner), spot.words], spot.sigma, strict=True
        )
    )
    print(f"{len(position.spots)} points, {len(position.residuals)} readings: {cpu:.2f} s of CPU, {wall:.2f} s")
    left_out = len(position.suspects)
    print(f"redundancy {position.redundancy}, chi2 {position.chi2:.0f}, left out {left_out}, worst {worst:.1f} sigma")


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], *("200", "800")[len(sys.argv) - 1 :])))
