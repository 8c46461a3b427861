"""Which references still live, and which were carried over to a new self.

A reference on something scrapped or cut away, or on a former self, does not count, unless it is carried over: named
in `carries:`, or the new self is measured between it and another feature that was measured on the old, and agrees.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from journal.ground.records import record
from journal.judge.compared import agree
from journal.measure.pins import ALIKE
from journal.model.book import Book
from journal.model.entities import Event, Moment, Part, Reading
from journal.model.features import POINT_WORDS, POSITIONS, last_word, tokens
from journal.notes.forgotten import FEATURES

OWN_HOLES = "own holes"
VAGUE = frozenset({"edge", "end", "face", "side", "line", "hole", "corner"})
ACROSS = (("lower", "upper"), ("rear", "front"), ("inner", "outer"), ("left", "right"))
ALL = re.compile(
    r"(?:all|everything|(?:the )?(?:whole|entire|complete)(?: \w+)?)(?:[, ]+(?:but|except|bar|save|apart from)\b(.*))?$"
)
# Last words of a piece that is a feature, and no region: it takes that with it, and what is named after it.
PIECES = (FEATURES | frozenset("gusset stiffener plate bracket strap stub leg ear".split())) - frozenset(
    "side top bottom front rear back head base centre center".split()
)
# Words that make a region of it all the same: `rot round the drain hole`, `200 off the rear end`.
SOMEWHERE = re.compile(
    r"\b(?:where|under|near|along|off|at|by|a?round|from|to|up|down|in|on|over|last|most|nearly|almost|everything|rest|"
    r"half|halves|third|quarter|part|section|area|region|zone|piece|bit|portion|patch|strip|"
    r"\d+(?:[.,/]\d+)? ?(?:mm|cm|m|in|inch|inches))\b|\d ?[″\"]"
)
# What follows these is not where the piece was: of `all behind the front axle` nothing says that it was in front.
BEYOND = re.compile(r"\b(?:behind|ahead|above|below|beyond|past|between|near|by|under|where|a?round|before|after)\b.*")
EDGES = frozenset({"edge", "side", "line", "face"})
NO_PIECE = frozenset({"nothing", "none", "no"})
OF_FIXING = frozenset(
    "own bolt bolts fixing fixings mounting screw screws rivet rivets stud studs with for of and all both".split()
)


@record
class Life:
    """Whether a feature is still there.

    lives    it is      carried  "" never left, "said", "agrees" or "not compared"
    why      a sentence where it does not: `the sill, left was scrapped on 28 March 2026`
    """

    lives: bool
    carried: str = ""
    why: str = ""


PRESENT = Life(True)


@dataclass(frozen=True)
class Living:
    """Asks the book what is left of what was measured."""

    book: Book

    def feature(self, owner: str | None, words: str, read: Moment, self_then: int) -> Life:
        """Whether a feature of `owner`, read at a moment on one of its selves, is there today."""
        if owner is None:
            return PRESENT
        part = self.book.parts[owner]
        gone = self._scrapped(part) or self._cut(part, words, read)
        if gone:
            return Life(False, why=gone)
        now = self.book.lives.self_at(owner, self.book.now)
        life = PRESENT
        for number in range(self_then, now):
            step = self._carried(part, words, number)
            if not step.lives:
                return step
            life = life if life.carried == "not compared" else step
        return life

    def seat(self, part: Part, host: str | None, sat: Moment, what: str) -> Life:
        """Whether what a part sat in (`own holes`, `marks`) on a host is there today."""
        if host is None:
            return PRESENT
        title, holes = self.book.title(host), what == OWN_HOLES
        if cut := self.cut_under(part, host, sat, holes=holes):
            return Life(False, why=f"the piece of {title} it sat on was cut away on {day(cut)}")
        if cut := self.cut_under(part, host, sat, holes=holes, maybe=True):
            said = ", ".join(cut.away)
            return Life(False, why=f'{title} was cut on {day(cut)}, and "{said}" may be the piece it sat on')
        return self.feature(host, what, sat, self.book.lives.self_at(host, sat))

    def gone_since(self, part: Part, then: Moment) -> Event | None:
        """What scrapped or replaced a part since then."""
        lives, now = self.book.lives, self.book.now
        if self.book.state(part.id) != "scrapped" and lives.self_at(part.id, now) == lives.self_at(part.id, then):
            return None
        return next((e for e in part.events if e.kind in ("replaced", "scrapped") and e.when > then), None)

    def cut_under(
        self, part: Part, host: str, sat: Moment, *, holes: bool, maybe: bool = False
    ) -> Event | None:
        """The cut that took what a part sat on since then: all of it, its face, its place, the holes it hangs in.

        maybe  also one that may have: `rear third`, of a part of which nothing says that it sat further forward
        """
        face = part.latest("face")
        said = [face.text if face else "", part.place[-1] if part.place else ""]
        seats = [*(" ".join(tokens(seat)) for seat in said if seat), *([OWN_HOLES] if holes else [])]
        whole = self.book.parts[host]
        for event in whole.events:
            if event.kind != "cut" or event.when <= sat or not self._on_present_self(whole, event):
                continue
            own = holes and any(_means_holes_of(item, part) for item in event.away)
            region = maybe and _may_take(event.away, " ".join(seats), self._knows(host))
            if not event.away or own or region or any(_taken(event.away, seat) for seat in seats):
                return event
        return None

    def uncut(self, part: Part, words: str, read: Moment) -> Life:
        """Whether a feature was not cut away since it was read."""
        gone = self._cut(part, words, read)
        return Life(False, why=gone) if gone else PRESENT

    def _scrapped(self, part: Part) -> str:
        if self.book.state(part.id) != "scrapped":
            return ""
        event = next(e for e in reversed(part.events) if e.kind == "scrapped")
        return f"{part.title} was scrapped on {day(event)}"

    def _cut(self, part: Part, words: str, read: Moment) -> str:
        """A sentence if the feature was cut away from the present self after it was read."""
        for event in part.events:
            if event.kind == "cut" and event.when > read and self._on_present_self(part, event):
                if not event.away:
                    return f"{part.title} was cut on {day(event)}, and nothing says what of it stayed"
                if words not in (OWN_HOLES, "marks") and _taken(event.away, words):
                    return f"{words} of {part.title} was cut away on {day(event)}"
                if words not in (OWN_HOLES, "marks") and _may_take(event.away, words, self._knows(part.id)):
                    said = ", ".join(event.away)
                    return f'{part.title} was cut on {day(event)}, and "{said}" may have taken its {words}'
        return ""

    def _knows(self, owner: str) -> Callable[[str], bool]:
        """Asks whether words are a feature that a part is known to have, or the name of another part."""
        known, itself = self._features[owner], " ".join(tokens(self.book.parts[owner].name))
        return lambda words: words in known or (words != itself and words in self._titles)

    @cached_property
    def _features(self) -> defaultdict[str | None, set[str]]:
        """What each part is said to have, or was measured on it."""
        found: defaultdict[str | None, set[str]] = defaultdict(set)
        for part in self.book.parts.values():
            found[part.id].update(" ".join(tokens(item)) for each in part.every("features") for item in each.items)
        for reading in self.book.readings.values():
            for feature in filter(None, (reading.subject, reading.reference)):
                found[feature.owner].add(feature.words)
        return found

    @cached_property
    def _titles(self) -> set[str]:
        return {" ".join(tokens(part.name)) for part in self.book.parts.values()}

    def _on_present_self(self, part: Part, event: Event) -> bool:
        """Whether a cut was made in the part as it is today: what an earlier self lost, `_carried` has judged."""
        return event.self == self.book.lives.self_at(part.id, self.book.now)

    def _carried(self, part: Part, words: str, old: int) -> Life:
        """Whether a feature of self `old` is on the next one."""
        new = old + 1
        event = next(e for e in part.events if e.self == new)
        if _named(self._carries(part, event), words):
            return Life(True, "said")
        went = f"{part.title} was replaced on {day(event)}"
        if event.kind == "refitted":
            went = f"{part.title} was scrapped, so what was fitted on {day(event)} is taken as another one"
        if words in (OWN_HOLES, "marks"):
            return Life(False, why=went)
        return self._measured_over(part, words, new) or Life(
            False, why=f"{went}, and the new one was not measured there"
        )

    def _carries(self, part: Part, event: Event) -> tuple[str, ...]:
        return tuple(
            item for said in part.every("carries") if said.when == event.when for item in said.items or (said.text,)
        )

    def _measured_over(self, part: Part, words: str, new: int) -> Life | None:
        """What the new self's own readings say of the feature: one that agrees is enough, else one that differs."""
        weak: Life | None = None
        differs: Life | None = None
        for reading, other in self._between[part.id, new, words]:
            olds = [
                old
                for n in range(1, new)
                for old, also in self._between[part.id, n, words]
                if also == other and old.relation == reading.relation
            ]
            if not olds:
                if any(self._between[part.id, n, other] for n in range(1, new)):
                    weak = Life(True, "not compared")
                continue
            verdict = agree(olds[-1], reading)
            if verdict is None:
                weak = Life(True, "not compared")
            elif verdict:
                return Life(True, "agrees")
            else:
                differs = Life(
                    False,
                    why=f"{words} to {other} was {olds[-1].written} and is {reading.written} on the new {part.title}: "
                    "readings from one and from the other cannot hold together",
                )
        return differs or weak

    @cached_property
    def _between(self) -> defaultdict[tuple[str, int, str], list[tuple[Reading, str]]]:
        """Own relations of a self by feature: the reading and the feature at its other end."""
        found: defaultdict[tuple[str, int, str], list[tuple[Reading, str]]] = defaultdict(list)
        for reading in self.book.readings.values():
            for words, other in _ends(reading):
                found[reading.part, reading.self, words].append((reading, other))
        return found


def _ends(reading: Reading) -> Iterator[tuple[str, str]]:
    if reading.own and reading.relation and reading.subject and reading.reference and not reading.doubted:
        a, b = reading.subject.words, reading.reference.words
        if a and b and a != b:
            yield a, b
            yield b, a


def _named(carries: Sequence[str], words: str) -> bool:
    """Whether `carries:` names a feature: itself, `all`, or `all but` others."""
    but = _all_but(carries)
    if but is None:
        return any(" ".join(tokens(item)) == words for item in carries)
    holes = words == OWN_HOLES and any("hole" in item for item in but)
    return words != "marks" and not holes and not any(_same(item, words) for item in but)


def _taken(away: Sequence[str], words: str) -> bool:
    """Whether `away:` names a feature: itself, or what holds it; `all`, or `all but` others."""
    but = _all_but(away)
    return any(_same(item, words) for item in away) if but is None else not any(_same(item, words) for item in but)


def _all_but(items: Sequence[str]) -> list[str] | None:
    """What is left out of all, [] where nothing is; None where not all is meant."""
    first, *more = items or ("",)
    every = ALL.match(" ".join(first.casefold().split()))
    if every is None:
        return None
    but = re.split(r"\band\b", every[1] or "")
    return [item for item in (*but, *(re.sub(r"^(?:but|not|except)\b", "", item) for item in more)) if item.strip()]


def _may_take(away: Sequence[str], words: str, known: Callable[[str], bool]) -> bool:
    """Whether a piece that was cut away may have held a feature: what is told in words that name none (`rear third`,
    `most of it`) takes all that is not said to lie at its other end."""
    if _all_but(away) is not None:
        return False
    pieces = (piece for item in away for piece in re.split(r"\band\b|[&+]", item.casefold()))
    return any(_is_region(piece, known) and not _opposite(BEYOND.sub("", piece), words) for piece in pieces)


def _is_region(piece: str, known: Callable[[str], bool]) -> bool:
    """Whether words for what is gone name no feature."""
    words, head = tokens(piece), last_word(tokens(piece.partition(" of ")[0])).removesuffix("s")
    if not words or piece.strip(" .") in NO_PIECE or known(" ".join(words)):
        return False
    return bool(SOMEWHERE.search(piece) or BEYOND.search(piece)) or head not in PIECES


def _opposite(item: str, words: str) -> bool:
    a, b = _spelt(tokens(item)), _spelt(words.split())
    return any((one in a and other in b) or (other in a and one in b) for one, other in ACROSS)


def _means_holes_of(item: str, part: Part) -> bool:
    """Whether `fixing holes`, `bracket holes`, `lower half with the holes` are the ones a part hangs in."""
    words = tokens(SOMEWHERE.sub(" ", item.casefold()))
    if not any(word in ("hole", "holes") for word in words):
        return False
    return set(words) - {"hole", "holes"} <= OF_FIXING | POSITIONS | set(tokens(part.name))


def _spelt(words: Sequence[str]) -> set[str]:
    """Words for a direction in one spelling."""
    return {ALIKE.get(word, word) for word in words}


def _same(item: str, words: str) -> bool:
    """Whether a word for what is gone means a feature: taken the worse way, one holding all words of the other.

    A direction that only one of them gives is no difference: `rear flange` takes the `flange edge` with it, though
    not the `front flange edge`, and of what is called no more than an edge only the `rear edge`.
    """
    a, b = _spelt(tokens(item)), _spelt(words.split())
    if not (a and b):
        return False
    if a <= b or b <= a:
        return True
    if a & POSITIONS and b & POSITIONS:
        return bool(a & b & POSITIONS) and b - POSITIONS <= EDGES and last_word(tokens(item)) not in POINT_WORDS
    a, b = a - POSITIONS, b - POSITIONS
    return bool(a - VAGUE and b - VAGUE) and (a <= b or b <= a)


def day(event: Event) -> str:
    """`28 March 2026`."""
    return f"{event.when.day.day} {event.when.day:%B %Y}"


def days_in_words(number: int) -> str:
    """`1 day`, `28 days`."""
    return f"{number} day" if number == 1 else f"{number} days"
