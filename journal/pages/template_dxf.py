"""A full-size template as DXF (R2010), in mm: layers EDGES, HOLES, CENTRES, TEXT. Needs the extra `[cad]`.

The same template gives the same bytes: the file's dates and ids are fixed ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from io import StringIO
from typing import TYPE_CHECKING

from journal.pages.full_size import Hole, Template

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

LAYERS = (("EDGES", 7), ("HOLES", 1), ("CENTRES", 5), ("TEXT", 3))  # name, colour number of the format
ON_THEM = "  0\nSECTION\n  2\nENTITIES\n"  # what begins the section of what is drawn
SEED = "$HANDSEED\n  5\n"  # the next number that is free, in the file's head
HIGH = 3.2  # mm, letters of 9 pt


@cache
def can_write() -> bool:
    """Whether the library is here."""
    return find_spec("ezdxf") is not None


def dxf(template: Template) -> bytes:
    """The template; places are those of the face, so that templates of one face lie on each other."""
    from ezdxf.lldxf.tagwriter import TagWriter

    empty = _empty()
    space, handles = empty.drawing.modelspace(), empty.drawing.entitydb.handles
    target = StringIO()
    writer = TagWriter(target, dxfversion=empty.drawing.dxfversion)
    try:
        _draw(space, template)
        for entity in space:
            entity.export_dxf(writer)
        head = empty.head.replace(f"{SEED}{empty.next_handle}\n", f"{SEED}{handles}\n", 1)
    finally:  # as empty as it was, whatever happened
        space.delete_all_entities()
        empty.drawing.entitydb.purge()
        handles.reset(empty.next_handle)
    return f"{head}{target.getvalue()}{empty.foot}".encode(empty.drawing.output_encoding, "replace")


@dataclass(frozen=True)
class _Empty:
    """A drawing with the layers and nothing on them, and its file up to what is on them, and from there on."""

    drawing: Drawing
    next_handle: str
    head: str
    foot: str


@cache
def _empty() -> _Empty:
    """Made once: all of a file but a few lines is the same for every template."""
    from ezdxf import units  # over a second, and only where a template is made
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # the file's dates and ids
    try:
        drawing = new("R2010", units=units.MM)
        for name, colour in LAYERS:
            drawing.layers.add(name, color=colour)
        drawing.classes.add_required_classes(drawing.dxfversion)  # from a set, in an order of its own each time
        drawing.classes.classes = dict(sorted(drawing.classes.classes.items()))
        target = StringIO()
        drawing.write(target)
    finally:
        options.write_fixed_meta_data_for_testing = kept
    before, after = target.getvalue().split(ON_THEM)
    return _Empty(drawing, str(drawing.entitydb.handles), before + ON_THEM, after)


def _draw(space: Modelspace, template: Template) -> None:
    from ezdxf.enums import TextEntityAlignment

    for edge in template.edges:
        space.add_line(edge.a, edge.b, dxfattribs={"layer": "EDGES"})
    for hole in template.holes:
        _hole(space, hole)
    for arrow in template.arrows:
        space.add_line(arrow.tail, arrow.tip, dxfattribs={"layer": "TEXT"})
    for label in template.labels:
        text = space.add_text(_text(label.text), height=HIGH, rotation=label.turn, dxfattribs={"layer": "TEXT"})
        text.set_placement(label.middle, align=TextEntityAlignment.MIDDLE_CENTER)


def _hole(space: Modelspace, hole: Hole) -> None:
    (x, y), arm = hole.centre, hole.arm
    for a, b in (((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))):
        space.add_line(a, b, dxfattribs={"layer": "CENTRES"})
    space.add_point(hole.centre, dxfattribs={"layer": "CENTRES"})
    if hole.diameter:
        space.add_circle(hole.centre, hole.diameter / 2, dxfattribs={"layer": "HOLES"})


def _text(text: str) -> str:
    """Words as the format takes them: one line, no control codes."""
    return " ".join(text.split()).replace("%%", "% %").replace("^", " ")

