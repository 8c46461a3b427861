"""What readings hold, and what they leave free: the table every record rests on."""

from __future__ import annotations

import pytest

from journal.measure.pins import Face, Mark, Row, hold

POINTS = {"hole", "slot", "jig hole", "corner", "bolt", "pin", "stud"}
AXIS = {"rear end": "x", "front end": "x", "lower edge": "z", "left edge": "y", "front edge": "x", "top edge": "z"}
RELATION_AXIS = {"ahead of": "x", "behind": "x", "above": "z", "below": "z", "inboard of": "y"}


def mark(name: str, owner: str) -> Mark:
    return Mark(
        f"{owner}/{name}", owner, name, name in POINTS, AXIS.get(name), whole=not name, end=name.endswith("end")
    )


def row(text: str) -> Row:
    for relation in (
        "ahead of",
        "above",
        "below",
        "inboard of",
        "flush with",
        "square to",
        "parallel to",
        "centred on",
        "touching",
        "level with",
        "at angle to",
        "to",
    ):
        left, found, right = text.partition(f"{relation} ")
        if found:
            return Row(text, mark(left.strip(), ""), relation, mark(right.strip(), "sill"), RELATION_AXIS.get(relation))
    raise AssertionError(text)


# The table of the design, and further cases of the same rules.
TABLE = [
    ("none", "", 0, "can go anywhere on it"),
    ("one", "hole to flange edge", 1, "can slide along the flange edge, can turn"),
    ("two to one edge", "hole to flange edge; slot to flange edge", 2, "can slide along the flange edge"),
    (
        "a third to a line that may be parallel",
        "hole to flange edge; slot to flange edge; hole to seam",
        2,
        "can slide along the flange edge",
    ),
    ("edge and end, one point", "hole to flange edge; hole to rear end", 2, "can turn about the hole"),
    ("two points of the host", "hole to jig hole; hole to corner", 2, "can turn about the hole"),
    ("two ends and no edge", "hole to front end; hole to rear end; slot to rear end", 2, "can slide along the ends"),
    ("held", "hole to flange edge; hole to rear end; slot to rear end", 3, ""),
    ("one tape to a point", "hole to jig hole", 1, "can swing round the jig hole, can turn"),
    ("squareness holds the turn", "hole to web; hole ahead of rear end; upright square to web", 3, ""),
    ("square alone", "upright square to web", 1, "can slide anywhere on it without turning"),
    ("an edge flush holds a turn", "foot edge flush with flange edge", 2, "can slide along the flange edge"),
    ("a hole level holds none", "hole level with flange edge", 1, "can slide along the flange edge, can turn"),
    ("flush and one more", "foot edge flush with flange edge; hole to rear end", 3, ""),
    ("both may be one way", "hole to seam; slot to weld line; pin to joint", 2, "can slide along the seam"),
    ("a turn needs a line", "hole square to web; hole to web", 1, "can slide along the web, can turn"),
]


@pytest.mark.parametrize(("statements", "rank", "free"), [case[1:] for case in TABLE], ids=[c[0] for c in TABLE])
def test_table(statements: str, rank: int, free: str) -> None:
    rows = [row(text.strip()) for text in statements.split(";") if text.strip()]
    found = hold(rows)
    assert (found.rank, ", ".join(found.free)) == (rank, free)
    assert found.held is (rank == 3)


def test_a_repeated_reading_only_checks_the_first() -> None:
    once = hold([row("hole to jig hole")])
    again = row("hole to jig hole")
    assert hold([row("hole to jig hole"), Row("second", again.subject, "to", again.reference)]).rank == once.rank == 1


def test_a_height_pins_nothing_in_the_face() -> None:
    rows = [row("hole ahead of rear end"), row("hole inboard of web"), row("hole above lower edge")]
    found = hold(rows, Face(normal="z"))
    assert found.rank == 2
    assert found.heights == {"hole above lower edge"}
    # three axes once each and no face named: whichever plane it is, one of them is a height
    assert hold(rows).rank == 2


def test_a_part_that_stands_off_wants_its_height() -> None:
    rows = [row("hole to flange edge"), row("hole to rear end"), row("slot to rear end")]
    face = Face(normal="z", stands_off=True)
    assert (hold(rows, face).rank, hold(rows, face).full) == (3, 4)
    assert hold(rows, face).free == ("can sit nearer or further off",)
    assert hold([*rows, row("hole above lower edge")], face).held


def test_square_to_the_face_itself_holds_no_turn() -> None:
    rows = [row("hole to web"), row("hole to rear end"), row("upright square to flange")]
    assert hold(rows, Face(normal="z", words=frozenset({"lower", "flange"}))).rank == 2
    assert hold(rows).rank == 3


def test_the_hosts_own_slip_settles_a_direction() -> None:
    rows = [row("hole to flange edge"), row("slot to flange edge"), row("hole to seam")]
    assert hold(rows).rank == 2
    assert hold(rows, ties=[("sill/flange edge", "sill/seam", True)]).rank == 2
    assert hold(rows, ties=[("sill/flange edge", "sill/seam", False)]).rank == 3


def test_one_line_under_two_names_is_one_line() -> None:
    # `edge` may be the front edge: then both readings hold one direction only
    assert hold([row("hole to edge"), row("hole to front edge")]).rank == 1
    assert hold([row("hole to left edge"), row("hole to front edge")]).rank == 2


def test_on_a_shaft_two_motions_are_left() -> None:
    face = Face(round=True)
    assert hold([], face).free == ("can slide along it", "can turn round it")
    assert hold([row("hole to rear end")], face).free == ("can turn round it",)
    assert hold([row("hole to rear end"), row("lug at angle to keyway")], face).held
    assert hold([row("hole to front end"), row("hole to rear end")], face).rank == 1


def test_three_two_one() -> None:
    """3-2-1 locating (ISO 5459; a plane contact takes three of six): the rank grows by one a point, in the plane.

    With the plane's three already taken, two points on one edge and one on an end square to it hold the rest.
    """
    ranks = []
    rows: list[Row] = []
    for text in ("hole to flange edge", "slot to flange edge", "hole to rear end"):
        rows.append(row(text))
        ranks.append(3 + hold(rows).rank)
    assert ranks == [4, 5, 6]
    # three points on one line: the end is not held, five of six
    assert 3 + hold([row("hole to flange edge"), row("slot to flange edge"), row("pin to flange edge")]).rank == 5


def test_many_lines_of_unknown_direction_are_bounded() -> None:
    rows = [row(f"hole to seam {n}") for n in range(200)]
    assert hold(rows).rank == 1


def test_a_clearance_pins_nothing() -> None:
    assert hold([Row("gap", mark("hole", ""), "gap to", mark("", "sill"))]).rank == 0
