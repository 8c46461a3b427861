"""The many spots round a place where its name may stand, tried all at once.

Imports numpy, so it is itself imported only where a drawing is so crowded that a name finds no room close by.
Shapes: n spots, m boxes; a box is left, top, right, bottom, a way x and y of one end, then of the other, in px.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import islice
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from journal.pages.lettering import HIGH, LEADS_OFF, LEADS_TO, NEVER, Disc, Patch, Spot, beside

Numbers = NDArray[np.float64]
Verdicts = NDArray[np.bool_]
NONE = (np.nan,) * 4


class Filled(NamedTuple):
    """What of a drawing is taken (`room.Room`), each m x 4, how far it reaches, and how large it may become."""

    wide: float
    high: float
    extent: Patch
    texts: Numbers
    lines: Numbers
    thin: Numbers


def best_of(filled: Filled, discs: Iterable[Disc], wide: float, below: int) -> tuple[int, Spot] | None:
    """The first of the spots `beside` the discs with the best rank, and that rank; None if it is not below another."""
    best, solid = None, np.vstack([filled.texts, filled.lines])
    for disc in discs:
        if found := _best_beside(disc, filled, solid, wide, below):
            best, below = found, found[0]
        if below == 0:
            break
    return best


def _best_beside(disc: Disc, filled: Filled, solid: Numbers, wide: float, below: int) -> tuple[int, Spot] | None:
    x, y, reach = disc
    spots = _spots(reach, wide) + np.array([x, y, x, y, x, y])
    middles, leaders = spots[:, :2], spots[:, 2:]
    half = np.array([wide / 2, HIGH / 2])
    patches = np.hstack([middles - half, middles + half])
    free = np.flatnonzero(_in_size(filled, patches) & ~_meets(patches, solid))
    if not free.size:
        return None
    ranks = _ranks(filled, patches[free], _ways(leaders[free]))
    rank = int(ranks.min())
    if rank >= below:
        return None
    number = int(free[ranks.argmin()])
    return rank, next(islice(beside(x, y, reach, wide), number, None))


def _spots(reach: float, wide: float) -> Numbers:
    """Middles and leaders of all spots beside (0, 0), n x 6: they go outwards evenly with the reach and the width."""
    still, with_reach, with_wide = _growth()
    return still + with_reach * reach + with_wide * wide


@cache
def _growth() -> tuple[Numbers, Numbers, Numbers]:
    still, more, wider = (
        np.array([(spot.x, spot.y, *(spot.leader or NONE)) for spot in beside(0.0, 0.0, reach, wide)])
        for reach, wide in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    )
    return still, more - still, wider - still


def _in_size(filled: Filled, patches: Numbers) -> Verdicts:
    """Whether the drawing stays in its size with them."""
    left, top, right, bottom = patches.T
    extent = filled.extent
    wide = np.maximum(right, extent.right) - np.minimum(left, extent.left)
    high = np.maximum(bottom, extent.bottom) - np.minimum(top, extent.top)
    fits: Verdicts = (wide <= filled.wide) & (high <= filled.high)
    return fits


def _meets(patches: Numbers, boxes: Numbers) -> Verdicts:
    """Which of n patches meet one of m boxes: n."""
    left, top, right, bottom = patches.T[:, :, None]
    lefts, tops, rights, bottoms = boxes.T
    met: Verdicts = ((left < rights) & (lefts < right) & (top < bottoms) & (tops < bottom)).any(axis=1)
    return met


def _ways(leaders: Numbers) -> Numbers:
    """What of n leaders must cross nothing, as `Spot.way` has it; not numbers where there is none."""
    start, tip = leaders[:, :2], leaders[:, 2:]
    run = tip - start
    length = np.hypot(run[:, 0], run[:, 1])[:, None]
    ways = np.hstack([start + run * (LEADS_OFF / length), start + run * (1 - LEADS_TO / length)])
    return np.where(length > LEADS_OFF + LEADS_TO, ways, np.nan)


def _ranks(filled: Filled, patches: Numbers, ways: Numbers) -> NDArray[np.int64]:
    """The rank of n spots that are free."""
    ranks = np.where(_meets(patches, filled.thin), 1, 0)
    ranks[_crossed(ways, filled.lines)] = 2
    ranks[_crossed(ways, filled.texts)] = NEVER
    return ranks


def _crossed(ways: Numbers, boxes: Numbers) -> Verdicts:
    """Which of n lines run through one of m boxes, or past it within a px (`lettering.crossed`): n.

    A line square to an axis divides by nought: it is between the sides of a box all along, or never.
    """
    first, last = np.zeros((len(ways), len(boxes))), np.ones((len(ways), len(boxes)))
    with np.errstate(divide="ignore", invalid="ignore"):
        for axis in (0, 1):
            at = ways[:, axis, None]
            step = ways[:, axis + 2, None] - at
            near, far = (boxes[:, axis] - 1 - at) / step, (boxes[:, axis + 2] + 1 - at) / step
            np.maximum(first, np.minimum(near, far), out=first)
            np.minimum(last, np.maximum(near, far), out=last)
    crossed: Verdicts = np.any(first < last, axis=1)
    return crossed
