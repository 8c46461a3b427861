"""A made-up build of any size, for measuring: days, parts on hosts, readings as people write them.

    python tests/benchmarks/big_build.py FOLDER --days 500 --parts 5000 --readings 50000 [--misread 0.02]

Every feature has one place on its panel, and its readings agree with it as well as their method does, but for the
share that is misread; with `--misread 1` nothing agrees with anything. Edges are measured square to themselves. The
same numbers give the same folder. Nothing in it is true of any machine.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from random import Random

THINGS = (
    "bracket clamp hinge clip stay plate cover pipe cable tray shield mount strut hanger guide catch handle lamp "
    "guard spacer rail panel flap step hook tie strap cowl vent seal cap lever"
).split()
WHERE = "front rear upper lower inner outer middle".split()
PLACES = ("underside / left sill", "underside / right sill", "deck / front", "deck / rear", "dash", "cab / door",
          "cab / roof", "running gear / front", "running gear / rear", "battery well")  # fmt: skip
LINES = {  # what is measured from -> (0 where it is measured along a panel, 1 across it; where it is, in mm)
    "rear end": (0, 0.0), "front end": (0, 1900.0),
    "web": (1, -20.0), "flange edge": (1, 0.0), "upper edge": (1, 380.0), "seam": (1, 410.0),
}  # fmt: skip
HOLE = (950.0, 190.0)
REFERENCES = (*LINES, "jig hole")
ACROSS = ("web", "flange edge", "upper edge", "seam", "jig hole")  # what an edge along the panel has a distance to
OFF = {"by eye": 4.0, "by calliper": 0.04}  # mm that a reading is out at most, 0.8 by any other method
SUBJECTS = "hole,slot,hole 2,foot,lower edge,tip".split(",")
EDGES = ("foot", "lower edge")  # they run along the panel
METHODS = ("by tape", "by rule", "by calliper", "", "by eye")
HELD = ("2 spot welds", "4 bolts M8 x 25", "3 rivets", "2 screws in slotted holes", "sits in the rail", "1 stud")


def value(random: Random, size: float) -> str:
    """A length as people write it."""
    kind = random.random()
    if kind < 0.6:
        return f"{round(size)} mm"
    if kind < 0.7:
        return f"{size:.1f} mm"
    if kind < 0.9:
        inches, sixteenths = divmod(round(size / 25.4 * 16), 16)
        return f"{inches} {sixteenths}/16 in" if sixteenths else f"{inches} in"
    return f"{round(size)} mm ± {random.choice((1, 2))}"


Truth = dict[str, dict[str, tuple[float, float]]]  # part as its slip calls it -> feature -> place on its panel


def make(
    folder: Path, days: int, parts: int, readings: int, misread: float = 0.02, seed: int = 9, on_a_panel: int = 50
) -> Truth:
    """Write the build into `folder`, which must be new; where everything truly is."""
    random = Random(seed)
    folder.mkdir(parents=True)
    (folder / "build.toml").write_text('title = "A large build"\nauthor = "Nobody"\n', encoding="utf-8")
    hosts = [f"panel {number}" for number in range(max(1, parts // on_a_panel))]
    names = [
        f"{random.choice(THINGS)} {random.choice(WHERE)} {number}" for number in range(len(hosts), parts)
    ]
    share = readings / max(1, len(names))
    first = date(2024, 1, 6)
    truth: Truth = {}
    for day in range(days):
        mine = names[day * len(names) // days : (day + 1) * len(names) // days]
        lines = [f"# Day {day + 1}", "", "What was done today, in a few words, as on any other Saturday.", ""]
        if day == 0:
            lines += [line for host in hosts for line in (f"```part {host}", "from: frame", "```", "")]
        for number, name in enumerate(mine):
            count = round(share * (number + 1)) - round(share * number)
            lines += slip(random, name, random.choice(hosts), count, misread, truth)
        on = first + timedelta(days=2 * day)
        path = folder / f"{on.isoformat()} day"
        path.mkdir()
        (path / "note.md").write_text("\n".join(lines), encoding="utf-8")
    return truth


def slip(random: Random, name: str, host: str, count: int, misread: float, truth: Truth) -> list[str]:
    """A part that comes off, with its readings."""
    side = random.choice(("", ", left", ", right"))
    lines = [f"```removed {name}{side}", f"from: {host}", f"place: {random.choice(PLACES)}"]
    lines += [f"held by: {random.choice(HELD)}", "way round: long leg to the front"]
    lines += [f"stored: tin {random.randrange(90)}"]
    middle = (random.uniform(80, 1800), random.uniform(60, 320))
    places = truth[name + side] = {}
    for subject in SUBJECTS:
        places[subject] = (middle[0] + random.uniform(-40, 40), middle[1] + random.uniform(-40, 40))
    for _ in range(count):
        method, subject, reference = random.choice(METHODS), random.choice(SUBJECTS), random.choice(REFERENCES)
        if subject in EDGES and reference not in ACROSS:
            reference = random.choice(ACROSS)
        size = distance(places[subject], reference, subject in EDGES) + random.uniform(-1, 1) * OFF.get(method, 0.8)
        if random.random() < misread:
            size = random.uniform(3, 2500)
        lines.append(f"{subject} to {reference}: {value(random, max(size, 1))} {method}".rstrip())
    return [*lines, "```", ""]


def distance(place: Sequence[float], reference: str, across: bool) -> float:
    """From a place to a line of the panel, square to it, or to its hole; of an edge, square to that."""
    if reference not in LINES:
        return abs(place[1] - HOLE[1]) if across else math.dist(place, HOLE)
    along, at = LINES[reference]
    return abs(place[along] - at)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    for word, default in (("--days", 500), ("--parts", 5000), ("--readings", 50_000)):
        parser.add_argument(word, type=int, default=default)
    parser.add_argument("--misread", type=float, default=0.02)
    asked = parser.parse_args()
    make(asked.folder, asked.days, asked.parts, asked.readings, asked.misread)
