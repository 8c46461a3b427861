"""Places on a face, from readings as people write them: exact cases worked out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from journal.build import Told
from journal.judge.face import faces
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.judge.solved_face import MOST_POINTS
from journal.judge.verdicts import FacePosition, Residual, Spot
from journal.where import where_lines
from tests.builds import tell_files

DAY = "2026-03-21/note.md"
SIZES = """\
```measured sill
rear end to front end: 1000 mm by rule
lower edge to upper edge: 200 mm by rule
```

"""


def told_of(folder: Path, text: str) -> Told:
    return tell_files(folder, {DAY: text})


def bracket(*lines: str, more: str = "", host: str = SIZES) -> str:
    readings = "\n".join(lines)
    return f"{host}```removed bracket\nfrom: sill\nheld by: 2 welds\n{more}{readings}\n```\n"


def face_of(told: Told, part: str) -> FacePosition:
    (found,) = (position for position in told.judgement.positions if part in position.parts)
    return found


def spot_of(position: FacePosition, words: str, owner: str = "bracket") -> Spot:
    (found,) = (spot for spot in position.of(owner) if spot.words == words)
    return found


def residual_of(told: Told, position: FacePosition, text: str) -> Residual:
    (found,) = (each for id, each in position.residuals.items() if told.book.readings[id].text == text)
    return found


def places(position: FacePosition, owner: str = "bracket") -> dict[str, tuple[float, float]]:
    return {spot.words: (round(spot.u, 6), round(spot.v, 6)) for spot in position.of(owner)}


def test_readings_along_the_axes_add_up(tmp_path: Path) -> None:
    told = told_of(
        tmp_path,
        bracket(
            "hole ahead of rear end: 300 mm by rule",
            "hole above lower edge: 40 mm by rule",
            "slot behind front end: 640 mm by rule",
            "slot below upper edge: 130 mm by rule",
        ),
    )
    position = face_of(told, "bracket")
    zero = {(edge.words, edge.normal): edge.offset for edge in position.edges}
    assert position.axes == ("x", "z")
    assert zero == pytest.approx(
        {("rear end", "u"): 0, ("front end", "u"): 1000, ("lower edge", "v"): 0, ("upper edge", "v"): 200}
    )
    assert places(position) == {"hole": (300, 40), "slot": (360, 70)}
    assert position.redundancy == 0
    assert position.chi2 == pytest.approx(0, abs=1e-12)
    assert position.unsolved == {}


def test_the_uncertainty_is_that_of_the_way_there(tmp_path: Path) -> None:
    """From the rear end directly u; over the front end the host's length adds its own: variances add up."""
    told = told_of(
        tmp_path,
        bracket(
            "hole ahead of rear end: 300 mm ± 1 by rule",
            "hole above lower edge: 40 mm ± 1 by rule",
            "slot behind front end: 640 mm ± 1 by rule",
            "slot above lower edge: 70 mm ± 1 by rule",
        ),
    )
    u = math.sqrt((1**2 + 0.5**2) / 3)  # JCGM 100:2008, 4.3.7: two rectangular shares
    length = math.sqrt((0.5**2 + 0.5**2) / 3)
    position = face_of(told, "bracket")
    assert spot_of(position, "hole").sigma == pytest.approx((u, u))
    assert spot_of(position, "slot").sigma == pytest.approx((math.hypot(u, length), u))
    # chi-square with two degrees of freedom is below 5.991 in 95 of 100
    assert spot_of(position, "hole").ellipse95[:2] == pytest.approx((u * 5.991**0.5, u * 5.991**0.5), rel=1e-4)


def test_two_readings_of_one_thing_meet_half_way(tmp_path: Path) -> None:
    told = told_of(
        tmp_path,
        bracket(
            "hole ahead of rear end: 300 mm ± 2 by rule",
            "hole to rear end: 302 mm ± 2 by rule",
            "hole above lower edge: 40 mm by rule",
        ),
    )
    position = face_of(told, "bracket")
    sigma = math.sqrt((2**2 + 0.5**2) / 3)
    first = residual_of(told, position, "hole ahead of rear end: 300 mm ± 2 by rule")
    assert places(position) == {"hole": (301, 40)}
    assert position.redundancy == 1
    assert position.chi2 == pytest.approx(2 * (1 / sigma) ** 2)
    assert first.residual == pytest.approx(1)
    assert first.redundancy == pytest.approx(0.5)
    assert first.normalised == pytest.approx(1 / sigma / math.sqrt(0.5))
    assert first.should_read == pytest.approx((302, sigma))
    # the smallest slip found four times in five: non-centrality 17.075 (W. Baarda, 1968, from memory)
    assert first.notices == pytest.approx(math.sqrt(17.075 / 0.5) * sigma)


def test_what_nothing_else_checks_says_so(tmp_path: Path) -> None:
    told = told_of(tmp_path, bracket("hole ahead of rear end: 300 mm by rule", "hole above lower edge: 40 mm by rule"))
    alone = residual_of(told, face_of(told, "bracket"), "hole above lower edge: 40 mm by rule")
    assert (alone.normalised, alone.notices, alone.should_read) == (None, None, None)
    assert "nothing else checks it" in "\n".join(where_lines(told.book, told.judgement, "bracket"))


def test_three_distances_place_a_point_and_the_edges_say_on_which_side(tmp_path: Path) -> None:
    """3-4-5: the jig hole at (300, 0) on the lower edge, the hole 50 from it at u 330, so at v 40, not -40."""
    told = told_of(
        tmp_path,
        bracket(
            "jig hole ahead of rear end: 300 mm by rule",
            "hole ahead of rear end: 330 mm by rule",
            "hole to jig hole of sill: 50 mm by rule",
            host=SIZES.replace(
                "```measured sill\n",
                "```measured sill\njig hole ahead of rear end: 300 mm by rule\n"
                "jig hole above lower edge: 0 mm by rule\n",
            ),
        ).replace("jig hole ahead of rear end: 300 mm by rule\nhole", "hole"),
    )
    position = face_of(told, "bracket")
    assert places(position, "sill") == {"jig hole": (300, 0)}
    assert places(position) == {"hole": (330, 40)}


def test_holes_by_distances_alone_are_seen_from_one_of_two_sides(tmp_path: Path) -> None:
    text = """\
```removed cover
held by: 4 screws
hole 1 to hole 2: 400 mm by rule
hole 2 to hole 3: 300 mm by rule
hole 1 to hole 3: 500 mm by rule
hole 1 to hole 4: 300 mm by rule
hole 3 to hole 4: 400 mm by rule
hole 2 to hole 4: 500 mm by rule
```
"""
    (position,) = told_of(tmp_path, text).judgement.positions
    assert position.host == "cover"
    apart = {(a.words, b.words): math.dist((a.u, a.v), (b.u, b.v)) for a in position.spots for b in position.spots}
    assert apart["hole 1", "hole 3"] == pytest.approx(500)
    assert apart["hole 2", "hole 4"] == pytest.approx(500)
    assert position.redundancy == 1
    assert any("seen from one of two sides" in text for text in position.assumptions)


def test_a_rim_is_put_right_by_half_the_diameter(tmp_path: Path) -> None:
    lines = ("hole edge above lower edge: 33 mm by rule", "far edge of hole ahead of rear end: 307 mm by rule")
    read = face_of(told_of(tmp_path, bracket(*lines, "hole diameter: 14 mm by calliper")), "bracket")
    assert places(read) == {"hole": (300, 40)}
    assert spot_of(read, "hole").diameter == 14


def test_a_rim_without_a_diameter_takes_no_part_and_says_what_is_missing(tmp_path: Path) -> None:
    told = told_of(
        tmp_path, bracket("hole edge above lower edge: 33 mm by rule", "hole ahead of rear end: 300 mm by rule")
    )
    position = face_of(told, "bracket")
    assert places(position) == {}
    assert set(position.rejected.values()) == {"the diameter of the hole is not known, and it was read at its rim"}
    assert "diameter" in position.unsolved["bracket"]


def test_the_solvable_part_is_solved_and_the_rest_says_what_is_missing(tmp_path: Path) -> None:
    told = told_of(
        tmp_path,
        bracket(
            "hole ahead of rear end: 300 mm by rule", "hole above lower edge: 40 mm by rule",
            "slot above lower edge: 70 mm by rule",
        ),
    )  # fmt: skip
    position = face_of(told, "bracket")
    assert places(position) == {"hole": (300, 40)}
    assert position.unsolved == {"bracket": "slot wants a reading to the rear end"}


HELD_TWICE = ("hole ahead of rear end: 300 mm by rule", "hole above lower edge: 40 mm by rule",
              "slot above lower edge: 70 mm by rule", "hole to slot: 50 mm by rule")  # fmt: skip


def test_two_places_are_both_told(tmp_path: Path) -> None:
    """30 up and 50 apart: the slot is 40 ahead of the hole or 40 behind it, and no word says which."""
    told = told_of(tmp_path, bracket(*HELD_TWICE))
    position = face_of(told, "bracket")
    (other,) = (each for each in position.alternatives if abs(each.turned) > 1)
    (slot,) = (spot for spot in other.spots if spot.words == "slot")
    assert spot_of(position, "slot").u + slot.u == pytest.approx(600, abs=1e-3)
    assert abs(slot.u - 300) == pytest.approx(40, abs=1e-3)
    assert abs(other.turned) == pytest.approx(2 * math.degrees(math.atan2(40, 30)), abs=0.01)
    assert other.told_by == ""
    assert told.judgement.records["bracket"].word == "partly recorded"
    assert [f.word for f in told.judgement.findings if f.severity == "warning"] == ["two-spots"]


def test_way_round_tells_them_apart(tmp_path: Path) -> None:
    told = told_of(tmp_path, bracket(*HELD_TWICE, more="way round: slot to the front\n"))
    (other,) = (each for each in face_of(told, "bracket").alternatives if abs(each.turned) > 1)
    assert other.told_by == "way round: slot to the front"
    assert told.judgement.records["bracket"].word == "position recorded"
    assert "two-spots" not in {f.word for f in told.judgement.findings}


def test_way_round_does_not_tell_apart_what_differs_by_a_shift(tmp_path: Path) -> None:
    lines = ("hole above lower edge: 40 mm by rule", "hole to jig hole of sill: 50 mm by rule",
             "upright square to lower edge by square")  # fmt: skip
    told = told_of(tmp_path, bracket(*lines, more="way round: slot to the front\n"))
    assert told.judgement.records["bracket"].word == "partly recorded"
    assert "two-spots" in {f.word for f in told.judgement.findings}


def test_two_points_known_both_ways_are_one_place(tmp_path: Path) -> None:
    told = told_of(tmp_path, bracket(*HELD_TWICE[:3], "slot ahead of rear end: 340 mm by rule"))
    assert told.judgement.records["bracket"].word == "position recorded"
    assert face_of(told, "bracket").alternatives == ()


MISREAD = (
    "hole ahead of rear end: 300 mm by rule", "hole behind front end: 700 mm by rule",
    "hole above lower edge: 40 mm by rule", "slot ahead of rear end: 340 mm by rule",
    "slot behind front end: 560 mm by rule", "slot above lower edge: 70 mm by rule",
    "slot ahead of own hole: 40 mm by rule",
)  # fmt: skip


def test_a_misread_tape_is_named_and_left_out(tmp_path: Path) -> None:
    """The slot is 660 behind the front end: the others say so, and it stays at 340."""
    told = told_of(tmp_path, bracket(*MISREAD))
    position = face_of(told, "bracket")
    (found,) = (f for f in told.judgement.findings if f.word == "suspect-measurement")
    assert found.span.file == DAY
    assert found.span.line == 13
    assert "it is 560 mm, the others say 660.0 mm" in found.message
    (left_out,) = position.suspects
    assert told.book.readings[left_out].span.line == 13
    assert spot_of(position, "slot").u == pytest.approx(340, abs=1e-6)


def test_with_one_reading_over_none_can_be_named(tmp_path: Path) -> None:
    told = told_of(
        tmp_path, bracket(*MISREAD[3:6], host=SIZES.replace("lower edge to upper edge: 200 mm by rule\n", ""))
    )
    position = face_of(told, "bracket")
    (found,) = (f for f in told.judgement.findings if f.word == "suspect-measurement")
    assert position.suspects == ()
    assert len(position.contradicting) == 1
    assert position.of("bracket") == (), "it is not placed between them, where nobody measured"
    assert "do not hold together" in found.message
    assert {note.span.line for note in found.notes if note.span} == {2, 8}
    assert found.span.line == 9


def test_two_readings_that_disagree_are_told_once(tmp_path: Path) -> None:
    told = told_of(
        tmp_path,
        bracket("hole ahead of rear end: 300 mm by rule", "hole ahead of rear end: 320 mm by rule",
                "hole above lower edge: 40 mm by rule"),
    )  # fmt: skip
    words = [f.word for f in told.judgement.findings]
    assert words.count("disagree") == 1
    assert "suspect-measurement" not in words


def test_readings_since_a_refit_say_where_it_sits_now(tmp_path: Path) -> None:
    text = bracket(*HELD_TWICE[:3], "slot ahead of rear end: 340 mm by rule")
    back = "```refitted bracket\non: sill\nhole ahead of rear end: 310 mm by rule\n```\n"
    told = tell_files(tmp_path, {DAY: text, "2026-04-11/note.md": back})
    words = [f.word for f in told.judgement.findings]
    assert spot_of(face_of(told, "bracket"), "hole").u == pytest.approx(310)
    assert words.count("refit-off") == 1
    assert "suspect-measurement" not in words


def test_a_line_without_a_direction_lies_as_the_readings_fit(tmp_path: Path) -> None:
    """All on one side of the seam would put the second hole wrong; the readings turn it round."""
    host = SIZES.replace("```measured sill\n", "```measured sill\nseam above lower edge: 100 mm by rule\n")
    told = told_of(
        tmp_path,
        bracket("hole ahead of rear end: 300 mm by rule", "hole above lower edge: 40 mm by rule",
                "hole to seam: 60 mm by rule", host=host),
    )  # fmt: skip
    position = face_of(told, "bracket")
    (seam,) = (edge for edge in position.edges if edge.words == "seam")
    assert (seam.normal, round(seam.offset, 6)) == ("v", 100)
    assert position.fits
    assert position.redundancy == 1


def test_sides_of_the_machine_say_which_way_inboard_is(tmp_path: Path) -> None:
    lines = "hole inboard of outside face: 35 mm by rule\nhole ahead of rear end: 300 mm by rule\n"
    text = "".join(
        f"```removed bracket, {side}\nfrom: sill, {side}\nface: upper flange\nheld by: 2 welds\n{lines}```\n\n"
        for side in ("left", "right")
    )
    told = told_of(tmp_path, text)
    left, right = (face_of(told, f"bracket-{side}") for side in ("left", "right"))
    assert left.axes == right.axes == ("x", "y")
    assert places(left, "bracket-left") == {"hole": (300, -35)}
    assert places(right, "bracket-right") == {"hole": (300, 35)}


def test_the_next_reading_is_told_with_its_gain(tmp_path: Path) -> None:
    lines = ("hole ahead of rear end: about 300 mm by eye", "hole above lower edge: 40 mm by rule",
             "upright square to lower edge by square")  # fmt: skip
    told = told_of(tmp_path, bracket(*lines, more="way round: slot to the front\n"))
    record = told.judgement.records["bracket"]
    before = spot_of(face_of(told, "bracket"), "hole").ellipse95[0]
    assert record.word == "position recorded"
    assert record.next in (("hole to rear end",), ("hole to front end",))
    assert record.gain.startswith(f"from ± {before:.0f} mm to ± ")
    assert float(record.gain.rsplit("± ")[-1].split()[0]) < before / 2


def test_a_face_with_very_many_points_is_listed_not_solved(tmp_path: Path) -> None:
    lines = [f"hole {number} ahead of rear end: {number + 1} mm" for number in range(MOST_POINTS + 1)]
    told = told_of(tmp_path, bracket(*lines))
    position = face_of(told, "bracket")
    assert position.too_large
    assert position.spots == ()
    assert "1,000 points" in "\n".join(where_lines(told.book, told.judgement, "bracket"))


def test_the_same_face_is_solved_alike_every_time(tmp_path: Path) -> None:
    told = told_of(tmp_path, bracket(*MISREAD))
    recorder = Recorder(told.book)
    (first,) = Solver(recorder).solve(faces(recorder))
    assert first == face_of(told, "bracket")


def test_where_tells_places_and_what_checks_each_reading(tmp_path: Path) -> None:
    told = told_of(tmp_path, bracket(*MISREAD))
    lines = "\n".join(where_lines(told.book, told.judgement, "bracket"))
    assert "hole: 300.0 ± " in lines
    assert "it does not fit the others, which make it 660.0 mm" in lines
    assert "a mistake of " in lines


@pytest.mark.parametrize(
    ("lines", "word", "asks"),
    [
        # Two points 40 mm apart along the height, read within 4: turned by half they would be 40 the other way.
        (["hole above lower edge: 300 mm ± 1", "pin above lower edge: 340 mm ± 1"], "position recorded", False),
        # 30 mm apart, but the square was held by eye: a long part leans by more.
        (["upright square to lower edge by eye", "hole above lower edge: 300 mm ± 1",
          "pin above lower edge: 330 mm ± 1"], "position recorded", True),
        # 3 mm apart, read within 4: the part may be such that both fit.
        (["hole above lower edge: 300 mm ± 1", "pin above lower edge: 303 mm ± 1"], "position recorded", True),
        # No distance to speak of: it fits both ways.
        (["hole above lower edge: 300 mm ± 1", "pin above lower edge: 301 mm ± 1"], "partly recorded", True),
        # By the first pair it could be either; a second pair, read better, tells.
        (
            ["hole below upper edge: 200 mm ± 2 by eye", "pin below upper edge: 175 mm ± 2 by eye",
             "hole above lower edge: 300 mm ± 0.2 by calliper", "pin above lower edge: 325 mm ± 0.2 by calliper"],
            "position recorded", False,
        ),
    ],
)  # fmt: skip
def test_half_a_turn_is_told_by_points_that_would_move(
    tmp_path: Path, lines: list[str], word: str, asks: bool
) -> None:
    square = [] if lines[0].startswith("upright") else ["upright square to lower edge by square"]
    held = ["hole to rear end: 120 mm", *square]
    note = ["```removed clip", "from: sill", *held, *lines, "```"]
    told = tell_files(tmp_path, {"2026-03-01/note.md": "\n".join(["```part sill", "from: frame", "```", *note])})
    record = told.judgement.records["clip"]
    second = [f for f in told.judgement.findings if f.word == "two-spots" and f.part == "clip"]
    assert (record.word, bool(second) or "turned the other way" in " ".join(record.free)) == (word, asks)
