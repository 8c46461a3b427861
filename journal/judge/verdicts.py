"""What the judges say, as data: how well each part is recorded, what each reading is worth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import Literal

from journal.ground.finding import Finding
from journal.ground.records import record
from journal.model.entities import Axis, State

RecordWord = Literal["position recorded", "partly recorded", "seen, not measured", "not recorded"]
LocatedBy = Literal["measurement", "adjustment", "fit", "own holes", "route"]


@record
class Standing:
    """What a reading is worth today.

    counts   it takes a row: it helps to hold the part
    lives    what it refers to is still there; a reading that does not is shown struck through
    carried  "" on the present self; else it was read on a former self and carried over to this one, because the new
             one "agrees", was "not compared", or it was "said"
    why      one sentence where it does not count ("measured from the sill that was scrapped on 28 March 2026")
    """

    counts: bool
    lives: bool
    carried: str = ""
    why: str = ""

    @property
    def today(self) -> str:
        """That it is carried over, in words; "" where it is not."""
        if not self.carried or not self.lives:
            return ""
        return "carried over from the old one" + (", not compared" if self.carried == "not compared" else "")


@record
class Record:
    """How well it is recorded where a part sat.

    word        in the words shown; a part that is on has a record all the same (what would be known if it came off
                now), pages show it only where `asked`
    asked       the part is off (or scrapped and to be remade): its record is wanted
    located_by  what will hold its place
    grounds     sentences: what the record rests on ("own holes in the frame rail")
    free        sentences: what is still free ("can slide along the flange edge")
    next        the one or two statements that would settle it, as they would be written
    gain        what the one statement of `next` gains, `from ± 11 mm to ± 1 mm`; "" where that cannot be told
    rank, full  motions held by readings that count, and how many there are to hold
    rank_ever   the same with gone references counted as if they were still there
    outlives_host  it is recorded, and still is when the host has gone: own holes, a fit and match marks go with that
    """

    part: str
    state: State
    word: RecordWord
    asked: bool
    located_by: LocatedBy
    grounds: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    next: tuple[str, ...] = ()
    rank: int = 0
    full: int = 3
    rank_ever: int = 0
    gain: str = ""
    outlives_host: bool = False


STEADY = 1e-6  # mm, degrees, radians


def steady(number: float) -> float:
    """A solved number to a millionth: the last bits of a library's arithmetic differ between machines and runs.

    Rounded here once, they reach no page, so that the same input gives the same bytes.
    """
    return round(float(number), 6) + 0.0


def _settle(verdict: object, **numbers: object) -> None:
    """Put rounded numbers into a frozen verdict while it is made."""
    for name, number in numbers.items():
        object.__setattr__(verdict, name, number)


@record
class Spot:
    """Where one point sits on a face: a hole, slot or corner, of the host or of a part on it.

    owner      part id, None the machine        words   the feature's folded name, as in `Feature.words`
    u, v       mm along the two axes of the face, from its origin
    sigma      standard deviation of u and of v in mm, from the uncertainties of the readings
    ellipse95  the true place lies in it 95 times in 100: half the long and half the short axis in mm, and the angle
               of the long one from +u towards +v in radians
    diameter   of the hole in mm where a reading gives it, else None
    """

    owner: str | None
    words: str
    u: float
    v: float
    sigma: tuple[float, float]
    ellipse95: tuple[float, float, float]
    diameter: float | None = None

    def __post_init__(self) -> None:
        long, short, angle = (steady(number) for number in self.ellipse95)
        _settle(self, u=steady(self.u), v=steady(self.v), sigma=tuple(steady(number) for number in self.sigma),
                ellipse95=(long, short, angle if long - short > STEADY else 0.0))  # fmt: skip


@record
class Edge:
    """A straight edge, end or face seen from above, endless.

    normal   "v": it runs along u, at v = offset; "u": it runs along v, at u = offset; "": it lies askew, and
             `angle` and `offset` say how
    offset   mm from the origin along its normal; sigma: standard deviation of that
    angle    of its direction from +u towards +v in radians (0 where the normal is v, pi/2 where it is u); its normal is
             (-sin angle, cos angle), except where `normal` says "u": there it is simply +u
    assumed  what was taken for granted to place it, in words, "" where it is said or read
    """

    owner: str | None
    words: str
    normal: Literal["u", "v", ""]
    offset: float
    sigma: float = 0.0
    angle: float = 0.0
    assumed: str = ""

    def __post_init__(self) -> None:
        _settle(self, offset=steady(self.offset), sigma=steady(self.sigma), angle=round(self.angle, 9) + 0.0)


@record
class Residual:
    """What the rest of a face says about one reading; lengths in mm, angles in degrees.

    residual     adjusted minus read: what would have to be added to it      sigma  its own standard uncertainty
    normalised   residual over its own standard deviation, None where nothing else checks it
    redundancy   share of it that others check, 0 (nothing does) to 1
    notices      the smallest mistake in it that would be noticed (four times in five), None: none would
    should_read  what the others say it should read, with the standard uncertainty of that; None where they cannot
    """

    residual: float
    sigma: float
    normalised: float | None
    redundancy: float
    notices: float | None
    should_read: tuple[float, float] | None
    unit: Literal["mm", "°"] = "mm"


@record
class OtherSpot:
    """Another place where a part fits its readings as well.

    spots       its points there       turned  by how much it is turned against the first, degrees, -180 to 180
    apart       how far its points are from their first place, mm: the largest
    told_by     what tells the two apart ("way round: upright to the rear"), "" where nothing does
    """

    part: str
    spots: tuple[Spot, ...]
    turned: float
    apart: float
    told_by: str = ""


@record
class FacePosition:
    """What readings say about places on one face of one self of a host.

    host, host_self  part id (None the machine) and number of its self     face  as written, "" where never said
    axes         the machine's axis along u and along v: x grows to the front, y to the first side word, z up; None
                 where nothing says. +u is drawn to the right, +v up.
    parts        ids of the parts on it that take part in the sum
    spots        solved points, the host's first              edges  solved edges, the host's first
    alternatives other places where single parts fit as well
    assumptions  sentences: what was taken for granted of all; see `taken_for_granted`
    residuals    by reading id, of every reading that took part
    chi2, redundancy   of all readings that are left in
    fits         the readings hold together: the global test at 0.1 % passed, and none had to be left out to get there
    suspect      id of the reading that is most likely a slip of the tape, None where none can be named
    suspects     all that are: those that were out by far, which pull at nothing, then `suspect` and others, each found
                 once those before it were left out; places are worked out without them
    rejected     reading id -> why it takes no part ("the hole's diameter is not known")
    unsolved     part id (None the host) -> what is missing to place what is left of it, in words
    too_large    more than 1,000 points: listed, not solved
    contradicting  readings that contradict one another where nothing tells which is right, each with its rivals: what
                 they are of is not placed; one by itself is far from what the others say of where it could be
    across       readings that fit only on the other side of their line than all else
    """

    host: str | None
    host_self: int
    face: str
    axes: tuple[Axis | None, Axis | None]
    parts: tuple[str, ...] = ()
    spots: tuple[Spot, ...] = ()
    edges: tuple[Edge, ...] = ()
    alternatives: tuple[OtherSpot, ...] = ()
    assumptions: tuple[str, ...] = ()
    residuals: Mapping[str, Residual] = field(default_factory=dict)
    chi2: float = 0.0
    redundancy: int = 0
    fits: bool = True
    suspect: str | None = None
    rejected: Mapping[str, str] = field(default_factory=dict)
    unsolved: Mapping[str | None, str] = field(default_factory=dict)
    too_large: bool = False
    suspects: tuple[str, ...] = ()
    contradicting: tuple[tuple[str, ...], ...] = ()
    across: tuple[str, ...] = ()

    def of(self, owner: str | None) -> tuple[Spot, ...]:
        """The solved points of one owner."""
        return tuple(spot for spot in self.spots if spot.owner == owner)

    def taken_for_granted(self, title: Callable[[str | None], str], *owners: str | None) -> tuple[str, ...]:
        """Sentences: what was assumed of all, and of single edges of some owners."""
        of_edges = [
            f"{edge.words} of {title(edge.owner)}: {edge.assumed}"
            for edge in self.edges
            if edge.assumed and edge.owner in owners
        ]
        return (*self.assumptions, *of_edges)


@record
class Judgement:
    """All verdicts on a book, keyed by id, and every finding in order of file and line.

    positions  one a host face that has readings, in order of host and face; a part is on those that name it in `parts`
    """

    records: Mapping[str, Record]
    standings: Mapping[str, Standing]
    findings: tuple[Finding, ...]
    positions: tuple[FacePosition, ...] = ()
