"""What lies beside the program."""

from __future__ import annotations

from pathlib import Path


def packaged_themes() -> Path:
    """The folder of the themes that come with the journal: inside the wheel, else beside the package."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "themes"
    return inside if inside.is_dir() else package.parent / "themes"
