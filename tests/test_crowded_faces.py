"""Many parts on one panel: what is said of their places is true, and one slip of the tape harms nothing but itself."""

from __future__ import annotations

from itertools import chain
from math import dist
from pathlib import Path

import pytest

from journal.build import Told
from journal.judge.chain import Chain, Link, agreed
from journal.judge.face import Tape
from journal.judge.record import Recorder
from journal.judge.verdicts import FacePosition
from journal.make import tell_build
from journal.pages.face_plate import NEAREST, face_plate, misfit
from journal.pages.positions import Faces
from journal.pages.viewer import Viewer
from tests.benchmarks.big_build import make
from tests.benchmarks.crowded_faces import misses, wrong_readings
from tests.builds import tell_files

NOTE = "2026-01-10 a/note.md"


def slip(first: str, *lines: str) -> str:
    return "\n".join([f"```{first}", *lines, "```", "", ""])


PANEL = slip(
    "measured panel", "rear end to front end: 1000 mm by rule", "lower edge to upper edge: 400 mm by rule",
    "jig hole ahead of rear end: 500 mm by rule", "jig hole above lower edge: 200 mm by rule",
    "jig hole behind front end: 500 mm by rule", "jig hole below upper edge: 200 mm by rule",
)  # fmt: skip
OTHERS = "".join(
    slip(f"removed {name}", "from: panel",
         f"hole ahead of rear end: {x} mm by rule", f"hole behind front end: {1000 - x} mm by rule",
         f"hole above lower edge: {y} mm by rule", f"hole below upper edge: {400 - y} mm by rule")
    for name, x, y in (("stay", 200, 100), ("clamp", 700, 150), ("guide", 400, 300))
)  # fmt: skip


def on_panel(tmp_path: Path, *slips: str) -> tuple[Told, FacePosition]:
    told = tell_files(tmp_path, {NOTE: PANEL + OTHERS + "".join(slips)})
    (position,) = (each for each in told.judgement.positions if each.parts)
    return told, position


def at(position: FacePosition, part: str, words: str = "hole") -> tuple[float, float] | None:
    return next(((s.u, s.v) for s in position.spots if (s.owner, s.words) == (part, words)), None)


def others_are_right(position: FacePosition) -> bool:
    stay, clamp = at(position, "stay"), at(position, "clamp")
    assert stay
    assert clamp
    return clamp[0] - stay[0] == pytest.approx(500, abs=0.5) and clamp[1] - stay[1] == pytest.approx(50, abs=0.5)


# --- against the truth of a made-up build


@pytest.mark.parametrize("on_a_panel", [4, 40])
def test_places_are_true_where_all_readings_are(tmp_path: Path, on_a_panel: int) -> None:
    """`on_a_panel` 4 leaves sides open that nobody wrote and no reading tells: those are named as assumed."""
    truth = make(tmp_path / "build", 4, 120, 1200, misread=0.0, seed=5, on_a_panel=on_a_panel)
    told = tell_build(tmp_path / "build")
    faces = [position for position in told.judgement.positions if position.parts]
    every = [far for position in faces for _, far in misses(told, truth, position)]
    assert len(every) > 100
    assert sum(far > 0 for far in every) <= (0 if on_a_panel == 40 else 0.1 * len(every))


def test_slips_of_the_tape_harm_only_what_they_are_of(tmp_path: Path) -> None:
    truth = make(tmp_path / "build", 4, 120, 1200, misread=0.03, seed=5, on_a_panel=40)
    told = tell_build(tmp_path / "build")
    faces = [position for position in told.judgement.positions if position.parts]
    wrong = set(wrong_readings(told, truth))
    theirs = {(told.book.readings[id].part, told.book.readings[id].subject.words) for id in wrong}  # type: ignore[union-attr]
    placed = [(spot, far) for position in faces for spot, far in misses(told, truth, position)]
    assert len(placed) > 100
    assert [spot for spot, far in placed if far > 0 and (spot.owner, spot.words) not in theirs] == []
    left_out = set(chain.from_iterable(position.suspects for position in faces))
    assert left_out
    assert left_out <= wrong
    named = {finding.measurement for finding in told.judgement.findings if finding.word == "suspect-measurement"}
    assert left_out <= named


def test_a_drawing_shows_the_part_and_what_is_next_to_it(tmp_path: Path) -> None:
    make(tmp_path / "build", 4, 60, 600, misread=0.0, seed=5, on_a_panel=60)
    told = tell_build(tmp_path / "build")
    faces = Faces(Viewer(told.book, told.judgement, "shop"))
    drawn = [face for face in faces.every() if face.part and face.position.of(face.part)]
    assert len(drawn) > 20
    for face in drawn:
        mine = [(spot.u, spot.v) for spot in face.position.of(face.part)]
        others = {point.owner for point in face.plate.points if not point.own} - {"panel 0"}
        assert len(others) <= NEAREST
        assert {line.owner for line in face.plate.edges} <= {"panel 0", told.book.title(face.part)}
        away = sorted(
            (min(dist((spot.u, spot.v), at) for at in mine), told.book.title(spot.owner))
            for spot in face.position.spots
            if spot.owner not in ("panel-0", face.part)
        )
        assert others == set(list(dict.fromkeys(owner for _, owner in away))[:NEAREST])
    (whole,) = (face for face in faces.every() if face.part is None and face.position.host == "panel-0")
    assert len({point.owner for point in whole.plate.points}) > 20
    assert {line.owner for line in whole.plate.edges} == {"panel 0"}


# --- one by one


def test_a_reading_far_out_is_left_out_where_others_check_what_it_is_of(tmp_path: Path) -> None:
    readings = ("hole ahead of rear end: 300 mm by rule", "hole behind front end: 700 mm by rule",
                "hole above lower edge: 90 mm by rule", "hole to jig hole: 60 mm by rule",
                "hole below upper edge: 310 mm by rule")  # fmt: skip
    told, position = on_panel(tmp_path, slip("removed hook", "from: panel", *readings))
    (slip_of,) = position.suspects
    assert told.book.readings[slip_of].text.startswith("hole to jig hole")
    said = position.residuals[slip_of].should_read
    assert said
    assert said[0] == pytest.approx((200**2 + 110**2) ** 0.5, abs=0.5)
    assert at(position, "hook") is not None
    assert position.fits, "what is left in does"
    assert others_are_right(position)
    (finding,) = (f for f in told.judgement.findings if f.word == "suspect-measurement")
    assert "the others say 228.3 mm" in finding.message
    view = Viewer(told.book, told.judgement, "shop")
    assert [bool(misfit(view, position, about)) for about in ("hook", "panel", "stay")] == [True, True, False]
    drawn = {dimension.label for dimension in face_plate(view, position, "hook", "hook").dimensions}
    assert drawn == {"300 mm", "700 mm", "90 mm", "310 mm"}, "a number that the drawing belies is not on it"


def test_of_two_that_contradict_one_another_nothing_is_placed(tmp_path: Path) -> None:
    readings = ("hole ahead of rear end: 300 mm by rule", "hole behind front end: 300 mm by rule",
                "hole above lower edge: 90 mm by rule")  # fmt: skip
    told, position = on_panel(tmp_path, slip("removed hook", "from: panel", *readings))
    assert at(position, "hook") is None
    assert position.unsolved["hook"] == "the readings of hole contradict one another"
    assert position.suspects == ()
    ((one, other),) = position.contradicting
    assert {told.book.readings[id].text.split(":")[0] for id in (one, other)} == {
        "hole ahead of rear end", "hole behind front end"
    }  # fmt: skip
    assert others_are_right(position)
    (finding,) = (f for f in told.judgement.findings if f.word == "suspect-measurement")
    assert "do not hold together; which one is wrong cannot be told" in finding.message


HELD = ("held by: weld", "way round: foot up")
ACROSS = ("hole above lower edge: 90 mm by rule", "slot above lower edge: 120 mm by rule")


@pytest.mark.parametrize(
    ("readings", "unsure"),
    [
        (("hole ahead of rear end: 300 mm by rule", "hole behind front end: 700 mm by rule", *ACROSS), 0),
        (("hole ahead of rear end: 300 mm by rule", "hole behind front end: 300 mm by rule", *ACROSS), 2),
        # The jig hole is 200 mm away along the panel alone.
        (("hole ahead of rear end: 300 mm by rule", "slot ahead of rear end: 380 mm by rule",
          "hole to jig hole: 260 mm by rule"), 0),
        (("hole ahead of rear end: 300 mm by rule", "slot ahead of rear end: 380 mm by rule",
          "hole to jig hole: 60 mm by rule"), 1),
        # From the rivet to the jig hole it is 316 mm.
        (("hole to jig hole: 220 mm by rule", "hole to rivet: 140 mm by rule", *ACROSS[1:],
          "slot ahead of rear end: 380 mm by rule"), 0),
        (("hole to jig hole: 120 mm by rule", "hole to rivet: 140 mm by rule", *ACROSS[1:],
          "slot ahead of rear end: 380 mm by rule"), 2),
        (("hole to jig hole: 520 mm by rule", "hole to rivet: 140 mm by rule", *ACROSS[1:],
          "slot ahead of rear end: 380 mm by rule"), 2),
    ],
)  # fmt: skip
def test_a_part_that_hangs_on_readings_that_cannot_all_be_right_is_not_recorded(
    tmp_path: Path, readings: tuple[str, ...], unsure: int
) -> None:
    rivet = slip("measured panel", "rivet ahead of rear end: 200 mm by rule", "rivet above lower edge: 100 mm by rule")
    told, position = on_panel(tmp_path, rivet, slip("removed hook", "from: panel", *HELD, *readings))
    word = told.judgement.records["hook"].word
    assert word == ("partly recorded" if unsure else "position recorded")
    found = {id for ids in position.contradicting for id in ids}
    assert len(found) == unsure
    assert all(not told.judgement.standings[id].counts and told.judgement.standings[id].why for id in found)
    assert (at(position, "hook") is None) == bool(unsure)
    named = [finding for finding in told.judgement.findings if finding.word == "suspect-measurement"]
    assert len(named) == bool(unsure)
    assert others_are_right(position)


def test_what_was_measured_from_a_part_of_unsure_place_is_not_recorded_either(tmp_path: Path) -> None:
    """The hook is off, and where it sat contradicts itself; the lug hangs on the hook, the cap on the lug."""
    hook = slip("removed hook", "from: panel", *HELD, *ACROSS, "hole ahead of rear end: 300 mm by rule",
                "hole behind front end: 300 mm by rule")  # fmt: skip
    ties = [slip(f"removed {part}", "from: panel", *HELD, *ACROSS, f"hole ahead of hole of {other}: 50 mm by rule")
            for part, other in (("lug", "hook"), ("cap", "lug"), ("tab", "jig"))]  # fmt: skip
    free = slip("part jig", "from: panel")
    told, position = on_panel(tmp_path, free, hook, *ties)
    words = {part: told.judgement.records[part].word for part in ("hook", "lug", "cap", "tab")}
    assert words == {"hook": "partly recorded", "lug": "partly recorded", "cap": "partly recorded",
                     "tab": "position recorded"}  # fmt: skip
    unsure = {id: position.rejected[id] for ids in position.contradicting for id in ids}
    whole, again = Recorder(told.book, unsure=unsure), Recorder(told.book)
    first = {part: again.sized(part) for part in told.book.parts}
    again = again.doubting(unsure)
    assert {part: whole.sized(part) for part in first} == {part: again.sized(part) for part in first}
    assert whole.standings == again.standings
    assert again.sized("tab") is first["tab"], "nothing of it changed"


def test_where_the_sum_starts_from_is_never_in_doubt(tmp_path: Path) -> None:
    """The guard's place from the front end is checked, from the rear end it is not: 1000 mm or 300 is wrong."""
    panel = slip("measured panel", "rear end to front end: 1000 mm by rule", "lower edge to upper edge: 400 mm by rule")
    parts = [
        slip(f"removed {name}", "from: panel", f"hole ahead of rear end: {x} mm by rule",
             f"hole above lower edge: {y} mm by rule", f"hole below upper edge: {400 - y} mm by rule")
        for name, x, y in (("stay", 200, 100), ("clamp", 700, 150))
    ]  # fmt: skip
    guard = slip("removed guard", "from: panel", "hole behind front end: 300 mm by rule",
                 "hole above lower edge: 90 mm by rule", "hole behind front end: 300 mm by tape",
                 "hole ahead of rear end: 300 mm by rule")  # fmt: skip
    told = tell_files(tmp_path, {NOTE: panel + "".join(parts) + guard})
    (position,) = (each for each in told.judgement.positions if each.parts)
    assert others_are_right(position)
    assert position.suspects == ()
    assert at(position, "guard") is None
    assert any(f.word == "suspect-measurement" and "cannot be told" in f.message for f in told.judgement.findings)


def test_a_point_that_a_distance_says_nothing_about_does_not_lose_the_rest(tmp_path: Path) -> None:
    """The circle about the jig hole just does not reach the line: square to it the hole may be anywhere nearby."""
    readings = ("hole ahead of rear end: 300 mm by rule", "hole to jig hole: 198 mm by rule")
    _, position = on_panel(tmp_path, slip("removed hook", "from: panel", *readings))
    hook = next((spot for spot in position.spots if spot.owner == "hook"), None)
    assert hook is None or hook.ellipse95[0] > 10
    assert others_are_right(position)


# --- on which side


@pytest.mark.parametrize(
    ("readings", "across"),
    [
        (("hole to seam: 50 mm by rule",), False),
        (("hole to seam: 150 mm by rule",), True),
        (("hole below seam: 150 mm by rule",), None),  # then it is wrong, as words say on which side
        (("hole to seam: 90 mm by rule",), None),  # it fits on neither side
    ],
)
def test_a_seam_may_run_between_two_holes(tmp_path: Path, readings: tuple[str, ...], across: bool | None) -> None:
    """The seam lies 150 mm above the lower edge, the hole of the stay below it, that of the hook above or below."""
    below = across is False
    seam = slip("measured panel", "seam above lower edge: 150 mm by rule", "seam below upper edge: 250 mm by rule")
    stay = slip("measured stay", "on: panel", "hole to seam: 50 mm by rule")
    y = 100 if below else 300
    hook = ("hole ahead of rear end: 300 mm by rule", f"hole above lower edge: {y} mm by rule",
            f"hole below upper edge: {400 - y} mm by rule", "hole behind front end: 700 mm by rule")  # fmt: skip
    told, position = on_panel(tmp_path, seam, stay, slip("removed hook", "from: panel", *hook, *readings))
    found = [finding for finding in told.judgement.findings if finding.word == "suspect-measurement"]
    assert len(found) == (across is None)
    assert [told.book.readings[id].part for id in position.across] == (["hook"] if across else [])
    remarks = [remark for reading in told.book.readings_of("hook")
               for remark in Viewer(told.book, told.judgement, "shop").reading(reading.id).remarks]  # fmt: skip
    assert any("on the other side" in remark for remark in remarks) == bool(across)
    assert others_are_right(position)
    place = at(position, "hook")
    assert place
    stay_at = at(position, "stay")
    assert stay_at
    assert place[1] - stay_at[1] == pytest.approx(y - 100, abs=0.5)


def test_a_parts_edge_lies_on_the_side_of_the_panels_edge_where_all_else_is(tmp_path: Path) -> None:
    bracket = slip("removed bracket", "from: panel", "lower edge to flange edge: 20 mm by rule",
                   "hole to flange edge: 50 mm by rule", "hole to front end: 300 mm by rule")  # fmt: skip
    told = tell_files(tmp_path, {NOTE: bracket})
    (position,) = told.judgement.positions
    edges = {edge.words: edge.offset for edge in position.edges}
    (hole,) = position.of("bracket")
    flange = edges["flange edge"]
    assert (edges["lower edge"] - flange) * (hole.v - flange) > 0
    assert abs(edges["lower edge"] - flange) == pytest.approx(20)


EITHER = ("hole ahead of rear end: 300 mm by rule", "slot ahead of rear end: 380 mm by rule", "way round: foot up")


@pytest.mark.parametrize(
    ("reading", "placed"),
    [
        ("lower edge to jig hole: 30 mm by rule", False),
        ("lower edge below jig hole: 30 mm by rule", True),
        ("lower edge above jig hole: 30 mm by rule", True),
    ],
)
def test_on_which_side_of_a_parts_edge_a_hole_of_the_panel_lies_is_not_guessed(
    tmp_path: Path, reading: str, placed: bool
) -> None:
    told, position = on_panel(tmp_path, slip("removed hook", "from: panel", *EITHER, reading))
    assert any(edge.owner == "hook" for edge in position.edges) == placed
    why = [why for id, why in position.rejected.items() if told.book.readings[id].part == "hook"]
    assert any("nothing says on which side" in each for each in why) != placed
    assert (told.judgement.records["hook"].word == "position recorded") == placed
    assert any(f.word == "two-spots" and "`below`" in f.help for f in told.judgement.findings) != placed


def test_other_readings_may_tell_the_side(tmp_path: Path) -> None:
    more = "lower edge to jig hole: 30 mm by rule", "lower edge above lower edge of panel: 170 mm by rule"
    told, position = on_panel(tmp_path, slip("removed hook", "from: panel", *EITHER, *more))
    (edge,) = (edge for edge in position.edges if edge.owner == "hook")
    base = next(edge.offset for edge in position.edges if edge.owner == "panel" and edge.words == "lower edge")
    assert edge.offset - base == pytest.approx(170, abs=0.5)
    assert told.judgement.records["hook"].word == "position recorded"
    assert position.fits


@pytest.mark.parametrize("more", [(), ("slot above lower edge: 120 mm by rule", "slot to seam: 30 mm by rule")])
def test_it_is_said_where_all_else_may_as_well_lie_on_the_other_side(tmp_path: Path, more: tuple[str, ...]) -> None:
    """The seam is 150 or 50 mm above the lower edge; a second hole tells."""
    readings = ("hole above lower edge: 100 mm by rule", "hole to seam: 50 mm by rule",
                "hole ahead of rear end: 300 mm by rule", *more)  # fmt: skip
    told, position = on_panel(tmp_path, slip("removed hook", "from: panel", *readings))
    (seam,) = (edge for edge in position.edges if edge.words == "seam")
    assert ("fit as well with it on the other" in seam.assumed) == (not more)
    faces = Faces(Viewer(told.book, told.judgement, "shop"))
    (view,) = faces.on_page(told.book.parts["hook"])["positions"]  # type: ignore[misc]
    sentence = "On which side of the seam all else lies is assumed: the readings fit either."
    assert (sentence in view.doubts, sentence in view.templates.care) == (not more, not more)
    (other,) = faces.on_page(told.book.parts["stay"])["positions"]  # type: ignore[misc]
    assert sentence not in other.doubts, "it was not measured from the seam"
    if more:
        base = next(edge.offset for edge in position.edges if (edge.owner, edge.words) == ("panel", "lower edge"))
        assert seam.offset - base == pytest.approx(150, abs=0.5)


def test_left_and_right_tell_the_side(tmp_path: Path) -> None:
    rails = slip("removed rail, left", "from: frame", "outer edge to outer edge of rail, right: 900 mm by tape",
                 "hole to outer edge: 20 mm by rule", "hole to rear end of frame: 40 mm by rule")  # fmt: skip
    other = slip("part rail, right", "from: frame")
    told = tell_files(tmp_path, {NOTE: other + rails})
    (position,) = (each for each in told.judgement.positions if each.parts)
    edges = {edge.owner: edge.offset for edge in position.edges if edge.words == "outer edge"}
    assert edges["rail-left"] - edges["rail-right"] == pytest.approx(900), "the first side is drawn upwards"


# --- adding up


def test_most_readings_say_where_something_is() -> None:
    assert agreed([(10.0, 1.0)]) == 10.0
    assert agreed([(10.0, 1.0), (300.0, 1.0)]) == 10.0, "of equals the first"
    assert agreed([(300.0, 1.0), (10.0, 1.0), (11.0, 1.0)]) == 10.0
    assert agreed([(300.0, 1.0), (10.0, 0.2), (11.0, 0.2)]) == 300.0, "one by rule against two by eye"


def test_what_may_lie_on_either_side_is_placed_where_two_agree() -> None:
    def link(a: str, b: str, value: float, either: bool) -> Link:
        return Link(Tape("", "", a, b, None, 0, value, 0.5, 0.9), 1, 1, "", not either, either)

    links = [link("A", "edge", 100, False), link("B", "edge", 160, False)]
    links += [link("hole", "A", 40, True), link("hole", "B", 20, True)]
    assert Chain(["edge", "A", "B", "hole"], links).at[1]["hole"] == pytest.approx(140)


def test_a_point_that_nothing_holds_costs_its_face_nothing(tmp_path: Path) -> None:
    """In this build a distance only touches its line on a face of fifty parts: all of them were lost with it."""
    make(tmp_path / "build", 50, 400, 4000, misread=0.02, on_a_panel=50)
    told = tell_build(tmp_path / "build")
    placed = {position.host: len(position.spots) for position in told.judgement.positions if position.parts}
    assert min(placed.values()) > 30
