"""What fixes a part's place: the words of `held by`, its name, or `located by` (practice, no published source)."""

from __future__ import annotations

import re
from typing import get_args

from journal.ground.names import fold
from journal.judge.verdicts import LocatedBy
from journal.model.entities import Part
from journal.model.features import POSITIONS, tokens
from journal.notes.kinds import says_nothing

# What only sounds like a weld, a slot, a shim, and the word that is meant: a weld nut holds a bolt, a slotted screw is
# one for a plain screwdriver, and what is denied is not there.
MEANT: tuple[tuple[str, str], ...] = (
    (r"(?:no|without) shims?\b|shims? ?:? (?:none|nil)\b", ""),
    (r"(?<!^)(?<! ; )(?:no|not|without) (?!\d|holes?|there|fitted|found)(?:(?:by|in|the|any) )*\w+", ""),
    (r"weld(?:ed|on| on)? (nut|stud)s?\b|(nut|stud)s? (?:(?!and|or|then)\w+ )?weld\w*", r"\1\2s"),
    (r"slotted (?:(?:brass|steel|wood|machine|cheese|round|pan|countersunk) )*(?:head )?screws?\b", "screws"),
    (r"slot(?:ted)? ?head|oval (?:head|countersunk)|bonded (?=rubber|mount|bush)|strap (?=hinge)", ""),
    (r"(?:allen|hex) keys?\b", ""),
)
# What places a thing on a shaft, whatever else holds it. A split pin may only lock a nut.
KEYED = r"key(?:ed|way|s)?\b|splines?\b|dowel|(?<!split )\w*pin(?:s|ned)?\b|rivet|dimple|drilled"
# What else does; a hole of the collar alone does not.
ON_SHAFT = re.compile(
    rf"\b(?:{KEYED}|shoulder|circlip|(?:through|thro|thru|cross|holes?)\b"
    r"(?!(?: (?:in|of|through))?(?: (?:the|its|a))* (?:collar|boss|hub|clamp|saddle|lug|ear|split)))"
)
# The first row that fits decides, unless the words of its last column stand there too: a bolt through a slotted hole is
# adjusted, a bracket welded and bolted is measured, a grub screw beside a key holds what the key has placed.
HELD_BY: tuple[tuple[LocatedBy, str, str], ...] = (
    # `no. 8 screws` are some
    ("measurement", r"(?:(?<= ; )|(?<!.))(?:no(?!\.? ?\d)|none|not|nothing)\b", ""),
    # `4 bolts, one missing` are three
    (
        "measurement",
        r"(?:(?<= ; )|(?<!.))[^,;(]*(?<!one )(?<!two )(?<!three )(?<!some )(?<!\d )"
        r"\b(?:missing|gone|not (?:there|fitted|found))\b",
        "",
    ),
    (
        "measurement",
        r"no holes|wallow|holes? (?:\w+ )?(?:and )?(?:rust|rot|torn|tore|worn|fill)|"
        r"(?:rusted|rotten|torn|worn|filled) (?:out )?holes?",
        "",
    ),
    ("measurement", r"\w*weld|braz|solder|glue|bond|clamp|(?:hook|j) ?bolts?\b", ""),
    ("measurement", r"grub|pinch", KEYED),
    # what grips an edge can sit anywhere along it
    (
        "measurement",
        r"(?:push|press|clip|slid|hook)\w* (?:\w+ )*?(?:on|onto|over|along|under) (?:\w+ ){0,2}"
        r"(?:edge|lip|flange|seam)\b",
        r"holes?\b|\w*(?:bolt|screw|pin)|rivet|stud",
    ),
    (
        "adjustment",
        r"slot|elongated|oblong|oval|long holes?\b|oversize|eccentric|cage ?nuts?|adjust|shim|strap|bands?\b|"
        r"(?:hose|worm drive) clip|jubilee|u ?bolt|cable tie|(?:t|tee) ?bolts?\b|(?:t|tee) ?nuts? in\b|"
        r"(?:channel|sliding) nuts?\b|turnbuckle|in one of (?:\w+ )+?holes",
        "",
    ),
    ("adjustment", r"(?:lock|jam|check) ?nuts?\b", r"\w*(?:bolt|screw)|stud"),
    (
        "fit",
        r"press|pushed on|push fit|sits? in|drops? in|slides? in|taper|spline|keys?\b|keyed|keyway|bearing|circlip|"
        r"hinge pin|catch|gasket",
        "",
    ),
    (
        "own holes",
        r"\w*(?:bolts?|screws?|nuts?)\b|studs?\b|rivet|nails?\b|dowel|\w*pins?\b|clips?\b|bolted|screwed|studded|pinned|"
        r"m\d+\b|(?:unf|unc|bsw|bsf)\b|\d+ ?ba\b",
        "",
    ),
)
SEATS = ("fit", "own holes")
SHIMS_KNOWN = re.compile(
    r"\d ?(?:mm|in\b|inch|thou|\"|swg)|/\d|\.\d|(?<!bolt )(?<!hole )(?<!foot )"
    r"\b(?:\d+|one|two|three|four|five|six|single|pair)\b(?! (?:bolt|hole|foot|feet|side|end|corner))"
)
NO_SHIMS = re.compile(r"(?:none|no|nil|n|0|no shims?)(?: (?:fitted|found|used|needed|at all))?[ .]*")
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
    words = " ; ".join(said.text for said in part.every("held by") if said.when == held.when)
    face = part.latest("face")
    located = _held(words, on_shaft=face is not None and "round" in tokens(face.text))
    return "adjustment" if located in SEATS and _shims_unknown(part) else located, True


def _held(text: str, *, on_shaft: bool) -> LocatedBy:
    """What fixes the place of what is held so. On a shaft or tube only what goes into it does, or a shoulder of it."""
    words = fold(text).replace("-", " ")
    for pattern, plain in MEANT:
        words = re.sub(rf"\b(?:{pattern})", plain, words)
    for kind, pattern, unless in HELD_BY:
        if re.search(rf"\b(?:{pattern})", words) and not (unless and re.search(rf"\b(?:{unless})", words)):
            return "measurement" if on_shaft and kind in SEATS and not ON_SHAFT.search(words) else kind
    return "measurement"


def _shims_unknown(part: Part) -> bool:
    """Whether there are shims of which neither number nor thickness was said: then the bolts do not give its place."""
    last = part.latest("shims")
    said = [fold(each.text) for each in part.every("shims") if last and each.when == last.when]
    return any(NO_SHIMS.fullmatch(text) is None and not _shims_told(text) for text in said)


def _shims_told(text: str) -> bool:
    return not says_nothing(text) and "not measured" not in text and SHIMS_KNOWN.search(text) is not None
