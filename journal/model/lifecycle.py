"""The state of every part by date: on, off, riding along, cut, replaced, scrapped.

A child rides along with its host. `replaced` starts a new self of the part; so does a refit of what was scrapped: it
may be another one. Everything is read off the parts' events, which `resolve` has put in order.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from journal.model.entities import Event, Moment, Part, State

OFF_STATES: frozenset[State] = frozenset({"off", "scrapped"})
LAST = 1 << 60  # after every slip of a day


def starts_anew(kind: str, before: Sequence[Event]) -> bool:
    """Whether an event of a kind, after all these, begins a new self of the part."""
    fates = (event.kind for event in reversed(before) if event.kind in ("refitted", "replaced", "scrapped"))
    return kind == "replaced" or (kind == "refitted" and next(fates, "") == "scrapped")


@dataclass(frozen=True)
class Lives:
    """States by moment. Hosts in a ring are taken as standing on the machine.

    What was found once is kept: every reading asks for the state of its host, which has hundreds of them.
    """

    parts: Mapping[str, Part]
    _states: dict[tuple[str, Moment], State] = field(default_factory=dict, repr=False, compare=False)
    _owns: dict[tuple[str, Moment], State] = field(default_factory=dict, repr=False, compare=False)
    _selves: dict[tuple[str, Moment], int] = field(default_factory=dict, repr=False, compare=False)

    def state(self, part: str, on: date) -> State:
        """The state at the end of a day."""
        return self.state_at(part, Moment(on, LAST))

    def state_at(self, part: str, when: Moment) -> State:
        """The state just after everything said up to `when`."""
        if (part, when) not in self._states:
            self._states[part, when] = self._state_at(part, when)
        return self._states[part, when]

    def _state_at(self, part: str, when: Moment) -> State:
        own = self._own(part, when)
        if own not in ("on", "back on", "going"):
            return own
        gone = self._host_is_gone(part, when)
        if gone == "off":
            return "back on with its host off" if own == "back on" else "off with its host"
        return "off with its host" if gone == "lost" else own

    def is_off(self, part: str, when: Moment) -> bool:
        """Whether the part itself was taken off (or scrapped), not merely riding on a host that is off."""
        return self._own(part, when) in OFF_STATES

    def self_at(self, part: str | None, when: Moment) -> int:
        """Number of the part's self at a moment; the machine has one for ever."""
        if part is None:
            return 1
        if (part, when) not in self._selves:
            last = self._last(part, when)
            self._selves[part, when] = last.self if last else 1
        return self._selves[part, when]

    def _last(self, part: str, when: Moment, *kinds: str) -> Event | None:
        events = self.parts[part].events
        upto = bisect_right(events, when, key=lambda event: event.when)
        return next((e for e in reversed(events[:upto]) if not kinds or e.kind in kinds), None)

    def _own(self, part: str, when: Moment) -> State:
        """The state by the part's own events alone."""
        if (part, when) not in self._owns:
            self._owns[part, when] = self._own_state(part, when)
        return self._owns[part, when]

    def _own_state(self, part: str, when: Moment) -> State:
        last = self._last(part, when, "removed", "refitted", "replaced", "scrapped")
        cut = self._last(part, when, "cut")
        if last is None or last.kind in ("refitted", "replaced"):
            if self.announced(part, when):
                return "going"
            if cut and (last is None or cut.when > last.when):
                return "cut"
            if last is None:
                return "on"
            return "back on" if last.kind == "refitted" else "replaced"
        fate = self._last(part, when, "refitted", "replaced", "scrapped")
        return "scrapped" if fate and fate.kind == "scrapped" else "off"  # to take it off then does not bring it back

    def announced(self, part: str, when: Moment) -> bool:
        """Whether it was said that the part will go, and nothing of it has gone since."""
        gone = self._last(part, when, "replaced", "scrapped", "cut")
        return any(
            said.key == "going" and said.when <= when and (gone is None or said.when > gone.when)
            for said in self.parts[part].said
        )

    def _host_is_gone(self, part: str, when: Moment) -> str:
        """ "off" if some host above is off, "lost" if it is scrapped or another self by now, else ""."""
        at, seen = part, {part}
        sat = self.settled(part, when)
        while (host := self.parts[at].host) and host in self.parts and host not in seen:
            seen.add(host)
            own = self._own(host, when)
            if own == "scrapped" or (at == part and self.self_at(host, when) != self.self_at(host, sat)):
                return "lost"
            if own == "off":
                return "off"
            at = host
        return ""

    def settled(self, part: str, when: Moment) -> Moment:
        """The moment the part last came to sit where it does: its last refit, else when it was first named."""
        last = self._last(part, when, "refitted", "replaced")
        return last.when if last else self.parts[part].named

    def came_off(self, part: str, when: Moment) -> Event | None:
        """The event that took the part off, if it is off: the first `removed` or `scrapped` since it was last on."""
        if not self.is_off(part, when):
            return None
        last = self._last(part, when, "refitted", "replaced")
        events = [e for e in self.parts[part].events if (last is None or last.when < e.when) and e.when <= when]
        return next((e for e in events if e.kind in ("removed", "scrapped")), None)
