"""Random parts on random faces: is what the tool says of them true?

    python tests/benchmarks/simulated_parts.py 10000 [seed]

Every part has a true place. Its statements are written into a build as a person would, read, judged and solved by
the whole tool, and held against the truth by the plain geometry below, which shares no code with the tool:

(a) the 95 % ellipses hold the true place, with normal errors of each statement's u in 94 to 96 of 100, with
    rectangular ones of the stated widths in at least 95;
(b) no part called "position recorded" and free of two-spots has a motion that keeps every statement within its
    width and goes beyond 1.2 times the sum over statements of |gain| times width;
(c) every part called "partly recorded" has, for some laying of the lines whose direction is not written, a motion
    of more than 20 mm or 2 degrees that keeps them all.

A point stays on the side of an edge that it is on, and a line that is no end is square to the ends: the tool says
that it takes these for granted. Nothing here is true of any machine.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from random import Random

import numpy as np

from journal.build import Told
from journal.judge.verdicts import FacePosition, Spot
from journal.make import tell_build

SUBJECTS = ("hole", "slot", "pin")
METHODS = {"tape": None, "rule": 0.5, "calliper": 0.05, "": 1.0, "eye": 5.0}  # half-widths in mm, as the tool's table
TURN_METHODS = {"square": 0.5, "eye": 5.0}
TOLERANCES = (0.2, 0.5, 1.0, 2.0)
EDGES = {  # name -> (axis of its normal, which end of the host, words that measure away from it)
    "rear end": (0, 0, "ahead of"),
    "front end": (0, 1, "behind"),
    "lower edge": (1, 0, "above"),
    "upper edge": (1, 1, "below"),
}
POINTS = ("jig hole", "corner")


@dataclass
class Statement:
    """A line of a slip with what it truly is.

    kind   0 or 1: along u or v; "straight"; "turn"
    a, b   features; b "" for a turn
    width  a + m, in mm or radians
    """

    kind: int | str
    a: str
    b: str
    words: str
    true: float
    sign: int
    half: float
    method: str
    written: float = 0.0
    open_line: bool = False

    def method_half(self) -> float:
        if self.kind == "turn":
            return math.radians(TURN_METHODS[self.method])
        known = METHODS[self.method]
        return 0.3 + 0.2 * math.ceil(abs(self.true) / 1000) if known is None else known

    @property
    def width(self) -> float:
        return self.half + self.method_half()

    @property
    def u(self) -> float:
        return math.hypot(self.half, self.method_half()) / math.sqrt(3)

    def line(self) -> str:
        by = f" by {self.method}" if self.method else ""
        if self.kind == "turn":
            return f"{self.words}{by}"
        return f"{self.words}: {self.written:.5f} mm ± {self.half:g}{by}"


@dataclass
class Scene:
    """A host, a part on it, and what was said of both."""

    number: int
    host: dict[str, tuple[float, float]] = field(default_factory=dict)
    part: dict[str, tuple[float, float]] = field(default_factory=dict)
    seam: tuple[int, float] = (1, 0.0)
    statements: list[Statement] = field(default_factory=list)
    own: list[Statement] = field(default_factory=list)

    @property
    def name(self) -> str:
        return f"bracket {self.number}"


def scene(number: int, chance: Random, rectangular: bool) -> Scene:
    """A random part on a random face."""
    made = Scene(number)
    long, high = chance.uniform(300, 2000), chance.uniform(150, 700)
    made.host = {"rear end": (0, 0), "front end": (long, 0), "lower edge": (0, 0), "upper edge": (0, high)}
    made.host |= {name: (chance.uniform(0, long), chance.uniform(0, high)) for name in POINTS}
    axis = chance.randrange(2)
    made.seam = (axis, chance.uniform(0, (long, high)[axis]))
    size = chance.uniform(30, 150)
    middle = chance.uniform(size, long - size), chance.uniform(min(size, high / 2), max(high - size, high / 2))
    for name in SUBJECTS:
        u, v = (at + chance.uniform(-size, size) for at in middle)
        made.part[name] = min(max(u, 1.0), long - 1), min(max(v, 1.0), high - 1)
    texts: set[str] = set()
    for _ in range(chance.choice((2, 3, 3, 4, 4, 5, 6, 7))):
        said = _statement(made, chance)
        if said.words not in texts:
            texts.add(said.words)
            made.statements.append(said)
    made.own = list(_own(made, chance))
    _lay_seam(made)
    for said in (*made.statements, *made.own):
        _read(said, chance, rectangular)
    return made


def _statement(made: Scene, chance: Random) -> Statement:
    name, kind = chance.choice(SUBJECTS), chance.random()
    at = made.part[name]
    method, half = chance.choice(("tape", "tape", "rule", "calliper", "", "eye")), chance.choice(TOLERANCES)
    if kind < 0.62:
        edge = chance.choice(list(EDGES))
        axis, _, words = EDGES[edge]
        away = at[axis] - made.host[edge][axis]
        relation = chance.choice((words, "to"))
        return Statement(axis, name, edge, f"{name} {relation} {edge}", abs(away), 1 if away > 0 else -1, half, method)
    if kind < 0.70:
        axis, level = made.seam
        away = at[axis] - level
        return Statement(
            axis, name, "seam", f"{name} to seam", abs(away), 1 if away > 0 else -1, half, method, open_line=True
        )
    if kind < 0.90:
        point = chance.choice(POINTS)
        apart = math.dist(at, made.host[point])
        return Statement("straight", name, point, f"{name} to {point}", apart, 1, half, method)
    turn = chance.choice(list(TURN_METHODS))
    return Statement("turn", "upright", "", "upright square to lower edge", 0.0, 1, 0.0, turn)


def _lay_seam(made: Scene) -> None:
    """A line that is no end is square to the ends where any are read, as the tool takes it; else it lies either way."""
    ends = any(said.b.endswith(" end") or said.a.endswith(" end") for said in (*made.statements, *made.own))
    if not ends:
        return
    axis, level = made.seam
    made.seam = 1, level if axis == 1 else made.host["upper edge"][1] * level / made.host["front end"][0]
    for said in made.statements:
        if said.open_line:
            away = made.part[said.a][1] - made.seam[1]
            said.kind, said.true, said.sign = 1, abs(away), 1 if away > 0 else -1


def _own(made: Scene, chance: Random):
    """Sizes of the host, and where its points are."""
    for a, b, axis in (("rear end", "front end", 0), ("lower edge", "upper edge", 1)):
        if chance.random() < 0.6:
            size = made.host[b][axis]
            yield Statement(axis, b, a, f"{a} to {b}", size, 1, chance.choice(TOLERANCES), "tape")
    for point in POINTS:
        for edge in ("rear end", "lower edge"):
            if chance.random() < 0.6:
                axis, _, words = EDGES[edge]
                size, half = made.host[point][axis], chance.choice(TOLERANCES)
                yield Statement(axis, point, edge, f"{point} {words} {edge}", size, 1, half, "rule")


def _read(said: Statement, chance: Random, rectangular: bool) -> None:
    """The value as read: normal with the statement's u, or evenly over its two widths."""
    share = said.method_half()
    even = chance.uniform(-said.half, said.half) + chance.uniform(-share, share)
    error = even if rectangular else chance.gauss(0, said.u)
    said.written = max(said.true + error, 0.01)


def write(folder: Path, scenes: list[Scene]) -> None:
    """The build of all scenes."""
    day = folder / "2026-03-21 left sill"
    day.mkdir(parents=True)
    (folder / "build.toml").write_text('title = "Simulated"\n', encoding="utf-8")
    lines = []
    for each in scenes:
        host = f"panel {each.number}"
        lines += [f"```part {host}", f"features: {', '.join((*EDGES, 'seam', *POINTS))}", "```", ""]
        if each.own:
            lines += [f"```measured {host}", *(said.line() for said in each.own), "```", ""]
        lines += [f"```removed {each.name}", f"from: {host}", "held by: 2 welds"]
        lines += [*(said.line() for said in each.statements), "```", ""]
    (day / "note.md").write_text("\n".join(lines), encoding="utf-8")


# --- the truth, in plain geometry


class Motion:
    """Statements of one part as functions of a motion (turn about the part's middle, shift u, shift v)."""

    def __init__(self, each: Scene, seam_axis: int | None = None) -> None:
        said = each.statements
        self.points = np.array([each.part.get(s.a, (0.0, 0.0)) for s in said])
        self.middle = np.mean(list(each.part.values()), axis=0)
        self.targets = np.array([each.host.get(s.b, (0.0, 0.0)) for s in said], dtype=float)
        kinds = [seam_axis if s.open_line and seam_axis is not None else s.kind for s in said]
        self.straight = np.array([kind == "straight" for kind in kinds])
        self.turn = np.array([kind == "turn" for kind in kinds])
        self.normal = np.array([(kind == 0, kind == 1) for kind in kinds], dtype=float)
        self.width = np.array([s.width for s in said])
        self.size = float(np.abs(np.array(list(each.part.values())) - self.middle).max()) or 10.0
        self.reach = max([self.size, 400.0, *(s.true for s in said if s.kind == "straight")])
        self.zero = self._value(np.zeros((1, 3)))[0][0]

    def _value(self, q):
        c, s = np.cos(q[:, 0])[:, None], np.sin(q[:, 0])[:, None]
        p = self.points - self.middle
        turned = np.stack([c * p[:, 0] - s * p[:, 1], s * p[:, 0] + c * p[:, 1]], axis=2)
        at = turned + self.middle + q[:, None, 1:]
        apart = at - self.targets
        far = np.maximum(np.hypot(apart[:, :, 0], apart[:, :, 1]), 1e-9)
        n = np.where(self.straight[:, None], apart / far[:, :, None], self.normal)
        value = np.where(self.straight, far, (self.normal * at).sum(axis=2))
        value = np.where(self.turn, np.remainder(q[:, :1] + math.pi / 2, math.pi) - math.pi / 2, value)
        slope = np.concatenate([(n[:, :, 1] * turned[:, :, 0] - n[:, :, 0] * turned[:, :, 1])[:, :, None], n], axis=2)
        slope[:, self.turn] = (1.0, 0.0, 0.0)
        return value, slope

    def miss(self, q):
        value, slope = self._value(q)
        return (value - self.zero) / self.width, slope / self.width[:, None]

    def bound(self):
        """Sum over statements of |gain| times width, for turn, shift u and shift v; None where nothing holds it."""
        _, slope = self.miss(np.zeros((1, 3)))
        scaled = slope[0] / np.array([self.size, 1.0, 1.0])
        if len(scaled) < 3 or np.linalg.svd(scaled, compute_uv=False)[-1] < 1e-6:
            return None
        return np.abs(np.linalg.pinv(scaled)).sum(axis=1) / np.array([self.size, 1.0, 1.0])

    def kept(self, chance, starts: int = 400):
        """Motions that keep every statement within its width: where many starts end, and how far they can then go."""
        q = np.stack([chance.uniform(-math.pi, math.pi, starts), *(chance.normal(0, self.reach, (2, starts)))], axis=1)
        q[: starts // 4, 0] = chance.normal(0, 0.3, starts // 4)
        q[starts // 4 : starts // 2, 0] = math.pi
        found = self._down(q)
        return found[np.abs(self.miss(found)[0]).max(axis=1) <= 1.0]

    def _down(self, q, steps: int = 50):
        scale = np.array([self.size, 1.0, 1.0])
        damping = np.full(len(q), 1e-2)
        miss, slope = self._over(q)
        cost = (miss**2).sum(axis=1)
        for _ in range(steps):
            j = slope / scale
            normal = j.transpose(0, 2, 1) @ j
            trace = np.trace(normal, axis1=1, axis2=2)[:, None, None] + 1e-9
            right = -(j.transpose(0, 2, 1) @ miss[:, :, None])
            step = np.linalg.solve(normal + damping[:, None, None] * trace * np.eye(3), right)[:, :, 0] / scale
            trial = q + step
            new_miss, new_slope = self._over(trial)
            new_cost = (new_miss**2).sum(axis=1)
            better = new_cost < cost
            q = np.where(better[:, None], trial, q)
            miss, slope = np.where(better[:, None], new_miss, miss), np.where(better[:, None, None], new_slope, slope)
            cost = np.where(better, new_cost, cost)
            damping = np.clip(np.where(better, damping / 8, damping * 8), 1e-9, 1e6)
        return q

    def _over(self, q):
        """How far statements are beyond nine tenths of their widths: nothing pulls inside."""
        miss, slope = self.miss(q)
        over = np.sign(miss) * np.maximum(np.abs(miss) - 0.9, 0)
        return over, slope * (np.abs(miss) > 0.9)[:, :, None]

    def stretched(self, chance, rounds: int = 12):
        """How far along each of the six ways a motion can go from the true place, keeping all: by small steps."""
        best = np.zeros((6, 3))
        bound = self.bound()
        for way in range(6):
            axis, sign = way // 2, 1 if way % 2 else -1
            at = np.zeros(3)
            for _ in range(rounds):
                trials = at + chance.normal(0, 0.15, (60, 3)) * bound
                trials[:, axis] = at[axis] + sign * np.abs(trials[:, axis] - at[axis])
                trials = trials[np.abs(self.miss(trials)[0]).max(axis=1) <= 1.0]
                if len(trials):
                    ahead = trials[np.argmax(sign * trials[:, axis])]
                    at = ahead if sign * ahead[axis] > sign * at[axis] else at
            best[way] = at
        return best


def beyond(each: Scene, chance) -> float:
    """The largest motion that keeps every statement, as a share of sum |gain| width; inf where nothing holds it."""
    motion = Motion(each)
    bound = motion.bound()
    if bound is None:
        return math.inf
    kept = np.concatenate([motion.kept(chance), motion.stretched(chance)])
    kept[:, 0] = np.remainder(kept[:, 0] + math.pi, math.tau) - math.pi
    return float((np.abs(kept) / bound).max())


def moves(each: Scene, chance) -> bool:
    """Whether, for some laying of the seam, more than 20 mm or 2 degrees keep every statement."""
    layings = [0, 1] if any(s.open_line for s in each.statements) else [None]
    corners = np.array(list(each.part.values()))
    for laying in layings:
        motion = Motion(each, laying)
        kept = motion.kept(chance)
        for turn, u, v in kept:
            turn = math.remainder(turn, math.tau)
            c, s = math.cos(turn), math.sin(turn)
            p = corners - motion.middle
            at = np.stack([c * p[:, 0] - s * p[:, 1] + u, s * p[:, 0] + c * p[:, 1] + v], axis=1) - p
            if abs(turn) > math.radians(2) or np.hypot(*at.T).max() > 20:
                return True
    return False


# --- the tool's answer against it


def inside(each: Scene, position: FacePosition) -> list[bool] | None:
    """For each solved point of the part whether its ellipse holds the true place; None where the frame is assumed."""
    seam = next((e for e in position.edges if e.words == "seam" and e.owner == position.host), None)
    if seam and (seam.normal == "u") != (each.seam[0] == 0):
        return None
    zero = _origin(each, position)
    if zero is None:
        return None
    spots = [spot for spot in position.spots if spot.owner not in (position.host, None)]
    second = {s.words: s for other in position.alternatives for s in other.spots}
    return [
        _holds(spot, each, zero) or (spot.words in second and _holds(second[spot.words], each, zero)) for spot in spots
    ]


def _origin(each: Scene, position: FacePosition):
    """Where the origin of the tool's frame truly is, from the features it starts from; None where no edge says."""
    zero: list[float | None] = [None, None]
    for edge in position.edges:
        axis = 0 if edge.normal == "u" else 1
        if edge.sigma == 0 and edge.words in each.host:
            zero[axis] = each.host[edge.words][axis]
    return None if None in zero or position.axes != ("x", "z") else zero


def _holds(spot: Spot, each: Scene, zero) -> bool:
    du, dv = each.part[spot.words][0] - zero[0] - spot.u, each.part[spot.words][1] - zero[1] - spot.v
    long, short, angle = spot.ellipse95
    along, across = du * math.cos(angle) + dv * math.sin(angle), dv * math.cos(angle) - du * math.sin(angle)
    return (along / max(long, 1e-9)) ** 2 + (across / max(short, 1e-9)) ** 2 <= 1


def run(count: int, seed: int, rectangular: bool, motions: bool) -> Counter[str]:
    """Counts of what was said and of what was wrong."""
    chance = Random(seed)
    scenes = [scene(number, chance, rectangular) for number in range(count)]
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder) / "build", scenes)
        told = tell_build(Path(folder) / "build", date(2026, 5, 9))
    return compare(told, scenes, seed, motions)


def compare(told: Told, scenes: list[Scene], seed: int, motions: bool) -> Counter[str]:
    counts: Counter[str] = Counter()
    two = {finding.part for finding in told.judgement.findings if finding.word == "two-spots"}
    faces = {part: position for position in told.judgement.positions for part in position.parts}
    chance = np.random.default_rng(seed)
    for each in scenes:
        id = f"bracket-{each.number}"
        word = told.judgement.records[id].word
        counts[word] += 1
        counts["two-spots"] += id in two
        held = inside(each, faces[id]) if id in faces else None
        counts["spots"] += len(held or ())
        counts["spots held"] += sum(held or ())
        if motions and word == "position recorded" and id not in two:
            counts["recorded, one spot"] += 1
            share = beyond(each, chance)
            if share > 1.2:
                counts["(b) moves further"] += 1
                print(f"(b) {id}: {share:.2f} times", [s.line() for s in each.statements], [s.line() for s in each.own])
        elif motions and word == "partly recorded" and not moves(each, chance):
            counts["(c) does not move"] += 1
            print(f"(c) {id}:", [s.line() for s in each.statements], told.judgement.records[id].free)
    return counts


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", type=int, nargs="?", default=10_000)
    parser.add_argument("seed", type=int, nargs="?", default=9)
    asked = parser.parse_args()
    for rectangular in (False, True):
        counts = run(asked.parts, asked.seed, rectangular, motions=not rectangular)
        print("rectangular errors" if rectangular else "normal errors", dict(counts))
        print(f"  (a) {100 * counts['spots held'] / max(1, counts['spots']):.2f} % of {counts['spots']} ellipses")
