"""The search for the best fit: parts that hang together, starting places, ways down, and what fits as well."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from journal.measure import descent, linear
from journal.measure.adjustment import BAARDA, Adjustment, Spot, chi_square_limit
from journal.measure.descent import Rest
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

Start = Mapping[str, Sequence[float]]

# Two spots fit as well when no test at 0.1 % would tell them apart: chi2 less than 3.29² above the best, and more
# where even the best fits badly, by its s0².
AS_WELL = BAARDA**2
SAME_SPOT = 1e-5  # of the size of the work
WIDTHS = (6, 24)  # ways followed side by side; more where the first few fit badly
MOST_WORK = 1200  # ways gone down times unknowns
RESTARTS = 12
MANY = 8  # readings that fit nowhere: rather the search that failed than so many slips


@dataclass(frozen=True, eq=False)
class Group:
    """Readings and unknowns that hang together, about a centre.

    start   places to begin at, where given
    free    nothing is fixed: `start` carries the whole
    """

    system: System
    fixed: Fixed
    start: Start
    free: bool

    def datum(self, state: Array) -> Array | None:
        """The motions of the whole, over the points of `start`; what a free network's steps must leave out."""
        if not self.free:
            return None
        carried = np.zeros(len(state), dtype=bool)
        for name, slot in self.system.slots.items():
            carried[slot] = name in self.start and name not in self.system.edges
        moves: Array = np.where(carried[:, None], self.system.rigid(state), 0.0)[self.system.free]
        return moves

    def laid(self, state: Array) -> Array:
        """A free network moved as a whole to lie best on its start points."""
        return _laid_on(self.system, state, self.start) if self.free else state


@dataclass
class Finds:
    """The resting places of one group, each once."""

    group: Group
    sound: list[Rest] = field(default_factory=list)
    unsound: list[Rest] = field(default_factory=list)

    def add(self, places: Placing | Start) -> None:
        """Go down from these places and keep where it ends."""
        system = self.group.system
        state = linear.place(system, places)
        datum = self.group.datum(state)
        rest = descent.descend(system, state, datum, self.as_well)
        if rest is None:
            return
        rest = Rest(self.group.laid(rest.state), rest.chi2, rest.settled)
        if any(self._same(rest, other) for other in self.sound):
            return
        held = rest.settled and descent.held(system, rest.state, self.group.datum(rest.state))
        (self.sound if held else self.unsound).append(rest)

    def _same(self, one: Rest, other: Rest) -> bool:
        marks = (_fingerprint(self.group, rest.state) for rest in (one, other))
        return bool(np.abs(np.subtract(*marks)).max(initial=0.0) < SAME_SPOT * self.group.system.size)

    @property
    def lowest(self) -> float:
        return min((rest.chi2 for rest in self.sound), default=math.inf)

    @property
    def unsound_best(self) -> float:
        return min((rest.chi2 for rest in self.unsound), default=math.inf)

    @property
    def as_well(self) -> float:
        """The chi2 up to which a spot fits as well as the best."""
        return self.lowest + AS_WELL * max(1.0, self.lowest / max(1, self.spare))

    @property
    def spare(self) -> int:
        """Readings beyond the number needed."""
        return len(self.group.system.observations) - len(self.group.system.free)

    @property
    def fit(self) -> bool:
        """Whether something found is as near the readings as their sigmas allow."""
        allowed = chi_square_limit(self.spare, 0.999) if self.spare > 0 else 1e-6
        return min(self.lowest, self.unsound_best) <= allowed

    def ranked(self, first_is_meant: bool) -> list[Rest]:
        """Those that fit as well as the best, best first; the first one found leads where it is the one meant."""
        best = [rest for rest in self.sound if rest.chi2 <= self.as_well]
        return sorted(best, key=lambda rest: (not (first_is_meant and rest is self.sound[0]), rest.chi2))


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
        name: shifted(given, name in edges, -centre) for name, given in start.items() if name not in near
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
        Group(
            linear.build(items, whole.fixed, system.dimension, system.size), whole.fixed, whole.start, False
        )
        for items in members.values()
    ]


def _search(group: Group) -> list[tuple[Placing, float]]:
    """All spots of a group that fit as well as the best, with their chi2; the one to report comes first."""
    system = group.system
    builder = Builder(system.observations, group.fixed, system.dimension, system.size)
    known = _known(group)
    order = builder.order(known)
    finds, meant = Finds(group), False
    if any(name in group.start for name in system.slots):
        given = {**known, **{name: tuple(place) for name, place in group.start.items() if name in system.slots}}
        finds.add(builder.grow([Trial(given, 0.0)], builder.order(given), 1)[0].places)
        meant = bool(finds.sound)
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
    return [(linear.read_out(system, rest.state), rest.chi2) for rest in finds.ranked(meant)]


def _look_further(finds: Finds, builder: Builder, order: Sequence[str], known: Placing) -> None:
    """Turn over what could lie the other way round; start anywhere where nothing yet fits the sigmas."""
    system = finds.group.system
    if finds.sound:
        best = linear.read_out(system, finds.ranked(False)[0].state)
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
        beside = {
            other for item in system.observations for other in names_of(item) if {*names_of(item)} & {*chosen}
        }
        chosen.append(
            min((name for name in names if name not in chosen), key=lambda name: name not in beside)
        )
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


def _laid_on(system: System, state: Array, start: Start) -> Array:
    """The whole moved so that the squares of the distances to the start points add up to least."""
    names = [name for name in system.slots if name in start and name not in system.edges]
    here = np.array([state[system.slots[name]] for name in names])
    there = np.array([start[name] for name in names], dtype=float)
    turn = np.eye(system.dimension)
    if not system.oriented:
        left, _, right = np.linalg.svd((here - here.mean(axis=0)).T @ (there - there.mean(axis=0)))
        flip = np.ones(system.dimension)
        flip[-1] = np.sign(np.linalg.det(left @ right)) or 1.0
        turn = (left * flip @ right).T
    shift = there.mean(axis=0) - turn @ here.mean(axis=0)
    moved = state.copy()
    for name, slot in system.slots.items():
        if name in system.edges:
            angle = state[slot][0] + math.atan2(turn[1, 0], turn[0, 0])
            moved[slot] = shifted((angle, float(state[slot][1])), True, shift)
        else:
            moved[slot] = turn @ state[slot] + shift
    return moved


def _fingerprint(group: Group, state: Array) -> Array:
    """Numbers that are equal for equal spots, lengths throughout: whichever way an edge is run along, and in a free
    network also wherever the whole lies and whether it is seen from behind."""
    system = group.system
    points = [state[slot] for name, slot in system.slots.items() if name not in system.edges]
    lines = [state[slot] for name, slot in system.slots.items() if name in system.edges]
    normals = np.array([(-math.sin(angle), math.cos(angle)) for angle, _ in lines]).reshape(-1, 2)
    offsets = np.array([offset for _, offset in lines])
    if group.free and not system.oriented:
        at = np.array(points)
        apart = np.sqrt(((at[:, None] - at[None]) ** 2).sum(axis=2))
        heights = np.abs(at @ normals.T - offsets) if lines else np.zeros(0)
        return np.concatenate([apart.ravel(), heights.ravel()])
    twice = np.array([(math.cos(2 * angle), math.sin(2 * angle)) for angle, _ in lines]).ravel() * system.size
    return np.concatenate([*points, twice, (normals * offsets[:, None]).ravel()])
