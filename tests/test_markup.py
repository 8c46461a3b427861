"""Every page, style sheet and drawing before the Nu HTML checker (https://validator.github.io/validator/): no error.

The checker is the npm package vnu-jar, fetched by `tests/fetch_outside_truth.py`; it runs on Java.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.builds import write_build
from tests.fetch_outside_truth import NU
from tests.site_fixture import EXAMPLE, site_of, written
from tests.test_pages_site import HOSTILE

JAVA = shutil.which("java")
pytestmark = [
    pytest.mark.skipif(not NU.path.exists(), reason=NU.missing),
    pytest.mark.skipif(JAVA is None, reason="the Nu HTML checker needs Java"),
]

# What the checker's table of style properties does not know, and where the standard has it.
NOT_KNOWN = (
    r"“paint-order”: Property “paint-order” doesn't exist",  # CSS Fill and Stroke 3, 4.4
    r"“vector-effect”: Property “vector-effect” doesn't exist",  # SVG 2, 8.12
    r"“line-clamp”: Property “line-clamp” doesn't exist",  # CSS Overflow 4, 5.1
    r"Invalid type: “100%, var\(--tag-width\)”",  # CSS Values 4, 10.5: min() of a variable
)


def errors(files: Sequence[Path]) -> list[str]:
    """What the checker calls an error: `file:line: message`."""
    command = [str(JAVA), "-Xmx512m", "-jar", str(NU.path), "--format", "json", "--exit-zero-always"]
    command += ["--also-check-css", "--also-check-svg", *map(str, files)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    return [
        f"{one['url'].rpartition('/site/')[2]}:{one.get('lastLine')}: {one['message']}"
        for one in json.loads(told)["messages"]
        if one["type"] != "info" and not re.search("|".join(NOT_KNOWN), one["message"])
    ]


def files_of(site: Path, *endings: str) -> list[Path]:
    return sorted(path for path in site.rglob("*") if path.suffix in endings)


def test_the_checker_finds_no_error(tmp_path: Path) -> None:
    """The example in both editions, a build that only begins, and one as nasty as can be, in both themes."""
    nasty = write_build(tmp_path / "nasty", HOSTILE)
    paper = write_build(tmp_path / "paper", HOSTILE | {"build.toml": 'title = "Truck"\ntheme = "paper"\n'})
    begun = write_build(tmp_path / "begun", {})
    looked_at: list[Path] = []
    for name, build in (("shop", EXAMPLE), ("public", EXAMPLE), ("nasty", nasty), ("paper", paper), ("begun", begun)):
        made = written(site_of(build, "public" if name == "public" else "shop"), tmp_path / "site" / name)
        looked_at += files_of(made, ".html", ".css", ".svg")
    assert len(looked_at) > 200
    assert errors(looked_at) == []


def test_the_checker_does_find_faults(tmp_path: Path) -> None:
    page = tmp_path / "site" / "page.html"
    page.parent.mkdir()
    page.write_text('<!doctype html><html lang="en"><title>x</title><p id="a"><div id="a"><img src="x"></p>')
    sheet = page.with_name("sheet.css")
    sheet.write_text("p { colour: red }")
    found = "\n".join(errors([page, sheet]))
    assert "Duplicate ID" in found
    assert "alt" in found
    assert "colour" in found
