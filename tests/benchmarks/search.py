"""Search at size: sizes, times and memory of the search page, beside SQLite FTS5 on the same rows.

    python -m tests.benchmarks.search [--parts 5000] [--readings 50000] [--days 500]

Prints what the targets name: index under 9 MB (2.8 MB gzipped), first result within 1.5 s of opening from file://,
a keystroke under 4 ms median and 16 ms worst, under 16 ms median with the CPU throttled four times, memory under
150 MB. A keystroke is everything the page does for it: reading, finding, drawing, and laying out what was drawn.
"""

from __future__ import annotations

import argparse
import gzip
import random
import re
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from journal.find import find
from journal.make import make_site
from journal.measure.value import read_value
from journal.pages.query import fold, words_of
from journal.pages.search import Group, Row, arrange, files
from tests.builds import TITLE, write_build

THINGS = "bracket hinge clip plate rail bearing cap lever rod strut panel flange spring cable hose guide seal".split()
WHERE = "front rear upper lower inner outer centre main short long".split()
USES = "door deck brake drive tow steering battery lamp wheel axle pedal hood seat mast lock".split()
FEATURES = "hole|slot|hole edge|upper hole|lower hole|rear hole|bolt|corner|stud|tab".split("|")
LINES = "web|flange edge|rear end|front end|seam|lower edge|jig hole|scribe line|outer face|top edge".split("|")
RELATIONS = ("to", "ahead of", "behind", "above", "below", "inboard of")
METHODS = ("", " by rule", " by tape", " by calliper", " by square")
REMARKS = ("", "", "", ", worn", ", from memory", ", as found bent", ", checked twice")
STORY = "sill cut rain weld primer rust ground drill bolts seized heat loose shelf measured again cleaned late".split()

NOTE = """```removed: sill
where: left side
```
"""
TYPED = [
    "bearing worn", "guide bracket front left", "16 mm", "5/8 in", "20 to 25 mm", "hole edge web", "brake hose rear",
    "c123-7", "e", "flange 312 mm", "2026-05 seam", "zzz nothing", "left", "by tape 1200 mm", "hinge 16 mm left",
]  # fmt: skip


def generated(parts: int, readings: int, days: int) -> list[Row]:
    """Rows of an invented build; the same every time."""
    chance = random.Random(9)
    start = date(2025, 1, 4)
    made: list[Row] = []
    for n in range(days):
        on = start + timedelta(n)
        story = " ".join(chance.choices(STORY, k=120))
        made.append(Row("day", f"{chance.choice(USES)} {chance.choice(STORY)}".capitalize(), _day(on), story, date=on))
    tops = ("deck", "underside", "cab", "mast")
    paths = [
        (tops[n % 4], f"{chance.choice(USES)} bay {n // 20}", f"{chance.choice(WHERE)} rail {n}") for n in range(200)
    ]
    made += [Row("place", " / ".join(path), f"places/{n}/index.html", place=path) for n, path in enumerate(paths)]
    for n in range(parts):
        made += _part(chance, n, start, days, paths, range(n * readings // parts, (n + 1) * readings // parts))
    return made


def _day(on: date) -> str:
    return f"days/{on.isoformat()}/index.html"


def _part(
    chance: random.Random, n: int, start: date, days: int, paths: Sequence[tuple[str, ...]], numbers: range
) -> Iterator[Row]:
    side = ("left", "right", "")[n % 3]
    words = f"{chance.choice(USES)} {chance.choice(THINGS)} {chance.choice(WHERE)} {n // 3}"
    title = f"{words}, {side}" if side else words
    url = f"parts/{title.replace(' ', '-').replace(',', '')}/index.html"
    on = start + timedelta(chance.randrange(days))
    same = {"place": chance.choice(paths), "side": side, "state": chance.choice(("on", "off", "back on", "scrapped"))}
    held = f"{chance.randrange(2, 9)} bolts M{chance.choice((6, 8, 10))} x {chance.randrange(12, 80)}"
    yield Row("part", title, url, held, (f"c{n}-{n % 9}",), date=on, **same)
    host = f"{chance.choice(USES)} frame {n % 50}"
    for number in numbers:
        what = f"{chance.choice(FEATURES)} {chance.choice(RELATIONS)} {chance.choice(LINES)}"
        written = _value(chance)
        text = written + chance.choice(METHODS) + chance.choice(REMARKS)
        where = f"{url}#m-{number * 7919 % 10**7:07x}"
        yield Row("reading", what, where, text, (host,), url, date=on, numbers=read_value(written).numbers, **same)


def _value(chance: random.Random) -> str:
    kind = chance.random()
    if kind < 0.55:
        return f"{chance.randrange(5, 2000)} mm"
    if kind < 0.7:
        return f"{chance.randrange(50, 9000) / 10} mm"
    if kind < 0.85:
        return f"{chance.randrange(1, 40)} {chance.choice((1, 3, 5, 7))}/8 in"
    if kind < 0.95:
        return f"{chance.randrange(5, 900)} mm ± {chance.randrange(1, 4)}"
    return f"{chance.randrange(5, 90)} N·m"


# The browser.


def real_site(folder: Path) -> Path:
    """The site of a build with next to nothing in it, for its search page as readers get it, styles and all."""
    build = write_build(folder / "build", {"build.toml": TITLE, "2026-05-01 sill/notes.md": NOTE})
    make_site(build, folder / "site", "public", date(2026, 5, 9), None)
    return folder / "site"


def in_browser(site: Path) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        args = ["--no-sandbox", "--enable-precise-memory-info", "--js-flags=--expose-gc"]
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=args)
        opened = [_opened(browser, site) for _ in range(5)]
        print(f"first result, opened from file://: {_times(opened)}")
        for slower in (1, 4):
            _typed(browser, site, slower)
        browser.close()


def _typed(browser: Any, site: Path, slower: int, runs: int = 3) -> None:
    """Types every query letter by letter on a fresh page, `runs` times; the best of the runs stands for each letter,
    as other work on the machine only adds to a time. Main-thread CPU time stands beside it for the same reason."""
    found: list[list[dict[str, Any]]] = []
    for _ in range(runs):
        page = browser.new_page()
        page.goto((site / "search" / "index.html").as_uri())
        page.wait_for_timeout(1500)
        session = page.context.new_cdp_session(page)
        session.send("Performance.enable", {"timeDomain": "threadTicks"})
        session.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        found.append([_stroke(page, session, typed[:n]) for typed in TYPED for n in range(1, len(typed) + 1)])
        heap = page.evaluate(HEAP) / 1e6
        near = page.evaluate(NEAR, "bearign")
        page.close()
    strokes = list(zip(*found, strict=True))
    print(f"keystroke, CPU x{slower}, {len(strokes)} letters, best of {runs} runs:")
    for what in ("wall", "cpu"):
        best = [min(stroke[what] for stroke in run) for run in strokes]
        worst = sorted(zip(best, (run[0]["typed"] for run in strokes), strict=True), reverse=True)[:4]
        print(f"   {what}: {_times(best)}; " + ", ".join(f"“{typed}” {took:.1f}" for took, typed in worst))
    print(f"   near spellings, after a rest, the first time: {near:.0f} ms; JS heap after typing: {heap:.0f} MB")


def _stroke(page: Any, session: Any, typed: str) -> dict[str, Any]:
    before = _cpu(session)
    wall = page.evaluate(KEYSTROKE, typed)
    cpu = _cpu(session) - before
    if len(typed) % 5 == 0:
        page.wait_for_timeout(200)  # now and then the fingers rest, and what can wait is done
    return {"typed": typed, "wall": wall, "cpu": cpu}


def _cpu(session: Any) -> float:
    """Milliseconds of main-thread CPU time spent on scripts, styles and layout."""
    metrics = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    return float(1000 * sum(metrics[name] for name in ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration")))


def _opened(browser: Any, site: Path) -> float:
    page = browser.new_page()
    page.goto((site / "search" / "index.html").as_uri() + "?q=16+mm", wait_until="commit")
    page.wait_for_selector(".hit")
    took = float(page.evaluate("window.firstResult"))
    page.close()
    return took


# One letter more, as an input event; layout is forced so that its time is in.
KEYSTROKE = """(typed) => {
  const field = document.getElementById("q");
  field.value = typed;
  const start = performance.now();
  field.dispatchEvent(new Event("input"));
  document.body.getBoundingClientRect();
  return performance.now() - start;
}"""
NEAR = """(typed) => {
  const search = window.journalFind(window.journalIndex), start = performance.now();
  search.nearQueries(typed);
  return performance.now() - start;
}"""
HEAP = """() => { window.gc(); return performance.memory.usedJSHeapSize; }"""
FIRST = """
new MutationObserver(() => { window.firstResult = window.firstResult || performance.now(); })
  .observe(document.getElementById("hits"), { childList: true });
"""


def _times(milliseconds: Sequence[float]) -> str:
    ordered = sorted(milliseconds)
    ninety = ordered[int(len(ordered) * 0.9)]
    return f"median {statistics.median(ordered):.1f}, 90 % {ninety:.1f}, worst {ordered[-1]:.1f} ms"


# SQLite and the terminal.


def in_sqlite(groups: Sequence[Group]) -> None:
    base = sqlite3.connect(":memory:")
    base.execute("create virtual table rows using fts5(words, prefix='2 3 4')")
    for group in groups:
        name = f"{group[0].title} {' '.join(group[0].also)}"
        base.executemany(
            "insert into rows values (?)",
            ((fold(f"{name} {row.title} {row.text} {row.place_words} {' '.join(row.also)}"),) for row in group),
        )
    typed = [typed for typed in TYPED if not re.search(r"\d (?:mm|in)|-", typed)]
    first, every = [], []
    for letters in (typed[:n] for typed in typed for n in range(1, len(typed) + 1) if typed[:n].strip()):
        asked = " ".join(f'"{word}"*' for word in words_of(fold(letters)))
        for times, sql in ((first, " limit 20"), (every, "")):
            start = time.perf_counter()
            base.execute(f"select rowid from rows where rows match ?{sql}", (asked,)).fetchall()
            times.append((time.perf_counter() - start) * 1000)
    print(f"SQLite FTS5 {sqlite3.sqlite_version}, words only: first 20 {_times(first)}; all {_times(every)}")


def in_terminal(groups: Sequence[Group]) -> None:
    for typed in ("hinge 16 mm left", "bearing worn", "5/8 in"):
        start = time.perf_counter()
        count = find(groups, typed).count
        print(f"journal find, “{typed}”: {count:,} found in {time.perf_counter() - start:.2f} s")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, number in (("parts", 5000), ("readings", 50_000), ("days", 500)):
        asked.add_argument(f"--{name}", type=int, default=number)
    given = asked.parse_args()
    groups = arrange(generated(given.parts, given.readings, given.days))
    start = time.perf_counter()
    made = files(groups)
    print(f"{given.readings:,} measurements, {given.parts:,} parts; index made in {time.perf_counter() - start:.1f} s")
    for path, text in made.items():
        raw = text.encode()
        print(f"{path}: {len(raw) / 1e6:.2f} MB, {len(gzip.compress(raw, 6)) / 1e6:.2f} MB gzipped")
    with tempfile.TemporaryDirectory() as folder:
        site = real_site(Path(folder))
        for path, text in made.items():
            (site / path).write_text(text, "utf-8")
        (site / "theme" / "first.js").write_text(FIRST, "utf-8")
        clock = '<script defer src="../theme/first.js"></script>'
        page = site / "search" / "index.html"
        page.write_text(page.read_text("utf-8").replace("<script", f"{clock}\n<script", 1), "utf-8")
        in_browser(site)
    in_sqlite(groups)
    in_terminal(groups)


if __name__ == "__main__":
    main()
