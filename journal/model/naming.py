"""Which part a name means: the registry of all parts of a build.

A part exists as soon as a slip's first line, `from` or `on` names it. A host named without a side takes the part's
side where it exists with sides only.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import field
from functools import cached_property

from journal.ground.finding import Finding, Note
from journal.ground.names import NearIndex, fold, unique_slugs
from journal.ground.records import record
from journal.ground.source import Span
from journal.model.entities import Moment
from journal.model.features import POSITIONS
from journal.notes.naming import Bare, bare_name, name_words
from journal.notes.records import Name

Key = tuple[str, str]  # folded words, side
ARTICLE = re.compile(r"\bthe (?=\S)", re.IGNORECASE)  # not `a`: there are A frames
CUT_OUT = re.compile(r"^(?:out|away|off)\s+(?=\S)", re.IGNORECASE)  # `cut out sill`; `off-side stay` is a name
# What is said of a place on a part, behind or before the part's name, and is no name of its own.
PLACING = frozenset("edge end face flange lip web corner inside outside underside of and on at under near the".split())
BENCH = frozenset({"bench", "the bench"})
MACHINE = frozenset({"machine", "the machine"})


def is_no_part(name: Name) -> bool:
    """Whether `on:` or `from:` names the bench or the machine as a whole, which are no parts."""
    return is_bench(name) or is_machine(name)


def is_bench(name: Name) -> bool:
    return fold(name.words) in BENCH


def is_machine(name: Name) -> bool:
    return fold(name.words) in MACHINE


@record
class Named:
    """A part as the notes introduce it."""

    key: Key
    words: str
    first: Span = field(compare=False)
    when: Moment = field(compare=False)

    @property
    def title(self) -> str:
        return f"{self.words}, {self.key[1]}" if self.key[1] else self.words


def plain_name(words: str) -> str:
    """Words as names are compared: folded, without an article."""
    return ARTICLE.sub("", fold(words))


# What joins two parts in one name, and how many of the two must be known by their own; 0 means all: `lamp, oil`.
_JOINTS = ((re.compile(r"\s*[&+/]\s*|\s+(?:and|or)\s+"), 1), (re.compile(r"\s*[,;]\s*"), 0))
_JOINTS_OF_HOSTS = ((re.compile(r"\s+(?:to|via)\s+"), 1),)

# A name, one that it may be meant for, what to tell of them, and what to write.
Pair = tuple[Named, Named, str, str]


def _of_its_own(named: Named, other: Named) -> str:
    return f'"{named.title}" is taken for a part of its own beside "{other.title}"'


def _if_one(write: str) -> str:
    return f"{write} if they are one part; else settle it: `settled: nearly-same-name, two parts`"


def _says_where(rest: list[str]) -> bool:
    """Whether words beside a part's name say where on it."""
    text = " ".join(rest)
    if text.startswith("(") and text.endswith(")"):
        return True
    words = set(re.findall(r"\w+", text))
    return bool(words & PLACING) and words <= PLACING | POSITIONS


class Registry:
    """Filled in two passes, then asked: names of first lines, then those of hosts."""

    def __init__(self, sides: tuple[str, str]) -> None:
        self._pair = sides
        self._named: dict[Key, Named] = {}
        self._sides: dict[str, list[str]] = {}
        self._alias: dict[str, tuple[str, str]] = {}
        self._ids: dict[Key, str] = {}
        self._hosts_only: set[Key] = set()  # named by nothing but `from:` and `on:`
        self.findings: list[Finding] = []

    def also_called(self, other: str, name: Name) -> None:
        """`other` is another name for that part, or for both its sides where it is said of both."""
        key = plain_name(other)
        if key != plain_name(name.words):
            side = name.sides[0] if len(name.sides) == 1 else ""
            words, known = self._alias.setdefault(key, (name.words, side))
            if known != side:
                self._alias[key] = words, ""

    def _meant(self, name: Name) -> tuple[str, tuple[str, ...]]:
        """The words a name stands for, and its sides: `also called` of one side is that side."""
        words, side = self._alias.get(plain_name(name.words), (name.words, ""))
        return words, name.sides or ((side,) if side else ())

    def introduce(self, name: Name, when: Moment) -> None:
        """A slip is about this part, so it exists."""
        self._hosts_only.difference_update(self._added(name, when))

    def introduce_cut_out(self, name: Name, when: Moment) -> None:
        """`cut out sill` is about the sill where there is one, and no part `out sill` that other slips name."""
        rest = ARTICLE.sub("", CUT_OUT.sub("", name.words))
        known = {tuple(sorted(name_words(words))) for words in self._sides}
        own = tuple(sorted(name_words(name.words)))
        if own not in known and bare_name(rest, self._pair).words in known:
            self._alias.setdefault(plain_name(name.words), (rest, ""))
        self.introduce(name, when)

    def introduce_host(self, name: Name, when: Moment) -> None:
        """A part is fixed to this one, so it exists; without a side only where no side of it does."""
        if is_no_part(name):
            return
        words, sides = self._meant(name)
        if sides or not self._sides.get(plain_name(words)):
            new = [key for key in self._keys(name) if key not in self._named]
            self._added(name, when)
            self._hosts_only.update(new)

    def _keys(self, name: Name) -> list[Key]:
        words, sides = self._meant(name)
        return [(plain_name(words), side) for side in sides or ("",)]

    def _added(self, name: Name, when: Moment) -> list[Key]:
        words, _ = self._meant(name)
        for key in self._keys(name):
            if key not in self._named:
                self._named[key] = Named(key, ARTICLE.sub("", words), name.span, when)
                self._sides.setdefault(key[0], []).append(key[1])
        return self._keys(name)

    def close(self) -> None:
        """All names are in: give every part its id and tell the names that look like one."""
        titles = {key: named.title for key, named in self._named.items()}
        slugs = unique_slugs(titles.values())
        self._ids = {key: slugs[title] for key, title in titles.items()}
        self._tell_near()

    def _tell_near(self) -> None:
        told: set[Key] = set()
        for find in (self._misspelt, self._with_side_words, self._joined, self._places_on_one):
            for named, other, message, help in find():
                if named.key not in told:
                    told.add(named.key)
                    self._tell(named, other, message, help)

    def _tell(self, named: Named, other: Named, message: str, help: str) -> None:
        self.findings.append(
            Finding(
                "nearly-same-name",
                message,
                named.first,
                notes=(Note(f'"{other.title}" is first named here', other.first),),
                help=help,
                part=self._ids[named.key],
            )
        )

    def _misspelt(self) -> Iterator[Pair]:
        """Names that differ by a letter or two."""
        index = NearIndex(sides=self._pair)
        first: dict[str, Named] = {}
        for named in self._named.values():
            if named.key[0] in first:
                continue
            near = index.near(named.key[0])
            if near:
                other = first[near[0]]
                message = f'"{named.words}" looks like "{other.words}" written another way'
                yield named, other, message, _if_one(f'write "{other.words}"')
            first[named.key[0]] = named
            index.add(named.key[0])

    def _with_side_words(self) -> Iterator[Pair]:
        """`side panel` beside `side panel, left`; `LH panel`, `panel (left)` and `n/s panel` beside `panel, left`."""
        spelt: dict[tuple[tuple[str, ...], str], Named] = {}
        for (words, side), named in self._named.items():
            said = bare_name(words, self._pair)
            if said.sides:
                meant = said.sides if not side else {side}.intersection(said.sides)
                known = (one for one in self._spelt(said) if one is not named and one.key[1] in meant)
                other = next(known, named)
                if other is named and len(said.sides) == 1:  # then two such spellings may be one part
                    other = spelt.setdefault((said.words, said.sides[0]), named)
            else:
                sided = next(filter(None, self._sides[words]), "")
                other = named if side else self._named[words, sided]
            if other is not named:
                yield named, other, _of_its_own(named, other), _if_one(self._to_write(other, said))

    def _spelt(self, bare: Bare) -> list[Named]:
        """The names that have just these words, in any order."""
        return [one for words in bare.spellings for one in self._by_words.get(words, ())]

    @cached_property
    def _by_words(self) -> dict[tuple[str, ...], list[Named]]:
        found: dict[tuple[str, ...], list[Named]] = {}
        for (words, _), named in self._named.items():
            found.setdefault(tuple(sorted(name_words(words))), []).append(named)
        return found

    def _to_write(self, other: Named, said: Bare) -> str:
        """What to write for another spelling of a part; of `n/s` either side, to choose from."""
        if said.many and other.key[1]:
            return f'write "{other.words}, both"'
        if len(said.sides) == len(self._pair):
            return "write " + " or ".join(f'"{other.words}, {side}"' for side in said.sides)
        return f'write "{other.title}"'

    def _joined(self) -> Iterator[Pair]:
        """`panel & frame`, `panel / frame`: two parts under one name, of which one is known by its own."""
        for key, named in self._named.items():
            is_host = key in self._hosts_only
            for joint, least in (*_JOINTS, *(_JOINTS_OF_HOSTS if is_host else ())):
                pieces = joint.split(key[0])
                if len(pieces) == 1:
                    continue
                bare = (bare_name(plain_name(piece), self._pair) for piece in pieces)
                known = [one for piece in bare for one in self._spelt(piece)[:1] if one is not named]
                if len(known) >= (least or len(pieces)):
                    message = f'"{named.title}" is taken for one part, and "{known[0].title}" is a part of its own'
                    write = "put a `;` between them" if is_host else "write a slip for each"
                    settle = "else settle it: `settled: nearly-same-name, one part`"
                    yield named, known[0], message, f"{write} if they are two parts; {settle}"
                    break

    def _places_on_one(self) -> Iterator[Pair]:
        """`inside of panel`, `panel (near the tank)`, `panel's edge`: hosts that are named like a place on one."""
        for key in self._named:
            if key not in self._hosts_only:
                continue
            words = [word.removesuffix("'s") for word in key[0].split()]
            for at in range(1, len(words)):
                for known, rest in ((words[:at], words[at:]), (words[at:], words[:at])):
                    sides = self._sides.get(" ".join(known), [])
                    if sides and _says_where(rest):
                        named, other = self._named[key], self._named[" ".join(known), sides[0]]
                        write = f'write "{other.title}", and where on it under `face:`,'
                        yield named, other, _of_its_own(named, other), _if_one(write)

    def items(self) -> list[tuple[str, Named]]:
        """Every part's id and how it was introduced, in that order."""
        return [(self._ids[key], named) for key, named in self._named.items()]

    def find(self, name: Name, side: str = "") -> tuple[str, ...]:
        """Ids the name means; () where there is none. `side` is that of the part it is said about."""
        written, sides = self._meant(name)
        words = plain_name(written)
        if sides:
            return tuple(self._ids[words, s] for s in sides if (words, s) in self._ids)
        if (words, "") in self._ids:
            return (self._ids[words, ""],)
        known = self._sides.get(words, [])
        if side in known:
            return (self._ids[words, side],)
        return (self._ids[words, known[0]],) if len(known) == 1 else ()

    def sided_only(self, name: Name) -> tuple[str, ...]:
        """The sides a name exists with, where it was named without one and exists with sides only."""
        words, sides = self._meant(name)
        known = self._sides.get(plain_name(words), [])
        return () if sides or "" in known else tuple(known)

    def every_side(self, name: Name) -> tuple[str, ...]:
        """Ids of all sides of a name said without one, where it exists with sides only."""
        words = plain_name(self._meant(name)[0])
        return tuple(self._ids[words, side] for side in self.sided_only(name))

    def unknown(self, name: Name, part: str | None = None) -> Finding:
        """What to tell of a name that `find` has nothing for; `part` is what its line is about."""
        sides = self.sided_only(name)
        if sides:
            both = " and ".join(f'"{name.words}, {side}"' for side in sides)
            message = f'"{name.written}" is said without a side; there is {both}'
            help = f'write "{name.words}, {sides[0]}" or "{name.words}, {sides[-1]}"'
        else:
            near = self.near(name)
            message = f'"{name.written}" is no part that a slip has introduced'
            help = f'the nearest name is "{near}"' if near else f"write a slip about it: ```part {name.written}"
        return Finding("unknown-name", message, name.span, part=part, help=help)

    def find_words(self, text: str, side: str, sides: tuple[str, ...]) -> str | None:
        """The part whose name a piece of a statement is (`sill`, `sill left`, `sill, left`), or None."""
        words = plain_name(text.replace(",", " "))
        for s in sides:
            if words.endswith(f" {s}"):
                head = words[: -len(s) - 1]
                stem = plain_name(self._alias.get(head, (head, ""))[0])
                if (stem, s) in self._ids:
                    return self._ids[stem, s]
        found = self.find(Name(text, words, (), Span("")), side)
        return found[0] if len(found) == 1 else None

    def near(self, name: Name) -> str | None:
        """The known name nearest to one that is not known."""
        index = NearIndex(sides=self._pair)
        shown = {}
        for named in self._named.values():
            if named.key[0] not in shown:
                shown[named.key[0]] = named.words
                index.add(named.key[0])
        near = index.near(fold(name.words))
        return shown[near[0]] if near else None
