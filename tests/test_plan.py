"""Jobs, orders, what is to get; fixings; hosts that change; parts that are back; treatments."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from journal.build import Told
from journal.cli import main
from journal.ground.finding import Finding
from journal.ground.source import Span
from journal.judge.changes import Changed, changed_hosts, changed_lines
from journal.judge.fixings import fixings_of, read_fixing
from journal.judge.order import Step
from journal.judge.plan import Plan, ToGet, days_late, plan_of
from journal.judge.refits import refits
from journal.judge.treatments import coats
from journal.make import tell_build
from journal.model.entities import Moment, Said
from tests.builds import TODAY, tell_files

EXAMPLE = Path(__file__).parent.parent / "example_build"
DAY = "2026-03-21 left sill/note.md"
NEXT = "2026-04-11 new sill/note.md"


def told_of(folder: Path, note: str, later: str = "") -> Told:
    return tell_files(folder, {DAY: note} | ({NEXT: later} if later else {}))


def plan(told: Told) -> Plan:
    return plan_of(told.book, told.judgement.records)


def plan_at(folder: Path, note: str, later: str = "") -> Plan:
    return plan(told_of(folder, note, later))


def found(told: Told, word: str) -> list[Finding]:
    return [f for f in told.judgement.findings if f.word == word]


def states(plan: Plan) -> dict[str, str]:
    return {job.name: plan.state(job) for job in plan.book.jobs.values()}


# --- jobs


JOBS = """\
```job weld in the sill
needs: sill section
```

```job paint the frame
needs: weld in the sill; bracket
```

```job sweep the shed
```

```ordered sill section
for: weld in the sill
due: 2026-03-28
```

```removed bracket
held by: 2 bolts M8
```
"""


def test_a_job_waits_for_orders_jobs_and_parts(tmp_path: Path) -> None:
    one = plan_at(tmp_path, JOBS)
    assert states(one) == {"weld in the sill": "waiting", "paint the frame": "waiting", "sweep the shed": "ready"}
    weld, paint = (one.waiting(Step("job", id)) for id in ("weld-in-the-sill", "paint-the-frame"))
    assert (weld.waits, weld.orders) == ((), ("sill-section",))
    assert [w.before for w in paint.waits] == [Step("part", "bracket"), Step("job", "weld-in-the-sill")]


def test_a_job_is_ready_once_all_is_there(tmp_path: Path) -> None:
    later = "```arrived sill section\n```\n\n```done weld in the sill\n```\n\n```refitted bracket\n```\n"
    one = plan_at(tmp_path, JOBS, later)
    assert states(one) == {"weld in the sill": "done", "paint the frame": "ready", "sweep the shed": "ready"}
    assert one.ready == (Step("job", "paint-the-frame"), Step("job", "sweep-the-shed"))


def test_a_part_waits_for_what_is_ordered_for_it(tmp_path: Path) -> None:
    note = "```removed lamp\nheld by: 2 bolts\n```\n\n```ordered lamp bolts\nfor: lamp\n```\n"
    assert plan_at(tmp_path, note).waiting(Step("part", "lamp")).orders == ("lamp-bolts",)


def test_a_part_in_front_that_is_on_is_in_the_way(tmp_path: Path) -> None:
    note = "```removed cover\nheld by: 2 bolts\n```\n\n```removed pump\nbehind: cover\nheld by: 2 bolts\n```\n"
    one = plan_at(tmp_path, note, "```refitted cover\n```\n")
    assert one.waiting(Step("part", "pump")).in_the_way == ("cover",)
    assert not one.waiting(Step("part", "pump")).is_ready


def test_the_longest_chain_to_a_job_of_the_example() -> None:
    """On 5 April: the new sill, a bracket on it, paint, then the wheels."""
    one = plan(tell_build(EXAMPLE, date(2026, 4, 5)))
    chain = [step.id for step in one.chain(one.book.jobs["fit-the-wheels"])]
    assert (chain[0], chain[-2:]) == ("sill-left", ["paint-the-frame", "fit-the-wheels"])
    assert len(chain) == 4
    assert Step("part", "axle-front") in one.order.all_before(Step("job", "fit-the-wheels"))


# --- orders


@pytest.mark.parametrize(("due", "days"), [("2026-05-08", 1), ("2026-05-09", 0), ("2026-05-10", 0), ("soon", 0)])
def test_an_order_is_late_the_day_after_it_was_due(tmp_path: Path, due: str, days: int) -> None:
    told = told_of(tmp_path, f"```ordered lamp bolts\ndue: {due}\n```\n")
    assert days_late(told.book.orders["lamp-bolts"], TODAY) == days
    assert len(found(told, "late-order")) == (days > 0)


def test_a_late_order_names_what_it_holds_up_and_arriving_ends_it(tmp_path: Path) -> None:
    late = found(told_of(tmp_path / "a", JOBS), "late-order")
    assert [f.message for f in late] == [
        '"sill section" was due on 28 March 2026, 42 days ago, and has not arrived, and "weld in the sill" waits for it'
    ]
    assert found(told_of(tmp_path / "b", JOBS, "```arrived sill section\n```\n"), "late-order") == []
    moved = "```ordered sill section\ndue: 2026-05-30\n```\n"
    assert found(told_of(tmp_path / "c", JOBS, moved), "late-order") == []


def test_the_example_waits_for_brake_linings() -> None:
    told = tell_build(EXAMPLE, TODAY)
    assert [f.span.line for f in found(told, "late-order")] == [28]
    assert [order.name for order in plan(told).late] == ["brake linings"]


# --- to get


def test_what_was_scrapped_or_counted_short_is_to_get_until_it_is_ordered(tmp_path: Path) -> None:
    note = (
        "```part screw\ncount: 16\n```\n\n```removed screw\ncount: 14\nheld by: 1 nut\n```\n\n"
        "```scrapped toe board\n```\n\n```scrapped felt\nnot coming back: yes\n```\n"
    )
    wanted = (ToGet("screw", "counted 14, there were 16"), ToGet("toe-board", "it was scrapped and is to come back"))
    assert plan_at(tmp_path / "a", note).to_get == wanted
    ordered = "```ordered screws M8\nfor: screw; toe board\n```\n"
    assert plan_at(tmp_path / "b", note, ordered).to_get == ()
    assert plan_at(tmp_path / "c", note, "```replaced screw\n```\n").to_get == wanted[1:]


def test_the_example_lacks_two_deck_screws() -> None:
    assert plan(tell_build(EXAMPLE, TODAY)).to_get == (ToGet("deck-screw", "counted 14, there were 16"),)


# --- fixings


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("4 bolts M10 x 30 at the lower edge", (4, "M10 x 30", "bolts", "the lower edge", "")),
        ("2 spot welds, one of them broken", (2, "", "spot welds", "", "one of them broken")),
        ("10 countersunk screws M8", (10, "M8", "countersunk screws", "", "")),
        ("4 brass screws 1/8 in", (4, "1/8 in", "brass screws", "", "")),
        ("1 nut 1/2 in", (1, "1/2 in", "nut", "", "")),
        ("four 5/16 in BSF bolts at the rear", (4, "5/16 in BSF", "bolts", "the rear", "")),
        ("2 x M6 x 1 x 20 studs", (2, "M6 x 1 x 20", "studs", "", "")),
        ("3 screws No. 8 x 3/4 in", (3, "No. 8 x 3/4 in", "screws", "", "")),
        ("6 nuts 2 BA", (6, "2 BA", "nuts", "", "")),
        ("2 pop rivets 4.8 mm", (2, "4.8 mm", "pop rivets", "", "")),
        ("8 1/4-20 UNC screws", (8, "1/4-20 UNC", "screws", "", "")),
        ("weld to cross members 1, 2 and 3", (None, "", "weld to cross members 1, 2 and 3", "", "")),
        ("slides in the two guide holes", (None, "", "slides in the two guide holes", "", "")),
        ("6 mm dowel", (None, "", "6 mm dowel", "", "")),
        ("1/4 in bolt", (None, "", "1/4 in bolt", "", "")),
    ],
)
def test_held_by_taken_apart(text: str, wanted: tuple[object, ...]) -> None:
    one = read_fixing(Said("held by", text, Moment(TODAY, 0), "removed", Span("")))
    assert (one.count, one.size, one.kind, one.where, one.remark) == wanted


def test_fixings_before_and_now_and_torque_against_what_was_wanted(tmp_path: Path) -> None:
    note = "```removed wheel\nheld by: 3 wheel nuts at the rim\nheld by: 2 studs M12\nthread: M12 x 1.5\n```\n"
    later = "```refitted wheel\nheld by: 5 nuts\nheld by: 1 stud\nwheel nut torque: 80 N·m, want 90 to 100 N·m\n```\n"
    told = told_of(tmp_path, note, later)
    one = fixings_of(told.book, told.book.parts["wheel"])
    assert [(f.count, f.where) for f in one.was] == [(3, "the rim"), (2, "")]
    assert one.counts_differ == (5, 6)
    assert [(f.reading.text.split(":")[0], f.verdict) for f in one.found] == [
        ("thread", ""),
        ("wheel nut torque", "too low"),
    ]


@pytest.mark.parametrize(("mark", "told"), [("", True), (", in doubt", False)])
def test_a_doubted_reading_is_not_held_against_what_was_wanted(tmp_path: Path, mark: str, told: bool) -> None:
    readings = f"wheel nut torque: 80 N·m, want 90 to 100 N·m{mark}\nfoot length: 60 mm by calliper, want 42 mm{mark}\n"
    judged = told_of(tmp_path, f"```measured wheel\n{readings}```\n")
    words = [finding.word for finding in judged.judgement.findings]
    assert words.count("out-of-want") == 2 * told
    [found] = fixings_of(judged.book, judged.book.parts["wheel"]).found
    assert found.verdict == ("too low" if told else "")


def test_a_part_that_is_off_again_is_held_as_it_was_found_last(tmp_path: Path) -> None:
    note = "```removed lamp\nheld by: 1 nut\n```\n\n```refitted lamp\nheld by: 2 nuts\n```\n"
    told = told_of(tmp_path, note, "```removed lamp\nheld by: 3 nuts\n```\n")
    one = fixings_of(told.book, told.book.parts["lamp"])
    assert ([f.count for f in one.was], one.now) == ([3], ())


# --- hosts that change


def fates(changed: Changed) -> dict[str, str]:
    return {carried.part: carried.fate for carried in changed.parts}


def changes_on(day: date) -> dict[str, Changed]:
    told = tell_build(EXAMPLE, day)
    return {changed.host: changed for changed in changed_hosts(told.book, told.judgement.records)}


def test_what_is_on_a_host_that_is_going_is_listed_before_the_cut() -> None:
    going = changes_on(date(2026, 3, 22))["sill-left"]
    assert (going.what, going.on) == ("going", None)
    assert fates(going) == {
        "clamp-bar-left": "recorded",
        "guide-bracket-front-left": "recorded",
        "guide-bracket-rear-left": "recorded",
        "wire-clip": "not recorded",  # its own hole goes with the sill
    }


def test_what_became_of_each_part_is_listed_after_it_with_the_days_counted() -> None:
    gone = changes_on(TODAY)["sill-left"]
    assert (gone.what, gone.on) == ("replaced", date(2026, 4, 11))
    assert fates(gone) == {
        "clamp-bar-left": "not moved over",
        "guide-bracket-front-left": "moved over",
        "guide-bracket-rear-left": "moved over",
        "wire-clip": "not recorded",
        "spring-hook-left": "not recorded",
    }
    assert {carried.days for carried in gone.waiting} == {28}
    assert gone.count("moved over") == 2


def changed_in(folder: Path, note: str, later: str) -> dict[str, str]:
    told = told_of(folder, note, later)
    return next((fates(c) for c in changed_hosts(told.book, told.judgement.records) if c.host == "sill"), {})


@pytest.mark.parametrize(
    ("before", "after", "was_on"),
    [
        ("```part foot\nfrom: sill\n```\n", "", True),
        ("```removed foot\nfrom: sill\n```\n", "```refitted foot\non: rail\n```\n", True),
        ("```removed foot\nfrom: rail\n```\n", "```refitted foot\non: sill\n```\n", False),
        ("```part foot\nfrom: rail\n```\n", "```refitted foot\non: sill\n```\n", False),
        ("```part foot\nfrom: rail; sill\n```\n", "```refitted foot\non: rail\n```\n", True),
        ("```removed foot\nfrom: rail\n```\n```refitted foot\non: the machine\n```\n",
         "```refitted foot\non: sill\n```\n", False),
        ("```part foot\nnumber: 7\n```\n", "```refitted foot\non: sill\n```\n", True),
    ],
)  # fmt: skip
def test_what_was_on_a_host_is_what_sat_there_when_it_was_cut(
    tmp_path: Path, before: str, after: str, was_on: bool
) -> None:
    note = "```part sill\n```\n```part rail\n```\n" + before
    assert ("foot" in changed_in(tmp_path, note, "```cut sill\naway: rear end\n```\n" + after)) is was_on


def test_readings_of_one_of_two_are_no_record_of_both_once_the_host_goes(tmp_path: Path) -> None:
    """The list of what hangs on it and the warning before the saw say the same."""
    note = "```part sill\ngoing: next week\n```\n```part foot\nfrom: sill\nface: web\n{}located by: own holes\n"
    note += "hole to front end: 10 mm by rule\nhole to lower edge: 10 mm by rule\n"
    note += "tip to front end: 90 mm by rule\ntip to lower edge: 10 mm by rule\n```\n"
    for name, count, fate in (("a", "", "recorded"), ("b", "count: 2\n", "not recorded")):
        told = told_of(tmp_path / name, note.format(count))
        changed = changed_hosts(told.book, told.judgement.records)
        assert [fates(one) for one in changed] == [{"foot": fate}]
        assert bool(found(told, "host-going")) == (fate == "not recorded")


def test_check_tells_what_became_of_each_part() -> None:
    told = tell_build(EXAMPLE, TODAY)
    lines = [*changed_lines(told.book, changed_hosts(told.book, told.judgement.records))]
    at = lines.index("sill, left, replaced on 11 April 2026:")
    assert lines[at + 1 :][:3] == [
        "  not recorded (28 days): wire clip; spring hook, left",
        "  recorded, not moved over (28 days): clamp bar, left",
        "  moved over: guide bracket front, left; guide bracket rear, left",
    ]
    printed = CliRunner().invoke(main, ["check", str(EXAMPLE), "--as-of", "2026-05-09"]).output
    assert "\n".join(lines) in printed


# --- parts that are back


def test_parts_are_back_within_what_was_recorded_or_not(tmp_path: Path) -> None:
    note = "".join(
        f"```removed {name}\nfrom: sill\nheld by: 2 spot welds\nhole to web: 15 mm by rule\n```\n\n" for name in "abcd"
    )
    later = "".join(
        f"```refitted {name}\non: sill\n{line}\n```\n\n"
        for name, line in (("a", "hole to web: 15.5 mm by rule"), ("b", "hole to web: 22 mm by rule"),
                           ("c", ""), ("d", "moved: yes\nhole to web: 30 mm by rule"))
    )  # fmt: skip
    told = told_of(tmp_path, note, later)
    assert {r.part: r.word for r in refits(told.book)} == {
        "a": "within", "b": "off", "c": "not measured", "d": "moved on purpose"
    }  # fmt: skip


def test_the_example_has_its_brackets_back_where_they_were() -> None:
    back = {r.part: r for r in refits(tell_build(EXAMPLE, TODAY).book)}
    assert [id for id, r in back.items() if r.word == "within"] == [
        "guide-bracket-front-left",
        "guide-bracket-rear-left",
    ]
    assert [id for id, r in back.items() if r.word == "off"] == ["motor-mount"]
    # 19/32 in is 15.08125 mm exactly; 15 mm was read after.
    first = back["guide-bracket-rear-left"].pairs[0].comparison
    assert float(first.difference) == pytest.approx(15 - 15.08125)


def test_a_part_that_was_moved_on_purpose_is_not_held_against_where_it_sat_before(tmp_path: Path) -> None:
    """Refitted elsewhere on purpose, then off and back once more: only what was read since the move counts."""
    moved = "```removed foot\nfrom: sill\nhole to edge: 10 mm by rule\n```\n"
    moved += "```refitted foot\non: sill\nmoved: yes\n{}```\n"
    again = "```removed foot\nfrom: sill\n```\n```refitted foot\non: sill\nhole to edge: 30 mm by rule\n```\n"
    told = told_of(tmp_path / "a", moved.format(""), again)
    assert [(r.part, r.word) for r in refits(told.book)] == [("foot", "not measured")]
    assert not found(told, "refit-off")
    there = told_of(tmp_path / "b", moved.format("hole to edge: 30 mm by rule\n"), again)
    assert [(r.part, r.word) for r in refits(there.book)] == [("foot", "within")]


# --- treatments


def test_the_next_step_of_a_treatment_is_due_until_another_follows(tmp_path: Path) -> None:
    note = "```treated frame\nwith: primer\nnext: top coat, 2026-05-02\n```\n"
    assert [(c.is_last, c.days_due) for c in coats(told_of(tmp_path / "a", note).book)] == [(True, 7)]
    later = coats(told_of(tmp_path / "b", note, "```treated frame\nwith: top coat\n```\n").book)
    assert [(c.is_last, c.days_due) for c in later] == [(False, 0), (True, 0)]


WELDED = "```part bracket\nfrom: sill\n```\n\n```removed bracket\nheld by: 2 spot welds\n```\n\n"
FITTED = "```refitted bracket\non: sill\nheld by: {how}\n```\n"


@pytest.mark.parametrize(
    ("treated", "how", "after", "told"),
    [
        ("with: satin black paint", "2 plug welds", "", 1),
        ("with: weld-through primer", "2 plug welds", "", 0),
        ("surface: brushed to bright steel", "2 plug welds", "", 0),
        ("with: satin black paint", "2 bolts M8", "", 0),
        ("with: satin black paint", "2 plug welds", "```treated sill\nwith: satin black paint\n```\n", 0),
        ("with: satin black paint", "2 plug welds", "```treated sill\nsurface: brushed to bright steel\n```\n", 0),
        ("with: satin black paint", "2 plug welds", "```treated bracket\nwith: paint\n```\n", 1),
    ],
)
def test_a_surface_welded_after_painting(tmp_path: Path, treated: str, how: str, after: str, told: int) -> None:
    note = f"{WELDED}```treated sill\n{treated}\n```\n"
    remarks = found(told_of(tmp_path, note, FITTED.format(how=how) + "\n" + after), "welded-after-paint")
    assert [(f.severity, f.part) for f in remarks] == [("remark", "sill")] * told


def test_paint_on_what_was_replaced_is_gone_with_it(tmp_path: Path) -> None:
    painted = "```treated sill\nwith: red paint\n```\n"
    scrapped, new = "```scrapped sill\n```\n", "```replaced sill\nby: folded, plug welded in\n```\n"
    bracket = FITTED.format(how="2 plug welds")

    def told(name: str, note: str, later: str) -> list[Finding]:
        return found(told_of(tmp_path / name, note, later), "welded-after-paint")

    assert not told("in its place", painted, new)
    assert not told("on it", WELDED + painted, scrapped + new + bracket)
    assert told("the new one", WELDED, scrapped + new + painted + bracket)
    assert told("the new one, on the bench", scrapped + painted, new)


def test_paint_put_on_while_a_part_was_off_goes_back_with_it(tmp_path: Path) -> None:
    note = WELDED + "```treated bracket\nwith: red paint\n```\n"
    assert found(told_of(tmp_path, note, FITTED.format(how="2 plug welds")), "welded-after-paint")


@pytest.mark.parametrize("place", ["underside", "Underside", "Left sill"])
def test_a_painted_place_covers_what_is_there_and_not_what_lies_on_the_bench(tmp_path: Path, place: str) -> None:
    note = (
        "```part sill\nplace: underside / left sill\n```\n\n"
        + WELDED
        + f"```treated {place}\nwith: satin black paint\n```\n"
    )
    remarks = found(told_of(tmp_path, note, FITTED.format(how="2 plug welds")), "welded-after-paint")
    assert [f.part for f in remarks] == ["sill"]
