"""Fetch what the tests compare with and the project may not carry: run it before the tests, once.

    python tests/fetch_outside_truth.py

| file | npm package | for |
| --- | --- | --- |
| CommonMark's own examples | commonmark-spec (CC BY-SA 4.0, https://spec.commonmark.org/0.31.2/) | notes |
| axe.min.js | axe-core (MPL 2.0): checks a page in a browser against WCAG | tests/browser/test_axe.py |
| vnu.jar | vnu-jar (MIT): the Nu HTML checker, needs Java | tests/test_markup.py |

They are unpacked into `build/outside-truth`, which git does not keep. Needs npm; what is not there is skipped by its
tests, with the reason.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import tempfile
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "build" / "outside-truth"


@dataclass(frozen=True)
class Truth:
    """A file of an npm package: which, what it is called here, the variable that may name another copy."""

    package: str
    member: str
    name: str
    variable: str

    @property
    def path(self) -> Path:
        """Where it is, or would be."""
        return Path(os.environ.get(self.variable) or FOLDER / self.name)

    @property
    def missing(self) -> str:
        """Why a test that needs it is skipped."""
        return f"{self.name} is not here: run `python tests/fetch_outside_truth.py` (needs npm)"


COMMONMARK = Truth(
    "commonmark-spec@0.31.2", "package/spec.txt", "commonmark-spec-0.31.2.txt", "JOURNAL_COMMONMARK_SPEC"
)
AXE = Truth("axe-core@4.14.1", "package/axe.min.js", "axe-core-4.14.1.min.js", "JOURNAL_AXE")
NU = Truth("vnu-jar@26.9.27", "package/build/dist/vnu.jar", "vnu-26.9.27.jar", "JOURNAL_VNU")
ALL = (COMMONMARK, AXE, NU)


def commonmark_spec() -> Path:
    """Where CommonMark's spec.txt is, or would be."""
    return COMMONMARK.path


def fetch(truth: Truth) -> Path:
    """The file on disk, fetched if it is not there yet; CalledProcessError or OSError if it cannot be."""
    if truth.path.exists():
        return truth.path
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            ["npm", "pack", truth.package, "--silent", "--pack-destination", folder],
            check=True, stdout=subprocess.DEVNULL, timeout=300,
        )  # fmt: skip
        archive = next(Path(folder).glob("*.tgz"))
        with tarfile.open(archive) as package:
            try:
                member = package.extractfile(truth.member)
            except KeyError:
                member = None
            if member is None:
                raise OSError(f"{truth.package} holds no {truth.member}")
            data = member.read()
    truth.path.parent.mkdir(parents=True, exist_ok=True)
    aside = truth.path.with_name(truth.path.name + ".part")
    aside.write_bytes(data)
    aside.replace(truth.path)
    return truth.path


def main() -> int:
    failed = 0
    for truth in ALL:
        try:
            print(fetch(truth))
        except (OSError, subprocess.SubprocessError) as error:
            print(f"{truth.package} could not be fetched, its tests will be skipped: {error}", file=sys.stderr)
            failed = 1
    return failed


if __name__ == "__main__":
    sys.exit(main())
