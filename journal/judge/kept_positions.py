"""Positions as they are kept between runs: as JSON, read back to the very same numbers."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from journal.ground.kept_work import by_name
from journal.judge.verdicts import Edge, FacePosition, OtherSpot, Residual, Spot


def written(positions: Sequence[FacePosition]) -> bytes:
    """Positions as bytes; mappings as pairs, as one of the ids may be None."""
    kept = [{**by_name(position), "unsolved": list(position.unsolved.items())} for position in positions]
    return json.dumps(kept, ensure_ascii=False, default=by_name).encode("utf-8", "surrogatepass")


def read(data: bytes) -> list[FacePosition]:
    """Positions from what is kept of them; ValueError, TypeError or KeyError where that is damaged."""
    return [_position(kept) for kept in json.loads(data.decode("utf-8", "surrogatepass"))]


def _position(kept: dict[str, Any]) -> FacePosition:
    return FacePosition(
        **{
            **kept,
            "axes": tuple(kept["axes"]),
            "parts": tuple(kept["parts"]),
            "spots": tuple(map(_spot, kept["spots"])),
            "edges": tuple(Edge(**edge) for edge in kept["edges"]),
            "alternatives": tuple(
                OtherSpot(**{**other, "spots": tuple(map(_spot, other["spots"]))}) for other in kept["alternatives"]
            ),
            "assumptions": tuple(kept["assumptions"]),
            "residuals": {id: _residual(one) for id, one in kept["residuals"].items()},
            "unsolved": {part: missing for part, missing in kept["unsolved"]},
            "suspects": tuple(kept["suspects"]),
            "contradicting": tuple(map(tuple, kept["contradicting"])),
            "across": tuple(kept["across"]),
        }
    )


def _spot(kept: dict[str, Any]) -> Spot:
    return Spot(**{**kept, "sigma": tuple(kept["sigma"]), "ellipse95": tuple(kept["ellipse95"])})


def _residual(kept: dict[str, Any]) -> Residual:
    should = kept["should_read"]
    return Residual(**{**kept, "should_read": tuple(should) if should is not None else None})
