"""The wheel carries the themes and works away from the source tree."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel's files in a folder of their own."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "-w", str(folder)]
    subprocess.run([*build, str(ROOT)], check=True, cwd=folder)
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "site")
    return folder / "site"


def run(unpacked: Path, *words: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(unpacked)}
    command = [sys.executable, "-m", "journal", *words]
    return subprocess.run(command, capture_output=True, text=True, cwd=unpacked.parent, env=environment, check=False)


def test_the_wheel_makes_a_site(unpacked: Path, tmp_path: Path) -> None:
    build = tmp_path / "truck"
    assert run(unpacked, "start", str(build)).returncode == 0
    made = run(unpacked, "make", str(build))
    assert made.returncode == 0, made.stdout + made.stderr
    assert (build / "site" / "index.html").is_file()
    assert (build / "site" / "theme" / "bench.css").is_file()


def test_it_is_the_wheel_that_ran(unpacked: Path) -> None:
    asked = "import journal, sys; print(journal.__file__)"
    environment = {**os.environ, "PYTHONPATH": str(unpacked)}
    told = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, cwd=unpacked.parent, env=environment, check=True
    )
    assert Path(told.stdout.strip()).is_relative_to(unpacked)


def test_nothing_else_travels(unpacked: Path) -> None:
    tops = {path.name for path in unpacked.iterdir() if not path.name.endswith(".dist-info")}
    assert tops == {"journal"}
    for name in ("themes/bench/theme.toml", "themes/paper/theme.toml", "preview.js", "preview.css"):
        assert (unpacked / "journal" / name).is_file(), name
