"""The readings that took part in the sum of a face, looked through once for all that is on it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from journal.judge.verdicts import FacePosition
from journal.model.entities import Feature, Reading

Owned = tuple[str | None, str]  # a feature's owner, and its folded words


@dataclass(frozen=True, eq=False)
class FaceReadings:
    """Of a face, as far as the edition has them; `every` with the newest last."""

    position: FacePosition
    every: Sequence[Reading]

    @cached_property
    def _by_owner(self) -> Mapping[str | None, Sequence[Reading]]:
        found: defaultdict[str | None, list[Reading]] = defaultdict(list)
        for reading in self.every:
            for owner in owners_of(reading):
                found[owner].append(reading)
        return found

    def about(self, owner: str | None) -> Sequence[Reading]:
        """Those of one owner, and those that were taken from something of it."""
        return self._by_owner.get(owner, ())

    @cached_property
    def names(self) -> Mapping[Owned, str]:
        """Features as they were written, articles aside; a hole where its edge was measured from."""
        features = [feature for reading in self.every for feature in features_of(reading) if feature.words]
        return {(f.owner, f.words): f.words if f.rim else f.name for f in features}

    @cached_property
    def between(self) -> Mapping[frozenset[Owned], float]:
        """Two features to the least standard deviation of their adjusted readings, mm."""
        found: dict[frozenset[Owned], float] = {}
        for reading in self.every:
            residual = self.position.residuals[reading.id]
            if residual.unit == "mm":
                ends = frozenset((feature.owner, feature.words) for feature in features_of(reading))
                sigma = residual.sigma * max(1 - residual.redundancy, 0.0) ** 0.5
                found[ends] = min(sigma, found.get(ends, sigma))
        return found


def owners_of(reading: Reading) -> set[str | None]:
    """Whose it is, and what it was taken between."""
    return {reading.part, *(feature.owner for feature in features_of(reading))}


def features_of(reading: Reading) -> list[Feature]:
    """What it was taken between."""
    return [feature for feature in (reading.subject, reading.reference) if feature]
