"""From readings to places on each face of a host: points, edges, how well each is held, and what does not fit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property, partial
from hashlib import sha256

from journal.ground.ahead import make_ahead
from journal.ground.kept_work import KeptWork, Piece
from journal.judge.face import Diameters, Face, diameters, faces
from journal.judge.kept_positions import read, written
from journal.judge.record import Recorder
from journal.judge.solved_face import Aside, PartAside, SolvedFace
from journal.judge.verdicts import FacePosition, Residual
from journal.measure.pins import TURNS

MOST_LEFT_OUT = 5
LEFT_OUT = "it does not fit the others, and is left out until it is measured again"


def _aside(recorder: Recorder, face: Face, known: Diameters) -> Aside:
    book = recorder.book
    owners = dict.fromkeys(node.owner for node in face.nodes.values())
    parts = dict.fromkeys((*face.parts, *(owner for owner in owners if owner is not None)))
    holes = ((node.owner, node.words) for node in face.nodes.values())
    return Aside(
        {hole: known[hole] for hole in holes if hole in known},
        {id: book.readings[id].part for id in face.rejected},
        {part: _part_aside(recorder, part) for part in parts},
    )


def _part_aside(recorder: Recorder, part: str) -> PartAside:
    sized = recorder.sized(part)
    relations = {row.relation for row in sized.rows}
    return PartAside(
        sized.pinned and sized.doubt.level != "no",
        not relations.isdisjoint(TURNS),
        not relations.isdisjoint(("square to", "parallel to")),
        sized.tells,
    )


@dataclass(frozen=True)
class Solver:
    """Solves every face once, when it is first asked for; what was solved in an earlier run is taken from `kept`."""

    recorder: Recorder
    kept: KeptWork = field(default_factory=lambda: KeptWork(None, ()))
    _keys: dict[int, tuple[Face, Aside, str]] = field(default_factory=dict)

    @cached_property
    def positions(self) -> tuple[FacePosition, ...]:
        """One a face that something was read on."""
        solved = self.solve(faces(self.recorder))
        return tuple(position for position in solved if position.parts or _worth_showing(position))

    @property
    def unsure(self) -> dict[str, str]:
        """Readings of which nothing tells whether they are right, each with why."""
        return {
            id: position.rejected[id]
            for position in self.positions
            for ids in position.contradicting
            for id in ids
        }

    @cached_property
    def diameters(self) -> Diameters:
        """Of holes that were read: (mm, standard uncertainty)."""
        return dict(diameters(self.recorder.book))

    @cached_property
    def _by_part(self) -> Mapping[str, FacePosition]:
        found: dict[str, FacePosition] = {}
        for position in self.positions:
            for part in position.parts:
                known = found.get(part)
                if known is None or position.host_self > known.host_self:
                    found[part] = position
        return found

    def of(self, part: str) -> FacePosition | None:
        """The face a part sits on, of its newest host."""
        return self._by_part.get(part)

    def solve_ahead(self, every: Iterable[Sequence[Face]]) -> None:
        """Those that no earlier run has solved, on all cores where they are many; some at a time, as `as_read` is asked
        for them."""
        if self.kept.folder:
            make_ahead(map(self._missing, every))

    def _missing(self, faces: Sequence[Face]) -> Piece | None:
        work, key = self._with_key(faces)
        return self.kept.missing(key, partial(_solved, work))

    def as_read(self, faces: Sequence[Face]) -> list[FacePosition]:
        """As `solve`, with every reading left in; what is asked for together is kept together."""
        work, key = self._with_key(faces)
        return self.kept.result(key, lambda: [SolvedFace(*each).position() for each in work], written, read)

    def _with_key(self, faces: Sequence[Face]) -> tuple[list[tuple[Face, Aside]], str]:
        """They with what else they are worked out from, and the sum of it all; most faces are asked for twice."""
        for face in faces:
            if id(face) not in self._keys:
                aside = _aside(self.recorder, face, self.diameters)
                self._keys[id(face)] = face, aside, _key(face, aside)
        known = [self._keys[id(face)] for face in faces]
        return [(face, aside) for face, aside, _ in known], "|".join(key for _, _, key in known)

    def solve(self, every: Sequence[Face]) -> list[FacePosition]:
        """The position of everything on each of the faces.

        A reading that is most likely a slip of the tape is left out, so that it pulls at nothing, and the rest is
        solved anew: what is said of it is what was found with it in. That goes in rounds, each for all faces at once.
        """
        self.solve_ahead([face] for face in every)
        found = [_LeftOut(face, self.as_read([face])[0]) for face in every]
        while again := [one for one in found if one.position.suspect and len(one.out) < MOST_LEFT_OUT]:
            for one in again:
                one.leave_out()
            self.solve_ahead([one.face] for one in again)
            for one in again:
                [one.position] = self.as_read([one.face])
        return [one.told() for one in found]


@dataclass
class _LeftOut:
    """A face, less the readings that are most likely slips of the tape, and its position then."""

    face: Face
    position: FacePosition
    out: dict[str, Residual] = field(default_factory=dict)

    def leave_out(self) -> None:
        """Take out the reading that is suspect in the position."""
        suspect = self.position.suspect
        assert suspect, "only asked where there is one"
        self.out[suspect] = self.position.residuals[suspect]
        self.face = replace(self.face, tapes=[tape for tape in self.face.tapes if tape.id not in self.out])

    def told(self) -> FacePosition:
        """The position, with what is said of those left out."""
        suspects = (*self.position.suspects, *self.out)
        told = replace(
            self.position, rejected={**self.position.rejected, **dict.fromkeys(suspects, LEFT_OUT)}, suspects=suspects
        )
        if not self.out:
            return told
        residuals = {**self.position.residuals, **self.out}
        return replace(told, suspect=next(iter(self.out)), fits=False, residuals=residuals)


def _key(face: Face, aside: Aside) -> str:
    """The sum of a face and its aside; `names` only gathered what is on it, and a set has no order."""
    told = [getattr(face, one.name) for one in fields(face) if one.name not in ("names", "axes")]
    whole = repr((told, sorted(face.axes.items()), aside))
    return sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()


def _solved(work: Sequence[tuple[Face, Aside]]) -> bytes:
    return written([SolvedFace(*each).position() for each in work])


def _worth_showing(position: FacePosition) -> bool:
    """Whether a thing that was only measured by itself has more to show than a size."""
    return position.too_large or len(position.spots) + len(position.edges) > 2
