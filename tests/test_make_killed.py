"""`journal make`, killed whole at fifty moments between two states of the notes: the old site or the new one stands."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from journal.cli import main
from journal.ground.atomic import LEFT, PART
from journal.ground.swap import beside
from tests.pictures_made import save_jpeg, scene

ROUNDS = 50
TODAY = "2026-05-09"
DAY = "2026-03-21 left sill"
NOTE = """# Guides off

```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
photos: IMG_0451
hole to lower edge: {} mm by rule
hole ahead of rear end: 1580 mm by tape
```
"""
LATER = """# The bracket is back

```refitted guide bracket front, left
```
"""
Digest = dict[str, str]
"""Path -> SHA-256 of what is in the file."""


def _digest(folder: Path) -> Digest:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def _originals(build: Path) -> Digest:
    return {name: digest for name, digest in _digest(build).items() if name.startswith("2026-")}


def _start(build: Path) -> None:
    """The first state: one day, two pictures."""
    (build / DAY).mkdir(parents=True)
    (build / "build.toml").write_text('title = "Platform truck No. 9"\n')
    for index in range(2):
        save_jpeg(build / DAY / f"IMG_045{index}.jpg", scene(480, 360, index))
    _turn(build, new=False)


def _turn(build: Path, new: bool) -> None:
    """Put the notes into one of two states: another value, another day, another picture."""
    (build / DAY / "note.md").write_text(NOTE.format(18 if new else 16))
    later = build / "2026-03-28 brackets"
    if new:
        later.mkdir()
        (later / "note.md").write_text(LATER)
        save_jpeg(later / "IMG_0460.jpg", scene(480, 360, 7))
    elif later.exists():
        shutil.rmtree(later)


def _finish(build: Path) -> Digest:
    """A make that nobody disturbs, and what its site holds."""
    result = CliRunner().invoke(main, ["make", str(build), "--as-of", TODAY])
    assert result.exit_code == 0, result.output
    return _digest(build / "site")


def _launch(build: Path) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "journal", "make", str(build), "--as-of", TODAY]
    nowhere = subprocess.DEVNULL
    return subprocess.Popen(command, stdin=nowhere, stdout=nowhere, stderr=nowhere, start_new_session=True)


def _seconds_of_work(build: Path) -> float:
    """What one run takes of a processor; by the clock it depends on what else the machine does."""
    before = os.times()
    assert _launch(build).wait() == 0
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def _await_moment(child: subprocess.Popen[bytes], build: Path, moments: random.Random, whole: float) -> None:
    """Any moment of a run, or one near its end, where it writes: half of the kills each."""
    if moments.random() < 0.5:
        time.sleep(moments.uniform(0, whole))
        return
    while child.poll() is None and not beside(build / "site", "lock").exists():
        time.sleep(0.0005)
    time.sleep(moments.uniform(0, 0.05))


def _kill(child: subprocess.Popen[bytes]) -> bool:
    """Kill the whole process group; whether it was still at work."""
    alive = child.poll() is None
    if alive:
        os.killpg(child.pid, signal.SIGKILL)
    child.wait()
    return alive


def _parts(build: Path) -> list[Path]:
    return list((build / ".journal-cache").rglob("*.part"))


def _workers_ended(build: Path) -> bool:
    """Workers are in a group of their own and see only at the end of a picture that nobody waits for it any more."""
    patience = time.monotonic() + 20
    at_work = [part for part in _parts(build) if not part.name.startswith(PART)]
    while any(part.exists() for part in at_work) and time.monotonic() < patience:
        time.sleep(0.01)
    return not any(part.exists() for part in at_work)


def _grow_old(parts: list[Path]) -> None:
    """What was left when a write of a single file was struck; it goes when surely nobody is at it any more."""
    for part in parts:
        os.utime(part, (time.time() - 2 * LEFT,) * 2)


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "killpg"), reason="this system has no process groups to kill")
def test_killed_at_fifty_moments_the_old_site_or_the_new_stands_and_the_next_run_heals_all(tmp_path: Path) -> None:
    build = tmp_path / "build"
    _start(build)
    _finish(build)
    _turn(build, new=True)
    sites = {True: _finish(build)}
    _turn(build, new=False)
    sites[False] = _finish(build)
    _turn(build, new=True)
    whole = _seconds_of_work(build)  # of a run that knows all pictures, as those to be killed do
    _turn(build, new=False)
    assert _finish(build) == sites[False]
    assert sites[True] != sites[False]
    beside_the_days = sorted(path.name for path in build.iterdir())
    moments, killed, hit, stood = random.Random(11), 0, 0, {True: 0, False: 0}
    for round in range(ROUNDS):
        new = round % 2 == 0
        _turn(build, new)
        originals = _originals(build)
        child = _launch(build)
        _await_moment(child, build, moments, whole)
        killed += _kill(child)
        hit += any(beside(build / "site", what).exists() for what in ("new", "old"))
        found = _digest(build / "site")
        assert found in sites.values(), f"round {round}: neither the old site nor the new"
        stood[found == sites[new]] += 1
        assert _originals(build) == originals
        assert _finish(build) == sites[new]
        assert _originals(build) == originals
        there = {path.name for path in build.iterdir()}
        assert there == {*beside_the_days, *({"2026-03-28 brackets"} if new else ())}
        assert _workers_ended(build)
    _turn(build, new=True)
    _grow_old(_parts(build))
    assert _finish(build) == sites[True]
    assert not _parts(build)
    assert killed > ROUNDS // 2  # most did strike a run at work
    assert hit > 2  # and some while it wrote
    assert min(stood.values()) > 2  # on either side of the swap
    print(f"{killed} killed at work, {hit} amid writing, old {stood[False]}, new {stood[True]}")
