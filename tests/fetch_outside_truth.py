"""Fetch what tests/truth compares with and the project may not carry: run it before the tests, once.

    python tests/fetch_outside_truth.py

CommonMark's own examples: the npm package commonmark-spec (CC BY-SA 4.0, https://spec.commonmark.org/0.31.2/). It is
unpacked into `build/outside-truth`, which git does not keep. Needs npm; without it those tests are skipped.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

PACKAGE = "commonmark-spec@0.31.2"
FOLDER = Path(__file__).resolve().parent.parent / "build" / "outside-truth"


def commonmark_spec() -> Path:
    """Where CommonMark's spec.txt is, or would be: the variable JOURNAL_COMMONMARK_SPEC, else our folder."""
    return Path(os.environ.get("JOURNAL_COMMONMARK_SPEC") or FOLDER / "commonmark-spec-0.31.2.txt")


def fetch_commonmark_spec() -> Path:
    """The spec's text on disk, fetched if it is not there yet; CalledProcessError or OSError if it cannot be."""
    spec = commonmark_spec()
    if spec.exists():
        return spec
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            ["npm", "pack", PACKAGE, "--silent", "--pack-destination", folder],
            check=True, stdout=subprocess.DEVNULL, timeout=120,
        )  # fmt: skip
        archive = next(Path(folder).glob("*.tgz"))
        with tarfile.open(archive) as package:
            member = package.extractfile("package/spec.txt")
            if member is None:
                raise OSError(f"{PACKAGE} holds no spec.txt")
            text = member.read()
    spec.parent.mkdir(parents=True, exist_ok=True)
    aside = spec.with_suffix(".part")
    aside.write_bytes(text)
    aside.replace(spec)
    return spec


def main() -> int:
    try:
        print(fetch_commonmark_spec())
    except (OSError, subprocess.SubprocessError) as error:
        print(f"CommonMark's examples could not be fetched, their tests will be skipped: {error}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
