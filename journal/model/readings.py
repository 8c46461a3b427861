"""Whose feature is it: statements of slips to readings between features of parts.

The subject is the part's. The reference is the host's, unless it is the part's own. How each was taken is kept in
words, so that a page can say it; where it cannot be told, the line is `which-one` and pins nothing.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from hashlib import sha256

from journal.ground.finding import Finding
from journal.ground.names import fold
from journal.ground.records import record
from journal.ground.source import Span
from journal.model.entities import Feature, Moment, Part, Reading
from journal.model.features import POINT_WORDS, alike_but_for_place, feature, last_word, relation_axis, tokens
from journal.model.lifecycle import Lives
from journal.model.naming import Registry
from journal.notes.records import Slip, Split, Statement
from journal.notes.words import ANOTHER, GROUND, PRONOUNS

MACHINE = "the machine"
NOTHING = "nothing"  # why a reference was taken as none: a word for a thing that is not named, or the floor


@record
class Line:
    """A statement waiting to be resolved: what it is about, and what was said around it.

    hosts    ids the part was fixed to then; ("", ) never occurs, () is the machine
    asked    the slip names the host itself (`on:` or `from:`)
    benched  a `measured` slip about a part that was off then, without `on:`
    """

    statement: Statement
    slip: Slip
    when: Moment
    part: Part
    hosts: tuple[str, ...]
    asked: bool
    benched: bool
    place: tuple[str, ...]
    photos: tuple[str, ...]
    private: bool


@record
class _Taken:
    """A reference as it was taken: whose, which words, why; `sure` where the line itself says so."""

    owner: str | None
    words: str
    own: bool
    sure: bool
    reason: str


class Resolver:
    """Two passes over all lines: what each part is known to have, then whose feature each reference is."""

    def __init__(self, registry: Registry, parts: dict[str, Part], lives: Lives, sides: tuple[str, ...]) -> None:
        self.registry, self.parts, self.lives, self.sides = registry, parts, lives, sides
        self.known: dict[str | None, set[str]] = defaultdict(set)
        self.subjects: dict[str, set[str]] = defaultdict(set)
        self.findings: list[Finding] = []
        self._ids: Counter[str] = Counter()
        self._called: dict[tuple[str, str], str | None] = {}

    def resolve(self, lines: Sequence[Line]) -> list[Reading]:
        """One reading a line, in the order given."""
        self._learn_named()
        splits = [line.statement.splits[0] for line in lines]  # the likeliest
        for line, split in zip(lines, splits, strict=True):
            subject = self._words(split.subject)
            if subject:
                self.subjects[line.part.id].add(subject)
                self.known[line.part.id].add(subject)
        splits = [self._split(line, split) for line, split in zip(lines, splits, strict=True)]
        taken = [self._take(line, split) for line, split in zip(lines, splits, strict=True)]
        for found in taken:
            if found and not found.own and found.words:
                self.known[found.owner].add(found.words)
        taken = [
            found if found is None or found.sure else self._inferred(line, split, found.words)
            for line, split, found in zip(lines, splits, taken, strict=True)
        ]
        return [self._reading(*each) for each in zip(lines, splits, taken, strict=True)]

    def _learn_named(self) -> None:
        """Features that parts are said to have: `features:`, and what a new self `carries`."""
        for part in self.parts.values():
            for said in part.every("features"):
                self.known[part.id].update(self._words(item) for item in said.items or (said.text,))

    def _words(self, text: str) -> str:
        return feature(text, None, self.sides).words if text else ""

    def _split(self, line: Line, first: Split) -> Split:
        """The longest relation phrase, then the split whose two sides are known, then the last (as they come)."""
        length = _phrase(first)
        for split in line.statement.splits:
            if _phrase(split) < length:
                break
            if self._knows(line.part.id, split.subject) and self._knows_reference(line, split.reference):
                return split
        return first

    def _knows(self, owner: str | None, text: str) -> bool:
        return not text or self._words(text) in self.known[owner]

    def _knows_reference(self, line: Line, text: str) -> bool:
        owners = (line.part.id, *(line.hosts or (None,)))
        named = self._of_part(line, text)
        whole = self.registry.find_words(text, line.part.side, self.sides) is not None
        return named is not None or whole or any(self._knows(owner, text) for owner in owners)

    def _of_part(self, line: Line, text: str) -> tuple[str, str] | None:
        """(`part id`, feature words) for `A of B`, where B is a part by its own naming."""
        for match in re.finditer(r"\s+of\s+", text) if "of" in text else ():
            owner = self._part_called(text[match.end() :], line.part.side)
            if owner:
                return owner, text[: match.start()]
        return None

    def _part_called(self, text: str, side: str) -> str | None:
        """The part whose name a piece of a statement is. Kept, as many lines measure to an edge of one name."""
        if (text, side) not in self._called:
            self._called[text, side] = self.registry.find_words(" ".join(tokens(text)), side, self.sides)
        return self._called[text, side]

    def _take(self, line: Line, split: Split) -> _Taken | None:
        """Whose feature the reference is; None for a dimension."""
        if not split.relation:
            return None
        text, part = split.reference, line.part
        named = self._of_part(line, text)
        if named:
            owner, words = named
            return _Taken(owner, self._words(words), owner == part.id, True, "named")
        if fold(text).startswith("own "):
            return _Taken(part.id, self._words(fold(text)[4:]), True, True, "own")
        whole = self._part_called(text, part.side)
        if whole:
            return _Taken(whole, "", whole == part.id, True, "whole")
        if self._names_nothing(line, text):
            return _Taken(None, "", False, True, NOTHING)
        return self._inferred(line, split, self._words(text))

    def _names_nothing(self, line: Line, text: str) -> bool:
        """Whether a reference is nothing to measure from: `it`, `the other one`; the floor, for a part on a host, which
        will stand elsewhere."""
        if _is_unnamed(text):
            return True
        known = any(self._knows(id, text) for id in (line.part.id, *line.hosts))
        return bool(line.hosts) and not known and GROUND.fullmatch(" ".join(tokens(text))) is not None

    def _inferred(self, line: Line, split: Split, words: str) -> _Taken:
        """Whose it is by what each is known to have, where the line itself does not say."""
        if self._is_own(line, split, words, self._words(split.subject)):
            return _Taken(line.part.id, words, True, False, "own")
        return _Taken(self._host_with(line, words), words, False, False, "host")

    def _is_own(self, line: Line, split: Split, words: str, subject: str) -> bool:
        """The rules by which a reference is the part's own feature."""
        if words == subject:
            return relation_axis(split.relation, self.sides) is None and line.statement.value is not None
        return (
            words in self.known[line.part.id] or (bool(subject) and alike_but_for_place(words, subject)) or line.benched
        )

    def _host_with(self, line: Line, words: str) -> str | None:
        """The host that is known to have the feature, else the first."""
        hosts: tuple[str | None, ...] = line.hosts or (None,)
        return next((host for host in hosts if words in self.known[host]), hosts[0])

    def _other_owner(self, line: Line, taken: _Taken) -> str | None:
        """The host that has a feature of that name too, where the part's own was only inferred."""
        if taken.sure or not taken.own or not taken.words:
            return None
        return next((host for host in line.hosts if taken.words in self.known[host]), None)

    def _reading(self, line: Line, split: Split, taken: _Taken | None) -> Reading:
        statement, part = line.statement, line.part
        subject = feature(split.subject, part.id, self.sides)
        reference = self._reference(split, taken)
        which = self._which(line, split, taken) if taken else ""
        host = line.hosts[0] if line.hosts else None
        owner = taken.owner if taken else part.id
        reading = Reading(
            id=self._id(line),
            part=part.id,
            self=self.lives.self_at(part.id, line.when),
            host=host,
            host_self=self.lives.self_at(host, line.when),
            when=line.when,
            subject=subject if split.relation or subject.words else None,
            relation=split.relation,
            reference=reference,
            reference_self=self.lives.self_at(owner, line.when),
            dimension=split.dimension,
            own=taken.own if taken else True,
            value=statement.value,
            written=statement.written,
            text=statement.text,
            span=statement.span,
            place=line.place,
            method=statement.method,
            want=statement.want,
            from_memory=statement.from_memory,
            in_doubt=statement.in_doubt,
            remark=statement.remark,
            which=which,
            taken_as=self._taken_as(part.id, taken) if taken else "",
            photos=line.photos,
            private=line.private,
        )
        return reading

    def _reference(self, split: Split, taken: _Taken | None) -> Feature | None:
        if taken is None:
            return None
        if taken.reason == "whole":
            return Feature(taken.owner, "", "", point=False)
        text = split.reference
        if taken.reason == "named":
            text = re.split(r"\s+of\s+", text)[0] if not taken.words else text[: self._cut(text, taken)]
        return feature(text.strip().removeprefix("own "), taken.owner, self.sides)

    def _cut(self, text: str, taken: _Taken) -> int:
        """Where the owner's name begins in `A of B`."""
        for match in re.finditer(r"\s+of\s+", text):
            if self._words(text[: match.start()]) == taken.words:
                return match.start()
        return len(text)

    def _which(self, line: Line, split: Split, taken: _Taken) -> str:
        """What to write instead where it is not said whose the reference is, or what; "" where it is. A finding tells
        it, but of the floor: that is well named, and only holds nothing."""
        host = line.hosts[0] if line.hosts else None
        title = self.parts[host].title if host else MACHINE
        one = _one_of_several(split.subject) if line.statement.value and not taken.own else ""
        if one:
            help = f"write a line for each, as `{one} 1 {split.relation} {split.reference}: {line.statement.written}`"
            self._tell_which(line, split.subject, split.subject_span, host, "are several", help)
            return f"write a line for each {one}"
        if taken.reason == NOTHING:
            if _is_unnamed(split.reference):
                said, help = "does not say what was measured from", f'write its name, as "lower edge of {title}"'
                self._tell_which(line, split.reference, split.reference_span, host, said, help)
            return f"measure it to a feature of {title}"
        if self._is_of_one_side(line, split, taken):
            said = "lies on one side of the machine, and the slip is about both parts"
            self._tell_which(line, split.reference, split.reference_span, host, said, "write a slip for each side")
            return "write it for each side"
        other = self._other_owner(line, taken)
        if other is None:
            return ""
        spelling = f"{split.reference} of {self.parts[other].title}"
        said = f"can be the {line.part.title}'s own or that of {self.parts[other].title}; both have one"
        help = f'write "own {split.reference}" or "{spelling}"'
        self._tell_which(line, split.reference, split.reference_span, other, said, help)
        return spelling

    def _is_of_one_side(self, line: Line, split: Split, taken: _Taken) -> bool:
        """Whether a line about both twins can be true of one only: as far from one side of what both sit on."""
        shared = not taken.own and (taken.owner is None or not self.parts[taken.owner].side)
        both = line.slip.name is not None and len(line.slip.name.sides) > 1 and line.statement.value is not None
        to_side = split.relation in {f"{side} of" for side in self.sides}
        return both and shared and (to_side or not set(self.sides).isdisjoint(taken.words.split()))

    def _tell_which(self, line: Line, words: str, span: Span, host: str | None, said: str, help: str) -> None:
        message = f'"{words}" {said}, so this reading holds nothing yet'
        self.findings.append(Finding("which-one", message, span, help=help, part=line.part.id, host=host))

    def _taken_as(self, part: str, taken: _Taken) -> str:
        owner = self.parts[taken.owner].title if taken.owner else MACHINE
        if taken.own:
            return f"its own {taken.words}" if taken.words else "the part itself"
        if taken.reason == NOTHING:
            return ""
        return f"the {taken.words} of {owner}" if taken.words else f"the nearest surface of {owner}"

    def _id(self, line: Line) -> str:
        """An id from the part, the day and the words alone, so that edits in other slips leave it be."""
        words = f"{line.when.day.isoformat()}|{line.part.id}|{fold(line.statement.text)}"
        stem = f"{line.part.id}-{sha256(words.encode('utf-8', 'replace')).hexdigest()[:8]}"
        self._ids[stem] += 1
        return stem if self._ids[stem] == 1 else f"{stem}-{self._ids[stem]}"


def _is_unnamed(text: str) -> bool:
    """Whether a word stands for the thing: `it`, `edge of it`, `the other one`."""
    return fold(text).rpartition(" ")[2] in PRONOUNS or ANOTHER.fullmatch(text) is not None


def _one_of_several(text: str) -> str:
    """`hole` for `both holes`, `holes 1 and 2`, of which a length says nothing of either; "" for one thing."""
    first, joint, _ = " ".join(tokens(text)).replace("&", "and").partition(" and ")
    words = first.split()
    one = last_word(words)
    several = joint or (words and words[0] in ("both", "all", "each", "every"))
    return one if several and one in POINT_WORDS else ""


def _phrase(split: Split) -> int:
    """Length of the relation's phrase as written."""
    return split.reference_span.column - split.subject_span.end
