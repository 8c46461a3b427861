"""The files of all full-size templates, made again only where what they show has changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path

from journal.ground.kept_work import KeptWork, Piece, code_of
from journal.model.entities import Part
from journal.pages import address, full_size, lettering, plate, room, template_dxf, template_pdf
from journal.pages.full_size import Template, template_of
from journal.pages.plate import Plate
from journal.pages.positions import Faces, OnFace
from journal.pages.viewer import Viewer

FOLDER = "full-size"
ToMake = tuple[str, str, str, Callable[[], bytes]]  # name below `templates/`, ending, what it depends on, how


class TemplateFiles:
    """Every part and every face that has a template, as PDF and DXF."""

    def __init__(self, viewer: Viewer, faces: Faces, cache: Path | None) -> None:
        self.viewer, self.faces = viewer, faces
        code = code_of(template_pdf, template_dxf, full_size, lettering, plate, room)
        self.work = KeptWork(cache / FOLDER if cache else None, (*code, room.AT_ONCE))

    def missing(self) -> Iterator[Piece | None]:
        """Those that are not kept yet, None for one that is."""
        return (self.work.missing(key, make, ending) for _, ending, key, make in self._those(self.faces.every()))

    def of(self, part: Part) -> dict[str, bytes | Path]:
        """Those of a part: published path to bytes, or to the file of the cache that holds them."""
        return {
            address.template(name, ending): self.work.file(key, ending, make)
            for name, ending, key, make in self._those(self.faces.of(part))
        }

    def _those(self, faces: Iterable[OnFace]) -> Iterator[ToMake]:
        paper, about = self.viewer.book.settings.paper, self.viewer.book.settings.title
        for face in faces:
            if face.sheets is None:
                continue
            wanted, key = _Wanted(face.plate, face.first), f"{face.first}|{face.plate.key}"
            if face.sheets:
                yield face.name, "pdf", f"{paper}|{about}|{key}", partial(wanted.pdf, paper, about)
            if template_dxf.can_write():
                yield face.name, "dxf", key, wanted.dxf


@dataclass
class _Wanted:
    """A template that is there, made once for paper and for the drawing file."""

    plate: Plate
    first: str

    @cached_property
    def _template(self) -> Template:
        template = template_of(self.plate, self.first)
        assert template is not None, "it has a box"
        return template

    def pdf(self, paper: str, about: str) -> bytes:
        made = template_pdf.pdf(self._template, paper, about)
        assert made is not None, "a template that is tiled can be printed"
        return made

    def dxf(self) -> bytes:
        return template_dxf.dxf(self._template)
