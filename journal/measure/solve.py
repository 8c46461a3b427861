"""The search for the best fit: what hangs together, starting places, ways down, and what fits as well."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence

import numpy as np

from journal.measure import descent, linear
from journal.measure.adjustment import BAARDA, Adjustment, Spot
from journal.measure.descent import Rest
from journal.measure.finds import Finds, Group, Start
from journal.measure.linear import Array, System
from journal.measure.loci import Place
from journal.measure.observations import (
    Angle,
    Fixed,
    NetworkFault,
    Observation,
    check,
    describe,
    dimension_of,
    edges_of,
    names_of,
)
from journal.measure.report import centre_of, chi2_of, outside, report, shifted, shifted_given
from journal.measure.starts import Builder, Placing, Trial

WIDTHS = (6, 24)  # ways followed side by side; more where the first few fit badly
MOST_WORK = 1200  # ways gone down times unknowns
RESTARTS = 12
MANY = 8  # readings that fit nowhere: rather the search that failed than so many slips


def solve(observations: tuple[Observation, ...], fixed: Fixed, start: Start) -> Adjustment:
    """See `network.adjust`."""
    if not observations:
        raise NetworkFault("too-few", "There are no readings to work from.")
    edges = edges_of(observations)
    dimension = dimension_of(fixed, start, edges)
    check(observations, fixed, dimension)
    centre = centre_of(fixed or start, edges, dimension)
    near = {name: shifted_given(given, name in edges, -centre) for name, given in fixed.items()}
    begin = {
        name: shifted(given, name in edges, -centre) for name, given in start.items() if None in near.get(name, (None,))
    }
    system = linear.build(observations, near, dimension, _size(observations, {**begin, **near}, edges))
    whole = Group(system, near, begin, free=not fixed)
    found = [_search(group) for group in _groups(whole)]
    places = {**begin, **{name: at for spots in found for name, at in spots[0][0].items()}}
    chi2 = chi2_of(system, places)
    others = [
        Spot(*outside(system, {**places, **moved}, fixed, centre), chi2=chi2 - spots[0][1] + other)
        for spots in found
        for moved, other in spots[1:]
    ]
    others.sort(key=lambda spot: spot.chi2)
    return report(system, places, fixed, centre, whole.datum(linear.place(system, places)), others)


def _size(observations: Iterable[Observation], places: Fixed, edges: frozenset[str]) -> float:
    lengths = [abs(item.value) for item in observations if not isinstance(item, Angle)]
    for name, place in places.items():
        lengths += [abs(number) for number in place[name in edges :] if number is not None]
    return max(lengths, default=1.0) or 1.0


def _groups(whole: Group) -> list[Group]:
    """The unknowns that hang together by readings, each with its readings; a free network is one."""
    if whole.free:
        return [whole]
    system = whole.system
    unknown = {name for name, slot in system.slots.items() if np.isnan(system.state[slot]).any()}
    head = {name: name for name in unknown}

    def top(name: str) -> str:
        while head[name] != name:
            head[name] = head[head[name]]
            name = head[name]
        return name

    touched = [[name for name in names_of(item) if name in unknown] for item in system.observations]
    for names in touched:
        for name in names[1:]:
            head[top(name)] = top(names[0])
    members: dict[str, list[Observation]] = {}
    for item, names in zip(system.observations, touched, strict=True):
        if names:
            members.setdefault(top(names[0]), []).append(item)
    return [
        Group(linear.build(items, whole.fixed, system.dimension, system.size), whole.fixed, whole.start, False)
        for items in members.values()
    ]


def _search(group: Group) -> list[tuple[Placing, float]]:
    """All spots of a group that fit as well as the best, with their chi2; the one to report comes first."""
    system = group.system
    builder = Builder(system.observations, group.fixed, system.dimension, system.size)
    known = _known(group)
    order = builder.order(known)
    finds = Finds(group)
    if any(name in group.start for name in system.slots):
        given = {**known, **{name: tuple(place) for name, place in group.start.items() if name in system.slots}}
        finds.add(builder.grow([Trial(given, 0.0)], builder.order(given), 1)[0].places)
    for width in WIDTHS:
        trials = builder.grow([Trial(known, 0.0)], order, width)
        _refuse_loose(group, trials[0].places)
        for trial in trials[: max(2, MOST_WORK // len(system.free))]:
            finds.add(trial.places)
        if finds.fit:
            break
    _look_further(finds, builder, order, known)
    if not finds.sound or finds.unsound_best < finds.lowest - 1e-6 * (1 + finds.lowest):
        raise _fault(group, min(finds.unsound, key=lambda rest: rest.chi2))
    return [(linear.read_out(system, rest.state), rest.chi2) for rest in finds.ranked()]


def _look_further(finds: Finds, builder: Builder, order: Sequence[str], known: Placing) -> None:
    """Turn over what could lie the other way round; start anywhere where nothing yet fits the sigmas."""
    system = finds.group.system
    if finds.sound:
        best = linear.read_out(system, finds.ranked()[0].state)
        anchors = {name: best.get(name, place) for name, place in known.items()}
        for places in builder.turns(best, order, anchors, 4):
            finds.add(places)
    if not finds.fit:
        for seed in range(RESTARTS if len(system.free) < 60 else 2):
            finds.add(_anywhere(system, seed))


def _anywhere(system: System, seed: int) -> dict[str, Place]:
    chance = random.Random(seed)
    return {
        name: tuple(
            chance.uniform(-math.pi, math.pi)
            if name in system.edges and part == 0
            else chance.uniform(-system.size, system.size)
            for part in range(slot.stop - slot.start)
        )
        for name, slot in system.slots.items()
    }


def _known(group: Group) -> dict[str, Place]:
    """What a start is built on: the places that are fixed; in a free network just enough of `start`."""
    if not group.free:
        full = {name: place for name, place in group.fixed.items() if None not in place}
        return {name: tuple(float(n) for n in place if n is not None) for name, place in full.items()}
    system = group.system
    need = 1 if system.oriented else system.dimension
    names = [name for name in group.start if name in system.slots and name not in system.edges]
    if len(names) < need:
        raise NetworkFault(
            "bad-input",
            f"Nothing is fixed, so about where {need} or more points lie must be given.",
            system.slots,
        )
    chosen = names[:1]
    while len(chosen) < need:
        beside = {other for item in system.observations for other in names_of(item) if {*names_of(item)} & {*chosen}}
        chosen.append(min((name for name in names if name not in chosen), key=lambda name: name not in beside))
    return {name: tuple(map(float, group.start[name])) for name in chosen}


def _refuse_loose(group: Group, places: Placing) -> None:
    """Raise for readings that could not hold everything wherever it lay."""
    system = group.system
    state = linear.place(system, places)
    gap, moves = descent.rank_gap(system, state, group.datum(state))
    if not gap:
        return
    chance = np.random.default_rng(1)
    state[system.free] += chance.normal(size=len(system.free)) * 0.1 * system.size * system.scale[system.free]
    gap, moves = descent.rank_gap(system, state, group.datum(state))
    if gap:
        names = _movers(system, moves)
        more = "one more reading is" if gap == 1 else f"{gap} more readings are"
        raise NetworkFault("too-few", f"Too few readings: {more} needed to hold {_listed(names)}.", names)


def _fault(group: Group, rest: Rest) -> NetworkFault:
    """What to say of a best fit that is none."""
    system = group.system
    gap, moves = descent.rank_gap(system, rest.state, group.datum(rest.state))
    names = _movers(system, moves if gap else descent.pulls(system, rest.state))
    misfit = np.abs(system.misfit(rest.state))
    touching = [row for row, item in enumerate(system.observations) if {*names_of(item)} & {*names}]
    worst = sorted((row for row in touching if misfit[row] > BAARDA * system.sigma[row]), key=lambda r: -misfit[r])
    if len(worst) > MANY:
        sentence = (
            f"No places were found for {_listed(names)} that fit the readings. Saying on which side of its edge each "
            "one lies, or about where it is, may be enough."
        )
        return NetworkFault("not-found", sentence, names)
    if worst:
        said = ", ".join(describe(system.observations[row]) for row in sorted(worst[:4]))
        miss = float(misfit[worst].sum())
        return NetworkFault("cannot-meet", f"These readings cannot meet: {said}; they miss by {miss:.4g}.", names)
    return NetworkFault(
        "not-held",
        f"Where the readings put {_listed(names)} they hold it in one direction only, or hardly. "
        "A reading from another direction would settle it.",
        names,
    )


def _movers(system: System, moves: Array) -> tuple[str, ...]:
    """The names that move in what the readings do not hold."""
    whole = np.zeros(len(system.state))
    whole[system.free] = moves
    return tuple(name for name, slot in system.slots.items() if whole[slot].max() > 0.01 * moves.max())


def _listed(names: Sequence[str]) -> str:
    shown = [f"'{name}'" for name in names[:6]] + ([f"{len(names) - 6} more"] if len(names) > 6 else [])
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]
