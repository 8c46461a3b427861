"""Where a hose, pipe or cable begins and ends, out of `route` and `connects` (practice, no published source)."""

from __future__ import annotations

import re
from collections.abc import Sequence

from journal.ground.names import fold
from journal.model.features import POSITIONS, tokens
from journal.notes.kinds import says_nothing

TO = re.compile(r"->|→|\s[-–—]\s|\b(?:in)?to\b")
# A route that begins with one of these begins on its way, not at an end; `clipped to the rail` leads to no end.
ON_THE_WAY = frozenset(
    "along over under through behind past round around up down across inside outside beside between in on by at with "
    "runs goes".split()
)
FASTENED = frozenset("clipped tied taped strapped held fixed attached next close parallel back".split())
PASSING = re.compile(r"[,;]|\b(?:along|over|under|through|via|behind|past|round|around|across|between)\b")
# What stands where an end should and names none: `from valve to wherever it went`, `left to right`.
NO_END = re.compile(
    r"(?:see|look|same|where\w*|somewhere|here|there|it|any|either|one of)\b|"
    rf"(?:(?:{'|'.join(sorted(POSITIONS))}|the|this|that|one|other|end|side) ?)*$"
)
# An end that leads nowhere, of a route or of what something connects.
LOOSE_END = re.compile(
    r"\b(?:not connected|unconnected|disconnected|(?:cut|loose|dead) ends?|"
    r"ends? (?:is |are |was |were )?(?:cut|loose|hanging|dead))\b|"
    r"(?:^|[,;(])\s*(?:was |were )?cut(?: off)?\s*(?:[,;)]|$)"
)
PIN = re.compile(r"pins?\b|ways?\b|cores?\b")


def ends_of(route: str) -> tuple[str, str] | None:
    """The two ends that a route names, None where it names not both: `from A, over B, to C`, `A to C`, `A -> C`."""
    text = fold(route)
    if LOOSE_END.search(text):
        return None
    for to in TO.finditer(text):
        start, end = text[: to.start()].strip(" ,.;"), text[to.end() :].strip(" ,.;")
        before = re.findall(r"\w+", start)
        started = before and ("from" in before or before[0] not in ON_THE_WAY | FASTENED)
        if started and before[-1] not in FASTENED:
            ends = _end(start.partition("from ")[2] or start), _end(end)
            if all(ends) and ends[0] != ends[1]:
                return ends
    return None


def _end(text: str) -> str:
    """One end of a route without what it passes; "" where no end is named."""
    end = PASSING.split(text)[0].strip() or text
    return "" if says_nothing(text) or NO_END.match(end) else end


def leads_to(connects: str) -> str:
    """What an end or pin goes to: `lamp` of `red to lamp`; all of it where no `to` tells."""
    text = fold(connects)
    to = TO.search(text)
    return text[to.end() :].strip() if to else text


def tells_two_ends(connects: Sequence[str]) -> bool:
    """Whether what something connects is that of two ends: two wires to one plug, or two pins, are of one."""
    live = [text for text in map(fold, connects) if not LOOSE_END.search(text)]
    ends = {" ".join(tokens(leads_to(text))) for text in live if not PIN.match(text)}
    return len(ends) + any(map(PIN.match, live)) > 1
