"""What one more reading would be worth: the part's worst 95 % ellipse with it and without.

What a reading to come will say is taken from where things are as far as that is known. Readings along an edge's
normal gain the same wherever things are; of a straight distance to what is not placed yet nothing can be said.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
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

    def hold(self, part: str, *more: pins.Row) -> Hold:
        """How well a part's readings, and more of them, hold it."""
        sized = self.recorder.sized(part)
        squares = any(row.relation in pins.TURNS and not row.subject.point for row in more)
        said = float(METHODS["square"].angle) if squares else None
        position = self._position(part, more)
        spots = position.of(part) if position else ()
        axes = [spot.ellipse95[0] for spot in spots]
        return Hold(max(axes, default=None), turn_of(self.recorder, sized, spots, said))

    def weigh_ahead(self, asked: Iterable[tuple[str, pins.Row]]) -> None:
        """Make ready for `hold` of many parts, each with one more reading."""
        grown = (self._grown(part, before, (row,)) for part, row in asked if (before := self.solver.of(part)))
        self.solver.solve_ahead(face for face in grown if face)

    def _position(self, part: str, more: tuple[pins.Row, ...]) -> FacePosition | None:
        before = self.solver.of(part)
        if not more or before is None:
            return before
        grown = self._grown(part, before, more)
        return self.solver.as_read(grown) if grown else None

    def _grown(self, part: str, before: FacePosition, more: tuple[pins.Row, ...]) -> Face | None:
        """The part's own face with more readings; None where it has none."""
        if part not in self._faces:
            self._faces[part] = face_of(self.recorder, part, self.solver.diameters)
        face = self._faces[part]
        about = [(row, _about(before, part, row)) for row in more]
        return with_more(self.recorder, face, part, about) if face else None


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
