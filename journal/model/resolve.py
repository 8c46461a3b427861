"""Raw notes to the one truth: every name to a part, every slip to events, sayings and readings.

The order is plain: put all slips in order of time, learn all names, gather what each slip says of its part, give
each part its life, then resolve the statements against it. A name or a picture that is not known costs its line.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from journal.ground.finding import Finding
from journal.ground.names import unique_slugs
from journal.model import work
from journal.model.album import Album
from journal.model.entities import (
    Day,
    DayNote,
    Entities,
    Event,
    Moment,
    Part,
    Photo,
    Picture,
    Place,
    PlacedSlip,
    Said,
)
from journal.model.lifecycle import Lives, starts_anew
from journal.model.naming import CUT_OUT, Named, Registry, is_bench, is_machine, is_no_part
from journal.model.places import Path, place_key
from journal.model.private import PrivateLists
from journal.model.readings import Line, Resolver
from journal.model.written import Written
from journal.notes.records import Entry, Name, Note, Slip
from journal.read.folders import DayFolder
from journal.read.settings import Settings, split_place, too_deep

EVENTS = frozenset({"removed", "refitted", "replaced", "cut", "scrapped", "treated", "measured"})
HOST_KEYS = {"part": ("from",), "removed": ("from",), "refitted": ("on",), "measured": ("on",)}
PLAIN_LISTS = frozenset({"from", "on", "behind", "opposite"})


@dataclass
class _Growing:
    """A part while the slips are read, before it is frozen."""

    id: str
    named: Named
    hosts: list[tuple[Moment, tuple[str, ...]]] = field(default_factory=list)
    fallback: tuple[str, ...] = ()
    said: list[Said] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    photos: list[str] = field(default_factory=list)
    in_place: list[tuple[Moment, str]] = field(default_factory=list)
    public: bool = False

    @property
    def last_hosts(self) -> tuple[str, ...]:
        """Hosts by the last word on them."""
        return self.hosts[-1][1] if self.hosts else self.fallback

    def hosts_at(self, when: Moment) -> tuple[str, ...]:
        """Hosts by the last word up to a moment, else by the first word after it."""
        before = [hosts for at, hosts in self.hosts if at <= when]
        return before[-1] if before else self.hosts[0][1] if self.hosts else self.fallback


def resolve(
    settings: Settings,
    folders: Sequence[DayFolder],
    notes: Mapping[str, Note],
    pictures: Mapping[str, Picture],
    later: Sequence[DayFolder] = (),
) -> tuple[Entities, list[Finding]]:
    """Everything of a build. `notes` by file, `pictures` by file; findings in no particular order.

    later  days that are not read, as they come after the one that all is told for
    """
    return _Resolution(settings, folders, notes, pictures, later).entities()


class _Resolution:
    """One build being resolved. Methods run in the order they stand."""

    def __init__(
        self,
        settings: Settings,
        folders: Sequence[DayFolder],
        notes: Mapping[str, Note],
        pictures: Mapping[str, Picture],
        later: Sequence[DayFolder],
    ) -> None:
        self.settings, self.folders, self.notes, self.pictures = settings, folders, notes, pictures
        self.registry = Registry(settings.sides)
        self.album = Album(folders, pictures)
        self.findings: list[Finding] = []
        self.private = PrivateLists(settings, folders, later)
        self.private_days = self.private.days()
        self.private_places: frozenset[Path] = frozenset()
        self.private_parts: frozenset[str] = frozenset()
        self.written = self._in_order()
        self.grown: dict[str, _Growing] = {}
        self.about: dict[int, tuple[str, ...]] = {}
        self.slip_photos: dict[int, tuple[str, ...]] = {}
        self.slip_readings: dict[int, list[str]] = defaultdict(list)
        self.tree: dict[tuple[str, ...], tuple[str, ...]] = {}

    def entities(self) -> tuple[Entities, list[Finding]]:
        self._learn_places()
        self._learn_names()
        self.private_places = self.private.places(self.tree)
        self.private_parts = self.private.parts(self.registry)
        for each in self.written:
            self._take(each)
        parts = self._parts()
        lives = Lives(parts)
        resolver = Resolver(self.registry, parts, lives, self.settings.sides)
        lines = self._lines(parts, lives)
        found_readings = resolver.resolve(lines)
        for line, reading in zip(lines, found_readings, strict=True):
            self.slip_readings[line.when.order].append(reading.id)
        readings = {reading.id: reading for reading in found_readings}
        parts = self._with_events_at_hosts(parts)
        planner = work.Planner(self.registry, self.tree)
        jobs, orders, treatments = planner.plan(self.written, self.about, self._is_place)
        listed = self.private.photos(self.album)
        slips = [(each, self.slip_photos[each.number]) for each in self.written if each.slip.kind == "photo"]
        photos = self.album.photos(slips, self.registry, readings, parts, self._shown(lives), listed)
        entities = Entities(parts, readings, photos, self._places(parts), self._days(photos), jobs, orders, treatments)
        found = (self.registry, resolver, planner, self.album, self.private)
        return entities, [*self.findings, *(finding for each in found for finding in each.findings)]

    def _in_order(self) -> list[Written]:
        """All slips by day, then as they stand."""
        written: list[Written] = []
        for folder in self.folders:
            for file in folder.notes:
                if file in self.notes:
                    for slip in self.notes[file].slips:
                        number = len(written)
                        written.append(
                            Written(
                                slip,
                                self.notes[file],
                                Moment(folder.date, number),
                                folder,
                                slip.private or folder.date in self.private_days,
                                number,
                            )
                        )
        return written

    def _learn_names(self) -> None:
        """First the names of first lines, then those of hosts, which may lean on them; what was cut out of all these
        comes last."""
        for each in self.written:
            if each.slip.kind == "part":
                for entry in each.slip.all("also called"):
                    for other in entry.items:
                        if each.slip.name:
                            self.registry.also_called(other.split(",")[0], each.slip.name)
        for each in self.written:
            if each.slip.name and not self._is_place(each.slip) and not _is_cut_out(each.slip):
                self.registry.introduce(each.slip.name, each.when)
        for each in self.written:
            for key in HOST_KEYS.get(each.slip.kind, ()):
                for entry in each.slip.all(key):
                    for name in entry.names:
                        self.registry.introduce_host(name, each.when)
        for each in self.written:
            if each.slip.name and _is_cut_out(each.slip):
                self.registry.introduce_cut_out(each.slip.name, each.when)
        self.registry.close()
        self.grown = {id: _Growing(id, named) for id, named in self.registry.items()}

    def _is_place(self, slip: Slip) -> bool:
        """Whether a `treated` slip is about a place rather than a part."""
        if slip.kind != "treated":
            return False
        about = place_key(split_place(slip.about))
        return about in self.tree or (len(about) == 1 and any(key[-1] == about[0] for key in self.tree))

    def _learn_places(self) -> None:
        """The tree of places: those of build.toml in their order, then those the notes add; first spelling wins."""
        for path, _ in self.settings.places:
            _grow(self.tree, path)
        for each in self.written:
            for entry in each.slip.all("place"):
                path = split_place(entry.value)
                _grow(self.tree, path)
                if not path:
                    self.findings.append(_no_place(entry))
                if deep := too_deep(entry.value):
                    self.findings.append(Finding("not-understood", deep, entry.span, help="take names out of it"))

    def _path(self, text: str) -> tuple[str, ...]:
        """A place as the tree spells it; () for words that name none."""
        return self.tree.get(place_key(split_place(text)), ())

    def _take(self, each: Written) -> None:
        """What one slip says of the part or parts it is about."""
        slip = each.slip
        parts = self.registry.find(slip.name) if slip.name and not self._is_place(slip) else ()
        self.about[each.number] = parts
        if slip.kind == "photo":
            about = self.album.find(slip.about, each.folder)
            self.slip_photos[each.number] = (about,) if about else ()
        else:
            self.slip_photos[each.number] = self.album.named(
                each.folder, [(item, entry.span) for entry in slip.all("photos") for item in entry.items]
            )
        for part in parts:
            self._take_for(each, self.grown[part])

    def _take_for(self, each: Written, grown: _Growing) -> None:
        slip = each.slip
        side = grown.named.key[1]
        grown.public |= not each.private
        hosts: tuple[str, ...] = ()
        for entry in slip.told:
            ids = self._parts_named(entry.names, side, grown.id, entry.key)
            if entry.key in HOST_KEYS.get(slip.kind, ()):
                hosts = tuple(dict.fromkeys((*hosts, *ids)))
            grown.said.append(
                Said(entry.key, entry.value, each.when, slip.kind, entry.span, entry.items, ids, each.private)
            )
        on_machine = any(is_machine(name) for key in HOST_KEYS.get(slip.kind, ()) for name in _names(slip, key))
        if (hosts or on_machine) and slip.kind != "measured":
            grown.hosts.append((each.when, hosts))
        elif hosts and not grown.fallback:
            grown.fallback = hosts
        if slip.kind in EVENTS:
            self._happen(each, grown)
        photos = self.slip_photos[each.number]
        grown.photos.extend(photos)
        grown.in_place.extend((each.when, photo) for photo in photos if slip.kind in ("part", "measured", "removed"))

    def _parts_named(self, names: Iterable[Name], side: str, about: str, key: str) -> tuple[str, ...]:
        """Ids of the parts a list names; one that is not known, or that could be either side, is a finding."""
        ids: list[str] = []
        for name in names:
            found = self.registry.find(name, side)
            ids += self._meant(name, side, key)
            if not found and not (is_no_part(name) and key in ("from", "on")):
                self.findings.append(self.registry.unknown(name, about))
            if about in found and key in PLAIN_LISTS:
                ids = [id for id in ids if id != about]
                self.findings.append(
                    Finding(
                        "not-understood",
                        f'"{name.written}" is named as its own "{key}"',
                        name.span,
                        part=about,
                        help="name the part it is fixed to, or leave the line out"
                        if key in ("from", "on")
                        else "name another part",
                    )
                )
        return tuple(dict.fromkeys(ids))

    def _meant(self, name: Name, side: str, key: str) -> tuple[str, ...]:
        """Ids of a name under a key. Which side something hangs on may not be known: then both must stay for its own
        holes to count."""
        found = self.registry.find(name, side)
        return found or (self.registry.every_side(name) if key in ("from", "on") else ())

    def _happen(self, each: Written, grown: _Growing) -> None:
        number = grown.events[-1].self if grown.events else 1
        kind = each.slip.kind
        away = tuple(item for entry in each.slip.all("away") for item in entry.items)
        grown.events.append(
            Event(
                kind,  # type: ignore[arg-type]  # one of EVENTS, tested by the caller
                each.when,
                each.slip.span,
                self=number + starts_anew(kind, grown.events),
                away=away,
                private=each.private,
            )
        )

    def _parts(self) -> dict[str, Part]:
        return {grown.id: self._part(grown) for grown in self.grown.values()}

    def _part(self, grown: _Growing) -> Part:
        named = grown.named
        place = self._place_said(grown)
        hidden = not grown.public and bool(grown.said or grown.events)
        hidden |= grown.id in self.private_parts or self._is_private(place)
        called = tuple(item for said in grown.said if said.key == "also called" for item in said.items)
        return Part(
            grown.id,
            named.words,
            named.key[1],
            named.title,
            grown.last_hosts,
            place,
            tuple(grown.said),
            tuple(grown.events),
            named.first,
            named.when.day,
            tuple(dict.fromkeys(grown.photos)),
            called,
            hidden,
            named.when,
        )

    def _is_private(self, path: Path) -> bool:
        """Whether a place is private, or lies in one that is."""
        key = place_key(path)
        return any(key[:depth] in self.private_places for depth in range(1, len(key) + 1))

    def _with_events_at_hosts(self, parts: dict[str, Part]) -> dict[str, Part]:
        """The same parts, each event with the host it happened at."""
        return {
            id: replace(
                part,
                events=tuple(
                    replace(event, host=next(iter(self.grown[id].hosts_at(event.when)), None)) for event in part.events
                ),
            )
            for id, part in parts.items()
        }

    def _lines(self, parts: dict[str, Part], lives: Lives) -> list[Line]:
        """Every statement for every part its slip is about."""
        lines = []
        for each in self.written:
            for part in self.about[each.number] or self._measured_in(each.slip):
                lines += self._lines_of(each, parts[part], lives)
        return lines

    def _measured_in(self, slip: Slip) -> tuple[str, ...]:
        """Parts that readings in a slip about something else are of: a job's `part`, a picture's `shows`."""
        key = {"job": "part", "done": "part", "photo": "shows"}.get(slip.kind, "")
        return tuple(id for name in _names(slip, key) for id in self.registry.find(name)) if slip.statements else ()

    def _lines_of(self, each: Written, part: Part, lives: Lives) -> list[Line]:
        slip = each.slip
        named = [name for key in ("on", "from") for name in _names(slip, key) if not is_bench(name)]
        hosts = tuple(i for name in named for i in self.registry.find(name, part.side) if i != part.id)
        hosts = hosts or self.grown[part.id].hosts_at(each.when)
        benched = slip.kind == "measured" and not named and lives.is_off(part.id, each.when)
        placed = slip.first("place")
        place = (self._path(placed.value) if placed else ()) or self._place_of(part)
        return [
            Line(
                statement,
                slip,
                each.when,
                part,
                hosts,
                bool(named),
                benched,
                place,
                self.slip_photos[each.number],
                each.private,
            )
            for statement in slip.statements
        ]

    def _place_said(self, grown: _Growing) -> tuple[str, ...]:
        """The last place that slips about a part name; () where none does."""
        said = (self._path(said.text) for said in reversed(grown.said) if said.key == "place")
        return next(filter(None, said), ())

    def _place_of(self, part: Part) -> tuple[str, ...]:
        """Its own place, else the nearest host's."""
        at, seen = part.id, set[str]()
        while at not in seen:
            seen.add(at)
            place = self._place_said(self.grown[at])
            if place:
                return place
            at = next(iter(self.grown[at].last_hosts), at)
        return ()

    def _shown(self, lives: Lives) -> dict[str, set[str]]:
        """Picture to the parts it shows where they sat: named on or before the removal, while the part was on."""
        shown: dict[str, set[str]] = defaultdict(set)
        for grown in self.grown.values():
            for when, photo in grown.in_place:
                removing = any(e.when == when and e.kind == "removed" for e in grown.events)
                if removing or not lives.is_off(grown.id, when):
                    shown[photo].add(grown.id)
        return shown

    def _places(self, parts: Mapping[str, Part]) -> dict[tuple[str, ...], Place]:
        """Every place with its note, the parts in it and the places below it."""
        notes = {place_key(path): note for path, note in self.settings.places}
        held: dict[tuple[str, ...], list[str]] = defaultdict(list)
        for part in parts.values():
            if path := self._place_of(part):
                held[place_key(path)].append(part.id)
        slugs = unique_slugs(" / ".join(path) for path in self.tree.values())
        below: dict[tuple[str, ...], list[str]] = defaultdict(list)
        for key, path in self.tree.items():
            below[key[:-1]].append(slugs[" / ".join(path)])
        return {
            path: Place(
                slugs[" / ".join(path)],
                path,
                notes.get(key, ""),
                tuple(held[key]),
                tuple(below[key]),
                self._is_private(path),
            )
            for key, path in self.tree.items()
        }

    def _days(self, photos: Mapping[str, Photo]) -> tuple[Day, ...]:
        by_date: dict[date, list[DayFolder]] = defaultdict(list)
        for folder in self.folders:
            by_date[folder.date].append(folder)
        placed: dict[str, list[PlacedSlip]] = defaultdict(list)
        for each in self.written:
            placed[each.note.file].append(self._placed(each))
        shown: dict[date, list[Photo]] = defaultdict(list)
        for photo in photos.values():
            shown[photo.day].append(photo)
        return tuple(self._day(on, folders, placed, shown[on]) for on, folders in sorted(by_date.items()))

    def _placed(self, each: Written) -> PlacedSlip:
        return PlacedSlip(
            each.slip,
            each.when,
            self.about[each.number],
            tuple(self.slip_readings[each.number]),
            self.slip_photos[each.number],
            tuple(self._names_in(each.slip, self.about[each.number])),
        )

    def _names_in(self, slip: Slip, about: Sequence[str]) -> Iterator[tuple[Name, tuple[str, ...]]]:
        """Each name of a slip with the parts it means, said about those that the slip is about."""
        if slip.name and about:
            yield slip.name, tuple(about)
        sides = [self.grown[part].named.key[1] for part in about] or [""]
        for entry in slip.entries:
            for name in entry.names:
                meant = [id for side in sides for id in self._meant(name, side, entry.key)]
                yield name, tuple(dict.fromkeys(meant))

    def _day(
        self,
        on: date,
        folders: Sequence[DayFolder],
        placed: Mapping[str, list[PlacedSlip]],
        photos: Iterable[Photo],
    ) -> Day:
        notes = [
            self.album.illustrated(self.notes[file], folder)
            for folder in folders
            for file in folder.notes
            if file in self.notes
        ]
        titles = [f.title for f in folders if f.title] + [note.title for note in notes if note.title]
        shown = sorted(photos, key=lambda p: (p.order or "9999", p.name, p.key))
        return Day(
            on,
            titles[0] if titles else "",
            tuple(f.path for f in folders),
            tuple(DayNote(note, tuple(placed.get(note.file, ()))) for note in notes),
            tuple(photo.key for photo in shown),
            on in self.private_days,
        )


def _no_place(entry: Entry) -> Finding:
    help = "write `place: underside / left sill`, from the large to the small"
    return Finding("not-understood", f'"{entry.value}" names no place', entry.span, help=help)


def _is_cut_out(slip: Slip) -> bool:
    return slip.kind == "cut" and slip.name is not None and CUT_OUT.match(slip.name.words) is not None


def _names(slip: Slip, key: str) -> list[Name]:
    """All names a slip lists under a key."""
    return [name for entry in slip.all(key) for name in entry.names]


def _grow(tree: dict[tuple[str, ...], tuple[str, ...]], path: tuple[str, ...]) -> None:
    """Put a path and all above it into the tree, spelt as what stands above it is spelt already."""
    for depth in range(1, len(path) + 1):
        key = place_key(path[:depth])
        tree.setdefault(key, (*tree.get(key[:-1], ()), path[depth - 1]))
