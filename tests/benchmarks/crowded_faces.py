"""Many parts on one panel, measured as people do: is what the tool says of their places true?

    python -m tests.benchmarks.crowded_faces [--parts 1000] [--readings 10000] [--misread 0.02] [--seed 9] [--on 50]

The build is that of `big_build`: lines whose side no word gives, edges of parts that are measured to holes of the
panel, straight distances. Prints how many points were placed, how many of these lie further from the truth than three
times their 95 % ellipse and 1 mm (where two places are told, from both), and how many of those have no wrong reading of
their own. Of the readings that were written down wrongly: how many are left out or told not to agree with others.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from journal.build import Told
from journal.judge.verdicts import FacePosition, Spot
from journal.make import tell_build
from tests.benchmarks.big_build import HOLE, LINES, Truth, distance, make

FAR = 3.0  # half axes of the 95 % ellipse
Place = tuple[float, float]


def true_place(told: Told, truth: Truth, owner: str | None, words: str) -> Place | None:
    """Where a point or line is; a line's other number is nought."""
    if owner is None or owner not in told.book.parts:
        return None
    title = told.book.parts[owner].title
    if words in LINES and title not in truth:
        along, at = LINES[words]
        return (0.0, at) if along else (at, 0.0)
    return HOLE if words == "jig hole" else truth.get(title, {}).get(words)


def misses(told: Told, truth: Truth, position: FacePosition) -> list[tuple[Spot, float]]:
    """Every point with how much further it is from where it is than it says, in mm.

    The face is laid over the truth as it fits best; where no reading tells up from down it may be seen from behind.
    """
    known = [(spot, place) for spot in position.spots if (place := true_place(told, truth, spot.owner, spot.words))]
    others = defaultdict(list)
    for other in position.alternatives:
        for spot in other.spots:
            others[spot.owner, spot.words].append(spot)
    signs = [(1, 1), (1, -1), (-1, 1), (-1, -1)] if None in position.axes else [(1, 1)]
    found = []
    for along, across in signs:
        du = median([place[0] - along * spot.u for spot, place in known] or [0.0])
        dv = median([place[1] - across * spot.v for spot, place in known] or [0.0])
        off = [
            (spot, min(
                math.dist((along * at.u + du, across * at.v + dv), place) - FAR * at.ellipse95[0] - 1.0
                for at in (spot, *others[spot.owner, spot.words])
            ))
            for spot, place in known
        ]  # fmt: skip
        found.append(off)
    return min(found, key=lambda off: sum(far > 0 for _, far in off))


def wrong_readings(told: Told, truth: Truth) -> Iterator[str]:
    """Ids of readings that were written down wrongly: further out than any method is, eye and rounding included."""
    for reading in told.book.readings.values():
        if not (reading.subject and reading.reference and reading.value and reading.value.number is not None):
            continue
        place = truth.get(told.book.parts[reading.part].title, {}).get(reading.subject.words)
        if place:
            edge = not reading.subject.point
            size = distance(place, reading.reference.words, edge)
            if abs(float(reading.value.number) - size) > 12:
                yield reading.id


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--parts", type=int, default=1000)
    asked.add_argument("--readings", type=int, default=10_000)
    asked.add_argument("--misread", type=float, default=0.02)
    asked.add_argument("--seed", type=int, default=9)
    asked.add_argument("--on", type=int, default=50, help="parts on a panel")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        build = Path(folder) / "build"
        truth = make(build, 100, given.parts, given.readings, given.misread, given.seed, given.on)
        told = tell_build(build)
        report(told, truth)


def report(told: Told, truth: Truth) -> None:
    crowded = [position for position in told.judgement.positions if position.parts]
    wrong = set(wrong_readings(told, truth))
    theirs = {(told.book.readings[id].part, told.book.readings[id].subject.words) for id in wrong}
    off = [(spot, far) for position in crowded for spot, far in misses(told, truth, position) if far > 0]
    innocent = [(spot, far) for spot, far in off if (spot.owner, spot.words) not in theirs]
    print(f"faces {len(crowded)}, parts {sum(len(each.parts) for each in crowded)}, points placed "
          f"{sum(len(each.spots) for each in crowded)}, edges {sum(len(each.edges) for each in crowded)}")  # fmt: skip
    print(f"further off than they say {len(off)}, of these with readings that are all right {len(innocent)}, "
          f"by 20 mm and more {sum(far > 20 for _, far in innocent)}")  # fmt: skip
    out = {id for position in crowded for id in position.suspects}
    against = {id for position in crowded for ids in position.contradicting for id in ids}
    for position in crowded:
        if not position.fits:
            against |= {id for id, said in position.residuals.items() if abs(said.normalised or 0) > 3.29}
    taken = {id for position in crowded for id in (*position.residuals, *position.rejected)} & wrong
    print(f"wrong readings {len(taken)}: left out {len(taken & out)}, told as not agreeing "
          f"{len(taken & (against - out))}; right ones left out {len(out - wrong)}, told as not agreeing "
          f"{len(against - wrong)}")  # fmt: skip


if __name__ == "__main__":
    main()
