"""Position drawings, kept between runs: placing the words on them takes most of the time that a site takes.

They are kept as JSON; what cannot be read back is drawn again.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import Any, overload

from journal.ground.kept_work import KeptWork, Piece, by_name, code_of
from journal.pages import dimension_lines, lettering, pen, plate, position_drawing, room
from journal.pages.lettering import Patch
from journal.pages.pen import Round, Stroke, Words
from journal.pages.plate import Plate
from journal.pages.position_drawing import Drawing, drawings

FOLDER = "drawings"


@dataclass(frozen=True)
class Sitter:
    """What `drawings` is given: all that a drawing depends on."""

    plate: Plate
    id: str
    told: str
    first: str

    @cached_property
    def key(self) -> str:
        return f"{self.plate.key}|{self.id}|{self.told}|{self.first}"

    def draw(self) -> tuple[Drawing, ...]:
        return drawings(self.plate, self.id, self.told, self.first)


class Drawn(Sequence[Drawing]):
    """The drawings of a sitter, read when they are first looked at: a page that is kept never looks."""

    def __init__(self, sitter: Sitter, kept: KeptDrawings) -> None:
        self._sitter, self._kept = sitter, kept

    @cached_property
    def _drawings(self) -> tuple[Drawing, ...]:
        return self._kept.of(self._sitter)

    @overload
    def __getitem__(self, at: int) -> Drawing: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[Drawing]: ...

    def __getitem__(self, at: int | slice) -> Drawing | Sequence[Drawing]:
        return self._drawings[at]

    def __len__(self) -> int:
        return len(self._drawings)

    @property
    def key(self) -> str:
        """What the drawings are made from."""
        return self._sitter.key


class KeptDrawings:
    """Drawings by what they show."""

    def __init__(self, cache: Path | None) -> None:
        folder = cache / FOLDER if cache else None
        code = code_of(position_drawing, dimension_lines, lettering, pen, plate, room)
        self.work = KeptWork(folder, (*code, room.AT_ONCE))

    def of(self, sitter: Sitter) -> tuple[Drawing, ...]:
        return self.work.result(sitter.key, sitter.draw, written, read)

    def missing(self, sitter: Sitter) -> Piece | None:
        """What is to be done for its drawings; None where they are kept already."""
        return self.work.missing(sitter.key, partial(_drawn, sitter))


def _drawn(sitter: Sitter) -> bytes:
    return written(sitter.draw())


def written(drawn: Sequence[Drawing]) -> bytes:
    """Drawings as they are kept."""
    return json.dumps(drawn, ensure_ascii=False, default=by_name).encode("utf-8", "surrogatepass")


def read(data: bytes) -> tuple[Drawing, ...]:
    """Drawings from what is kept of them; ValueError, TypeError or KeyError where it is damaged."""
    return tuple(_drawing(one) for one in json.loads(data.decode("utf-8", "surrogatepass")))


def _drawing(kept: dict[str, Any]) -> Drawing:
    return Drawing(
        **{
            **kept,
            "strokes": tuple(Stroke(**one) for one in kept["strokes"]),
            "rounds": tuple(Round(**one) for one in kept["rounds"]),
            "heads": tuple(kept["heads"]),
            "words": tuple(
                Words(**{**one, "patches": tuple(Patch(*patch) for patch in one["patches"])}) for one in kept["words"]
            ),
            "left_out": tuple(kept["left_out"]),
        }
    )
