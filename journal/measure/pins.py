"""How far readings hold a part, and what is still free to move.

A part against a face has three free motions, two shifts and a turn: a plane contact takes three of the six (the
3-2-1 rule of ISO 5459). On a tube or shaft two are left, along and round. Each statement takes one row over
(shift u, shift v, turn): for a point p of the part and a direction n, (n_u, n_v, n·(-p_v, p_u)).

Places that are not known are filled with fixed pseudo-random whole numbers: the rank is the same for almost all
places, and whole numbers keep it exact. What is not known of directions is taken the worse way: a line whose
direction is not written may lie along u or along v, and the rank is the smallest over all such layings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache
from hashlib import sha256
from itertools import product
from typing import Literal

from journal.ground.records import record

Axis = Literal["x", "y", "z"]
Vector = tuple[int, int, int]

AXES: tuple[Axis, ...] = ("x", "y", "z")
TURNS = frozenset({"at angle to", "square to", "parallel to"})
ALIGNMENTS = frozenset({"flush with", "level with", "in line with"})
DISTANCES = frozenset({"to", "gap to"})
MOST_UNKNOWN = 10  # lines of unknown direction that are laid both ways; rows of further ones are left out
FEW = 100  # rows of which every way is remembered, as it is gone through twice
# What runs along a tube or shaft; any other line may go round it (common practice, no published source).
LENGTHWISE = frozenset({"key", "keyway", "keyseat", "flat", "spline", "seam"})
# One spelling for words that tell features apart: `top hole` is the `upper hole`.
ALIKE: Mapping[str, str] = {
    "bottom": "lower", "top": "upper", "back": "rear", "aft": "rear", "fore": "front", "forward": "front",
    "inside": "inner", "inboard": "inner", "outside": "outer", "outboard": "outer",
    "lh": "left", "l/h": "left", "left-hand": "left", "rh": "right", "r/h": "right", "right-hand": "right",
    "first": "1", "second": "2", "third": "3", "#1": "1", "#2": "2", "#3": "3",
}  # fmt: skip
# What sits in a hole: `bolt`, `bolt hole` and `hole` may be one. And what of a hole is no point of its own.
IN_HOLES = ("bolt", "nut", "rivet", "screw", "stud")
ROUND_HOLE = frozenset("edge rim side centre upper lower front rear inner outer left right near far".split())
SLIDES: Mapping[Axis, str] = {"x": "fore and aft", "y": "sideways", "z": "up and down"}


@record
class Mark:
    """A feature as the sum needs it.

    key    the same for the same feature of the same thing; owner: whose it is ("" the part itself)
    name   its folded words, as shown
    point  a point, else a line (straight edge or face seen from above)
    axis   the direction its name gives the line's normal, None where none is written
    whole  the thing as a whole, not a feature of it
    end    an end: square to the lines of the same thing that are none
    """

    key: str
    owner: str
    name: str
    point: bool
    axis: Axis | None = None
    whole: bool = False
    end: bool = False


@record
class Row:
    """A statement: SUBJECT RELATION REFERENCE, with the relation's own axis where it has one."""

    id: str
    subject: Mark
    relation: str
    reference: Mark
    axis: Axis | None = None
    direction: Axis | None = field(init=False)

    def __post_init__(self) -> None:
        """The written direction: the relation's own before the line's, the reference's before the subject's."""
        lines = (mark.axis for mark in (self.reference, self.subject) if not mark.point)
        object.__setattr__(self, "direction", self.axis or next(filter(None, lines), None))


@record
class Face:
    """What the part sits on.

    normal  the axis square to the face, None where it is not written
    words   folded words of the face's name: a line of that name is the face itself, outside its own plane
    round   a tube or shaft
    stands_off  the part stands off the face and wants its height too
    """

    normal: Axis | None = None
    words: frozenset[str] = frozenset()
    round: bool = False
    stands_off: bool = False


@record
class Hold:
    """How far the statements hold the part.

    rank, full  motions held and motions there are
    free        sentences: what is left, in the worst laying
    rows        ids of the statements that take a row
    heights     ids of the statements that say how far it stands off the face
    """

    rank: int
    full: int
    free: tuple[str, ...]
    rows: frozenset[str] = frozenset()
    heights: frozenset[str] = frozenset()

    @property
    def held(self) -> bool:
        return self.rank >= self.full


Tie = tuple[str, str, bool]  # two line keys, True where parallel, False where square


@dataclass(frozen=True)
class _Laying:
    """Which way each line of unknown direction lies, and the plane's two axes (None: not named)."""

    plane: tuple[Axis | None, Axis | None]
    lines: Mapping[str, int] = field(default_factory=dict)

    def side(self, axis: Axis | None, key: str) -> int | None:
        """0 for a normal along u, 1 along v, None outside the plane."""
        if axis is None:
            return self.lines.get(key)
        if axis in self.plane:
            return self.plane.index(axis)
        return self.plane.index(None) if None in self.plane else None


Kind = Literal[0, 1, "straight", "turn"]
Way = tuple[_Laying, list[list[Vector]]]  # with the vectors of each row in it


class Ways:
    """Statements about a part on a face, in every way that lines of unknown direction may lie.

    ties  pairs of host lines said to be parallel or square
    """

    def __init__(self, rows: Sequence[Row], face: Face | None = None, ties: Iterable[Tie] = ()) -> None:
        self.face = face or Face()
        one = _may_be_one(mark for row in rows for mark in (row.subject, row.reference))
        self.every = [_told_apart(row, one) for row in rows if not row.reference.whole]
        self.rows = _distinct(self.every)
        keys = {key: mark.key for key, mark in one.items()}
        self._ties = tuple((keys.get(a, a), keys.get(b, b), same) for a, b, same in ties)

    def __iter__(self) -> Iterator[Way]:
        return iter(self._few) if len(self.rows) <= FEW else self._made()

    @cached_property
    def _few(self) -> list[Way]:
        return list(self._made())

    def _made(self) -> Iterator[Way]:
        for plane in _planes(self.rows, self.face):
            for laying in _layings(self.rows, plane, self.face, self._ties):
                yield laying, [_vectors(row, laying, self.face) for row in self.rows]

    def hold(self) -> Hold:
        """How far they hold the part, in the worst of them."""
        spans = ((_span(v for vectors in taken for v in vectors), laying) for laying, taken in self)
        basis, laying = min(spans, key=lambda pair: len(pair[0]))  # the first of equals
        face, rank = self.face, len(basis)
        taking = frozenset(row.id for row in self.every if _vectors(row, laying, face))
        heights = frozenset(row.id for row in self.every if _is_height(row, laying, face))
        full = 2 if face.round else 3
        free = _free_round(basis) if face.round else _free_on_face(basis, self.rows, laying)
        if face.stands_off:
            full += 1
            rank += bool(heights)
            free = free if heights else (*free, "can sit nearer or further off")
        return Hold(rank, full, free, taking, heights)

    def laid(self) -> Iterator[list[tuple[Row, Kind]]]:
        """For each of them: each row with what it says.

        0, 1 a place along u or along v, "straight" a distance between two points, "turn" a direction. A row that says
        two things comes twice, one that says nothing in the face not at all.
        """
        for laying, taken in self:
            yield [
                (row, kind)
                for row, vectors in zip(self.rows, taken, strict=True)
                for kind in _kinds(row, vectors, laying)
            ]


def hold(rows: Sequence[Row], face: Face | None = None, ties: Iterable[Tie] = ()) -> Hold:
    """How far `rows` hold a part on `face`; `ties` are pairs of host lines said to be parallel or square."""
    return Ways(rows, face, ties).hold()


def _kinds(row: Row, vectors: Sequence[Vector], laying: _Laying) -> Iterator[Kind]:
    if row.relation in DISTANCES and row.subject.point and row.reference.point:
        yield "straight"
        return
    for vector in vectors:
        side = _side(row, laying)
        if vector == TURN:
            yield "turn"
        elif side is not None:
            yield 1 if side else 0


def _distinct(rows: Sequence[Row]) -> list[Row]:
    """The rows that could differ: of many readings of one thing the first speaks for all.

    A reading that only repeats another takes the same row, so leaving it out changes no rank; this is what keeps
    sixty thousand readings of one hole affordable.
    """
    seen: dict[tuple[str, str, str], Row] = {}
    for row in rows:
        seen.setdefault((row.subject.key, row.relation, row.reference.key), row)
    return list(seen.values())


@lru_cache(maxsize=1 << 16)
def _thing(name: str) -> tuple[frozenset[str], str]:
    """What a name is of, in one spelling, and the name without what is only a side of a hole: of `hole top` the hole.

    Two points are told apart by a number, a letter or a place: one hole under two names would hold the turn.
    """
    shown = name.split()
    words = ["hole" if word == "holes" else ALIKE.get(word, word) for word in shown]
    holes = [at for at, word in enumerate(words) if word == "hole" or word in IN_HOLES]
    if holes:
        last = holes[-1] + 1
        rest = [at for at in range(last, len(words)) if words[at] not in ROUND_HOLE]
        shown = [*shown[:last], *(shown[at] for at in rest)]
        words = [*words[:last], *(words[at] for at in rest)]
    if any(word in IN_HOLES for word in words):
        words = [word for word in words if word != "hole"]
    return frozenset(words) - {"no", "no.", "number"}, " ".join(shown)


def _may_be_one(marks: Iterable[Mark]) -> dict[str, Mark]:
    """Features of one thing whose names may mean the same one, by key: what all of them are taken as."""
    things: dict[tuple[str, frozenset[str]], dict[str, Mark]] = {}
    for mark in marks:
        if mark.name:
            things.setdefault((mark.owner, _thing(mark.name)[0]), {})[mark.key] = mark
    for owner, words in [thing for thing in things if "hole" in thing[1]]:
        fixings = ((owner, words - {"hole"} | {fixing}) for fixing in IN_HOLES)
        twin = next((thing for thing in fixings if thing in things), None)
        if twin:
            things[twin] |= things.pop((owner, words))
    return {key: one for alike in things.values() if len(alike) > 1 for one in (_as_one(alike),) for key in alike}


def _as_one(alike: Mapping[str, Mark]) -> Mark:
    """What several names of one feature are taken as: the point, where one of them is a side of it."""
    first = min(alike.values(), key=lambda mark: (not mark.point, mark.axis is None, mark.key))
    name = _thing(first.name)[1]
    return first if first.point or name == first.name else Mark(f"{first.owner}/{name}", first.owner, name, point=True)


def _told_apart(row: Row, one: Mapping[str, Mark]) -> Row:
    """A row whose features are told apart from others in more than their names."""
    subject, reference = one.get(row.subject.key, row.subject), one.get(row.reference.key, row.reference)
    if subject is row.subject and reference is row.reference:
        return row
    was_line = subject.point > row.subject.point or reference.point > row.reference.point
    return Row(row.id, subject, row.relation, reference, row.direction if was_line else row.axis)


def _planes(rows: Sequence[Row], face: Face) -> Iterator[tuple[Axis | None, Axis | None]]:
    """The planes the face may lie in: the one that is named, else those of the two axes used most."""
    if face.normal:
        u, v = (axis for axis in AXES if axis != face.normal)
        yield u, v
        return
    used = Counter(row.direction for row in rows if row.direction)
    if len(used) < 2:
        yield next(iter(used), None), None
        return
    ranked = sorted(used, key=lambda axis: (-used[axis], axis))
    first, second = used[ranked[0]], used[ranked[1]]
    pairs = [(a, b) for i, a in enumerate(ranked) for b in ranked[i + 1 :]]
    for a, b in pairs:  # ties are taken every way there is
        if sorted((used[a], used[b]), reverse=True) == [first, second]:
            yield (a, b) if a < b else (b, a)


def _unknown_lines(rows: Sequence[Row]) -> dict[str, Mark]:
    """Lines and pointlike references that some row needs a direction of, the most used first."""
    uses: Counter[str] = Counter()
    marks: dict[str, Mark] = {}
    for row in rows:
        for mark in (row.reference, row.subject):
            wanted = not mark.point or (mark is row.reference and row.relation not in DISTANCES)
            if wanted:
                marks[mark.key] = mark
                uses[mark.key] += 1
    return dict(sorted(marks.items(), key=lambda item: (-uses[item[0]], item[0])))


def _layings(
    rows: Sequence[Row], plane: tuple[Axis | None, Axis | None], face: Face, ties: Sequence[Tie]
) -> Iterator[_Laying]:
    """Every way the lines of unknown direction may lie, as far as ties and ends leave them free."""
    lines = _unknown_lines(rows)
    known = _Laying(plane)
    group = _Parity()
    for key, mark in lines.items():
        side = known.side(_axis_of(mark, lines.values()), key)
        if face.round and (mark.end or not LENGTHWISE.isdisjoint(mark.name.split())):
            side = int(not mark.end)  # an end of a shaft is measured along it, whatever its name says, a key round it
        if side is not None:
            group.fix(key, side)
    for a, b, parallel in ties:
        if a in lines and b in lines:
            group.join(a, b, 0 if parallel else 1)
    for a, mark in lines.items():
        for b, other in lines.items():
            square = mark.end and not (other.end or other.point) and mark.owner == other.owner
            if square and not face.round:  # a shoulder of a shaft is no end by its name
                group.join(a, b, 1)
    yield from (_Laying(plane, sides) for sides in group.choices(tuple(lines)))


def _axis_of(mark: Mark, lines: Iterable[Mark]) -> Axis | None:
    """The direction of a line, from its own name or from the fuller name of the same line.

    Two line names on one thing, one holding all the words of the other, are one line till told apart.
    """
    if mark.axis or mark.point:
        return mark.axis
    words = set(mark.name.split())
    axes = {
        other.axis
        for other in lines
        if other.owner == mark.owner and not other.point and words < set(other.name.split())
    }
    return next(iter(axes)) if len(axes) == 1 else None


class _Parity:
    """Lines in groups: within a group each is parallel (0) or square (1) to the group's first."""

    def __init__(self) -> None:
        self._up: dict[str, tuple[str, int]] = {}
        self._fixed: dict[str, int] = {}

    def _find(self, key: str) -> tuple[str, int]:
        parent, parity = self._up.get(key, (key, 0))
        if parent == key:
            return key, 0
        root, rest = self._find(parent)
        self._up[key] = (root, parity ^ rest)
        return self._up[key]

    def fix(self, key: str, side: int) -> None:
        root, parity = self._find(key)
        self._fixed.setdefault(root, side ^ parity)

    def join(self, a: str, b: str, parity: int) -> None:
        """Tie two lines, unless what is known already says otherwise."""
        (root_a, parity_a), (root_b, parity_b) = self._find(a), self._find(b)
        step = parity ^ parity_a ^ parity_b
        if root_a == root_b:
            return
        fixed_a, fixed_b = self._fixed.get(root_a), self._fixed.get(root_b)
        if fixed_a is not None and fixed_b is not None:
            return
        self._up[root_b] = (root_a, step)
        if fixed_b is not None:
            self._fixed[root_a] = fixed_b ^ step
            del self._fixed[root_b]

    def choices(self, keys: Sequence[str]) -> Iterator[dict[str, int]]:
        """Every side for every key; keys of groups beyond the most that are tried are left out."""
        roots = dict.fromkeys(self._find(key)[0] for key in keys)
        open_roots = [root for root in roots if root not in self._fixed][:MOST_UNKNOWN]
        for sides in product((0, 1), repeat=len(open_roots)):
            chosen = self._fixed | dict(zip(open_roots, sides, strict=True))
            yield {key: chosen[root] ^ parity for key in keys for root, parity in (self._find(key),) if root in chosen}


def _place(mark: Mark) -> tuple[int, int]:
    """A fixed pseudo-random place for a feature."""
    return _place_of(mark.key)


@lru_cache(maxsize=1 << 16)
def _place_of(key: str) -> tuple[int, int]:
    """Whole numbers from a key, the same on every machine."""
    digest = sha256(key.encode("utf-8", "surrogatepass")).digest()
    return (int.from_bytes(digest[:3], "big") % 19_997 - 9_998, int.from_bytes(digest[3:6], "big") % 19_997 - 9_998)


def _row(n: tuple[int, int], p: tuple[int, int]) -> Vector:
    """(n_u, n_v, n·(-p_v, p_u))."""
    return n[0], n[1], n[1] * p[0] - n[0] * p[1]


TURN: Vector = (0, 0, 1)
UNIT = ((1, 0), (0, 1))


def _vectors(row: Row, laying: _Laying, face: Face) -> list[Vector]:
    """The rows over (shift u, shift v, turn) that a statement takes; none for a height or a clearance."""
    if face.round:
        return _vectors_round(row, laying)
    if row.relation in TURNS:
        return [TURN] if _turns(row, laying, face) else []
    subject, reference = row.subject, row.reference
    if row.relation in DISTANCES and subject.point and reference.point:
        p, r = _place(subject), _place(reference)
        return [_row((r[0] - p[0], r[1] - p[1]), p)]
    side = _side(row, laying)
    if side is None or _is_face(reference, face):
        return []
    at = _place(reference if reference.point and not subject.point and row.relation in DISTANCES else subject)
    rows = [_row(UNIT[side], at)]
    lines = not subject.point and not subject.whole
    if (row.relation in ALIGNMENTS and lines) or (row.relation == "touching" and lines and not reference.point):
        rows.append(TURN)
    return rows


def _side(row: Row, laying: _Laying) -> int | None:
    """Along which axis of the plane a statement measures; None where it is a height."""
    if row.direction:
        return laying.side(row.direction, row.reference.key)
    key = row.subject.key if row.reference.point and not row.subject.point else row.reference.key
    return laying.lines.get(key)


def _turns(row: Row, laying: _Laying, face: Face) -> bool:
    """Whether a `square to`, `parallel to` or angle holds the turn: two lines in the plane, or the part as a whole."""
    if row.reference.point or _is_face(row.reference, face) or (row.subject.point and not row.subject.whole):
        return False
    return laying.side(row.reference.axis, row.reference.key) is not None


def _is_face(mark: Mark, face: Face) -> bool:
    """Whether a line's name is that of the face itself: `flange` for `face: lower flange`."""
    return bool(face.words and mark.name) and not mark.point and face.words.issuperset(mark.name.split())


def _is_height(row: Row, laying: _Laying, face: Face) -> bool:
    """Whether a statement says how far the part stands off its face."""
    if row.relation in TURNS or row.reference.whole:
        return False
    if _is_face(row.reference, face):
        return row.relation in DISTANCES or bool(row.axis)
    return bool(row.direction) and laying.side(row.direction, row.reference.key) is None


def _vectors_round(row: Row, laying: _Laying) -> list[Vector]:
    """The same on a tube or shaft, over (along, round, nothing)."""
    along, around = (1, 0, 0), (0, 1, 0)
    if row.relation in TURNS:
        told = row.reference.point or laying.side(row.reference.axis, row.reference.key) == 1
        return [around] if told and not row.reference.end else []  # an end looks the same all round
    if row.reference.end:
        return [along]
    if row.subject.point and row.reference.point and row.relation in DISTANCES:
        p, r = _place(row.subject), _place(row.reference)
        return [(r[0] - p[0], r[1] - p[1], 0)]
    side = _side(row, laying)
    return [] if side is None else [(along, around)[side]]


def _span(vectors: Iterable[Vector]) -> list[Vector]:
    """Independent rows among the vectors, at most three: whole numbers, so nothing is ever nearly dependent."""
    basis: list[Vector] = []
    for vector in vectors:
        if not basis:
            new = any(vector)
        elif len(basis) == 1:
            new = any(_cross(basis[0], vector))
        else:
            normal = _cross(basis[0], basis[1])
            new = bool(sum(a * b for a, b in zip(normal, vector, strict=True)))
        if new:
            basis.append(vector)
            if len(basis) == 3:
                break
    return basis


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _free_on_face(basis: Sequence[Vector], rows: Sequence[Row], laying: _Laying) -> tuple[str, ...]:
    """What is left to move, in words: what no row of the basis notices."""
    if not basis:
        return ("can go anywhere on it",)
    if len(basis) == 1:
        u, v, _ = basis[0]
        if not (u or v):
            return ("can slide anywhere on it without turning",)
        return (_slide((-v, u), rows, laying), "can turn")
    if len(basis) == 2:
        u, v, turn = _cross(basis[0], basis[1])
        return (_turn_about(Fraction(-v, turn), Fraction(u, turn), rows) if turn else _slide((u, v), rows, laying),)
    return ()


def _slide(shift: tuple[int, int], rows: Sequence[Row], laying: _Laying) -> str:
    """`can slide along the flange edge`: the line whose direction the shift has, edges before ends."""
    if shift[0] and shift[1]:
        pivots = dict.fromkeys(row.reference.name for row in rows if row.reference.point)
        return f"can swing round the {next(iter(pivots))}" if pivots else "can move"
    normal = 1 if shift[0] else 0
    references = list({row.reference.key: row.reference for row in rows if not row.reference.point}.values())
    lines = [mark for mark in references if laying.side(_axis_of(mark, references), mark.key) == normal]
    edges = [mark.name for mark in lines if not mark.end]
    ends = list(dict.fromkeys(mark.name for mark in lines if mark.end))
    if edges or ends:
        return f"can slide along the {edges[0] if edges else 'ends' if len(ends) > 1 else ends[0]}"
    axis = laying.plane[0] if shift[0] else laying.plane[1]
    return f"can slide {SLIDES[axis]}" if axis else "can slide one way"


def _turn_about(u: Fraction, v: Fraction, rows: Sequence[Row]) -> str:
    """`can turn about the hole`: the feature that stands still at (u, v) while the rest turns."""
    for row in rows:
        if _is_at(row.subject, u, v):
            return f"can turn about the {row.subject.name}" if row.subject.name else "can turn on the spot"
        if row.reference.point and _is_at(row.reference, u, v):
            return f"can swing round the {row.reference.name}"
    return "can move"


def _is_at(mark: Mark, u: Fraction, v: Fraction) -> bool:
    place = _place(mark)
    return u == place[0] and v == place[1]


def _free_round(basis: Sequence[Vector]) -> tuple[str, ...]:
    """What is left on a tube or shaft."""
    if not basis:
        return ("can slide along it", "can turn round it")
    if len(basis) == 1:
        u, v, _ = basis[0]
        return ("can creep along it while turning" if u and v else "can turn round it" if u else "can slide along it",)
    return ()
