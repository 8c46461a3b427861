"""Growth of reading, resolving and judging, and the other sizes that a build may have.

    python -m tests.benchmarks.size [--sizes 5000,10000,20000,50000] [--folder DIR]

One row a build: parts, readings, CPU seconds of each stage, peak memory, and CPU seconds a reading against those of
the first row (1.00 is linear growth). Then what is extreme: 60,000 readings of one part in one note, and a note of
5 MB. Each build is told in a process of its own, so that its peak memory is its own; CPU time, as a busy machine only
adds to the clock on the wall.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from tests.benchmarks.big_build import make

STAGES = ("import", "read", "resolve", "judge")


def measured(folder: Path) -> dict[str, float]:
    """CPU seconds of every stage, counts, and the peak of memory in MB; for a process that does nothing else."""
    clock = [time.process_time()]

    def lap() -> None:
        clock.append(time.process_time())

    from journal.build import read
    from journal.judge.checks import judge
    from journal.model.book import Book
    from journal.model.resolve import resolve

    lap()
    raw = read(folder)
    lap()
    entities, found = resolve(raw.settings, raw.folders, raw.notes, {})
    lap()
    book = Book(raw.settings, entities, date(2030, 1, 1))
    judge(book, [*raw.findings, *found])
    lap()
    seconds = {stage: clock[at + 1] - clock[at] for at, stage in enumerate(STAGES)}
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {**seconds, "parts": len(entities.parts), "readings": len(entities.readings), "peak": peak}


def alone(folder: Path) -> dict[str, float]:
    """`measured` in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.size", "--measure", str(folder)]
    found: dict[str, float] = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return found


def one_note(folder: Path, text: str) -> Path:
    """A build of one day with one note."""
    day = folder / "2025-01-04 day"
    day.mkdir(parents=True)
    (folder / "build.toml").write_text('title = "One note"\n', encoding="utf-8")
    (day / "note.md").write_text(text, encoding="utf-8")
    return folder


def sixty_thousand(same: bool) -> str:
    """60,000 readings of one part: of one hole, or of as many holes, so that nothing repeats."""
    lines = (f"hole {'' if same else number} to rear end: {number}.5 mm by tape" for number in range(60_000))
    return "```part rail\nfrom: frame\n```\n\n```removed clip\nfrom: rail\n" + "\n".join(lines) + "\n```\n"


def five_megabytes() -> str:
    """Story, slips and tables by turns, 5 MB in all."""
    story = "What was done today, in *a few* words, as on any other [Saturday](https://example.org).\n\n"
    story += "The rail came off without a fight, and the holes below it are as good as on the first day.\n\n" * 7
    slip = "```removed clip {0}\nfrom: rail\nhole to rear end: {0} mm by rule\nhole to flange edge: 12.5 mm\n```\n\n"
    table = "| bolt | torque |\n| --- | --- |\n| M8 | 25 N·m |\n| M10 | 50 N·m |\n\n"
    block = len(story) + len(slip) + len(table)
    return "".join(story + slip.format(number) + table for number in range(5_000_000 // block))


def row(name: str, found: dict[str, float], first: float | None) -> float:
    """Print a row; CPU seconds a reading. `first` are those of the first row."""
    total = sum(found[stage] for stage in STAGES[1:])
    each = total / found["readings"]
    ratio = f"{each / first:7.2f}" if first else f"{'':7}"
    stages = "".join(f"{found[stage]:9.2f}" for stage in STAGES)
    counts = f"{found['parts']:8,.0f}{found['readings']:10,.0f}"
    print(f"{name:26}{counts}{stages}{total:9.2f}{found['peak']:9.0f}{ratio}", flush=True)
    return each


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--sizes", default="5000,10000,20000,50000", help="readings; a tenth as many parts")
    asked.add_argument("--folder", type=Path, help="where the builds are made (a temporary folder)")
    asked.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.measure:
        print(json.dumps(measured(given.measure)))
        return
    with tempfile.TemporaryDirectory(dir=given.folder) as made:
        folder = Path(made)
        heads = "".join(f"{head:>9}" for head in (*STAGES, "all", "MB"))
        print(f"CPU seconds{'':15}{'parts':>8}{'readings':>10}{heads}  ratio")
        first = None
        for size in map(int, given.sizes.split(",")):
            make(folder / str(size), size // 100, size // 10, size)
            each = row(f"{size // 100} days", alone(folder / str(size)), first)
            first = first or each
        for name, text in (
            ("one part, all different", sixty_thousand(same=False)),
            ("one part, one hole", sixty_thousand(same=True)),
            ("one note of 5 MB", five_megabytes()),
        ):
            row(name, alone(one_note(folder / name, text)), None)


if __name__ == "__main__":
    main()
