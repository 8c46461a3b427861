"""Explained: findings about the order of work, about what was bought, about treatments."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.explained import Explained, day

JOBS = """\
```job paint the frame
{key}: fit the wheels
```

```job fit the wheels
needs: paint the frame
```
"""
ORDERED = """\
```job set the brake
needs: brake linings
```

```ordered brake linings
for: set the brake
due: {due}
```
"""
WELDED_ON = """\
```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
marks: a scribed line round the foot
```

```{first}
```

```{then}
```
"""
PAINTED = "treated sill, left\nsurface: grey primer, flatted\nwith: satin black chassis paint"
REFITTED = "refitted guide bracket front, left\non: sill, left\nheld by: 2 plug welds"

WORK: Mapping[str, Explained] = {
    "ring-in-order": Explained(
        "What must come first was written in a ring: each step waits for the next one, and the last for the first, so "
        "none of them can ever begin. The notes below it name each step with the line that makes it wait. One of "
        "those lines is turned round or too many: `before` and `needs` of a job, `behind` and `goes on` of a part. "
        "The order is shown all the same, as if the line written last were not there.",
        day(JOBS.format(key="needs")),
        day(JOBS.format(key="before")),
    ),
    "late-order": Explained(
        "Something was ordered, the day it was due has gone by, and no `arrived` slip says it came. The message names "
        "the parts and jobs that wait for it. Ask where it is; write `arrived` when it is here, or a second `ordered` "
        "slip of the same name with the new day.",
        day(ORDERED.format(due="2026-05-01")),
        day(ORDERED.format(due="2026-06-01")),
    ),
    "welded-after-paint": Explained(
        "A part was painted, primed, waxed or oiled, and welded after that, with no treatment since. The heat burns "
        "the coat off on both sides of the joint and behind it, where rust starts first. Look at the back of the "
        "weld, clean it and coat it again, and write a `treated` slip for it. Weld-through primer is made for this "
        "and is not told.",
        day(WELDED_ON.format(first=PAINTED, then=REFITTED)),
        day(WELDED_ON.format(first=REFITTED, then=PAINTED)),
    ),
}
