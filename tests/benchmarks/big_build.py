"""A made-up build of any size, for measuring: days, parts on hosts, readings as people write them.

    python tests/benchmarks/big_build.py FOLDER --days 500 --parts 5000 --readings 50000

The same numbers give the same folder. Nothing in it is true of any machine.
"""

from __future__ import annotations

import argparse
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
REFERENCES = "flange edge,rear end,front end,web,upper edge,seam,jig hole".split(",")
SUBJECTS = "hole,slot,hole 2,foot,outer edge,tip".split(",")
METHODS = ("by tape", "by rule", "by calliper", "", "by eye")
HELD = ("2 spot welds", "4 bolts M8 x 25", "3 rivets", "2 screws in slotted holes", "sits in the rail", "1 stud")


def value(random: Random) -> str:
    """A length as people write it."""
    size = random.choice((random.uniform(3, 60), random.uniform(60, 2500)))
    kind = random.random()
    if kind < 0.6:
        return f"{round(size)} mm"
    if kind < 0.7:
        return f"{size:.1f} mm"
    if kind < 0.9:
        inches, sixteenths = divmod(round(size / 25.4 * 16), 16)
        return f"{inches} {sixteenths}/16 in" if sixteenths else f"{inches} in"
    return f"{round(size)} mm ± {random.choice((1, 2))}"


def make(folder: Path, days: int, parts: int, readings: int, seed: int = 9) -> None:
    """Write the build into `folder`, which must be new."""
    random = Random(seed)
    folder.mkdir(parents=True)
    (folder / "build.toml").write_text('title = "A large build"\nauthor = "Nobody"\n', encoding="utf-8")
    hosts = [f"panel {number}" for number in range(max(1, parts // 50))]
    names = [
        f"{random.choice(THINGS)} {random.choice(WHERE)} {number}" for number in range(len(hosts), parts)
    ]
    share = readings / max(1, len(names))
    first = date(2024, 1, 6)
    for day in range(days):
        mine = names[day * len(names) // days : (day + 1) * len(names) // days]
        lines = [f"# Day {day + 1}", "", "What was done today, in a few words, as on any other Saturday.", ""]
        if day == 0:
            lines += [line for host in hosts for line in (f"```part {host}", "from: frame", "```", "")]
        for number, name in enumerate(mine):
            lines += slip(random, name, random.choice(hosts), round(share * (number + 1)) - round(share * number))
        on = first + timedelta(days=2 * day)
        path = folder / f"{on.isoformat()} day"
        path.mkdir()
        (path / "note.md").write_text("\n".join(lines), encoding="utf-8")


def slip(random: Random, name: str, host: str, count: int) -> list[str]:
    """A part that comes off, with its readings."""
    side = random.choice(("", ", left", ", right"))
    lines = [f"```removed {name}{side}", f"from: {host}", f"place: {random.choice(PLACES)}"]
    lines += [f"held by: {random.choice(HELD)}", "way round: long leg to the front"]
    lines += [f"stored: tin {random.randrange(90)}"]
    for _ in range(count):
        method = random.choice(METHODS)
        left = f"{random.choice(SUBJECTS)} to {random.choice(REFERENCES)}"
        lines.append(f"{left}: {value(random)} {method}".rstrip())
    return [*lines, "```", ""]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    for word, default in (("--days", 500), ("--parts", 5000), ("--readings", 50_000)):
        parser.add_argument(word, type=int, default=default)
    asked = parser.parse_args()
    make(asked.folder, asked.days, asked.parts, asked.readings)
