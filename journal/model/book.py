"""The book of a build: the entities with the look-ups that judges and pages need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from journal.ground.names import fold
from journal.model.entities import (
    Day,
    Entities,
    Job,
    Moment,
    Order,
    Part,
    Photo,
    Place,
    Reading,
    State,
    Treatment,
)
from journal.model.lifecycle import LAST, Lives
from journal.read.settings import Settings


@dataclass(frozen=True)
class Book:
    """Read-only. `today` is the day everything is told for; where days of the notes run ahead of the `clock` it is the
    last of them, where a day was asked for that is it, and the clock None."""

    settings: Settings
    entities: Entities
    today: date
    clock: date | None = None

    @cached_property
    def now(self) -> Moment:
        """The end of today."""
        return Moment(self.today, LAST)

    @property
    def parts(self) -> Mapping[str, Part]:
        return self.entities.parts

    @property
    def readings(self) -> Mapping[str, Reading]:
        return self.entities.readings

    @property
    def photos(self) -> Mapping[str, Photo]:
        return self.entities.photos

    @property
    def places(self) -> Mapping[tuple[str, ...], Place]:
        return self.entities.places

    @property
    def days(self) -> tuple[Day, ...]:
        """Oldest first."""
        return self.entities.days

    @property
    def jobs(self) -> Mapping[str, Job]:
        return self.entities.jobs

    @property
    def orders(self) -> Mapping[str, Order]:
        return self.entities.orders

    @property
    def treatments(self) -> tuple[Treatment, ...]:
        return self.entities.treatments

    @cached_property
    def lives(self) -> Lives:
        """The states of every part by date."""
        return Lives(self.entities.parts)

    def state(self, part: str, on: date | None = None) -> State:
        """The state of a part at the end of a day (today unless said)."""
        return self.lives.state(part, on or self.today)

    def title(self, part: str | None) -> str:
        """The part's name with its side; "the machine" for None."""
        return self.parts[part].title if part else "the machine"

    @cached_property
    def _children(self) -> dict[str | None, list[str]]:
        found: dict[str | None, list[str]] = {}
        for part in self.parts.values():
            for host in part.hosts or (None,):
                found.setdefault(host, []).append(part.id)
        return found

    def children(self, host: str | None) -> tuple[str, ...]:
        """Ids of the parts fixed to a host by the last word on them."""
        return tuple(self._children.get(host, ()))

    @cached_property
    def _by_name(self) -> dict[str, list[Part]]:
        found: dict[str, list[Part]] = {}
        for part in self.parts.values():
            found.setdefault(fold(part.name), []).append(part)
        return found

    def named(self, name: str) -> tuple[Part, ...]:
        """The parts of a name without its side, in the order they were first named."""
        return tuple(self._by_name.get(fold(name), ()))

    @cached_property
    def _by_part(self) -> dict[str, list[Reading]]:
        found: dict[str, list[Reading]] = {}
        for reading in self.readings.values():
            found.setdefault(reading.part, []).append(reading)
        return found

    def readings_of(self, part: str) -> tuple[Reading, ...]:
        """Readings of slips about a part, in order of time."""
        return tuple(self._by_part.get(part, ()))

    @cached_property
    def _by_reference(self) -> dict[str | None, list[Reading]]:
        found: dict[str | None, list[Reading]] = {}
        for reading in self.readings.values():
            if reading.reference and reading.reference.owner != reading.part:
                found.setdefault(reading.reference.owner, []).append(reading)
        return found

    def readings_from(self, part: str | None) -> tuple[Reading, ...]:
        """Readings of other parts that refer to a feature of this one."""
        return tuple(self._by_reference.get(part, ()))

    def place_of(self, part: str) -> tuple[str, ...]:
        """Its place, or the nearest host's where it has none of its own."""
        seen: set[str] = set()
        at: str | None = part
        while at and at not in seen:
            seen.add(at)
            if self.parts[at].place:
                return self.parts[at].place
            at = self.parts[at].host
        return ()
