"""Position drawings, kept between runs: placing the words on them takes most of the time that a site takes.

They are kept as JSON; what cannot be read back is drawn again.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import asdict, dataclass
from functools import cached_property
from multiprocessing import get_context
from os import cpu_count
from pathlib import Path
from typing import Any

from journal.ground.kept_work import KeptWork, code_of
from journal.pages import dimension_lines, lettering, pen, plate, position_drawing
from journal.pages.lettering import Patch
from journal.pages.pen import Round, Stroke, Words
from journal.pages.plate import Plate
from journal.pages.position_drawing import Drawing, drawings

FOLDER = "drawings"
WORTH = 40  # drawings to make before other processes are started for them


@dataclass(frozen=True)
class Sitter:
    """What `drawings` is given: all that a drawing depends on."""

    plate: Plate
    id: str
    told: str
    first: str

    @cached_property
    def key(self) -> str:
        return repr(self)

    def draw(self) -> tuple[Drawing, ...]:
        return drawings(self.plate, self.id, self.told, self.first)


class KeptDrawings:
    """Drawings by what they show."""

    def __init__(self, cache: Path | None) -> None:
        folder = cache / FOLDER if cache else None
        self.work = KeptWork(folder, code_of(position_drawing, dimension_lines, lettering, pen, plate))

    def of(self, sitter: Sitter) -> tuple[Drawing, ...]:
        return self.work.result(sitter.key, sitter.draw, written, read)

    def draw_ahead(self, sitters: Sequence[Sitter]) -> None:
        """Make what is not there yet on all cores, where that is worth it."""
        paths = [(self.work.path(sitter.key, "json"), sitter) for sitter in sitters]
        todo = [sitter for path, sitter in paths if path is not None and not path.exists()]
        cores = cpu_count() or 1
        if len(todo) < WORTH or cores < 2:
            return
        # Processes of their own, as the one that watches a build has threads; one that is lost costs time only.
        with suppress(BrokenProcessPool), ProcessPoolExecutor(cores, get_context("spawn")) as pool:
            for _ in pool.map(self.of, todo, chunksize=8):
                pass


def written(drawn: Sequence[Drawing]) -> bytes:
    """Drawings as they are kept."""
    return json.dumps([asdict(one) for one in drawn], ensure_ascii=False).encode("utf-8", "surrogatepass")


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
