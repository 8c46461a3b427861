"""The files of all full-size templates, made again only where what they show has changed."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from journal.ground.kept_work import KeptWork, code_of
from journal.pages import address, template_dxf, template_pdf
from journal.pages.full_size import Template
from journal.pages.positions import Faces
from journal.pages.viewer import Viewer

FOLDER = "full-size"


def files(viewer: Viewer, faces: Faces, cache: Path | None) -> dict[str, bytes | Path]:
    """Published path to bytes, or to the file of the cache that holds them."""
    paper, about = viewer.book.settings.paper, viewer.book.settings.title
    kept = KeptWork(cache / FOLDER if cache else None, code_of(template_pdf, template_dxf))
    found: dict[str, bytes | Path] = {}
    for name, template in faces.templates():
        if template_pdf.tiling(template.box, paper).tiles:
            make = partial(_pdf, template, paper, about)
            found[address.template(name, "pdf")] = kept.file(f"{paper}|{about}|{template!r}", "pdf", make)
        if template_dxf.can_write():
            cad = partial(template_dxf.dxf, template)
            found[address.template(name, "dxf")] = kept.file(repr(template), "dxf", cad)
    kept.forget()
    return found


def _pdf(template: Template, paper: str, about: str) -> bytes:
    made = template_pdf.pdf(template, paper, about)
    assert made is not None, "a template that is tiled can be printed"
    return made
