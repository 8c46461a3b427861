"""The order of work: whatever the notes say, it keeps every wait; with nothing said it is the removal turned round."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.build import Told, tell
from journal.build import read as read_build
from journal.ground.source import Span
from journal.judge.order import Order, Step, Wait, put_in_order
from journal.judge.plan import Plan, plan_of
from journal.model.entities import Moment
from tests.builds import TODAY, tell_files, write_build

DAY = "2026-03-21 left sill/note.md"


def step(name: str) -> Step:
    return Step("part", name)


def wait(before: str, after: str, order: int = 0, rank: str = "said") -> Wait:
    where = Span(DAY, order + 1)
    return Wait(step(before), step(after), "", where, Moment(TODAY, order), rank)  # type: ignore[arg-type]


def keeps(order: Order) -> bool:
    """Whether both the one-by-one order and the stages keep every wait."""
    at = {s: n for n, s in enumerate(order.steps)}
    stage = {s: n for n, ready in enumerate(order.stages) for s in ready}
    return all(at[w.before] < at[w.after] and stage[w.before] < stage[w.after] for w in order.waits)


def plan(told: Told) -> Plan:
    return plan_of(told.book, told.judgement.records)


def names(steps: Iterable[Step]) -> list[str]:
    return [s.id for s in steps]


# --- graphs


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Step], list[Wait]]:
    """Any waits among up to nine steps, rings and all."""
    count = draw(st.integers(1, 9))
    number = st.integers(0, count - 1)
    rank = st.sampled_from(["said", "said", "turned", "likely"])
    pairs = draw(st.lists(st.tuples(number, number, rank), max_size=18))
    return [step(str(n)) for n in range(count)], [
        wait(str(a), str(b), n, rank) for n, (a, b, rank) in enumerate(pairs)
    ]


@given(graphs())
def test_an_order_has_every_step_once_and_keeps_every_wait(graph: tuple[list[Step], list[Wait]]) -> None:
    steps, waits = graph
    order = put_in_order(steps, waits)
    assert sorted(order.steps) == sorted(steps)
    assert sorted(s for stage in order.stages for s in stage) == sorted(steps)
    assert keeps(order)


@given(graphs())
def test_only_waits_that_close_a_ring_are_left_out(graph: tuple[list[Step], list[Wait]]) -> None:
    steps, waits = graph
    order = put_in_order(steps, waits)
    kept = {(w.before, w.after) for w in order.waits}
    told = {(ring.broken.before, ring.broken.after) for ring in order.rings}
    for left_out in (w for w in waits if (w.before, w.after) not in kept):
        if left_out.rank == "likely":  # it would have come after what it comes before
            assert left_out.before == left_out.after or left_out.after in order.all_before(left_out.before)
        else:
            assert (left_out.before, left_out.after) in told


@given(graphs())
def test_a_ring_names_waits_that_close(graph: tuple[list[Step], list[Wait]]) -> None:
    for ring in put_in_order(*graph).rings:
        assert [w.before for w in ring.waits] == list(ring.steps)
        assert [w.after for w in ring.waits] == [*ring.steps[1:], ring.steps[0]]
        assert ring.broken in ring.waits


@given(graphs())
def test_a_step_is_in_the_first_stage_it_can_be_in(graph: tuple[list[Step], list[Wait]]) -> None:
    order = put_in_order(*graph)
    stage = {s: n for n, ready in enumerate(order.stages) for s in ready}
    for one in order.steps:
        assert stage[one] == max((stage[w.before] + 1 for w in order.waits_of(one)), default=0)
        assert len(order.chain(one)) == stage[one] + 1


@given(graphs())
def test_chain_runs_through_waits(graph: tuple[list[Step], list[Wait]]) -> None:
    order = put_in_order(*graph)
    for one in order.steps:
        chain = order.chain(one)
        assert chain[-1] == one
        for before, after in pairwise(chain):
            assert before in [w.before for w in order.waits_of(after)]
        assert set(chain[:-1]) <= set(order.all_before(one))


@given(st.permutations(range(6)))
def test_where_nothing_is_said_the_wanted_order_stands(wanted: list[int]) -> None:
    steps = [step(str(n)) for n in wanted]
    order = put_in_order(steps, [])
    assert list(order.steps) == steps
    assert order.stages == (tuple(steps),)


def test_what_was_written_last_gives_way_and_what_happened_stays() -> None:
    order = put_in_order(
        [step(n) for n in "abc"],
        [wait("a", "b", 9, "turned"), wait("b", "c", 1), wait("c", "a", 2)],
    )
    assert [(r.broken.before.id, r.broken.after.id) for r in order.rings] == [("c", "a")]
    assert names(order.steps) == ["a", "b", "c"]


# --- builds: a teardown in any order gives back its reversal


@st.composite
def teardowns(draw: st.DrawFn) -> tuple[list[int | None], list[int]]:
    """A tree of hosts (None: the machine), and the order its parts come off in: any at all, bench work included."""
    count = draw(st.integers(1, 8))
    hosts = [draw(st.one_of(st.none(), st.integers(0, n - 1))) if n else None for n in range(count)]
    return hosts, draw(st.permutations(range(count)))


def teardown_note(hosts: list[int | None], removals: list[int]) -> str:
    slips = [f"```part piece {n}\nfrom: {'frame' if h is None else f'piece {h}'}\n```" for n, h in enumerate(hosts)]
    slips += [f"```removed piece {n}\nheld by: 2 bolts M8\n```" for n in removals]
    return "\n\n".join(slips) + "\n"


def told_of(folder: Path, note: str) -> Told:
    build = write_build(folder, {DAY: note})
    return tell(read_build(build, TODAY), {}, as_of=TODAY)


@settings(max_examples=60, deadline=None)
@given(teardown=teardowns())
def test_the_removal_turned_round(
    teardown: tuple[list[int | None], list[int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    hosts, removals = teardown
    folder = tmp_path_factory.mktemp("build")
    order = plan(told_of(folder, teardown_note(hosts, removals))).order
    assert names(order.steps) == [f"piece-{n}" for n in reversed(removals)]
    assert keeps(order)
    assert not order.rings


@settings(max_examples=60, deadline=None)
@given(teardown=teardowns())
def test_every_order_that_keeps_the_waits_can_be_played(
    teardown: tuple[list[int | None], list[int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Also the order by stages: a part finds its host where it left it, on the machine or on the bench."""
    hosts, removals = teardown
    folder = tmp_path_factory.mktemp("build")
    order = plan(told_of(folder, teardown_note(hosts, removals))).order
    by_stages = [int(s.id.split("-")[1]) for stage in order.stages for s in stage]
    assert replay(hosts, by_stages) == played_off(hosts, removals)


def played_off(hosts: list[int | None], removals: list[int]) -> dict[int, tuple[int, ...]]:
    """Part to what carried it when it came off, up to the machine or to what lay on the bench."""
    off: set[int] = set()
    found = {}
    for part in removals:
        found[part] = _carried_by(hosts, part, off)
        off.add(part)
    return found


def _carried_by(hosts: list[int | None], part: int, off: set[int]) -> tuple[int, ...]:
    chain, at = [], hosts[part]
    while at is not None:
        chain.append(at)
        if at in off:
            break
        at = hosts[at]
    return tuple(chain)


def replay(hosts: list[int | None], order: list[int]) -> dict[int, tuple[int, ...]]:
    """Part to what carries it when it goes back, with all that is not back yet lying on the bench."""
    off = set(order)
    found = {}
    for part in order:
        off.remove(part)
        found[part] = _carried_by(hosts, part, off)
    return found


# --- builds: what the notes say of the order


def order_of(folder: Path, note: str) -> Order:
    return plan(tell_files(folder, {DAY: note})).order


def removed(*parts: str) -> str:
    """Slips in the order the parts come off; `lamp < bracket` is fixed to the bracket."""
    slips = []
    for part in parts:
        name, _, host = part.partition(" < ")
        slips.append(f"```removed {name}\nheld by: 2 bolts M8\n" + (f"from: {host}\n" if host else "") + "```\n")
    return "\n".join(slips)


def before(order: Order, first: str, then: str) -> bool:
    return Step("part", first) in order.all_before(Step("part", then))


def test_taken_off_a_host_that_was_on_goes_back_after_it(tmp_path: Path) -> None:
    assert before(order_of(tmp_path, removed("lamp < dash", "dash")), "dash", "lamp")


def test_taken_off_a_host_already_off_goes_back_on_the_bench(tmp_path: Path) -> None:
    assert before(order_of(tmp_path, removed("dash", "lamp < dash")), "lamp", "dash")


def test_what_rides_on_a_host_is_taken_off_on_the_bench_too(tmp_path: Path) -> None:
    """The bracket stays on the dash all the time; the lamp came off it on the trestles."""
    note = "```part bracket\nfrom: dash\n```\n\n" + removed("dash", "lamp < bracket")
    assert before(order_of(tmp_path, note), "lamp", "dash")


@pytest.mark.parametrize(
    ("off", "where", "first", "then"),
    [
        (["lamp < dash", "dash"], "bench", "lamp", "dash"),
        (["dash", "lamp < dash"], "machine", "dash", "lamp"),
    ],
)
def test_goes_on_overrides(tmp_path: Path, off: list[str], where: str, first: str, then: str) -> None:
    note = removed(*off) + f"\n```part lamp\ngoes on: {where}\n```\n"
    assert before(order_of(tmp_path, note), first, then)


def test_a_part_that_bridges_goes_on_after_all_that_carries_it(tmp_path: Path) -> None:
    order = order_of(tmp_path, removed("rod < guide front; guide rear", "guide front", "guide rear"))
    assert order.stages == (
        (Step("part", "guide-rear"), Step("part", "guide-front")),
        (Step("part", "rod"),),
    )


def test_what_a_part_sits_behind_goes_on_after_it(tmp_path: Path) -> None:
    order = order_of(tmp_path, removed("cover", "pump") + "\n```part pump\nbehind: cover\n```\n")
    assert names(order.steps) == ["pump", "cover"]
    assert before(order, "pump", "cover")


def test_a_host_put_back_and_taken_off_again_was_on_the_machine_without_it(tmp_path: Path) -> None:
    note = removed("dash", "lamp < dash") + "\n```refitted dash\n```\n\n" + removed("dash")
    assert before(order_of(tmp_path, note), "dash", "lamp")


def test_the_new_self_of_a_host_is_the_same_host(tmp_path: Path) -> None:
    told = tell_files(
        tmp_path,
        {
            DAY: removed("bracket < sill", "sill"),
            "2026-03-28 new/note.md": "```scrapped sill\n```\n\n```replaced sill\ncarries: all\n```\n\n"
            + removed("sill"),
        },
    )
    assert before(plan(told).order, "sill", "bracket")


def test_a_part_that_never_comes_back_is_no_step_and_holds_nothing_up(tmp_path: Path) -> None:
    note = removed("bracket < sill") + "\n```scrapped sill\nnot coming back: yes\n```\n"
    assert names(order_of(tmp_path, note).steps) == ["bracket"]


def test_a_scrapped_part_to_be_remade_is_a_step(tmp_path: Path) -> None:
    order = order_of(tmp_path, removed("bracket < sill") + "\n```scrapped sill\n```\n")
    assert before(order, "sill", "bracket")


def test_a_part_that_rides_along_is_no_step_of_its_own(tmp_path: Path) -> None:
    assert names(order_of(tmp_path, "```part lamp\nfrom: dash\n```\n\n" + removed("dash")).steps) == ["dash"]


def test_what_is_to_go_on_a_host_that_is_still_to_be_cut_waits_for_the_cut_and_the_welding(tmp_path: Path) -> None:
    note = (
        removed("bracket < sill")
        + "\n```job cut out the sill\ncuts: sill\nbefore: weld in the sill\n```\n"
        + "\n```job weld in the sill\npart: sill\n```\n"
    )
    assert names(order_of(tmp_path, note).steps) == ["cut-out-the-sill", "weld-in-the-sill", "bracket"]


def test_a_part_goes_on_with_the_job_about_it_so_it_waits_for_what_that_needs(tmp_path: Path) -> None:
    note = (
        removed("wheel", "axle")
        + "\n```job paint the frame\n```\n"
        + "\n```job fit the wheels\nneeds: axle; paint the frame\npart: wheel\n```\n"
    )
    assert order_of(tmp_path, note).all_before(Step("part", "wheel")) == (
        Step("part", "axle"),
        Step("job", "paint-the-frame"),
    )


def test_a_likely_wait_never_makes_a_ring(tmp_path: Path) -> None:
    """The bracket is needed before the sill is cut: it goes back on the old one, as the job says."""
    note = removed("bracket < sill") + "\n```job cut out the sill\ncuts: sill\nneeds: bracket\n```\n"
    order = order_of(tmp_path, note)
    assert names(order.steps) == ["bracket", "cut-out-the-sill"]
    assert not order.rings


def test_a_ring_is_told_with_each_step_and_its_line_and_broken(tmp_path: Path) -> None:
    note = (
        removed("pump", "cover", "hose")
        + "\n```part pump\nbehind: cover\n```\n\n```part cover\nbehind: hose\n```\n\n```part hose\nbehind: pump\n```\n"
    )
    told = tell_files(tmp_path, {DAY: note})
    found = [f for f in told.judgement.findings if f.word == "ring-in-order"]
    assert [(f.severity, f.message) for f in found] == [
        ("problem", "these wait for one another in a ring: hose before pump before cover before hose")
    ]
    lines = note.splitlines()
    told_at = sorted(lines[n.span.line - 1] for n in found[0].notes if n.span)
    assert told_at == ["behind: cover", "behind: hose", "behind: pump"]
    assert lines[found[0].span.line - 1] == "behind: pump"
    assert names(plan(told).order.steps) == ["pump", "cover", "hose"]


def test_hosts_in_a_ring_are_told_once(tmp_path: Path) -> None:
    told = tell_files(tmp_path, {DAY: removed("pump < bracket", "bracket < pump")})
    assert [f.word for f in told.judgement.findings if f.severity == "problem"] == ["not-understood"]
    assert len(plan(told).order.steps) == 2


def test_the_example_goes_back_in_five_stages() -> None:
    example = Path(__file__).parent.parent / "example_build"
    order = plan(tell(read_build(example, date(2026, 5, 9)), {}, as_of=date(2026, 5, 9))).order
    assert keeps(order)
    assert len(order.stages) == 5
    assert before(order, "lamp-bracket-left", "dash")
    assert before(order, "battery", "clamp-bar-left")
    assert before(order, "battery", "battery-cable-left"), "goes on: machine"
    assert not order.rings
