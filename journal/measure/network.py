"""From readings between points and edges to places: weighted least squares in the plane; tapes in space too.

    adjust([Distance("A", "P", 13, 0.1), Distance("B", "P", 15, 0.1)], {"A": (0, 0), "B": (14, 0)})

gives P at (5, 12), and (5, -12) as an alternative that fits as well.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from journal.measure.adjustment import (
    BAARDA,
    NON_CENTRALITY,
    Adjustment,
    Spot,
    chi_square_limit,
    chi_square_tail,
    suspect,
)
from journal.measure.observations import (
    Angle,
    Axis,
    Directed,
    Direction,
    Distance,
    Fixed,
    NetworkFault,
    Observation,
    Offset,
)

__all__ = [
    "BAARDA",
    "NON_CENTRALITY",
    "Adjustment",
    "Angle",
    "Axis",
    "Directed",
    "Direction",
    "Distance",
    "Fixed",
    "NetworkFault",
    "Observation",
    "Offset",
    "Spot",
    "adjust",
    "chi_square_limit",
    "chi_square_tail",
    "suspect",
]


def adjust(
    observations: Sequence[Observation],
    fixed: Fixed,
    start: Mapping[str, Sequence[float]] | None = None,
) -> Adjustment:
    """The places that fit the readings best, with how far to trust them.

    fixed   name -> (x, y), or (x, y, z) for a network in space; an edge -> (angle, offset). None stands for a
            number that is not known: (0, None) is a point on the y axis, or an edge along x at any height.
            Empty: a free network, placed so that it lies best on all points of `start`.
    start   name -> about where it is; found where missing. Where several spots fit, it says which is meant;
            without it the best comes first, and the others that fit as well are `alternatives`.

    Raises NetworkFault, with a plain sentence, where there is no answer to give.
    """
    from journal.measure.solve import solve  # numpy, only where something is solved

    return solve(tuple(observations), dict(fixed), dict(start or {}))
