"""Words of fixings, shims, marks, routes and counts that place nothing, each beside words that do."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.builds import tell_files
from tests.test_not_recorded import FIRST, WELDED, record_of, slip, word

ROUND = ("from: shaft", "face: round")
TWO_SPOTS = WELDED[:-1]


# --- what holds a part in place


@pytest.mark.parametrize(
    ("held", "recorded"),
    [
        ("2 hook bolts over the flange", False),
        ("2 T-bolts in the channel", False),
        ("4 bolts into tee nuts", True),
        ("2 bolts, sliding nuts in the rail", False),
        ("lock nut on the threaded rod", False),
        ("2 bolts with lock nuts", True),
        ("clevis pin in one of 5 holes", False),
        ("clevis pin, third hole from the front", True),
        ("clevis pin, turnbuckle", False),
        ("bolts missing", False),
        ("bolts were missing, wired on", False),
        ("4 bolts, one missing", True),
        ("4 bolts (one missing)", True),
        ("screws, holes stripped and filled", False),
        ("2 bolts through wallowed holes", False),
        ("2 bolts, no holes left", False),
        ("4 bolts, one of the holes stripped", True),
        ("cage-nuts", False),
        ("weld-on nuts, 2 bolts", True),
        ("pushed on the flange edge", False),
        ("pushed on through both holes of the flange", True),
        ("2 screws, clip on the flange", True),
        ("pinch bolt", False),
        ("pinch bolt on splines", True),
        ("hooked on, no bolts", False),
        ("held by friction, not by the bolts", False),
        ("2 allen key bolts in slots", False),
        ("2 nuts and welds", False),
    ],
)
def test_what_lets_it_slide_or_is_not_there_are_no_own_holes(tmp_path: Path, held: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", "from: panel", f"held by: {held}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    "held",
    ["2 bolts, no shims", "no shims, 2 bolts", "4 bolts M10, shims none", "2 bolts (not welded)", "2 bolts; not welded",
     "4 oval head screws", "4 bolts, bonded rubber mounts between", "strap hinge, 4 bolts",
     "captive nuts welded in the box, 2 bolts", "2 nuts welded to the back, 2 bolts M6", "4 off 3/8 BSW",
     "2no 5/16 UNF", "2 x M6 into rivnuts", "2 M8 setscrews"],
)  # fmt: skip
def test_own_holes_are_so_whatever_else_is_named(tmp_path: Path, held: str) -> None:
    assert word(tmp_path / "a", slip("removed bracket", "from: panel", f"held by: {held}")) == "position recorded"


@pytest.mark.parametrize(
    "held",
    ["2 bolts and shims", "2 bolts, welded", "4 bolts in oval holes", "4 bolts, bonded", "rubber strap, 4 bolts",
     "2 bolts, nuts and bracket welded", "M8 clamp"],
)  # fmt: skip
def test_what_only_sounds_like_it_is_no_leave_for_the_real_thing(tmp_path: Path, held: str) -> None:
    assert word(tmp_path / "a", slip("removed bracket", "from: panel", f"held by: {held}")) != "position recorded"


@pytest.mark.parametrize(
    ("held", "recorded"),
    [
        ("grub screw", False),
        ("grub screw in a tapped hole of the collar", False),
        ("grub screw in a drilled dimple", True),
        ("woodruff key and grub screw", True),
        ("pinch bolt", False),
        ("pinch bolt, split pin through its nut", False),
        ("1 clip", False),
        ("split collar, 1 bolt", False),
        ("saddle + 2 bolts", False),
        ("set screw on plain shaft", False),
        ("2 bolts, split pins", False),
        ("bolt through the collar", False),
        ("bolt through the tube", True),
        ("2 bolts into holes in the tube", True),
        ("roll pin", True),
        ("dowel through the shaft", True),
        ("4 rivets", True),
        ("pressed on", False),
        ("pressed on up to the shoulder", True),
        ("key", True),
    ],
)
def test_on_a_shaft_only_what_goes_into_it_gives_a_place(tmp_path: Path, held: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *ROUND, f"held by: {held}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("shims", "recorded"),
    [
        ("2 x 1 mm under the rear bolt", True),
        ("1/16 in under the front", True),
        ("one under the rear bolt", True),
        ("none", True),
        ("no shims fitted", True),
        ("some under the rear bolt", False),
        ("some under bolt 2", False),
        ("some under one bolt", False),
        ("none at the front, some at the rear", False),
        ("3 left, 2 right, thickness not measured", False),
        ("?", False),
        ("lost them", False),
        ("no idea", False),
    ],
)
def test_shims_that_nobody_counted_leave_it_open(tmp_path: Path, shims: str, recorded: bool) -> None:
    told = record_of(tmp_path, slip("removed bracket", "from: panel", "held by: 2 bolts", f"shims: {shims}"))
    assert (told.word == "position recorded") == recorded
    assert told.located_by == ("own holes" if recorded else "adjustment")


# --- marks, templates and ways round that are none


@pytest.mark.parametrize(
    ("line", "recorded"),
    [
        ("marks: rubbed off by the wire brush", False),
        ("marks: chalk, washed off", False),
        ("marks: paint line (gone now)", False),
        ("marks: two dots, paint worn off round them", True),
        ("marks: scribed line on either side of the foot", True),
        ("marks: two dots, not on the lid", True),
        ("marks: didn't make any", False),
        ("marks: couldnt find any", False),
        ("marks: should have made some", False),
        ("marks: to do", False),
        ("marks: must mark", False),
        ("marks: do before cutting", False),
        ("marks: n", False),
        ("marks: nil", False),
        ("marks: N scribed on both", True),
        ("template: will do Saturday", False),
        ("template: Will has it", True),
        ("template: need to make one", False),
        ("template: make from the right one", False),
        ("template: made from card", True),
        ("template: todo", False),
        ("template: tbc", False),
        ("template: paper one got wet, ruined", False),
        ("template: binned", False),
        ("template: half done", False),
        ("template: unfinished", False),
        ("template: card, thrown away", False),
        ("template: card, traced off the old one", True),
        ("template: nope", False),
        ("template: didn't", False),
        ("template: card, must not get wet", True),
        ("template: May 2026, in the drawer", True),
    ],
)
def test_words_that_say_it_is_gone_or_still_to_do_are_no_record(tmp_path: Path, line: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", "from: panel", "held by: 2 welds", line))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("marks", "treated", "with_", "recorded"),
    [
        ("felt pen round the foot", "panel", "shot blast and 2 coats of epoxy", False),
        ("paint across both", "bracket", "wire brush", False),
        ("chalk", "panel", "paint stripper", False),
        ("felt pen round the foot", "panel", "oil", True),
        ("felt pen round the foot", "lid", "shot blast", True),
        ("scribed round the foot, felt pen over it", "panel", "shot blast", True),
        ("two punch dots", "panel", "shot blast", True),
    ],
)
def test_marks_that_are_only_drawn_do_not_outlive_blasting(
    tmp_path: Path, marks: str, treated: str, with_: str, recorded: bool
) -> None:
    first = slip("removed bracket", "from: panel", "held by: 2 welds", f"marks: {marks}") + slip("part lid")
    told = word(tmp_path, first, slip(f"treated {treated}", "surface: bare steel", f"with: {with_}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("said", "recorded"),
    [
        ("either", False),
        ("either way", False),
        ("either end of the slot to the front", True),
        ("check before cutting", False),
        ("check valve to the front", True),
        ("foot up I think", False),
        ("probably foot up", False),
        ("looks to the rear", True),
    ],
)
def test_a_way_round_that_is_open_tells_no_two_spots_apart(tmp_path: Path, said: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *TWO_SPOTS, f"way round: {said}"))
    assert (told == "position recorded") == recorded


# --- routes and their ends


@pytest.mark.parametrize(
    ("route", "recorded"),
    [
        ("from pump to wherever it went", False),
        ("from pump along chassis to somewhere at the back", False),
        ("from pump along chassis to the back axle", True),
        ("from valve to -", False),
        ("from valve to tbc", False),
        ("from valve to see note", False),
        ("see photos IMG_1 to IMG_5", False),
        ("from here to there", False),
        ("left to right", False),
        ("left lamp to right lamp", True),
        ("front to rear along the beam", False),
        ("from valve to ram I think", False),
        ("from valve to either ram port", False),
        ("other end cut off, was to ram", False),
        ("one end to valve, other end to ram", True),
        ("from solenoid to nothing", False),
        ("from the carburettor to the open end below the sump", True),
        ("from the check valve, cut through the panel, to make-up tank", True),
        ("from no. 3 fuse to no. 4 fuse", True),
        ("from A to A", False),
    ],
)
def test_a_route_without_an_end_that_can_be_found_is_none(tmp_path: Path, route: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed oil hose", f"route: {route}"), part="oil-hose")
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("ends", "recorded"),
    [
        (("red not connected", "blue not connected"), False),
        (("red (was cut)", "blue (cut)"), False),
        (("red to L", "blue to L"), False),
        (("pin 1 red to term A", "pin 2 black to term B"), False),
        (("pin 1 red to term A", "pin 2 black to term B", "lug to the frame"), True),
        (("plug A to the lamp switch", "plug B to the fuse box"), True),
        (("fuse 4, red", "earth stud, black"), True),
    ],
)
def test_two_wires_of_one_end_are_no_two_ends(tmp_path: Path, ends: tuple[str, ...], recorded: bool) -> None:
    told = word(tmp_path, slip("removed lamp wire", *(f"connects: {end}" for end in ends)), part="lamp-wire")
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("line", "gone", "recorded"),
    [
        ("route: from valve to ram", "not coming back: yes", False),
        ("route: from valve to the ram, clipped twice", "not coming back: yes", False),
        ("route: from valve to ram", "why: leaks", True),  # a new one will be there
        ("route: from valve over the ram to filter", "not coming back: yes", True),
        ("route: from valve to ram bracket", "not coming back: yes", True),
    ],
)
def test_a_route_to_what_is_gone_for_good_is_none(tmp_path: Path, line: str, gone: str, recorded: bool) -> None:
    days = slip("removed oil hose", line) + slip("part ram"), slip("scrapped ram", gone)
    told = tell_files(tmp_path, dict(zip((FIRST, "2026-02-10 b/note.md"), days, strict=True))).judgement
    assert (told.records["oil-hose"].word == "position recorded") == recorded
    said = [f for f in told.findings if f.part == "oil-hose" and f.word == "reference-gone"]
    assert bool(said) != recorded


# --- several of a kind


@pytest.mark.parametrize(
    ("line", "recorded"),
    [
        ("bracket pitch: 40 mm", True),
        ("pitch of brackets: 40 mm", True),
        ("hole pitch: 40 mm", False),
        ("tooth pitch: 10 mm", False),
    ],
)
def test_the_pitch_of_its_holes_is_not_that_of_the_row(tmp_path: Path, line: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *WELDED, "count: 4", line))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("name", "line", "recorded"),
    [
        ("bracket", "4 off", False),
        ("bracket", "qty: 4", False),
        ("bracket", "qty: 1", True),
        ("bracket", "note: 4 off the shelf", True),
        ("4 brackets", "", False),
        ("brackets x4", "", False),
        ("bracket 4", "", True),
        ("4 way bracket", "", True),
        ("bracket 40 mm x 4", "", True),
    ],
)
def test_several_are_several_wherever_the_number_stands(tmp_path: Path, name: str, line: str, recorded: bool) -> None:
    part = name.replace(" ", "-")
    told = word(tmp_path, slip(f"removed {name}", *WELDED, *([line] if line else ())), part=part)
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("marks", "count", "recorded"),
    [
        ("scribed round the first one", 4, False),
        ("scribed all round the first one", 4, False),
        ("punch dots on one of them", 4, False),
        ("scribed round the first one", 1, True),
        ("one dot each, two on the last one", 4, True),
        ("one punch dot on each", 4, True),
    ],
)
def test_marks_of_one_place_no_others(tmp_path: Path, marks: str, count: int, recorded: bool) -> None:
    told = word(
        tmp_path, slip("removed bracket", "from: panel", "held by: glue", f"count: {count}", f"marks: {marks}")
    )
    assert (told == "position recorded") == recorded
