"""Explained: findings that come out of places worked out from readings."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.explained import Explained, day

THREE_READINGS = """\
```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
{more}hole to flange edge: 16 mm by rule
slot to flange edge: 16 mm by rule
hole to rear end: 1580 mm by tape
```
"""
SQUARE_BY_EYE = """\
```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
way round: upright to the rear
hole to flange edge: 16 mm by rule
hole to rear end: 1580 mm by tape
upright square to web by {tool}
```
"""
TWO_BRACKETS = """\
```measured sill, right
rear end to front end: 2100 mm by tape
```

```part guide bracket front, right
from: sill, right
held by: 2 spot welds
hole to rear end: 1580 mm by tape
hole to front end: 520 mm by tape
```

```part guide bracket rear, right
from: sill, right
held by: 2 spot welds
hole to rear end: 660 mm by tape
hole to front end: {front} mm by tape
```
"""
SPRINGS = """\
```measured spring rear, left
height: 55 mm by rule
```

```measured spring rear, right
height: {right} mm by rule
```
"""
BACK_ON = """\
```refitted guide bracket front, left
on: sill, left
hole to rear end: {now} mm by tape
```
"""

POSITIONS: Mapping[str, Explained] = {
    "two-spots": Explained(
        "The readings leave the part no motion, and still there is a second place where all of them fit: turned the "
        "other way about a hole, or on the other side of the line between two holes. The tape cannot tell the two "
        "apart, and in a few months nobody else can. Where not every shape is known the message says `may fit`. Write "
        "`way round:` where the two differ by a turn, name a picture of it in place, or take the one more reading "
        "that the help names.",
        day(THREE_READINGS.format(more="")),
        day(THREE_READINGS.format(more="way round: slot to the front\n")),
    ),
    "weak-turn": Explained(
        "The readings hold the part, but against turning only by a short stretch, under 20 mm, or by a glance: it can "
        "come out more than 3 degrees askew and every reading still fits. On a long bracket that is a lot at the far "
        "end. Measure a hole or corner further out to the same edge, or set a square to it.",
        day(SQUARE_BY_EYE.format(tool="eye")),
        day(SQUARE_BY_EYE.format(tool="square")),
    ),
    "suspect-measurement": Explained(
        "All readings of this face were put together, and this one does not fit what the others say of the same "
        "thing; by chance that happens once in a thousand good readings. Most often the tape was read at the wrong "
        "hundred, or from the wrong end. The message says what the others make it. Where several readings do not hold "
        "together and none stands out, the last one is named with the others below it; where they are far apart, they "
        "hold nothing until that is settled. Measure it again and put the line right, or mark it `, in doubt`.",
        day(TWO_BRACKETS.format(front=1340)),
        day(TWO_BRACKETS.format(front=1441)),
    ),
    "sides-differ": Explained(
        "The same thing was read on the left part and on the right one, in the same words, and they differ by more "
        "than the measuring can be out. On a machine that should be alike on both sides one of them is bent, worn, "
        "swapped or misread. Measure both again; where they are meant to differ, write in a slip of the part "
        "`settled: sides-differ, why`.",
        day(SPRINGS.format(right=62)),
        day(SPRINGS.format(right=56)),
    ),
    "refit-off": Explained(
        "The part is back on, it was measured again as before it came off, and it does not sit where it sat. The "
        "message says how much is too much to be the measuring. Set it again while the clamps are still on. If it is "
        "meant to sit elsewhere now, write `moved: yes` in its `refitted` slip.",
        day(THREE_READINGS.format(more="way round: slot to the front\n"))
        | day(BACK_ON.format(now=1575), "2026-04-11 brackets back"),
        day(THREE_READINGS.format(more="way round: slot to the front\n"))
        | day(BACK_ON.format(now=1581), "2026-04-11 brackets back"),
    ),
}
