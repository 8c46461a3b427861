"""What somebody waits for: `check` and `make` as commands, the first time, with nothing changed, with one note changed.

    python -m tests.benchmarks.making [--days 500] [--parts 500] [--readings 5000] [--pictures 5000]

One row a command: seconds on the clock and of the processor (of every process it started), the most memory that one
of its processes held, and the processor's seconds against those of a fixed piece of Python that is run before each,
because the same machine is not always as fast. The pictures are small ones, each different: decoding is measured by
`tests.benchmarks.pictures`.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path
from random import Random

from PIL import Image

from tests.benchmarks.big_build import make


def pictures(build: Path, count: int, seed: int = 9) -> None:
    """Small pictures, spread over the days, each named by the text of no note."""
    random = Random(seed)
    days = sorted(path for path in build.iterdir() if path.is_dir())
    for number in range(count):
        colour = tuple(random.randrange(256) for _ in range(3))
        picture = Image.new("RGB", (480, 360), colour)
        picture.putpixel((number % 480, number // 480), (255, 255, 255))
        picture.save(days[number * len(days) // count] / f"IMG_{number:05}.jpg", quality=80)


def fixed_work() -> float:
    """Processor seconds of a piece of Python that is always the same."""
    start = time.process_time()
    table: dict[str, int] = {}
    for number in range(600_000):
        key = f"{number % 977}/{number % 89}"
        table[key] = table.get(key, 0) + len(key)
    return time.process_time() - start


def timed(*command: str) -> tuple[float, float, float]:
    """Seconds on the clock, seconds of the processor and MB of a command of the journal."""
    compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}  # as pip does
    start = time.monotonic()
    child = os.posix_spawn(sys.executable, [sys.executable, "-m", "journal", *command], compiled,
                           file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)])  # fmt: skip
    _, status, used = os.wait4(child, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"{' '.join(command)} failed")
    return time.monotonic() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def row(name: str, *command: str) -> None:
    unit = fixed_work()
    clock, processor, memory = timed(*command)
    print(f"{name:34}{clock:8.2f}{processor:8.2f}{memory:8.0f}{processor / unit:9.1f}", flush=True)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, default in (("days", 500), ("parts", 500), ("readings", 5000), ("pictures", 5000)):
        asked.add_argument(f"--{name}", type=int, default=default)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        build, site = Path(folder) / "build", Path(folder) / "site"
        make(build, given.days, given.parts, given.readings)
        if given.pictures:
            pictures(build, given.pictures)
        print(f"{'':34}{'clock':>8}{'CPU s':>8}{'MB':>8}{'to fixed':>9}")
        made = ("make", str(build), "-o", str(site))
        row("check, the first time", "check", str(build))
        row("check again", "check", str(build))
        row("make, the first time", *made)
        row("make, nothing changed", *made)
        note = sorted(build.glob("*/note.md"))[given.days // 2]
        for number, what in enumerate(("make, one note changed", "make, another word in it")):
            note.write_text(f"{note.read_text(encoding='utf-8')}\nWord {number}.\n", encoding="utf-8")
            row(what, *made)
        text = note.read_text(encoding="utf-8")
        note.write_text(text.replace(" to rear end: ", " to rear end: 1", 1), encoding="utf-8")
        row("make, one reading changed", *made)


if __name__ == "__main__":
    main()
