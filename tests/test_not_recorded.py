"""What sounds like a record and is none: the worst thing the tool can say is a wrong "position recorded".

Each case stands beside one that differs in a word and is a record, so that none is refused for want of reading it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.judge.refits import refits
from journal.judge.verdicts import Record
from tests.builds import tell_files

FIRST, SECOND, THIRD = "2026-01-10 a/note.md", "2026-02-10 b/note.md", "2026-03-10 c/note.md"
HOLD = (
    "hole 1 to lower edge: 22 mm by rule",
    "hole 2 to lower edge: 22 mm by rule",
    "hole 1 to rear end: 150 mm by rule",
    "way round: foot up",
)
WELDED = ("from: panel", "held by: 2 spot welds", *HOLD)
BOLTED = ("from: panel", "held by: 2 bolts", "way round: foot up")


def slip(first: str, *lines: str) -> str:
    return "\n".join((f"```{first}", *lines, "```", ""))


def record_of(tmp_path: Path, *days: str, part: str = "bracket") -> Record:
    notes = dict(zip((FIRST, SECOND, THIRD), days, strict=False))
    return tell_files(tmp_path, notes).judgement.records[part]


def word(tmp_path: Path, *days: str, part: str = "bracket") -> str:
    return record_of(tmp_path, *days, part=part).word


# --- words that say there is none


@pytest.mark.parametrize(
    ("line", "recorded"),
    [
        ("template: cardboard, in the drawer", True),
        ("template: no. 3, in the drawer", True),
        ("template: none", False),
        ("template: no", False),
        ("template: lost", False),
        ("template: not traced yet", False),
        ("template: to be made", False),
        ("marks: two punch dots", True),
        ("marks: none found", False),
        ("marks: ?", False),
        ("marks: painted over, cannot be seen", False),
        ("marks: two dots, not sure which", False),
    ],
)
def test_words_that_say_there_is_none_are_no_record(tmp_path: Path, line: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", "from: panel", "held by: 2 welds", line))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("lines", "recorded"),
    [
        (("route: from tank, over the rail, to pump",), True),
        (("route: from ? to ?",), False),
        (("route: from tank to, not noted",), False),
        (("route: unknown, to be found out",), False),
        (("connects: one end to coil", "connects: other end to pump"), True),
        (("connects: one end to coil", "connects: other end unknown"), False),
    ],
)
def test_a_route_that_is_not_known_is_no_route(tmp_path: Path, lines: tuple[str, ...], recorded: bool) -> None:
    told = word(tmp_path, slip("removed fuel pipe", *lines), part="fuel-pipe")
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(("said", "recorded"), [("foot up", True), ("?", False), ("unknown", False), ("no", False)])
def test_a_way_round_that_nobody_knows_tells_no_two_spots_apart(tmp_path: Path, said: str, recorded: bool) -> None:
    lines = [line for line in WELDED if not line.startswith("way round")]
    told = word(tmp_path, slip("removed bracket", *lines, f"way round: {said}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("held", "recorded"),
    [
        ("2 bolts", True),
        ("no. 8 screws", True),
        ("2 bolts and weld nuts", True),
        ("4 bolts, long ones", True),
        ("4 bolts through elongated holes", False),
        ("2 bolts, oval holes", False),
        ("2 bolts through a long hole", False),
        ("4 spotwelds and a bolt", False),
        ("2 plugwelds, 1 stud", False),
        ("no bolts, it just lies there", False),
        ("nothing but 1 pin that fell out", False),
        ("bolt holes rusted away", False),
    ],
)
def test_what_leaves_it_loose_are_no_own_holes(tmp_path: Path, held: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", "from: panel", f"held by: {held}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("mark", "recorded"),
    [("", True), (" (by the edge)", True), (", in doubt", False), (", not sure", False), (" (doubtful)", False),
     (", only a guess", False), (" (not quite sure which edge)", False)],
)  # fmt: skip
def test_a_reading_that_is_doubted_in_any_words_holds_nothing(tmp_path: Path, mark: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *WELDED[:4], f"{WELDED[4]}{mark}", WELDED[5]))
    assert (told == "position recorded") == recorded


# --- several of one thing


@pytest.mark.parametrize(
    ("line", "recorded"),
    [
        ("pitch: 110 mm", True),
        ("thread pitch: 1.25 mm", False),
        ("pitch: 110 mm, in doubt", False),
    ],
)
def test_only_how_far_they_are_apart_places_the_others(tmp_path: Path, line: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *WELDED, "count: 4", line))
    assert (told == "position recorded") == recorded


# --- what it rested on has gone


@pytest.mark.parametrize(
    ("away", "recorded"),
    [
        ("front end", True),
        ("front flange", True),
        ("all but the lower edge and the rear end", True),
        ("all", False),
        ("whole panel", False),
        ("everything", False),
        ("bottom edge", False),
        ("back end", False),
        ("lower half", False),
        ("rear third", False),
        ("rear 150 mm", False),
        ("all but the front end", False),
        ("rotten area round the bracket", False),
    ],
)
def test_what_was_cut_away_holds_nothing(tmp_path: Path, away: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *WELDED), slip("cut panel", f"away: {away}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("away", "recorded"),
    [
        ("drain hole", True),
        ("front end", True),
        ("lower half with the holes", False),
        ("bracket holes", False),
        ("fixing holes", False),
        ("all", False),
        ("rear third", False),
    ],
)
def test_holes_that_were_cut_away_hold_nothing(tmp_path: Path, away: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *BOLTED), slip("cut panel", f"away: {away}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("carries", "recorded"),
    [
        ("all", True),
        ("all but the drain", True),
        ("own holes", True),
        ("all except bolt holes", False),
        ("all, but not the own holes", False),
        ("all but holes for bracket", False),
    ],
)
def test_holes_that_were_not_carried_over_hold_nothing(tmp_path: Path, carries: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *BOLTED), slip("replaced panel", f"carries: {carries}"))
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(
    ("tail", "recorded"),
    [("500 mm by rule", True), ("503 mm by rule", False), ("503 mm by rule, in doubt", False)],
)
def test_a_doubtful_reading_carries_nothing_over(tmp_path: Path, tail: str, recorded: bool) -> None:
    old = slip("part panel") + slip("measured panel", "rear end to lower edge: 500 mm by rule")
    new = slip("replaced panel", "by: folded steel") + slip("measured panel", f"rear end to lower edge: {tail}")
    told = record_of(tmp_path, old + slip("removed bracket", *WELDED), new)
    assert (told.word == "position recorded") == recorded


def test_a_template_of_the_part_before_it_was_replaced_is_none(tmp_path: Path) -> None:
    first = slip("removed bracket", "from: panel", "held by: 2 welds", "template: cardboard")
    assert word(tmp_path / "a", first) == "position recorded"
    told = word(tmp_path / "b", first, slip("replaced bracket", "by: a wider one"), slip("removed bracket"))
    assert told != "position recorded"


@pytest.mark.parametrize(("moved", "recorded"), [("no", True), ("yes", False), ("yes.", False)])
def test_a_picture_of_the_day_of_a_move_tells_no_two_spots_apart(
    tmp_path: Path, moved: str, recorded: bool
) -> None:
    """The picture may be of before or after it."""
    lines = [line for line in HOLD if not line.startswith("way round")]
    first = slip("removed bracket", "from: panel", "held by: 2 welds", "photos: IMG_1")
    second = slip("refitted bracket", "on: panel", f"moved: {moved}") + slip("measured bracket", *lines)
    notes = {FIRST: first + second + slip("removed bracket"), FIRST.replace("note.md", "IMG_1.jpg"): "a picture"}
    told = tell_files(tmp_path, notes).judgement.records["bracket"].word
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize(("said", "recorded"), [("", True), ("off the machine: no", True),
                                                ("off the machine: yes.", False), ("off the machine: mostly", False),
                                                ("off the machine: yes, on the bench", False)])  # fmt: skip
def test_a_picture_on_the_bench_is_none_in_place(tmp_path: Path, said: str, recorded: bool) -> None:
    lines = [line for line in HOLD if not line.startswith("way round")]
    shown = slip("photo IMG_1", "shows: bracket", said) if said else ""
    notes = {FIRST: slip("removed bracket", "from: panel", "held by: 2 welds", "photos: IMG_1", *lines) + shown,
             FIRST.replace("note.md", "IMG_1.jpg"): "a picture"}  # fmt: skip
    told = tell_files(tmp_path, notes).judgement.records["bracket"].word
    assert (told == "position recorded") == recorded


@pytest.mark.parametrize("hosts", ["sill; rail", "rail; sill"])
def test_a_part_on_two_hosts_is_lost_with_either(tmp_path: Path, hosts: str) -> None:
    notes = {FIRST: slip("part brace", f"from: {hosts}", "held by: 4 bolts"), SECOND: slip("scrapped rail")}
    found = [finding.word for finding in tell_files(tmp_path, notes).judgement.findings if finding.part == "brace"]
    assert "lost-with-host" in found


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("", True),
        (slip("cut panel", "away: front end"), False),
        (slip("scrapped panel"), False),  # then it is said to be gone
    ],
)
def test_a_job_that_cut_the_host_leaves_no_part_unsaid(tmp_path: Path, more: str, told: bool) -> None:
    job, done = slip("job cut out panel", "cuts: panel"), slip("done cut out panel")
    files = {FIRST: slip("removed bracket", *BOLTED) + job, SECOND: more + done}
    found = [f.message for f in tell_files(tmp_path, files).judgement.findings if f.word == "host-going"]
    assert bool(found) == told
    assert all('"cut out panel" is done and no slip says what went' in message for message in found)


@pytest.mark.parametrize(
    ("first", "second", "left"), [("template: A", "template: B", "A"), ("face: web", "face: lip", "web")]
)
def test_of_a_key_said_twice_the_first_is_taken(tmp_path: Path, first: str, second: str, left: str) -> None:
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", "from: panel", first, second)})
    said = told.book.parts["bracket"].latest(first.partition(":")[0])
    assert said is not None
    assert said.text == left
    assert [finding.word for finding in told.judgement.findings if finding.word == "said-twice"] == ["said-twice"]


TRAY = ("hole to web: 10 mm by rule", "hole to front end: 80 mm by rule", "slot to web: 10 mm by rule", "way round: up")
STAY = ("hole 1 below lower edge of tray: 22 mm by rule", "hole 2 below lower edge of tray: 22 mm by rule",
        "hole 1 ahead of rear end of tray: 150 mm by rule", "way round: foot up")  # fmt: skip


@pytest.mark.parametrize(
    ("tray", "recorded"),
    [
        (slip("part tray", "from: panel"), True),  # on
        (slip("removed tray", "from: panel", "held by: 2 welds"), False),
        (slip("removed tray", "from: panel", "held by: 2 welds", *TRAY), True),
        (slip("removed tray", "from: panel", "held by: 2 welds", *(f"{line.split(':')[0]} of stay:{line.split(':')[1]}"
                                                                   for line in TRAY)), False),  # they hold one another
    ],
)  # fmt: skip
def test_what_was_measured_from_a_neighbour_that_is_lost_holds_nothing(
    tmp_path: Path, tray: str, recorded: bool
) -> None:
    stay = slip("removed stay", "from: panel", "held by: 2 welds", *STAY)
    told = tell_files(tmp_path, {FIRST: tray, SECOND: stay}).judgement
    assert (told.records["stay"].word == "position recorded") == recorded
    whys = {standing.why for standing in told.standings.values()}
    assert ("tray is off, and where it sat is not recorded" in whys) != recorded


# --- one part under two names


@pytest.mark.parametrize(
    ("host", "gone", "told"),
    [
        ("the panel", "panel", "lost"),
        ("panel", "the panel", "lost"),
        ("panel (near the tank)", "panel", "named"),
        ("inside of panel", "panel", "named"),
        ("panel lower edge", "panel", "named"),
        ("panel and frame", "panel", "named"),
        ("left panel", "panel, left", "named"),
        ("panel, left", "left panel", "named"),
        ("panel, left", "panel", "named"),
        ("panel front", "panel", ""),  # a part of its own
        ("panel stiffener", "panel", ""),
        ("a frame", "frame", ""),
    ],
)
def test_a_host_under_another_name_is_told_or_is_the_same(tmp_path: Path, host: str, gone: str, told: str) -> None:
    first = slip("part frame") + slip("removed bracket, left", f"from: {host}", "held by: 2 bolts", "way round: up")
    files = {FIRST: first, SECOND: slip(f"scrapped {gone}", "not coming back: yes")}
    found = {finding.word for finding in tell_files(tmp_path, files).judgement.findings}
    assert ("reference-gone" in found) == (told == "lost")
    assert ("nearly-same-name" in found) == (told == "named")


@pytest.mark.parametrize(("said_of", "lost"), [("left", {"left"}), ("both", {"left", "right"})])
def test_another_name_of_one_side_is_that_side(tmp_path: Path, said_of: str, lost: set[str]) -> None:
    first = slip(f"part side panel, {said_of}", "also called: near side panel") + "".join(
        slip(f"removed bracket, {side}", f"from: side panel, {side}", "held by: 2 bolts", "way round: up")
        for side in ("left", "right")
    )
    gone = slip("scrapped near side panel" + (", both" if said_of == "both" else ""), "not coming back: yes")
    told = tell_files(tmp_path, {FIRST: first, SECOND: gone})
    words = {side: told.judgement.records[f"bracket-{side}"].word for side in ("left", "right")}
    assert {side for side, word in words.items() if word != "position recorded"} == lost


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("held by: 2 bolts", False),
        ("marks: two scribed lines across the joint", False),
        ("template: cardboard, on the wall", True),
    ],
)
def test_before_the_saw_what_is_only_marked_on_the_host_is_named(tmp_path: Path, line: str, kept: bool) -> None:
    """Match marks go with the panel, as its holes do; a template stays."""
    held = () if line.startswith("held") else ("held by: 2 welds",)
    days = slip("part panel", "going: next week") + slip("removed bracket", "from: panel", "way round: up", *held, line)
    told = tell_files(tmp_path, {FIRST: days}).judgement
    assert told.records["bracket"].word == "position recorded"
    assert [finding.word for finding in told.findings].count("host-going") == (not kept)


# --- a place that nobody measured


@pytest.mark.parametrize(("again", "place"), [("150 mm", 150.0), ("150.5 mm", 150.25), ("250 mm", 250.0)])
def test_of_two_readings_that_contradict_one_another_the_newer_one_says_where(
    tmp_path: Path, again: str, place: float
) -> None:
    """Those that agree are one reading taken twice."""
    more = slip("measured bracket", "on: panel", f"hole 1 to rear end: {again} by rule")
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *WELDED), SECOND: more})
    [position] = told.judgement.positions
    spot = next(spot for spot in position.spots if spot.words == "hole 1")
    assert abs(spot.u) == pytest.approx(place, abs=0.25)
    assert ("disagree" in {finding.word for finding in told.judgement.findings}) == (again == "250 mm")


@pytest.mark.parametrize(
    ("value", "recorded"),
    [("150 mm", True), ("140 to 160 mm", True), ("about 150 mm", True), ("150 mm ± 20", True), ("20 to 90 mm", False),
     ("150 mm ± 200", False), ("100 to 400 mm by rule", False)],
)  # fmt: skip
def test_a_range_that_says_about_where_is_no_place(tmp_path: Path, value: str, recorded: bool) -> None:
    lines = ("held by: 2 welds", *HOLD[:2], f"hole 1 to rear end: {value}", HOLD[-1])
    assert (word(tmp_path, slip("removed bracket", "from: panel", *lines)) == "position recorded") == recorded


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("hole 1 right of drain hole: 120 mm", True),
        ("hole 1 to left end: 120 mm", True),
        ("hole 1 inboard of drain hole: 120 mm", False),
        ("hole 1 outboard of drain hole: 120 mm", False),
        ("hole 1 to rear end: 120 mm", False),
        ("hole 1 ahead of drain hole: 120 mm", False),
    ],
)
def test_twins_do_not_sit_in_one_place(tmp_path: Path, line: str, told: bool) -> None:
    """What lies so far from one side of the panel is one of them; nothing says where the other is."""
    lines = (line, "hole 1 to lower edge: 22 mm", "hole 2 to lower edge: 22 mm", "way round: foot up")
    days = slip("part panel") + slip("removed stay, both", "from: panel", "held by: 2 welds", *lines)
    found = tell_files(tmp_path, {FIRST: days}).judgement
    assert [finding.word for finding in found.findings].count("which-one") == 2 * told
    for side in ("left", "right"):
        assert (found.records[f"stay-{side}"].word == "position recorded") != told


# --- put back somewhere else


SIDES = slip("part panel, both") + slip("part lid") + slip("part seat, left", "from: panel, left")
OFF = slip("removed bracket, left", "from: panel, left", "held by: 2 bolts", "way round: foot up")


@pytest.mark.parametrize(
    ("before", "refit", "told"),
    [
        ("", ("on: panel, left",), False),
        ("", (), False),
        ("", ("on: panel, right",), True),
        ("", ("on: lid",), True),
        ("", ("on: panel, right", "moved: yes"), False),
        ("", ("on: panel, right", "moved: no"), True),
        # What it came off is gone: it is on what took its place, under another name.
        (slip("scrapped panel, left"), ("on: lid",), False),
        (slip("cut panel, left"), ("on: lid",), False),
        (slip("replaced panel, left", "by: new one"), ("on: panel, left",), False),
        (slip("replaced panel, left", "by: new one"), ("on: panel, right",), True),
    ],
)
def test_a_part_that_is_back_on_another_thing_is_told(
    tmp_path: Path, before: str, refit: tuple[str, ...], told: bool
) -> None:
    days = {FIRST: SIDES + OFF, SECOND: before, THIRD: slip("refitted bracket, left", *refit)}
    judged = tell_files(tmp_path, days)
    found = [finding for finding in judged.judgement.findings if finding.word == "refit-off"]
    assert len(found) == told
    [back] = refits(judged.book)
    assert (back.word == "off") == told


@pytest.mark.parametrize(
    ("again", "more", "recorded"),
    [
        ("150 mm", (), True),
        ("150.4 mm", (), True),
        ("170 mm", (), False),
        ("170 mm, in doubt", (), True),
        ("170 mm", ("moved: yes",), False),  # then one reading of its new place is all there is
    ],
)
def test_a_part_that_was_back_elsewhere_and_is_off_again_has_no_sure_place(
    tmp_path: Path, again: str, more: tuple[str, ...], recorded: bool
) -> None:
    """Nothing says which of its two places is where it belongs, and it is never put at half of each."""
    back = slip("refitted bracket", "on: panel", *more, f"hole 1 to rear end: {again} by rule")
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *WELDED), SECOND: back, THIRD: slip("removed bracket")})
    record = told.judgement.records["bracket"]
    assert (record.word == "position recorded") == recorded
    words = [finding.word for finding in told.judgement.findings]
    assert words.count("refit-off") == (again == "170 mm" and not more)
    if again == "170 mm" and not more:
        [position] = told.judgement.positions
        assert [spot.words for spot in position.of("bracket")] == []


@pytest.mark.parametrize(
    ("host", "told"),
    [("", True), (slip("scrapped panel"), False), (slip("replaced panel", "by: new"), False),
     (slip("cut panel"), False), (slip("replaced bracket", "by: a copy"), False)],
)  # fmt: skip
def test_what_went_with_its_host_or_is_new_may_be_put_on(tmp_path: Path, host: str, told: bool) -> None:
    days = {FIRST: slip("part bracket", "from: panel", "held by: 2 bolts"), SECOND: host,
            THIRD: slip("refitted bracket", "on: panel")}  # fmt: skip
    words = {finding.word for finding in tell_files(tmp_path, days).judgement.findings}
    assert ("not-off" in words) == told


@pytest.mark.parametrize(("line", "recorded"), [("moved: no", True), ("moved: yes", False), ("moved:", False)])
def test_a_key_of_yes_or_no_with_nothing_behind_it_is_told_and_taken_the_worse_way(
    tmp_path: Path, line: str, recorded: bool
) -> None:
    days = {FIRST: slip("removed bracket", *WELDED), SECOND: slip("refitted bracket", "on: panel", line),
            THIRD: slip("removed bracket")}  # fmt: skip
    told = tell_files(tmp_path, days)
    assert (told.judgement.records["bracket"].word == "position recorded") == recorded
    words = [finding.message for finding in told.judgement.findings]
    assert ('nothing stands behind "moved"' in words) == (line == "moved:")


# --- on a tube or shaft


@pytest.mark.parametrize(
    ("lines", "recorded"),
    [
        (("boss to left end: 40 mm", "arm square to left end", "way round: arm up"), False),
        (("boss to left end: 40 mm", "arm parallel to shoulder", "way round: arm up"), False),
        (("boss to left end: 40 mm", "arm at angle to left end: 90 degrees", "way round: arm up"), False),
        (("boss to left end: 40 mm", "arm parallel to keyway", "way round: arm up"), True),
        (("boss to left end: 40 mm", "arm parallel to keyway"), False),
        (("boss to left end: 40 mm", "arm at angle to flat: 30 degrees", "way round: arm up"), True),
        (("boss to left end: 40 mm", "hole to seam: 40 mm", "way round: arm up"), True),
        (("boss to left end: 40 mm", "hole to seam: 40 mm"), False),
        (("boss to left end: 40 mm", "hole above seam: 40 mm"), True),
        (("boss to left end: 40 mm", "hole to key: 40 mm", "hole to flat: 30 mm"), True),
    ],
)
@pytest.mark.parametrize("face", ["round", "Round."])
def test_what_looks_the_same_all_round_says_nothing_of_the_turn(
    tmp_path: Path, face: str, lines: tuple[str, ...], recorded: bool
) -> None:
    told = word(tmp_path, slip("removed bracket", "from: shaft", f"face: {face}", "held by: 1 clamp", *lines))
    assert (told == "position recorded") == recorded
