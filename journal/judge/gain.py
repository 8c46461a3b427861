"""What one more reading would be worth: the part's worst 95 % ellipse with it and without.

What a reading to come will say is taken from where things are as far as that is known. Readings along an edge's
normal gain the same wherever things are; of a straight distance to what is not placed yet nothing can be said.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from journal.ground.records import record
from journal.judge.face import Face, face_of, with_more
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.judge.verdicts import FacePosition
from journal.judge.weak import Turn, turn_of
from journal.measure import pins
from journal.measure.methods import METHODS

LOOSE = 5.0  # mm: an ellipse that long is worth another reading (common practice, no published source)
WORTH = 0.7  # of what it was: a reading that gains less is not asked for


@record
class Hold:
    """How well a part is held: the largest half axis of the 95 % ellipses of its points in mm, and its turn."""

    largest: float | None
    turn: Turn

    @property
    def weak(self) -> bool:
        return bool(self.turn.why_weak) or (self.largest is not None and self.largest > LOOSE)


@dataclass(frozen=True)
class Gains:
    """Weighs readings that were not taken yet."""

    recorder: Recorder
    solver: Solver
    _faces: dict[str, Face | None] = field(default_factory=dict)
    _with_more: dict[tuple[str, ...], list[Face]] = field(default_factory=dict)

    def hold(self, part: str) -> Hold:
        """How well a part's readings hold it."""
        return self._hold(part, self.solver.of(part), None)

    def holds(self, part: str, rows: Sequence[pins.Row]) -> list[Hold]:
        """How well they hold it with each one of further readings."""
        faces = self._grown(part, rows)
        positions = self.solver.as_read(faces) if faces else [None] * len(rows)
        return [self._hold(part, position, row) for position, row in zip(positions, rows, strict=True)]

    def weigh_ahead(self, asked: Iterable[tuple[str, Sequence[pins.Row]]]) -> None:
        """Make ready for `holds` of many parts."""
        self.solver.solve_ahead(faces for part, rows in asked if (faces := self._grown(part, rows)))

    def _hold(self, part: str, position: FacePosition | None, more: pins.Row | None) -> Hold:
        square = more is not None and more.relation in pins.TURNS and not more.subject.point
        spots = position.of(part) if position else ()
        said = float(METHODS["square"].angle) if square else None
        turn = turn_of(self.recorder, self.recorder.sized(part), spots, said)
        return Hold(max((spot.ellipse95[0] for spot in spots), default=None), turn)

    def _grown(self, part: str, rows: Sequence[pins.Row]) -> list[Face]:
        """The part's own face with one more reading, for each; none where it has no face. Asked for twice of many."""
        asked = part, *(row.id for row in rows)
        if asked not in self._with_more:
            self._with_more[asked] = self._grow(part, rows)
        return self._with_more[asked]

    def _grow(self, part: str, rows: Sequence[pins.Row]) -> list[Face]:
        before = self.solver.of(part)
        if part not in self._faces:
            self._faces[part] = face_of(self.recorder, part, self.solver.diameters) if before else None
        face = self._faces[part]
        if face is None or before is None:
            return []
        return [with_more(self.recorder, face, part, [(row, _about(before, part, row))]) for row in rows]


def _about(position: FacePosition, part: str, row: pins.Row) -> float | None:
    """What a reading to come will say, as far as both its ends are placed."""
    ends = [_end(position, part, mark) for mark in (row.subject, row.reference)]
    (a, b) = ends
    if a is None or b is None:
        return None
    steps = [abs(x - y) for x, y in zip(a, b, strict=True) if x is not None and y is not None]
    return math.hypot(*steps) if steps else None


def _end(position: FacePosition, part: str, mark: pins.Mark) -> tuple[float | None, float | None] | None:
    owner = {"": part, "the machine": None}.get(mark.owner, mark.owner)
    for spot in position.spots:
        if (spot.owner, spot.words) == (owner, mark.name):
            return spot.u, spot.v
    for edge in position.edges:
        if (edge.owner, edge.words) == (owner, mark.name):
            return (edge.offset, None) if edge.normal == "u" else (None, edge.offset)
    return None


def in_words(before: Hold, after: Hold) -> str:
    """`from ± 11 mm to ± 1 mm`; `to ± 1 mm` where nothing held it before; "" where it gains nothing that shows."""
    if before.turn.why_weak and after.turn.best is not None and not after.turn.why_weak:
        was = f"from ± {before.turn.best:.0f}° " if before.turn.best is not None else ""
        return f"{was}to ± {_short(after.turn.best)}°"
    if after.largest is None:
        return ""
    if before.largest is None:
        return f"to ± {_short(after.largest)} mm"
    return f"from ± {_short(before.largest)} mm to ± {_short(after.largest)} mm"


def _short(number: float) -> str:
    return f"{number:.0f}" if number > 0.9 else f"{max(0.1, math.ceil(number * 10) / 10):.1f}"
