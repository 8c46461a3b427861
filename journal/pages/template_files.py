"""The files of all full-size templates, made again only where what they show has changed."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache, partial
from hashlib import sha256
from pathlib import Path

from journal.ground.atomic import write_whole
from journal.pages import address, template_dxf, template_pdf
from journal.pages.full_size import Template
from journal.pages.positions import all_templates
from journal.pages.viewer import Viewer

FOLDER = "full-size"
UNUSED = 30 * 24 * 3600.0  # seconds that a template nobody asks for is kept: the other edition may want it


def files(viewer: Viewer, cache: Path | None) -> dict[str, bytes | Path]:
    """Published path to bytes, or to the file of the cache that holds them."""
    paper, about = viewer.book.settings.paper, viewer.book.settings.title
    found: dict[str, bytes | Path] = {}
    for name, template in all_templates(viewer):
        if template_pdf.tiling(template.box, paper).tiles:
            make = partial(_pdf, template, paper, about)
            found[address.template(name, "pdf")] = _kept(cache, f"{paper}|{about}|{template!r}", "pdf", make)
        if template_dxf.can_write():
            cad = partial(template_dxf.dxf, template)
            found[address.template(name, "dxf")] = _kept(cache, repr(template), "dxf", cad)
    if cache is not None:
        _forget(cache / FOLDER, {path.name for path in found.values() if isinstance(path, Path)})
    return found


def _pdf(template: Template, paper: str, about: str) -> bytes:
    made = template_pdf.pdf(template, paper, about)
    assert made is not None, "a template that is tiled can be printed"
    return made


def _kept(cache: Path | None, key: str, ending: str, make: Callable[[], bytes]) -> bytes | Path:
    if cache is None:
        return make()
    path = cache / FOLDER / f"{sha256(f'{_program()}|{key}'.encode()).hexdigest()[:32]}.{ending}"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, make())
    return path


@lru_cache(maxsize=1)
def _program() -> str:
    """A digest of what makes the files: another program makes other ones."""
    digest = sha256()
    for module in (template_pdf, template_dxf):
        digest.update(Path(module.__file__ or "").read_bytes())
    return digest.hexdigest()


def _forget(folder: Path, used: set[str]) -> None:
    """Take away what no site was made with in a while."""
    now = time.time()
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in list(entries):
            if entry.name not in used and now - entry.stat().st_mtime > UNUSED:
                os.unlink(entry.path)
