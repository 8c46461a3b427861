"""Which part a name means: the registry of all parts of a build.

A part exists as soon as a slip's first line, `from` or `on` names it. A host named without a side takes the part's
side where it exists with sides only.
"""

from __future__ import annotations

from dataclasses import field

from journal.ground.finding import Finding, Note
from journal.ground.names import NearIndex, fold, unique_slugs
from journal.ground.records import record
from journal.ground.source import Span
from journal.model.entities import Moment
from journal.notes.records import Name

Key = tuple[str, str]  # folded words, side
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


class Registry:
    """Filled in two passes, then asked: names of first lines, then those of hosts."""

    def __init__(self) -> None:
        self._named: dict[Key, Named] = {}
        self._sides: dict[str, list[str]] = {}
        self._alias: dict[str, str] = {}
        self._ids: dict[Key, str] = {}
        self.findings: list[Finding] = []

    def also_called(self, other: str, words: str) -> None:
        """`other` is another name for the part(s) called `words`."""
        if fold(other) != fold(words):
            self._alias.setdefault(fold(other), words)

    def introduce(self, name: Name, when: Moment) -> None:
        """A slip is about this part, so it exists."""
        words = self._alias.get(fold(name.words), name.words)
        for side in name.sides or ("",):
            key = (fold(words), side)
            if key not in self._named:
                self._named[key] = Named(key, words, name.span, when)
                self._sides.setdefault(key[0], []).append(side)

    def introduce_host(self, name: Name, when: Moment) -> None:
        """A part is fixed to this one, so it exists; without a side only where no side of it does."""
        if is_no_part(name):
            return
        if name.sides or not self._sides.get(fold(self._alias.get(fold(name.words), name.words))):
            self.introduce(name, when)

    def close(self) -> None:
        """All names are in: give every part its id and tell the names that look like one."""
        titles = {key: named.title for key, named in self._named.items()}
        slugs = unique_slugs(titles.values())
        self._ids = {key: slugs[title] for key, title in titles.items()}
        self._tell_near()

    def _tell_near(self) -> None:
        index = NearIndex()
        first: dict[str, Named] = {}
        for named in self._named.values():
            if named.key[0] in first:
                continue
            near = index.near(named.key[0])
            if near:
                other = first[near[0]]
                self.findings.append(
                    Finding(
                        "nearly-same-name",
                        f'"{named.words}" looks like "{other.words}" written another way',
                        named.first,
                        notes=(Note(f'"{other.words}" is first named here', other.first),),
                        help=f'write "{other.words}" if they are one part; else settle it: '
                        f"`settled: nearly-same-name, two parts`",
                        part=self._ids[named.key],
                    )
                )
            first[named.key[0]] = named
            index.add(named.key[0])

    def items(self) -> list[tuple[str, Named]]:
        """Every part's id and how it was introduced, in that order."""
        return [(self._ids[key], named) for key, named in self._named.items()]

    def find(self, name: Name, side: str = "") -> tuple[str, ...]:
        """Ids the name means; () where there is none. `side` is that of the part it is said about."""
        words = fold(self._alias.get(fold(name.words), name.words))
        if name.sides:
            return tuple(self._ids[words, s] for s in name.sides if (words, s) in self._ids)
        if (words, "") in self._ids:
            return (self._ids[words, ""],)
        known = self._sides.get(words, [])
        if side in known:
            return (self._ids[words, side],)
        return (self._ids[words, known[0]],) if len(known) == 1 else ()

    def sided_only(self, name: Name) -> tuple[str, ...]:
        """The sides a name exists with, where it was named without one and exists with sides only."""
        words = fold(self._alias.get(fold(name.words), name.words))
        known = self._sides.get(words, [])
        return () if name.sides or "" in known else tuple(known)

    def every_side(self, name: Name) -> tuple[str, ...]:
        """Ids of all sides of a name said without one, where it exists with sides only."""
        words = fold(self._alias.get(fold(name.words), name.words))
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
        words = fold(text.replace(",", " "))
        for s in sides:
            if words.endswith(f" {s}"):
                stem = fold(self._alias.get(words[: -len(s) - 1], words[: -len(s) - 1]))
                if (stem, s) in self._ids:
                    return self._ids[stem, s]
        found = self.find(Name(text, words, (), Span("")), side)
        return found[0] if len(found) == 1 else None

    def near(self, name: Name) -> str | None:
        """The known name nearest to one that is not known."""
        index = NearIndex()
        shown = {}
        for named in self._named.values():
            if named.key[0] not in shown:
                shown[named.key[0]] = named.words
                index.add(named.key[0])
        near = index.near(fold(name.words))
        return shown[near[0]] if near else None
