"""How fast pictures are drawn, against a bare loop and against the tools of the trade, all in one run.

    python -m tests.benchmarks.pictures [PICTURES] [ROUNDS]

Times depend on the machine and on what else it does; the ratios much less, because the variants take turns.
Exit 1 if a ratio is over its bound.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from PIL import Image

from journal.pages.pictures import prepare
from tests.pictures_made import exif, scene

Measure = tuple[float, float]  # CPU and wall seconds for all pictures


def make_pictures(folder: Path, count: int) -> list[Path]:
    """Twelve megapixels, quality 88, about 4 MB each, as a phone writes them."""
    paths = []
    for index in range(count):
        path = folder / "2026-03-21" / f"IMG_{index:04}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        picture = scene(4000, 3000, index % 4, noise=7.0).rotate(0)
        picture.putpixel((0, 0), (index % 256, index // 256, 7))  # no two files alike
        picture.save(path, quality=88, exif=exif(f"2026:03:21 14:{index // 60:02}:{index % 60:02}"))
        paths.append(path)
    scene.cache_clear()
    return paths


def timed(work: Callable[[], None]) -> Measure:
    """CPU of this process and the children it waited for, and wall time."""
    before, start = os.times(), time.perf_counter()
    work()
    after, wall = os.times(), time.perf_counter() - start
    return sum(after[:4]) - sum(before[:4]), wall


def bare_loop(paths: Sequence[Path], out: Path) -> None:
    """Just that decode, that resize, that encode: what anything in Pillow has to pay."""
    for path in paths:
        picture = Image.open(path)
        picture.draft("RGB", (1600, 1200))
        large = picture.resize((1600, 1200), Image.Resampling.BICUBIC)
        middle = large.reduce(2)
        for image in (large, middle, middle.reduce(2)):
            image.save(out / f"{path.stem}-{image.width}.jpg", quality=82)


def ours(build: Path, workers: int) -> Callable[[Sequence[Path], Path], None]:
    def work(paths: Sequence[Path], out: Path) -> None:
        shutil.rmtree(build / ".journal-cache", ignore_errors=True)
        files = [path.relative_to(build).as_posix() for path in paths]
        pictures, faults = prepare(build, files, renditions=True, workers=workers)
        assert not faults
        assert all(len(picture.sizes) == 3 for picture in pictures.values())

    return work


def convert(paths: Sequence[Path], out: Path) -> None:
    """ImageMagick, with the hint that lets it decode at half size, and each size from the one above."""
    for path in paths:
        small = [
            *_write(out, path, 1600),
            "-resize",
            "800x800",
            *_write(out, path, 800),
            "-resize",
            "400x400",
        ]
        command = [
            "convert",
            "-define",
            "jpeg:size=1600x1200",
            str(path),
            "-resize",
            "1600x1600",
            "-quality",
            "82",
        ]
        subprocess.run([*command, "-strip", *small, str(out / f"{path.stem}-400.jpg")], check=True)


def _write(out: Path, path: Path, long: int) -> list[str]:
    return ["-write", str(out / f"{path.stem}-{long}.jpg")]


def vipsthumbnail(paths: Sequence[Path], out: Path) -> None:
    """libvips' own tool, one run a size over all pictures."""
    for long in (1600, 800, 400):
        target = str(out / f"%s-{long}.jpg[Q=82,strip]")
        subprocess.run(
            ["vipsthumbnail", "--size", f"{long}x{long}", "-o", target, *map(str, paths)], check=True
        )


def main(count: int, rounds: int) -> int:
    with tempfile.TemporaryDirectory() as folder:
        build, out = Path(folder) / "build", Path(folder) / "out"
        out.mkdir()
        paths = make_pictures(build, count)
        size = statistics.mean(path.stat().st_size for path in paths) / 1e6
        variants: dict[str, Callable[[Sequence[Path], Path], None]] = {
            "bare loop": bare_loop,
            "journal, 1 worker": ours(build, 1),
            "journal, 2 workers": ours(build, 2),
        }
        variants |= {work.__name__: work for work in (convert, vipsthumbnail) if shutil.which(work.__name__)}
        runs: dict[str, list[Measure]] = {name: [] for name in variants}
        for _ in range(rounds):
            for name, work in variants.items():
                runs[name].append(timed(lambda work=work: work(paths, out)))  # type: ignore[misc]
        return report(runs, count, size)


def report(runs: dict[str, list[Measure]], count: int, size: float) -> int:
    print(
        f"{count} pictures of 12 megapixels, {size:.1f} MB each, {len(os.sched_getaffinity(0))} cores, "
        f"load {os.getloadavg()[0]:.1f}; medians of {len(runs['bare loop'])} rounds"
    )
    print(f"{'':22}{'CPU ms':>8}{'wall ms':>9}")
    for name, measures in runs.items():
        cpu, wall = (statistics.median(column) / count * 1000 for column in zip(*measures, strict=True))
        print(f"{name:22}{cpu:8.0f}{wall:9.0f}")
    over = 0
    for text, first, second, column, bound in BOUNDS:
        if first in runs and second in runs:
            ratio = statistics.median(
                a[column] / b[column] for a, b in zip(runs[first], runs[second], strict=True)
            )
            over += ratio > bound
            print(f"{text:52}{ratio:6.2f}  bound {bound:.2f}{'  OVER' if ratio > bound else ''}")
    return 1 if over else 0


BOUNDS = (
    ("CPU, 1 worker to the bare loop", "journal, 1 worker", "bare loop", 0, 1.15),
    ("wall, 2 workers to 1", "journal, 2 workers", "journal, 1 worker", 1, 0.65),
    ("CPU, 1 worker to convert", "journal, 1 worker", "convert", 0, 1 / 2.5),
    ("CPU, 1 worker to vipsthumbnail", "journal, 1 worker", "vipsthumbnail", 0, 1.0),
)


if __name__ == "__main__":
    sys.exit(main(*map(int, (*sys.argv[1:], 24, 5)[:2])))
