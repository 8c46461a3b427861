"""Places from readings: exact cases, what cannot be answered, spots, slips of the tape, edges, free networks."""

from __future__ import annotations

import math
import random
import subprocess
import sys
from typing import Any

import pytest

from journal.measure.network import (
    Adjustment,
    Angle,
    Directed,
    Distance,
    NetworkFault,
    Observation,
    Offset,
    adjust,
    suspect,
)

HALF_TURN = math.pi
SQUARE = math.pi / 2


def spots(found: Adjustment, name: str) -> list[tuple[float, ...]]:
    """The place and its alternatives, sorted."""
    return sorted([found.points[name], *(spot.points[name] for spot in found.alternatives)])


def at(*place: float) -> Any:
    return pytest.approx(place, abs=1e-6)


def fault(observations: list[Observation], fixed: dict[str, Any], start: dict[str, Any] | None = None) -> NetworkFault:
    with pytest.raises(NetworkFault) as caught:
        adjust(observations, fixed, start)
    return caught.value


# exact


@pytest.mark.parametrize(
    ("base", "left", "right", "x", "y"), [(14, 13, 15, 5, 12), (4, 3, 5, 0, 3), (25, 15, 20, 9, 12)]
)
def test_two_tapes_give_two_spots(base: float, left: float, right: float, x: float, y: float) -> None:
    found = adjust([Distance("A", "P", left, 0.1), Distance("B", "P", right, 0.1)], {"A": (0, 0), "B": (base, 0)})
    assert spots(found, "P") == [at(x, -y), at(x, y)]
    assert (found.redundancy, found.s0) == (0, None)
    assert found.chi2 == pytest.approx(0, abs=1e-12)
    assert found.normalised == (None, None)
    assert found.detectable == (None, None)
    assert found.others_say(0) is None
    assert suspect(found) is None
    assert found.fits()


def test_start_says_which_spot_is_meant() -> None:
    readings: list[Observation] = [Distance("A", "P", 13, 0.1), Distance("B", "P", 15, 0.1)]
    for side in (1, -1):
        found = adjust(readings, {"A": (0, 0), "B": (14, 0)}, {"P": (4, side)})
        assert found.points["P"] == at(5, 12 * side)
        assert found.alternatives[0].points["P"] == at(5, -12 * side)


def test_a_third_tape_settles_it() -> None:
    tapes: list[Observation] = [
        Distance("A", "P", 13, 0.1),
        Distance("B", "P", 15, 0.1),
        Distance("C", "P", math.hypot(5, 8), 0.1),
    ]
    found = adjust(tapes, {"A": (0, 0), "B": (14, 0), "C": (0, 20)})
    assert found.points["P"] == at(5, 12)
    assert not found.alternatives


def test_by_hand() -> None:
    """Two tapes along x from both ends: the weighted mean, the misfit shared by weight."""
    readings: list[Observation] = [
        Directed("A", "P", "x", 4.0, 1.0),
        Directed("P", "B", "x", 6.3, 2.0),
        Directed("A", "P", "y", 2.0, 1.0),
    ]
    found = adjust(readings, {"A": (0, 0), "B": (10, 0)})
    assert found.points["P"] == at((4.0 + 3.7 / 4) / (1 + 1 / 4), 2)
    assert found.residuals == pytest.approx((-0.06, -0.24, 0), abs=1e-9)
    assert found.redundancies == pytest.approx((0.2, 0.8, 0))
    assert found.chi2 == pytest.approx(0.06**2 + 0.12**2)
    assert found.normalised[0] == pytest.approx(-0.06 / math.sqrt(0.2))
    assert found.detectable[1] == pytest.approx(math.sqrt(17.075 / 0.8) * 2.0)
    assert found.others_say(1) == (pytest.approx(6.0), pytest.approx(1.0))
    assert found.others_say(2) is None
    assert found.block("P", prior=True)[0][0] == pytest.approx(0.8)
    assert found.sigma["P"][0] == pytest.approx(math.sqrt(0.8) * math.sqrt(found.chi2))
    assert found.sigma["A"] == (0, 0)


# no answer


def test_tapes_that_cannot_meet() -> None:
    said = fault([Distance("A", "P", 4, 0.01), Distance("B", "P", 5, 0.01)], {"A": (0, 0), "B": (10, 0)})
    assert said.kind == "cannot-meet"
    assert said.names == ("P",)
    assert "'A' to 'P' 4, 'B' to 'P' 5; they miss by 1." in str(said)


def test_one_circle_inside_the_other_cannot_meet() -> None:
    said = fault([Distance("A", "P", 20, 0.01), Distance("B", "P", 5, 0.01)], {"A": (0, 0), "B": (10, 0)})
    assert said.kind == "cannot-meet"


@pytest.mark.parametrize("right", [6, 5.99])
def test_tapes_that_only_just_meet_hold_one_way_only(right: float) -> None:
    said = fault([Distance("A", "P", 4, 0.01), Distance("B", "P", right, 0.01)], {"A": (0, 0), "B": (10, 0)})
    assert said.kind == "not-held"
    assert "another direction" in str(said)


def test_a_thin_cut_is_answered_with_its_size() -> None:
    """The circles overlap by less than the eye sees: two spots, each far less sure across than along."""
    found = adjust([Distance("A", "P", 4, 0.01), Distance("B", "P", 6.01, 0.01)], {"A": (0, 0), "B": (10, 0)})
    assert len(found.alternatives) == 1
    long, short, turn = found.ellipse("P")
    assert long > 15 * short
    assert turn == pytest.approx(SQUARE, abs=0.05)


@pytest.mark.parametrize(
    "readings",
    [
        [Distance("A", "P", 5, 1)],
        [Distance("A", "P", 5, 1), Distance("A", "P", 5.1, 1)],
        [Directed("A", "P", "x", 5, 1), Directed("B", "P", "x", -5, 1)],
        [Distance("A", "P", 5, 1), Distance("B", "P", 8, 1), Distance("P", "Q", 3, 1)],
        [Offset("P", "low", 5, 1), Offset("P", "low", 5, 1)],
    ],
)
def test_too_few(readings: list[Observation]) -> None:
    said = fault(readings, {"A": (0, 0), "B": (10, 0), "low": (0, 0)})
    assert said.kind == "too-few"
    assert said.names == (("Q",) if len(readings) == 3 else ("P",))
    assert "one more reading is needed" in str(said)


def test_too_few_counts() -> None:
    said = fault([Distance("A", "P", 5, 1), Distance("Q", "P", 5, 1)], {"A": (0, 0)})
    assert "2 more readings are needed to hold 'P' and 'Q'" in str(said)
    assert fault([], {"A": (0, 0)}).kind == "too-few"


@pytest.mark.parametrize(
    ("reading", "kind"),
    [
        (Distance("P", "P", 5, 1), "identical"),
        (Directed("P", "P", "x", 5, 1), "identical"),
        (Angle("e", "e", 0, 1), "identical"),
        (Angle("e", ("P", "P"), 0, 1), "identical"),
        (Distance("A", "P", 0, 1), "bad-input"),
        (Distance("A", "P", -5, 1), "bad-input"),
        (Distance("A", "P", math.nan, 1), "bad-input"),
        (Distance("A", "P", 5, 0), "bad-input"),
        (Distance("A", "P", 5, math.inf), "bad-input"),
        (Offset("P", "e", -1, 1), "bad-input"),
        (Offset("P", "e", 1, 1, 0), "bad-input"),
        (Offset("P", "A", 1, 1), "bad-input"),
        (Directed("A", "P", "z", 1, 1), "bad-input"),
        (Directed("A", "P", (0.0, 0.0), 1, 1), "bad-input"),
        (Angle("e", (0.0, 0.0), 1, 1), "bad-input"),
        (Angle("e", "x", 1, 1, "around"), "bad-input"),  # type: ignore[arg-type]
    ],
)
def test_bad_readings_are_named(reading: Observation, kind: str) -> None:
    others: list[Observation] = [Distance("A", "P", 5, 1), Distance("B", "P", 8, 1)]
    said = fault([*others, reading], {"A": (0, 0), "B": (10, 0)})
    assert said.kind == kind
    assert "'" in str(said)


def test_two_fixed_points_in_one_place() -> None:
    said = fault([Distance("A", "P", 5, 1), Distance("B", "P", 5, 1)], {"A": (1, 2), "B": (1, 2)})
    assert (said.kind, said.names) == ("identical", ("A", "B"))


def test_bad_places() -> None:
    tapes: list[Observation] = [Distance("A", "P", 5, 1), Distance("B", "P", 5, 1)]
    assert fault(tapes, {"A": (0, 0), "B": (1, 1, 1)}).kind == "bad-input"
    assert fault(tapes, {}).kind == "bad-input"
    assert fault([Offset("A", "e", 1, 1)], {"A": (0, 0), "e": (None, 4)}).kind == "bad-input"
    assert fault([Offset("A", "e", 1, 1)], {"A": (0, 0, 0)}).kind == "bad-input"


def test_the_rest_is_solvable_without_the_names_of_a_fault() -> None:
    fixed = {"A": (0, 0), "B": (10, 0)}
    readings: list[Observation] = [
        *(Distance("A", "P", 6, 0.1), Distance("B", "P", 8, 0.1)),
        *(Distance("A", "Q", 4, 0.01), Distance("B", "Q", 5, 0.01)),
    ]
    said = fault(readings, fixed)
    assert said.names == ("Q",)
    assert adjust(readings[:2], fixed).points["P"][0] == pytest.approx(3.6)


# slips of the tape

CORNERS = {"A": (0.0, 0.0), "B": (1000.0, 0.0), "C": (1000.0, 600.0), "D": (0.0, 600.0), "E": (500.0, 0.0)}


def taped(place: tuple[float, float], wrong: dict[str, float]) -> list[Observation]:
    return [
        Distance(name, "P", math.dist(corner, place) + wrong.get(name, 0.0), 1.0) for name, corner in CORNERS.items()
    ]


@pytest.mark.parametrize("name", CORNERS)
def test_a_misread_tape_is_found_and_put_right(name: str) -> None:
    """Two small errors, and one reading with its figure 30 too long."""
    place = (420.0, 310.0)
    found = adjust(taped(place, {"A": 0.4, "C": -0.5} | {name: 30.0}), CORNERS)
    worst = suspect(found)
    assert worst is not None
    assert list(CORNERS)[worst] == name
    assert not found.fits()
    said = found.others_say(worst)
    assert said is not None
    assert said[0] == pytest.approx(math.dist(CORNERS[name], place), abs=3 * said[1])


def test_small_errors_raise_nothing() -> None:
    found = adjust(taped((420.0, 310.0), {"A": 1.2, "B": -0.9, "D": 0.8}), CORNERS)
    assert suspect(found) is None
    assert found.fits()


def test_what_the_others_say_is_what_they_say_alone() -> None:
    readings = taped((420.0, 310.0), {"A": 0.7, "B": 6.0, "D": -0.4})
    found = adjust(readings, CORNERS)
    said = found.others_say(1)
    alone = adjust([*readings[:1], *readings[2:]], CORNERS)
    assert said is not None
    assert said[0] == pytest.approx(math.dist(alone.points["P"], CORNERS["B"]), abs=0.01)


def test_with_one_spare_reading_none_is_named() -> None:
    corners = {name: CORNERS[name] for name in "ABC"}
    readings = [reading for reading in taped((420.0, 310.0), {"B": 40.0}) if isinstance(reading, Distance)]
    found = adjust([reading for reading in readings if reading.a in corners], corners)
    sizes = {round(abs(said or 0), 6) for said in found.normalised}
    assert len(sizes) == 1
    assert sizes.pop() > 3.29
    assert suspect(found) is None
    assert not found.fits()


# edges


def test_offsets_from_two_fixed_edges() -> None:
    edges = {"low": (0.0, 0.0), "rear": (SQUARE, 0.0)}
    found = adjust([Offset("P", "low", 16, 1, 1), Offset("P", "rear", 40, 1, -1)], edges)
    assert found.points["P"] == at(40, 16)
    assert not found.alternatives


def test_sides_not_known_are_all_tried() -> None:
    edges = {"low": (0.0, 0.0), "rear": (SQUARE, 0.0)}
    found = adjust([Offset("P", "low", 16, 1), Offset("P", "rear", 40, 1)], edges)
    assert spots(found, "P") == [at(-40, -16), at(-40, 16), at(40, -16), at(40, 16)]


def test_an_edge_with_known_direction_only() -> None:
    """A parallel edge at an unknown height, found from a point on the one side and used on the other."""
    found = adjust(
        [Offset("A", "top", 300, 1, -1), Offset("P", "top", 20, 1, 1), Directed("A", "P", "x", 70, 1)],
        {"A": (0, 0), "top": (0.0, None)},
    )
    assert found.edges["top"] == at(0, 300)
    assert found.points["P"] == at(70, 320)
    assert found.unknowns == (("top", 1), ("P", 0), ("P", 1))
    assert found.sigma["top"] == at(0, 1)


def test_a_point_known_one_way_only() -> None:
    """The first two points as a gauge: the second lies on the x axis, at an unknown place."""
    readings: list[Observation] = [Distance("A", "B", 14, 1), Distance("A", "P", 13, 1), Distance("B", "P", 15, 1)]
    for way in (1, -1):
        found = adjust(readings, {"A": (0, 0), "B": (None, 0)}, {"B": (10 * way, 0), "P": (way, 1)})
        assert found.points["B"] == at(14 * way, 0)
        assert found.points["P"] == at(5 * way, 12)
        assert len(found.alternatives) == 3


def test_an_edge_from_three_points() -> None:
    """Points at (0, 3), (4, 0), (8, -3) lie 5 off the lines 3x + 4y = 37 and 3x + 4y = -13, on the right of each when
    it is run the one way or the other."""
    points = {"A": (0, 3), "B": (4, 0), "C": (8, -3)}
    found = adjust([Offset(name, "edge", 5, 0.1, -1) for name in points], points)
    edges = [found.edges["edge"], *(spot.edges["edge"] for spot in found.alternatives)]
    assert [math.tan(angle) for angle, _ in edges] == pytest.approx([-3 / 4, -3 / 4])
    assert sorted(offset for _, offset in edges) == pytest.approx([13 / 5, 37 / 5])
    assert found.redundancy == 1
    assert found.chi2 == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("origin", [(0.0, 0.0), (5000.0, -3000.0)])
def test_an_edge_s_spread_is_that_of_its_offset_from_the_origin(origin: tuple[float, float]) -> None:
    """Points (0, 0) and (100, 0), each held 1 off the line: angle sigma √2/100, offset as of the line at the origin."""
    points = {"A": origin, "B": (origin[0] + 100, origin[1])}
    found = adjust([Offset("A", "e", 10, 1, -1), Offset("B", "e", 10, 1, -1)], points)
    angle, offset = found.edges["e"]
    assert (angle, offset) == (pytest.approx(0, abs=1e-9), pytest.approx(origin[1] + 10))
    along = -origin[0] / 100  # the origin's foot on the line, in parts of A to B
    assert found.sigma["e"][0] == pytest.approx(math.sqrt(2) / 100)
    assert found.sigma["e"][1] == pytest.approx(math.hypot(1 - along, along))


def test_square_and_parallel() -> None:
    """Two edges told to be square and parallel to the first, whichever way they are run along."""
    readings: list[Observation] = [
        Angle("rear", "low", SQUARE, 1e-6, "line"),
        Angle("top", "low", 0.0, 1e-6, "line"),
        *(Offset("A", "rear", 10, 1), Offset("A", "top", 200, 1)),
        *(Offset("P", "low", 150, 1, 1), Offset("P", "rear", 90, 1), Offset("P", "top", 50, 1)),
        *(Distance("A", "P", math.hypot(100, 150), 1),),
    ]
    found = adjust(readings, {"A": (0, 0), "low": (0, 0)}, {"P": (90, 140), "rear": (SQUARE, 5), "top": (0, 190)})
    assert found.points["P"] == at(100, 150)
    assert found.edges["rear"][0] % HALF_TURN == pytest.approx(SQUARE)
    assert found.edges["top"][0] % HALF_TURN == pytest.approx(0, abs=1e-9)
    assert found.redundancy == 2


def test_an_angle_between_two_points_and_an_edge() -> None:
    readings: list[Observation] = [Distance("A", "P", 10, 0.1), Angle(("A", "P"), "low", math.radians(30), 0.01)]
    found = adjust(readings, {"A": (0, 0), "low": (0, 0)})
    assert found.points["P"] == at(10 * math.cos(math.radians(30)), 5)
    assert not found.alternatives
    assert found.block("P", prior=True)[1][1] == pytest.approx(0.1**2 / 4 + (0.01 * 10) ** 2 * 3 / 4)


def test_an_angle_that_does_not_say_which_way() -> None:
    readings: list[Observation] = [
        Distance("A", "P", 10, 0.1),
        Angle(("P", "A"), "x", math.radians(30), 0.01, "either"),
    ]
    found = adjust(readings, {"A": (0, 0)})
    x = 10 * math.cos(math.radians(30))
    assert spots(found, "P") == [at(-x, -5), at(-x, 5), at(x, -5), at(x, 5)]


def test_a_signed_distance_has_its_sign() -> None:
    found = adjust([Directed("A", "P", "x", -7, 1), Directed("P", "A", (0.0, 2.0), 3, 1)], {"A": (1, 1)})
    assert found.points["P"] == at(-6, -2)


def test_both_ends_of_a_part_turn_over_together() -> None:
    """A bracket of two holes on the mirror side: its size and both holes' readings fit there just as well."""
    fixed = {"A": (0, 0), "B": (100, 0)}
    hole, slot = (30.0, 40.0), (70.0, 55.0)
    readings: list[Observation] = [
        *(Distance(name, "hole", math.dist(place, hole), 1) for name, place in fixed.items()),
        Distance("hole", "slot", math.dist(hole, slot), 1),
        Distance("B", "slot", math.dist((100, 0), slot), 1),
        Distance("A", "slot", math.dist((0, 0), slot), 1),
    ]
    found = adjust(readings, fixed, {"hole": (30, 30), "slot": (70, 50)})
    assert found.points["hole"] == at(*hole)
    assert found.alternatives[0].points["hole"] == at(30, -40)
    assert found.alternatives[0].points["slot"] == at(70, -55)
    assert len(found.alternatives) == 1


def test_each_part_has_its_own_alternative() -> None:
    """Two parts that no reading ties: two turned over, one at a time, not every combination."""
    fixed = {"A": (0, 0), "B": (14, 0)}
    readings: list[Observation] = [
        reading for name in ("P", "Q", "R") for reading in (Distance("A", name, 13, 0.1), Distance("B", name, 15, 0.1))
    ]
    found = adjust(readings, fixed, dict.fromkeys(("P", "Q", "R"), (5, 11)))
    turned = [[name for name in "PQR" if spot.points[name][1] < 0] for spot in found.alternatives]
    assert sorted(turned) == [["P"], ["Q"], ["R"]]


# free networks, space, frames


def test_a_free_network_lies_best_on_its_start() -> None:
    square = {"A": (0.0, 0.0), "B": (10.0, 0.0), "C": (10.0, 10.0), "D": (0.0, 10.0)}
    tapes: list[Observation] = [
        Distance(a, b, 1.01 * math.dist(square[a], square[b]), 0.01) for a, b in ("AB", "BC", "CD", "DA", "AC", "BD")
    ]
    found = adjust(tapes, {}, square)
    assert found.redundancy == 6 - 8 + 3
    for name, (x, y) in square.items():
        assert found.points[name] == at(5 + 1.01 * (x - 5), 5 + 1.01 * (y - 5))
    assert found.chi2 == pytest.approx(0, abs=1e-9)
    assert sum(found.redundancies) == pytest.approx(1)
    mean = [sum(found.block(a, b, prior=True)[i][i] for a in square for b in square) for i in (0, 1)]
    assert mean == pytest.approx([0, 0], abs=1e-12)  # the middle of the start points does not move


def test_a_free_network_held_to_an_axis_only_shifts() -> None:
    readings: list[Observation] = [Directed("A", "B", "x", 3, 1), Directed("A", "B", "y", 4, 1)]
    found = adjust(readings, {}, {"A": (0, 0), "B": (0, 0.5)})
    assert found.points["A"] == at(-1.5, -1.75)
    assert found.points["B"] == at(1.5, 2.25)


def test_a_free_network_wants_a_start_and_enough_tapes() -> None:
    start = {"A": (0, 0), "B": (4, 0), "C": (0, 3)}
    assert fault([Distance("A", "B", 4, 1), Distance("B", "C", 5, 1)], {}, start).kind == "too-few"
    assert fault([Distance("A", "B", 4, 1)], {}, {"A": (0, 0)}).kind == "bad-input"


def test_in_space() -> None:
    corners = {"A": (0, 0, 0), "B": (9, 0, 0), "C": (0, 9, 0), "D": (0, 0, 9)}
    place = (2.0, 3.0, 6.0)
    found = adjust([Distance(name, "P", math.dist(at, place), 0.1) for name, at in corners.items()], corners)
    assert found.points["P"] == at(*place)
    assert not found.alternatives
    two = adjust([Distance(name, "P", math.dist(corners[name], place), 0.1) for name in "ABC"], corners)
    assert spots(two, "P") == [at(2, 3, -6), at(2, 3, 6)]


def test_far_from_the_origin_it_is_the_same() -> None:
    far = 4_000_000.0
    near = adjust(taped((420.0, 310.0), {"A": 0.7, "B": 1.0, "D": -0.4}), CORNERS)
    corners = {name: (x + far, y - far) for name, (x, y) in CORNERS.items()}
    away = adjust(taped((420.0, 310.0), {"A": 0.7, "B": 1.0, "D": -0.4}), corners)
    assert away.points["P"] == at(near.points["P"][0] + far, near.points["P"][1] - far)
    assert away.sigma["P"] == pytest.approx(near.sigma["P"])
    assert away.normalised == pytest.approx(near.normalised, abs=1e-5)


def test_the_order_of_the_readings_changes_nothing() -> None:
    readings = taped((420.0, 310.0), {"A": 0.7, "B": 1.0, "D": -0.4})
    forward, backward = adjust(readings, CORNERS), adjust(readings[::-1], CORNERS)
    assert forward.points["P"] == pytest.approx(backward.points["P"], abs=1e-9)
    assert forward.residuals == pytest.approx(backward.residuals[::-1], abs=1e-9)


def test_the_same_input_gives_the_same_bits() -> None:
    readings = taped((420.0, 310.0), {"A": 0.7, "B": 1.0, "D": -0.4})
    assert adjust(readings, CORNERS).points == adjust(readings, CORNERS).points


def test_a_check_between_two_fixed_points_counts() -> None:
    found = adjust([Distance("A", "B", 1004, 1.0), *taped((420.0, 310.0), {})], CORNERS)
    assert found.redundancies[0] == pytest.approx(1)
    assert found.normalised[0] == pytest.approx(-4)
    assert suspect(found) == 0


def test_numpy_is_loaded_only_when_something_is_solved() -> None:
    code = "import sys, journal.measure.network; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# anything at all


def nonsense(chance: random.Random) -> tuple[list[Observation], dict[str, tuple[float | None, ...]]]:
    """Readings thrown together, most of which cannot be met."""
    fixed: dict[str, tuple[float | None, ...]] = {"A": (0, 0), "B": (chance.choice([10, 100, 3000]), 0)}
    fixed |= {name: place for name, place in EXTRA.items() if chance.random() < 0.4}
    points, edges = "ABPQRD"[: chance.randint(3, 6)], "efg"[: chance.randint(1, 3)]
    readings: list[Observation] = []
    for _ in range(chance.randint(1, 14)):
        a, b = chance.sample(points, 2)
        edge, sigma = chance.choice(edges), chance.choice([0.01, 1.0, 5.0])
        value = chance.choice([0.5, 3.0, 50.0, 100.0, chance.uniform(1, 3000)])
        turn = chance.choice([0.0, SQUARE, 0.3])
        readings.append(
            chance.choice(
                [
                    Distance(a, b, value, sigma),
                    Distance(a, b, value, sigma),
                    Offset(a, edge, value, sigma, chance.choice([1, -1, None])),
                    Offset(a, edge, 0, sigma),
                    Directed(a, b, chance.choice("xy"), chance.choice([value, -value, 0]), sigma),
                    Angle(edge, chance.choice(["x", "y", (a, b)]), turn, 1e-6, "line"),
                    Angle((a, b), chance.choice(["x", edge]), turn, 0.01, chance.choice(["turn", "either"])),
                ]
            )
        )
    return readings, fixed


EXTRA: dict[str, tuple[float | None, ...]] = {"e": (0.0, 0.0), "f": (SQUARE, None), "D": (None, 5.0)}


@pytest.mark.parametrize("seed", range(30))
def test_nonsense_gets_an_answer_or_a_plain_sentence(seed: int) -> None:
    readings, fixed = nonsense(random.Random(seed))
    sentence = ""
    try:
        found = adjust(readings, fixed)
    except NetworkFault as said:
        sentence = str(said)
    if sentence:
        assert sentence.endswith(".")
        assert len(sentence) < 600
        return
    assert all(math.isfinite(number) for place in found.points.values() for number in place)
    assert sum(found.redundancies) == pytest.approx(found.redundancy, abs=1e-5)
    assert all(0 <= share <= 1 for share in found.redundancies)
    spread = max((number for numbers in found.sigma.values() for number in numbers), default=0.0)
    assert math.isfinite(spread)
