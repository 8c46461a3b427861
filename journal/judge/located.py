"""What fixes a part's place: the words of `held by`, its name, or `located by` (practice, no published source)."""

from __future__ import annotations

import re
from typing import get_args

from journal.ground.names import fold
from journal.judge.verdicts import LocatedBy
from journal.model.entities import Part
from journal.model.features import POSITIONS

# The first row that fits decides: a bolt through a slotted hole is adjusted, a bracket welded and bolted is measured.
HELD_BY: tuple[tuple[LocatedBy, str], ...] = (
    # `no. 8 screws` are some
    ("measurement", r"(?:(?<=; )|(?<!.))(?:no(?!\.? ?\d)|none|not|nothing)\b"),
    ("measurement", r"holes? (?:\w+ )?(?:rust|rot|torn|tore|worn)"),
    # a weld nut holds a bolt, and a slotted screw is one for a plain screwdriver
    ("measurement", r"\w*weld(?!(?:ed|-on)?[ -](?:nut|stud)s?\b)|braz|solder|glue|bond|clamp"),
    (
        "adjustment",
        r"slot(?!ted (?:(?:brass|steel|wood|machine|cheese|round|pan|countersunk)[ -])*(?:head )?screws?\b|[ -]?head)|"
        r"elongated|oblong|oval|long holes?\b|oversize|eccentric|cage ?nuts?|adjust|shim|strap|bands?\b|hose clip|"
        r"jubilee|u-? ?bolt|cable tie",
    ),
    (
        "fit",
        r"press|pushed on|push fit|sits? in|drops? in|slides? in|taper|spline|keys?\b|keyed|bearing|circlip|"
        r"hinge pin|catch|gasket",
    ),
    (
        "own holes",
        r"bolts?\b|screw|nuts?\b|studs?\b|rivet|nails?\b|dowel|pins?\b|clips?\b|bolted|studded|pinned",
    ),
)
ROUTED = frozenset({"hose", "pipe", "line", "cable", "wire", "lead", "loom", "harness"})


def _thing(name: str) -> str:
    """The word that says what a part is: `hose` in `brake hose rear 2`."""
    words = [word for word in re.findall(r"[^\W\d_]+", fold(name)) if word not in POSITIONS]
    return words[-1] if words else ""


def located_by(part: Part) -> tuple[LocatedBy, bool]:
    """What fixes its place, and whether anything was said of it (else it is taken as measurement, the worst)."""
    said = part.latest("located by")
    if said and fold(said.text) in get_args(LocatedBy):
        return fold(said.text), True  # type: ignore[return-value]  # one of the words, just tested
    last = _thing(part.name)
    if last in ROUTED or last.removesuffix("s") in ROUTED or part.latest("route"):
        return "route", True
    held = part.latest("held by")
    if held is None:  # what hangs on nothing but its ends is a lead by any name
        return ("route", True) if part.latest("connects") else ("measurement", False)
    words = fold(" ; ".join(said.text for said in part.every("held by") if said.when == held.when))
    for kind, pattern in HELD_BY:
        if re.search(rf"\b(?:{pattern})", words):
            return kind, True
    return "measurement", True
