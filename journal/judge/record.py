"""How well it is recorded where each part sits: what its place rests on, and what is still free to move.

A record is: readings that hold every motion on references that live; own holes or a fit on a living host; match
marks that live; a template; a route with both its ends. Everything else is less, and says so.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from journal.ground.names import fold
from journal.ground.records import record
from journal.judge.going import never_back
from journal.judge.living import OWN_HOLES, PRESENT, Life, Living
from journal.judge.located import located_by
from journal.judge.routes import ends_of, leads_to, tells_two_ends
from journal.judge.several import how_many, of_one, tells_apart
from journal.judge.verdicts import LocatedBy, Record, RecordWord, Standing
from journal.measure import pins
from journal.measure.methods import METHODS, method_half
from journal.measure.poses import ABOUT_SQUARE, SAME_PLACE, Doubt, Level, Size, doubt
from journal.model.book import Book
from journal.model.entities import Event, Feature, Moment, Part, Reading, Said
from journal.model.features import face_axis, is_end, relation_axis, tokens
from journal.notes.kinds import says_no, says_nothing

# Marks that are only drawn, marks that are cut into the metal, and what takes the first off (common practice, no
# published source).
DRAWN = re.compile(r"\b(?:pens?\b|paint|chalk|pencil|marker|crayon|tippex|tape|ink)")
CUT_IN = re.compile(r"\b(?:scrib|scratch|punch|pops?\b|stamp|saw|filed|notch|engrav|drill|chisel)")
STRIPS = re.compile(
    r"blast|wire (?:brush|wheel)|\b(?:strip|sand(?:ed|ing|paper)|ground|grind|flap (?:disc|wheel)|pickl|acid|dipp)"
)
WIDEST = 25  # mm: half of a range that places something (common practice, no published source)
ABOUT_WHERE = "what was written leaves so much open that it only says about where it is"
# Degrees that nobody mistakes who knows which way round it sat (common practice, no published source).
PLAIN_TURN = 30.0
GROUNDS_OF_SEAT: dict[LocatedBy, str] = {"own holes": "own holes", "fit": "its fit"}
# How a ground begins that goes with the host: its holes, and the marks across the joint.
ON_HOST = (*(f"{ground} in " for ground in GROUNDS_OF_SEAT.values()), "match marks: ")


def _too_wide(reading: Reading) -> bool:
    value = reading.value
    return value is not None and value.quantity == "length" and value.half is not None and value.half > WIDEST


def turn_half(reading: Reading) -> float:
    """Half-width in degrees of a direction that was read."""
    method = METHODS.get(reading.method or "")
    written = float(reading.value.half or 0) if reading.value else 0.0
    return math.hypot(float(method.angle) if method else ABOUT_SQUARE, written)


@record
class Tells:
    """What can tell a second place of a part from the first: a picture in place, `way round` (None: never said)."""

    photo: bool
    way_round: str | None

    def apart(self, turned: float, apart: float) -> str:
        """What does so for a place that is turned by degrees and `apart` mm away; "" if nothing."""
        if self.way_round is not None and abs(turned) >= PLAIN_TURN:
            return f"way round: {self.way_round}" if self.way_round else ""
        if self.photo and (apart >= SAME_PLACE or abs(turned) >= PLAIN_TURN):
            return "a picture of it in place"
        return ""


@record
class Sized:
    """Everything known of one part's place, before it is put into a word.

    now, ever   what readings hold with references that live, and with gone ones counted as if still there
    grounds     what else it rests on, in words; lost: what it rested on once and no longer does, with why
    doubt       whether the readings that hold it can hold it in another place as well
    rows, sure  its readings with references that live, and those of them that may hold it
    sizes       the numbers of these, by reading id
    either_side readings between a line and a point of different things, which may lie on either side of that, where
                only they hold it
    """

    part: Part
    located: LocatedBy
    now: pins.Hold
    ever: pins.Hold
    grounds: tuple[str, ...]
    lost: tuple[str, ...]
    hints: tuple[str, ...]
    one_of_many: bool
    rows: tuple[pins.Row, ...] = ()
    sure: tuple[pins.Row, ...] = ()
    face: pins.Face = field(default_factory=pins.Face)
    ties: tuple[pins.Tie, ...] = ()
    doubt: Doubt = field(default_factory=Doubt)
    sizes: Mapping[str, Size] = field(default_factory=dict)
    either_side: tuple[str, ...] = ()

    @property
    def pinned(self) -> bool:
        """Readings leave it no motion. Those of a hose or cable say where a point of it sat, never its way."""
        return self.now.held and not self.one_of_many and self.located != "route"

    @property
    def held(self) -> bool:
        """Readings hold it in one place, or in two that something else tells apart."""
        return self.pinned and self.second_spot != "is"

    @property
    def second_spot(self) -> Level:
        """Whether there is another place that neither a picture in place nor `way round` tells from the first."""
        if "photo" in self.hints:
            return "no"
        return self.doubt.turned if "way round" in self.hints else self.doubt.level

    @property
    def tells(self) -> Tells:
        said = self.part.latest("way round") if "way round" in self.hints else None
        return Tells("photo" in self.hints, (said.text if said else "") if "way round" in self.hints else None)

    @property
    def word(self) -> RecordWord:
        if self.held or self.grounds:
            return "position recorded"
        if self.now.rank or (self.now.held and self.one_of_many) or "route" in self.hints:
            return "partly recorded"
        return "seen, not measured" if self.hints else "not recorded"

    @property
    def outlives_host(self) -> bool:
        """Whether it is recorded by more than own holes, a fit and match marks, which go with the host."""
        return self.held or any(not ground.startswith(ON_HOST) for ground in self.grounds)

    @property
    def ever_enough(self) -> bool:
        return bool(self.lost) or (self.ever.held and not self.one_of_many and self.located != "route")


@dataclass(frozen=True)
class Recorder:
    """Asks the book for the record of any part; remembers what it found.

    adrift  parts to be taken as off and not recorded, None where that is to be found out
    unsure  readings of which nothing tells whether they are right, each with why: they hold nothing
    """

    book: Book
    adrift: frozenset[str] | None = None
    unsure: Mapping[str, str] = field(default_factory=dict)
    standings: dict[str, Standing] = field(default_factory=dict)
    _sized: dict[str, Sized] = field(default_factory=dict)

    @cached_property
    def living(self) -> Living:
        return Living(self.book)

    def sized(self, part: str) -> Sized:
        """Everything known of a part's place."""
        if part not in self._sized:
            self._sized[part] = self._size(self.book.parts[part])
        return self._sized[part]

    def doubting(self, unsure: Mapping[str, str]) -> Recorder:
        """The same, with readings of which nothing tells whether they are right; a part that these, and the neighbours
        it was measured from, have nothing to do with stays as it was found."""
        if not unsure:
            return self
        readings = self.book.readings
        beside = defaultdict[str, set[str]](set)
        for reading in readings.values():
            if neighbour := self._neighbour(reading, self.book.parts[reading.part]):
                beside[neighbour].add(reading.part)
        touched, new = set[str](), {readings[id].part for id in unsure}
        while new:
            touched |= new
            new = set().union(*(beside[part] for part in new)) - touched
        standings = {id: said for id, said in self.standings.items() if readings[id].part not in touched}
        sized = {part: found for part, found in self._sized.items() if part not in touched}
        return Recorder(self.book, self.adrift, unsure, standings, sized)

    def record(self, part: str) -> Record:
        """The record in the words shown, without advice."""
        sized = self.sized(part)
        free = sized.now.free if not (sized.held or sized.grounds) else ()
        if sized.pinned and not (sized.held or sized.grounds):
            free = (_second_place(sized),)
        if sized.one_of_many and sized.now.held:
            free = ("the readings hold one of them, the others can go anywhere",)
        return Record(
            part,
            self.book.state(part),
            sized.word,
            self.asked(part),
            sized.located,
            sized.grounds,
            free if sized.located != "route" else _route_free(sized),
            (),
            sized.now.rank,
            sized.now.full,
            sized.ever.rank,
            outlives_host=sized.outlives_host,
        )

    def asked(self, part: str) -> bool:
        """Whether the part is off and is to come back, so that its place is wanted."""
        book = self.book
        if book.state(part) == "scrapped":
            return not never_back(book, book.parts[part])
        return book.lives.is_off(part, book.now) or self.lost_host(part)

    def lost_host(self, part: str) -> bool:
        """Whether the part was never taken off, and the host, or the piece of it, that it sat on is gone."""
        return self.lost_with(part) is not None

    def lost_with(self, id: str) -> Event | None:
        """What took the host, or the piece of it, from under a part that was never taken off."""
        book, now, part = self.book, self.book.now, self.book.parts[id]
        if book.lives.is_off(id, now):
            return None
        sat, holes = book.lives.settled(id, now), located_by(part)[0] in GROUNDS_OF_SEAT
        for host in (book.parts[host] for host in part.hosts):
            gone = self.living.gone_since(host, sat) or self.living.cut_under(part, host.id, sat, holes=holes)
            if gone:
                return gone
        return None

    def sat(self, part: Part) -> Moment:
        """The moment it last came to sit on its host: what has gone from under it since is gone, off or not."""
        event = self.book.lives.came_off(part.id, self.book.now)
        return self.book.lives.settled(part.id, event.when if event else self.book.now)

    def _size(self, part: Part) -> Sized:
        located, _ = located_by(part)
        face = self._face(part)
        moved = last_moved(part)
        pinning, living = self._pinning(part, moved)
        ties = self._ties(part)
        sure = self._sure(living)
        ways = pins.Ways(sure, face, ties)
        now = ways.hold()
        ever = now if len(living) == len(pinning) else pins.hold(self._sure(pinning), face, ties)
        for reading_id in now.rows:
            self.standings[reading_id] = _counting(self.standings[reading_id])
        several = how_many(part, self.book.readings_of(part.id)) > 1
        grounds, lost = self._grounds(part, located, moved, several)
        sizes = self._sizes(sure) if now.held else {}
        either = _open_to_either_side(sure, part.host or "the machine", sizes) if now.held else ()
        if either and pins.hold([row for row in sure if row.id not in either], face, ties).held:
            either = ()
        return Sized(
            part,
            located,
            now,
            ever,
            grounds,
            lost,
            self._hints(part, located, moved),
            several and not any(tells_apart(part, reading) for reading in self.book.readings_of(part.id)),
            tuple(living),
            tuple(sure),
            face,
            ties,
            Doubt("is", "is") if either else doubt(ways, sizes) if now.held else Doubt(),
            sizes,
            either,
        )

    def _sure(self, rows: Sequence[pins.Row]) -> list[pins.Row]:
        return [row for row in rows if row.id not in self.unsure]

    def _sizes(self, rows: Sequence[pins.Row]) -> dict[str, Size]:
        """The numbers of readings of a length, and how far each may be out; of directions only that."""
        found = {}
        for row in rows:
            reading = self.book.readings[row.id]
            value = reading.value
            if row.relation in pins.TURNS:
                found[row.id] = Size(0.0, turn_half(reading))
                continue
            if value and value.number is not None and value.half is not None and value.quantity == "length":
                half = value.half + method_half(value, reading.method, reading.from_memory, reading.in_doubt)
                found[row.id] = Size(float(value.number), float(half))
        return found

    def _face(self, part: Part) -> pins.Face:
        said = part.latest("face")
        words = tokens(said.text.rstrip(" .")) if said else []
        return pins.Face(
            face_axis(said.text, self.book.settings.sides) if said else None,
            frozenset(words) - {"of"},
            "round" in words,
            part.latest("stands off") is not None,
        )

    def _pinning(self, part: Part, moved: Moment | None) -> tuple[list[pins.Row], list[pins.Row]]:
        """Rows of all readings that could hold the part, and of those whose references live."""
        ever, living = [], []
        for reading in self.book.readings_of(part.id):
            row = self._row(reading)
            standing = self._standing(reading, part, moved, row is not None)
            self.standings[reading.id] = standing
            wiped = moved is not None and reading.when < moved
            if row and not wiped and not self._hangs_on_nothing(reading, part):
                ever.append(row)
                if standing.lives:
                    living.append(row)
        return ever, living

    def _row(self, reading: Reading) -> pins.Row | None:
        """The statement as a row, or None for a size, a clearance, a one-sided or doubtful value."""
        subject, reference = reading.subject, reading.reference
        if reading.own or reading.doubted or subject is None or reference is None:
            return None
        if (not reading.contact and not (reading.value and reading.value.computable)) or _too_wide(reading):
            return None
        if not reference.words or subject.owner != reading.part:
            return None
        sides = self.book.settings.sides
        return pins.Row(
            reading.id,
            mark_of(subject, ""),
            reading.relation,
            mark_of(reference, reference.owner or "the machine"),
            relation_axis(reading.relation, sides),
        )

    def _standing(self, reading: Reading, part: Part, moved: Moment | None, pins_it: bool) -> Standing:
        """What a reading is worth today; `counts` is set later, once the rows are known."""
        if moved is not None and reading.when < moved:
            return Standing(False, False, why="the part was put elsewhere on purpose since")
        carried = ""
        for life in self._lives(reading, part, pins_it):
            if not life.lives:
                return Standing(False, False, why=life.why)
            carried = carried or life.carried
        why = "marked in doubt" if reading.in_doubt else self.unsure.get(reading.id, "")
        why = why or (ABOUT_WHERE if _too_wide(reading) else self._hangs_on_nothing(reading, part))
        return Standing(False, True, carried, why)

    def _lives(self, reading: Reading, part: Part, pins_it: bool) -> Iterator[Life]:
        """What a reading rests on, whether it is still there."""
        yield self._of_part_itself(reading, part)
        feature = reading.reference
        if feature is not None and not reading.own:
            yield self.living.feature(feature.owner, feature.words, reading.when, reading.reference_self)
            yield self._stayed_put(reading, part)
            if pins_it and not self._on_its_host(reading, part):
                yield Life(False, why=f"the part sits on {self.book.title(part.host)} now")

    def _hangs_on_nothing(self, reading: Reading, part: Part) -> str:
        """Why a reading holds nothing although its reference is there: that belongs to a neighbour whose own place is
        not recorded and that is off; "" where it is not so."""
        owner = self._neighbour(reading, part) if self._adrift else None
        return f"{self.book.title(owner)} is off, and where it sat is not recorded" if owner in self._adrift else ""

    def _neighbour(self, reading: Reading, part: Part) -> str | None:
        """The part that a reading was taken from, where it is no host; a host takes its parts along."""
        owner = reading.reference.owner if reading.reference else None
        return None if reading.own or owner == part.id or owner in part.hosts else owner

    @cached_property
    def _adrift(self) -> frozenset[str]:
        """Neighbours that are off and not recorded, those among them that only hold one another too."""
        if self.adrift is not None:
            return self.adrift
        book = self.book
        asked = {self._neighbour(reading, book.parts[reading.part]) for reading in book.readings.values()}
        left = frozenset(id for id in asked if id is not None and book.lives.is_off(id, book.now))
        while left:
            trial = Recorder(book, left, self.unsure)
            still = frozenset(id for id in left if trial.sized(id).word != "position recorded")
            if still == left:
                break
            left = still
        return left

    def _stayed_put(self, reading: Reading, part: Part) -> Life:
        """Whether a neighbour that was measured from still sits where it did. A host takes its parts along."""
        owner = self._neighbour(reading, part)
        if owner is None:
            return PRESENT
        moved = last_moved(self.book.parts[owner])
        if moved is None or moved <= reading.when:
            return PRESENT
        return Life(False, why=f"{self.book.title(owner)} was put elsewhere on purpose since")

    def _of_part_itself(self, reading: Reading, part: Part) -> Life:
        """Whether the part still is the one that was measured, or the feature was carried over to the new one."""
        now = self.book.lives.self_at(part.id, self.book.now)
        if reading.self == now:
            words = reading.subject.words if reading.subject else ""
            return self.living.uncut(part, words, reading.when) if words else PRESENT
        if reading.own or reading.subject is None or not reading.subject.words:
            return Life(False, why=f"read on the {part.title} that was replaced")
        return self.living.feature(part.id, reading.subject.words, reading.when, reading.self)

    def _on_its_host(self, reading: Reading, part: Part) -> bool:
        owner = reading.reference.owner if reading.reference else None
        return reading.host in (part.hosts or (None,)) or owner in part.hosts or (owner is None and not part.hosts)

    def _ties(self, part: Part) -> tuple[pins.Tie, ...]:
        """Directions that the host's own slip settles: `seam parallel to flange edge`."""
        found = []
        for host in part.hosts:
            for reading in self.book.readings_of(host):
                a, b = reading.subject, reading.reference
                if reading.own and reading.relation in ("square to", "parallel to") and a and b:
                    found.append((mark_of(a, host).key, mark_of(b, host).key, reading.relation == "parallel to"))
        return tuple(found)

    def _grounds(
        self, part: Part, located: LocatedBy, moved: Moment | None, several: bool
    ) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What a part's place rests on besides readings, and what it rested on that is gone."""
        grounds: list[str] = []
        lost: list[str] = []
        sat = self.sat(part)
        if located in GROUNDS_OF_SEAT:
            self._seat(part, sat, GROUNDS_OF_SEAT[located], grounds, lost)
        for key, name, lives in (("marks", "match marks", self._marks_live), ("template", "template", self._as_it_was)):
            said = _last_since(part.every(key), moved)
            if said and not (several and of_one(said.text)):
                life, text = lives(part, said), f"{name}: {said.text}"
                (grounds if life.lives else lost).append(text if life.lives else f"{text}; {life.why}")
        if located == "route" and self._route_is_whole(part, moved):
            (lost if (gone := self._end_gone(part, moved)) else grounds).append(f"its route and both ends{gone}")
        return tuple(grounds), tuple(lost)

    def _marks_live(self, part: Part, said: Said) -> Life:
        """Match marks hold while both things they are on are there: the part as it was, and every host."""
        if self.book.state(part.id) == "scrapped":
            return Life(False, why=f"they went with the old {part.title}")
        seats = (self.living.seat(part, host, said.when, "marks") for host in part.hosts)
        lives = [self._as_it_was(part, said), *seats, self._drawn_and_stripped(part, said)]
        return next((life for life in lives if not life.lives), PRESENT)

    def _drawn_and_stripped(self, part: Part, said: Said) -> Life:
        """Whether marks are cut in, or nothing was blasted or brushed since that they were only drawn on."""
        words = fold(said.text)
        if not DRAWN.search(words) or CUT_IN.search(words):
            return PRESENT
        for treated in self.book.treatments:
            on = treated.part in (part.id, *part.hosts) and treated.when > said.when
            if on and STRIPS.search(fold(f"{treated.product} {treated.surface}")):
                what = treated.product or treated.surface
                return Life(False, why=f"{self.book.title(treated.part)} was treated with {what} since")
        return PRESENT

    def _as_it_was(self, part: Part, said: Said) -> Life:
        """Whether the part is the one that it was."""
        lives = self.book.lives
        same = lives.self_at(part.id, said.when) == lives.self_at(part.id, self.book.now)
        return PRESENT if same else Life(False, why=f"made on the old {part.title}")

    def _seat(self, part: Part, sat: Moment, what: str, grounds: list[str], lost: list[str]) -> None:
        """Own holes and a fit hold while every host they are in lives, or carries them."""
        for host in part.hosts or (None,):
            life = self.living.seat(part, host, sat, OWN_HOLES)
            if not life.lives:
                lost.append(f"{what} in {self.book.title(host)}; {life.why}")
                return
        hosts = " and ".join(self.book.title(host) for host in part.hosts or (None,))
        grounds.append(f"{what} in {hosts}")

    def _route_is_whole(self, part: Part, moved: Moment | None) -> bool:
        """A route with both its ends, or what each of two ends connects to, neither from before a move."""
        routes, connects = _ways(part, moved)
        return bool(routes and ends_of(routes[-1])) or tells_two_ends(connects)

    def _end_gone(self, part: Part, moved: Moment | None) -> str:
        """What is said of an end that is gone for good; "" where both are there."""
        routes, connects = _ways(part, moved)
        ends = [*(ends_of(routes[-1]) or () if routes else ()), *map(leads_to, connects)]
        named = {" ".join(tokens(end)) for end in ends}
        for title, names in self._gone_for_good:
            if named & names:
                return f"; {title} is gone, and nothing takes its place"
        return ""

    @cached_property
    def _gone_for_good(self) -> list[tuple[str, frozenset[str]]]:
        """Titles of parts that nothing takes the place of, each with all that it is called."""
        parts = [part for part in self.book.parts.values() if never_back(self.book, part)]
        return [(p.title, frozenset(" ".join(tokens(n)) for n in (p.title, *p.also_called))) for p in parts]

    def _hints(self, part: Part, located: LocatedBy, moved: Moment | None) -> tuple[str, ...]:
        """What shows where it sat without holding it: a way round, a picture in place, half a route."""
        hints = []
        if located == "route" and _last_since(part.every("route", "connects"), moved):
            hints.append("route")
        if _last_since(part.every("way round"), moved):
            hints.append("way round")
        shown = (self.book.photos[photo] for photo in part.photos if photo in self.book.photos)
        if any(part.id in photo.in_place and (moved is None or photo.day > moved.day) for photo in shown):
            hints.append("photo")
        return tuple(hints)

def last_moved(part: Part) -> Moment | None:
    """The last refit that put it elsewhere on purpose, or may have: what was recorded before no longer holds."""
    return max((said.when for said in part.every("moved") if not says_no(said.text)), default=None)


def tells_side(line: str | None, other: str | None, host: str | None) -> bool:
    """Whether on one side of a line lies what was measured from it, by the owners of both: all of the same thing, and
    all that sits on it.

    A hole of the panel may lie on either side of the lower edge of a bracket.
    """
    return line in (other, host)


def _open_to_either_side(rows: Sequence[pins.Row], host: str, sizes: Mapping[str, Size]) -> tuple[str, ...]:
    """Rows that leave open on which side of a line a point lies, if it is far enough from it to matter: the line of one
    part says nothing of where a point of another is. A second thing read from the same line tells."""
    from_line: defaultdict[str, set[str]] = defaultdict(set)
    for row in rows:
        for line, other in ((row.subject, row.reference), (row.reference, row.subject)):
            if not line.point:
                from_line[line.key].add(other.key)

    def is_open(row: pins.Row) -> bool:
        line, other = (row.reference, row.subject) if row.subject.point else (row.subject, row.reference)
        either = other.point and not line.point and not tells_side(line.owner, other.owner, host)
        size = sizes.get(row.id)
        far = size is not None and 2 * size.value >= SAME_PLACE
        return either and far and row.relation in pins.DISTANCES and row.axis is None and len(from_line[line.key]) == 1

    return tuple(row.id for row in rows if is_open(row))


def mark_of(feature: Feature, owner: str) -> pins.Mark:
    """A feature as the pins need it; the part's own has owner ""."""
    words = feature.words
    end = not feature.point and is_end(words)
    return pins.Mark(f"{owner}/{words}", owner, words, feature.point, feature.axis, not words, end)


def _counting(standing: Standing) -> Standing:
    return Standing(True, standing.lives, standing.carried, standing.why)


def _second_place(sized: Sized) -> str:
    """What is left of a part that readings hold in two places."""
    turned = "way round" not in sized.hints and sized.doubt.turned == "no"
    return "can sit turned the other way as well" if turned else "can sit in two places"


def _route_free(sized: Sized) -> tuple[str, ...]:
    return () if sized.grounds or sized.held else ("its way and its ends",)


def _ways(part: Part, moved: Moment | None) -> tuple[list[str], list[str]]:
    """What was said since a move of a part's routes, and of what it connects, where it says anything."""
    said = [each for each in _since(part.every("route", "connects"), moved) if not says_nothing(each.text)]
    return tuple([each.text for each in said if each.key == key] for key in ("route", "connects"))  # type: ignore[return-value]


def _since(said: Sequence[Said], moved: Moment | None) -> list[Said]:
    return [each for each in said if moved is None or each.when >= moved]


def _last_since(said: Sequence[Said], moved: Moment | None) -> Said | None:
    """The last word since a part was put elsewhere, if it records anything."""
    last = next(reversed(_since(said, moved)), None)
    return last if last and not says_nothing(last.text) else None
