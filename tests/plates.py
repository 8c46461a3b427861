"""Faces made up for tests of drawings and templates: a sill's flange with two guides, a lid with a catch plate."""

from __future__ import annotations

from datetime import date
from math import pi

from journal.pages.pen import Words
from journal.pages.plate import Dimension, Line, Plate, Point

SILL, FRONT, REAR = "sill, left", "guide bracket front, left", "guide bracket rear, left"
LID, CATCH = "battery lid", "catch plate"


def flange(about: str = FRONT, other_spot: bool = False, diameter: float | None = 14.0) -> Plate:
    """A flange 2,100 mm long and 47 mm wide: u from the rear end, v from the web."""
    points = (
        Point("front/hole", "hole", FRONT, 1580, 22, about == FRONT, diameter, (2.6, 0.9, 0.1)),
        Point("front/weld 1", "weld 1", FRONT, 1592, 35, about == FRONT, None, (2.6, 1.0, 0.0)),
        Point("front/weld 2", "weld 2", FRONT, 1592, 11, about == FRONT, None, (2.6, 1.0, 0.0)),
        Point("rear/hole", "hole", REAR, 660, 22, about == REAR, 14.0, (2.6, 0.9, 0.1)),
        Point("sill/drain hole", "drain hole", SILL, 2040, 24, about == SILL, None, (1.0, 1.0, 0.0)),
    )
    edges = (
        Line("web", "web", SILL, 0, 0, about == SILL),
        Line("flange", "flange edge", SILL, 0, 47, about == SILL),
        Line("rear", "rear end", SILL, pi / 2, 0, about == SILL),
        Line("end", "front end", SILL, pi / 2, -2100, about == SILL),
    )
    rows = (
        ("front/hole", "web", "square", "15 mm", FRONT, "near"),
        ("front/hole", "flange", "square", "18 mm", FRONT, "near"),
        ("front/hole", "rear", "square", "1580 mm ± 2", FRONT, ""),
        ("front/hole", "rear/hole", "u", "920 mm", FRONT, ""),
        ("front/weld 1", "front/weld 2", "straight", "24 mm", FRONT, ""),
        ("rear/hole", "rear", "square", "660 mm", REAR, ""),
        ("rear/hole", "web", "square", "19/32 in", REAR, "near"),
        ("sill/drain hole", "end", "square", "60 mm", SILL, ""),
        ("web", "flange", "square", "47 mm", SILL, ""),
        ("rear", "end", "square", "2.1 m", SILL, ""),
    )
    dimensions = tuple(
        Dimension(a, b, along, label, f"{a} to {b}", f"parts/x/index.html#m-{n}", owner == about, rim)  # type: ignore[arg-type]
        for n, (a, b, along, label, owner, rim) in enumerate(rows)
    )
    other = (Point("front/hole", "hole", FRONT, 1580, 62, True, diameter),)
    return Plate(
        about, SILL, points, edges, dimensions, (other,) if other_spot else (), "to the front", "to the left",
        "from above", about_part=about != SILL, read_to=date(2026, 4, 11),
        doubts=("Two spots fit these readings.",) if other_spot else (),
    )  # fmt: skip


def lid(other_spot: bool = True) -> Plate:
    """A lid whose upper edge lies askew, with straight distances that slant."""
    points = (
        Point("1", "hole 1", CATCH, 300, 420, True, 8, (9, 4, 0.6)),
        Point("2", "hole 2", CATCH, 340, 445, True, 8, (9, 4, 0.6)),
        Point("jig", "jig hole", LID, 60, 60, False, 10),
        Point("hinge", "hinge bolt", LID, 90, 700, False, 12),
        Point("strap", "hole", "strap", 420, 200, False, 6),
    )
    edges = (
        Line("rear", "rear edge", LID, pi / 2, 0),
        Line("lower", "lower edge", LID, 0, 0),
        Line("front", "front edge", LID, pi / 2, -520),
        Line("upper", "upper edge", LID, 0.08, 760),
    )
    rows = (
        ("1", "jig", "straight", "433 mm"), ("1", "lower", "square", "420 mm"), ("2", "lower", "square", "445 mm"),
        ("2", "rear", "square", "13 3/8 in"), ("2", "hinge", "straight", "357 mm"), ("1", "2", "straight", "47.2 mm"),
    )  # fmt: skip
    dimensions = tuple(Dimension(a, b, along, label, f"{a} to {b}", own=True) for a, b, along, label in rows)  # type: ignore[arg-type]
    other = (Point("1", "hole 1", CATCH, 360, 470, True, 8), Point("2", "hole 2", CATCH, 330, 520, True, 8))
    return Plate(
        "catch plate on the lid", LID, points, edges, dimensions, (other,) if other_spot else (), "to the front",
        "upwards", "from the right", about_part=True, read_to=date(2026, 4, 11),
    )  # fmt: skip


def overlap(one: Words, other: Words) -> bool:
    """Whether the room of two texts is shared."""
    return any(
        a.left < b.right and b.left < a.right and a.top < b.bottom and b.top < a.bottom
        for a in one.patches
        for b in other.patches
    )
