"""The many spots round a place where its name may stand, tried all at once.

Imports numpy, so it is itself imported only where a drawing is so crowded that a name finds no room close by.
Shapes: n spots, m boxes, each a column: of a box left, top, right, bottom, of a way x and y of one end, then of the
other, in px. Numbers of a kind lie together that way, and are sooner gone through.
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
    """What of a drawing is taken (`room.Room`), each box a row, how far it reaches, and how large it may become."""

    wide: float
    high: float
    extent: Patch
    texts: Numbers
    lines: Numbers
    thin: Numbers


def best_of(filled: Filled, discs: Iterable[Disc], wide: float, below: int) -> tuple[int, Spot] | None:
    """The first of the spots `beside` the discs with the best rank, and that rank; None if it is not below another."""
    best = None
    solid, thin = np.vstack([filled.texts, filled.lines]).T.copy(), filled.thin.T.copy()
    for disc in discs:
        if found := _best_beside(disc, filled, solid, thin, wide, below):
            best, below = found, found[0]
        if below == 0:
            break
    return best


def _best_beside(
    disc: Disc, filled: Filled, solid: Numbers, thin: Numbers, wide: float, below: int
) -> tuple[int, Spot] | None:
    x, y, reach = disc
    spots = _spots(reach, wide) + np.array([[x], [y], [x], [y], [x], [y]])
    patches = np.vstack([spots[0] - wide / 2, spots[1] - HIGH / 2, spots[0] + wide / 2, spots[1] + HIGH / 2])
    free = np.flatnonzero(_in_size(filled, patches))
    free = free[~_meets(patches[:, free], solid)]
    if not free.size:
        return None
    crossed, words = _crossed(_ways(spots[2:, free]), solid), len(filled.texts)
    ranks = np.where(_meets(patches[:, free], thin), 1, 0)
    ranks[crossed[:, words:].any(axis=1)] = 2
    ranks[crossed[:, :words].any(axis=1)] = NEVER
    rank = int(ranks.min())
    if rank >= below:
        return None
    number = int(free[ranks.argmin()])
    return rank, next(islice(beside(x, y, reach, wide), number, None))


def _spots(reach: float, wide: float) -> Numbers:
    """Middles and leaders of all spots beside (0, 0), 6 x n: they go outwards evenly with the reach and the width."""
    still, with_reach, with_wide = _growth()
    return still + with_reach * reach + with_wide * wide


@cache
def _growth() -> tuple[Numbers, Numbers, Numbers]:
    still, more, wider = (
        np.array([(spot.x, spot.y, *(spot.leader or NONE)) for spot in beside(0.0, 0.0, reach, wide)]).T.copy()
        for reach, wide in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    )
    return still, more - still, wider - still


def _in_size(filled: Filled, patches: Numbers) -> Verdicts:
    """Whether the drawing stays in its size with them."""
    left, top, right, bottom = patches
    extent = filled.extent
    wide = np.maximum(right, extent.right) - np.minimum(left, extent.left)
    high = np.maximum(bottom, extent.bottom) - np.minimum(top, extent.top)
    fits: Verdicts = (wide <= filled.wide) & (high <= filled.high)
    return fits


def _meets(patches: Numbers, boxes: Numbers) -> Verdicts:
    """Which of n patches meet one of m boxes: n."""
    left, top, right, bottom = patches[:, :, None]
    lefts, tops, rights, bottoms = boxes
    met: Verdicts = ((left < rights) & (lefts < right) & (top < bottoms) & (tops < bottom)).any(axis=1)
    return met


def _ways(leaders: Numbers) -> Numbers:
    """What of n leaders must cross nothing, as `Spot.way` has it; not numbers where there is none."""
    start, tip = leaders[:2], leaders[2:]
    run = tip - start
    length = np.hypot(*run)
    ways = np.vstack([start + run * (LEADS_OFF / length), start + run * (1 - LEADS_TO / length)])
    return np.where(length > LEADS_OFF + LEADS_TO, ways, np.nan)


def _crossed(ways: Numbers, boxes: Numbers) -> Verdicts:
    """Which of n lines run through which of m boxes, or past them within a px (`lettering.crossed`): n x m.

    A line square to an axis divides by nought: it is between the sides of a box all along, or never.
    """
    x, y, tip_x, tip_y = ways[:, :, None]
    left, top, right, bottom = boxes
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (left - 1 - x) / (tip_x - x), (right + 1 - x) / (tip_x - x)
        c, d = (top - 1 - y) / (tip_y - y), (bottom + 1 - y) / (tip_y - y)
    first = np.maximum(np.maximum(np.minimum(a, b), np.minimum(c, d)), 0.0)
    last = np.minimum(np.minimum(np.maximum(a, b), np.maximum(c, d)), 1.0)
    crossed: Verdicts = first < last
    return crossed
