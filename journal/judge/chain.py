"""Places along the axes of a face, added up from feature to feature.

A slip of the tape must not carry on, so each feature is put where most of its readings have it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate
from typing import NamedTuple

from journal.judge.face import Face, Tape

MANY = 3  # readings of one feature of which one may be wrong
TOGETHER = 4.0  # mm that readings of one place may lie apart (common practice, no published source)
MORE = 1 + 1e-9  # than rounding

Known = tuple[dict[str, float], dict[str, float]]  # for each axis: name -> mm
Beside = dict[str, list[tuple[str, float, float, bool]]]  # name -> (other, mm from here to it, trust, or as far back)
Vote = tuple[float, float]  # a place, and how far it is trusted


class Link(NamedTuple):
    """A reading along one of the face's axes: place of a less place of b is `value` mm (signed).

    of      what its sign hangs on, "" where that is the reading itself
    told    words say on which side
    either  nothing does, and it lies as the readings fit
    """

    tape: Tape
    along: int
    sign: int
    of: str
    told: bool
    either: bool

    @property
    def value(self) -> float:
        return self.sign * self.tape.value

    def misfit(self, apart: float) -> float:
        """What would have to be added to the reading where place of a less place of b is `apart`."""
        return abs(apart) - abs(self.tape.value) if self.either else self.sign * apart - self.tape.value


def in_order(face: Face) -> list[str]:
    """Its features: those of the host first, lines before points."""
    nodes = sorted(face.nodes.values(), key=lambda node: (node.owner != face.host, node.point))
    return [node.key for node in nodes]


class Chain:
    """Places along each axis.

    at     for each axis: name -> mm from the first of what it hangs together with
    group  for each axis: name -> the first of what it hangs together with
    """

    def __init__(self, order: Sequence[str], along: Sequence[Link], known: Known = ({}, {})) -> None:
        """`order` is that of `in_order`; `known` places are the first of each axis, at what they are given."""
        self.at: tuple[dict[str, float], dict[str, float]] = ({}, {})
        self.group: tuple[dict[str, str], dict[str, str]] = ({}, {})
        self._beside: tuple[Beside, Beside] = ({}, {})
        for tape, axis, sign, _, _, either in along:
            beside, value = self._beside[axis], sign * tape.value
            beside.setdefault(tape.a, []).append((tape.b, -value, 1 / tape.sigma, either))
            beside.setdefault(tape.b, []).append((tape.a, value, 1 / tape.sigma, either))
        for axis in (0, 1):
            beside, at = self._beside[axis], self.at[axis]
            here = {key: place for key, place in known[axis].items() if key in beside}
            if here:
                self._spread(axis, here)
            for key in order:
                if key in beside and key not in at:
                    self._spread(axis, {key: 0.0})
                    here[key] = 0.0
            self._better(axis, here)

    def _spread(self, axis: int, first: Mapping[str, float]) -> None:
        """Place all that hangs together with what is placed first: what was read from it, then from that, and on; what
        may lie on either side when nothing else is left."""
        beside, at, group = self._beside[axis], self.at[axis], self.group[axis]
        placed, name = first, next(iter(first))
        doubtful: dict[str, list[Vote]] = {}
        while placed:
            at.update(placed)
            group.update(dict.fromkeys(placed, name))
            votes: dict[str, list[Vote]] = {}
            for key, here in placed.items():
                for other, step, trust, either in beside[key]:
                    if other in at:
                        continue
                    if either:
                        doubtful.setdefault(other, []).extend(((here + step, trust), (here - step, trust)))
                    else:
                        votes.setdefault(other, []).append((here + step, trust))
            if not votes:
                votes = {key: told for key, told in doubtful.items() if key not in at}
                doubtful = {}
            placed = {key: agreed(told) for key, told in votes.items()}

    def _better(self, axis: int, kept: Mapping[str, float]) -> None:
        """Put what many readings are of where most of them have it, now that all else is placed."""
        at = self.at[axis]
        for key, links in self._beside[axis].items():
            if len(links) >= MANY and key not in kept:
                told = [(at[other] - step, trust) for other, step, trust, _ in links]
                told += [(at[other] + step, trust) for other, step, trust, either in links if either]
                at[key] = agreed(told)

    def places_of(self, keys: Iterable[str]) -> Known:
        """Of some features, those along each axis that hang together with the most."""
        wanted = set(keys)
        found: Known = ({}, {})
        for axis, places in enumerate(found):
            main = self.main(axis)
            places |= {key: self.at[axis][key] for key in wanted if self.group[axis].get(key) == main is not None}
        return found

    def main(self, axis: int) -> str | None:
        """The first of the largest group along an axis."""
        sizes = Counter(self.group[axis].values())
        return max(sizes, key=lambda first: sizes[first], default=None)


def agreed(votes: Sequence[Vote]) -> float:
    """The place that most votes have, by trust: their weighted median there; of equals the first."""
    if len(votes) == 1:
        return votes[0][0]
    ordered = sorted(votes)
    places = [place for place, _ in ordered]
    trusts = [0.0, *accumulate(trust for _, trust in ordered)]
    best, first, last = 0.0, 0, 0
    for place, _ in votes:
        low, high = bisect_left(places, place - TOGETHER), bisect_right(places, place + TOGETHER)
        trust = trusts[high] - trusts[low]
        if trust > best * MORE:
            best, first, last = trust, low, high
    return places[bisect_left(trusts, trusts[first] + best / 2, first + 1, last) - 1]
