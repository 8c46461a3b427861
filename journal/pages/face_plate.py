"""A judged face as a plate: which points, edges and readings a drawing of a part, or of the face, shows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date

from journal.judge.verdicts import Edge, FacePosition, OtherSpot, Spot
from journal.model.entities import Axis, Reading
from journal.model.features import relation_axis
from journal.pages import address
from journal.pages.face_readings import owners_of
from journal.pages.plate import Along, Dimension, Line, Plate, Point
from journal.pages.viewer import Viewer

MOST_OTHERS = 4  # parts beside the one that a drawing is of: with more it is one black field
NEAREST = 2  # of them that are drawn then, besides those that it was measured from
APART = 0.5  # mm: points closer than this are the same on any drawing
LEFT = frozenset({"left", "port"})  # side words that say which hand they are; `near` and `off` differ by country
RIGHT = frozenset({"right", "starboard"})


def face_plate(viewer: Viewer, position: FacePosition, part: str | None, title: str) -> Plate:
    """The plate of a part on a face, or, with `part` None, of the face with all that is on it.

    What the book of this edition has not is not on it.
    """
    about = part if part is not None else position.host
    on_it = viewer.readings_on(position)
    used, names = on_it.every if part is None else on_it.about(part), on_it.names
    shown, bare = _beside(position, used, part)
    left_out = {each.id for each in used if each.part in bare}.union(position.suspects)

    def point(spot: Spot) -> Point:
        return Point(
            _id(spot.owner, spot.words), names.get((spot.owner, spot.words), spot.words), _owner(viewer, spot.owner),
            spot.u, spot.v, spot.owner == about, spot.diameter, spot.ellipse95 if spot.ellipse95[0] > 0 else None,
        )  # fmt: skip

    def line(edge: Edge) -> Line:
        angle, offset = (math.pi / 2, -edge.offset) if edge.normal == "u" else (edge.angle, edge.offset)
        name = names.get((edge.owner, edge.words), edge.words)
        return Line(
            _id(edge.owner, edge.words), name, _owner(viewer, edge.owner), angle, offset, edge.owner == about
        )

    others = [one for one in position.alternatives if part and one.part == part]
    known = [owner for owner in {position.host: None, about: None} if _shown(viewer, owner)]
    return Plate(
        title=title,
        host=_owner(viewer, position.host),
        points=tuple(point(spot) for spot in position.spots if spot.owner in shown and _shown(viewer, spot.owner)),
        edges=tuple(
            line(edge) for edge in position.edges if edge.owner in shown - bare and _shown(viewer, edge.owner)
        ),
        dimensions=tuple(_dimensions(viewer, position, [each for each in used if each.id not in left_out], about)),
        alternatives=tuple(tuple(point(spot) for spot in other.spots) for other in others if elsewhere(other)),
        right=direction(position.axes[0], viewer.book.settings.sides),
        up=direction(position.axes[1], viewer.book.settings.sides),
        seen=seen_from(position.axes, viewer.book.settings.sides),
        assumptions=position.taken_for_granted(viewer.book.title, *known),
        doubts=(*misfit(viewer, position, about), *(_doubt(other) for other in others)),
        about_part=part is not None,
        read_to=_newest(on_it.every),
    )


def _beside(
    position: FacePosition, used: Sequence[Reading], part: str | None
) -> tuple[set[str | None], set[str | None]]:
    """Whose points are drawn, and of whom nothing else: on a crowded face of the other parts those that a part was
    measured from, and the nearest."""
    every = {spot.owner for spot in position.spots} | {edge.owner for edge in position.edges}
    others = every - {position.host, part}
    if len(others) <= MOST_OTHERS:
        return every, set()
    if part is None:
        return every, others
    measured = others & {owner for reading in used for owner in owners_of(reading)}
    mine = [(spot.u, spot.v) for spot in position.of(part)]
    away: dict[str | None, float] = {}
    for spot in position.spots:
        if spot.owner in others - measured and mine:
            apart = min(math.dist((spot.u, spot.v), at) for at in mine)
            away[spot.owner] = min(apart, away.get(spot.owner, apart))
    nearest = {*sorted(away, key=lambda owner: (away[owner], owner or ""))[:NEAREST]}
    return (every - others) | measured | nearest, nearest


def elsewhere(other: OtherSpot) -> bool:
    """Whether its points are in other places, rather than the part turned about them."""
    return other.apart >= APART


def misfit(viewer: Viewer, position: FacePosition, about: str | None) -> tuple[str, ...]:
    """That the readings of a face do not agree, with the one that is most likely wrong; () where they do. What was out
    by far and pulls at nothing is told of the part it was read of, and of the face."""
    readings = viewer.book.readings
    every = [id for id in position.suspects if id in readings]
    mine = every if about == position.host else [id for id in every if readings[id].part == about]
    suspect = readings.get(position.suspect or next(iter(mine), ""))
    if suspect:
        what = f"{viewer.what(suspect)} of {viewer.book.title(suspect.part)}, {suspect.written}"
        return (f"One reading of this face does not fit the others: {what}. Measure it again before you use this.",)
    if not position.fits:
        return ("The readings of this face do not agree: measure again before you use this.",)
    return ()


def _doubt(other: OtherSpot) -> str:
    what = "Two spots fit these readings" if elsewhere(other) else "The part fits these holes in two ways"
    if other.told_by:
        return f"{what}: keep to its {other.told_by}."
    return f"{what}. Find out which is right before you mark or drill."


def _newest(readings: Sequence[Reading]) -> date | None:
    return max((reading.when.day for reading in readings), default=None)


def _shown(viewer: Viewer, owner: str | None) -> bool:
    return owner is None or owner in viewer.book.parts


def _owner(viewer: Viewer, owner: str | None) -> str:
    return viewer.book.title(owner)


def _id(owner: str | None, words: str) -> str:
    return f"{owner or ''}/{words}"


def _dimensions(
    viewer: Viewer, position: FacePosition, readings: Sequence[Reading], about: str | None
) -> Iterator[Dimension]:
    """Lengths between solved things, of the same two only the newest; about a part those it is in."""
    latest = {}
    for reading in readings:
        dimension = _dimension(viewer, position, reading, about)
        if dimension:
            key = (frozenset((dimension.start, dimension.end)), dimension.along, dimension.rim, dimension.to_rim)
            latest[key] = dimension
    yield from latest.values()


def _dimension(
    viewer: Viewer, position: FacePosition, reading: Reading, about: str | None
) -> Dimension | None:
    subject, reference = reading.subject, reading.reference
    if subject is None or reference is None or reading.value is None or reading.value.quantity != "length":
        return None
    own = about in (subject.owner, reference.owner, reading.part)
    if not own and about != position.host:
        return None
    along = _along(reading, position, viewer.book.settings.sides)
    if along is None:
        return None
    return Dimension(
        _id(subject.owner, subject.words), _id(reference.owner, reference.words), along, reading.written,
        viewer.what(reading), address.reading(reading.part, reading.id), own, subject.rim, reference.rim,
    )  # fmt: skip


def _along(reading: Reading, position: FacePosition, sides: tuple[str, ...]) -> Along | None:
    """The direction a reading was taken along; None for one out of the face."""
    axis = relation_axis(reading.relation, sides)
    if axis is not None:
        if axis not in position.axes:
            return None
        return "u" if position.axes[0] == axis else "v"
    points = [feature.point for feature in (reading.subject, reading.reference) if feature]
    return "straight" if all(points) else "square"


def direction(axis: Axis | None, sides: tuple[str, ...]) -> str:
    """What lies where an axis grows, "" where nothing says."""
    hand = sides[0] if sides[0] == "port" else f"the {sides[0]}"
    return {"x": "to the front", "y": f"to {hand}", "z": "upwards"}[axis] if axis else ""


def seen_from(axes: tuple[Axis | None, Axis | None], sides: tuple[str, ...]) -> str:
    """The side a face is seen from when its first axis is drawn to the right and its second up.

    With x to the front, y to the left and z up (ISO 8855) the eye is where u x v points to. "" where an axis is not
    known, or the side words do not say which hand they are.
    """
    left = sides[0] in LEFT
    known = left or sides[0] in RIGHT
    hands = (sides if left else sides[::-1]) if known else ("left", "right")
    views = {("x", "z"): (f"from the {hands[1]}", f"from the {hands[0]}")}
    if known:
        views[("x", "y")] = ("from above", "from below") if left else ("from below", "from above")
        views[("y", "z")] = ("from the front", "from the rear") if left else ("from the rear", "from the front")
    for (u, v), (straight, turned) in views.items():
        if axes == (u, v):
            return straight
        if axes == (v, u):
            return turned
    return ""
