"""Work that copies of the process do: everything is done once, and a copy that fails or dies costs time only."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.site_fixture import EXAMPLE

# In a process of their own: a test run has threads, and then nothing is copied.
BEGIN = """
import os, signal, sys
from functools import partial
from journal.ground import shares
shares.cores = lambda: 3
shares.sys.platform = "linux"
first = os.getpid()
"""


def run(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", BEGIN + code], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="no process can be copied here")


def test_every_task_is_done_once_and_in_order_and_by_more_than_one() -> None:
    code = """
import time
def task(number):
    time.sleep(0.01)
    return number, os.getpid()
done, said = shares.in_shares([partial(task, number) for number in range(100)], os.getpid)
print([number for number, _ in done] == list(range(100)), {pid for _, pid in done} == set(said), len(said))
"""
    assert run(code) == "True True 3\n"


@pytest.mark.parametrize("end", ["os._exit(1)", "os.kill(os.getpid(), signal.SIGKILL)", "raise ValueError(number)"])
def test_what_a_copy_does_not_bring_is_done_here(end: str) -> None:
    code = f"""
def task(number):
    if os.getpid() != first:
        {end}
    return number
done, said = shares.in_shares([partial(task, number) for number in range(50)], os.getpid)
print(done == list(range(50)), first in said)
"""
    assert run(code) == "True True\n"


def test_a_fault_comes_out_as_if_nobody_had_helped() -> None:
    code = """
def task(number):
    if number == 30:
        raise KeyError("the thirtieth")
    return number
try:
    shares.in_shares([partial(task, number) for number in range(50)], os.getpid)
except KeyError as fault:
    print(fault)
print(os.system("true"), end="")
try:
    os.waitpid(-1, os.WNOHANG)
except ChildProcessError:
    print(" no copy is left")
"""
    assert run(code) == "'the thirtieth'\n0 no copy is left\n"


def test_where_no_process_can_be_started_all_is_done_here() -> None:
    code = """
def fork():
    raise BlockingIOError(11, "Resource temporarily unavailable")
os.fork = fork
done, said = shares.in_shares([partial(int, number) for number in range(50)], os.getpid)
print(done == list(range(50)), said == [first])
"""
    assert run(code) == "True True\n"


def test_a_copy_of_a_process_that_was_killed_stops(tmp_path: Path) -> None:
    code = f"""
import time
def task(number):
    time.sleep(0.2)
    if os.getpid() != first:
        open({str(tmp_path / "turns")!r}, "a").write(".")
    elif number > 1:
        os.kill(first, signal.SIGKILL)
shares.in_shares([partial(task, number) for number in range(200)], int)
"""
    done = subprocess.run([sys.executable, "-c", BEGIN + code], timeout=60, check=False)
    assert done.returncode < 0
    time.sleep(1)
    turns = (tmp_path / "turns").read_text()
    assert 1 <= len(turns) < 20


def test_a_copy_works_while_the_block_runs_and_ends_with_it(tmp_path: Path) -> None:
    code = f"""
import time
turns = open({str(tmp_path / "turns")!r}, "ab", buffering=0)
def task():
    while True:
        turns.write(b"." if os.getpid() != first else b"!")
        time.sleep(0.01)
with shares.meanwhile(task):
    while not os.fstat(turns.fileno()).st_size:
        time.sleep(0.01)
    time.sleep(0.1)
before = os.fstat(turns.fileno()).st_size
time.sleep(0.2)
print(before > 2, os.fstat(turns.fileno()).st_size == before)
"""
    assert run(code) == "True True\n"
    assert b"!" not in (tmp_path / "turns").read_bytes()


def test_what_a_copy_fails_at_meanwhile_is_nobodys_fault() -> None:
    assert run("with shares.meanwhile(lambda: 1 // 0):\n    print('done')\n") == "done\n"


def test_where_nothing_can_be_copied_the_block_runs_alone() -> None:
    code = """
shares.can_be_copied = lambda: False
with shares.meanwhile(lambda: os.kill(os.getpid(), signal.SIGKILL)):
    print("done")
"""
    assert run(code) == "done\n"


def test_more_tasks_than_a_pipe_holds_are_all_done() -> None:
    code = """
done, _ = shares.in_shares([partial(int, number) for number in range(40_000)], int)
print(done == list(range(40_000)))
"""
    assert run(code) == "True\n"


def test_a_process_with_threads_is_not_copied() -> None:
    code = """
import threading, time
print(shares.can_be_copied())
threading.Thread(target=time.sleep, args=(5,), daemon=True).start()
print(shares.can_be_copied())
"""
    assert run(code) == "True\nFalse\n"


def test_the_site_is_the_same_with_help_and_without(tmp_path: Path) -> None:
    build = tmp_path / "build"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns(".journal-cache", "site*"))
    code = f"""
from datetime import date
from hashlib import sha256
from pathlib import Path
from journal.make import lay_out
from journal.pages import render
from journal.ground import ahead
render.WORTH_SHARING = 1
copied = []
in_shares = shares.in_shares
def watched(*given):
    copied.append(len(given[0]))
    return in_shares(*given)
render.in_shares = ahead.in_shares = watched
if {{alone}}:
    render.can_be_copied = ahead.can_be_copied = lambda: False
build = Path({str(build)!r})
for turn in range(2):
    site = lay_out(build, "shop", date(2026, 5, 9), None).site
    sums = sha256()
    for name, content in sorted(site.items()):
        sums.update(name.encode() + (content if isinstance(content, bytes) else content.read_bytes()))
    print(sums.hexdigest())
print(bool(copied), len(list((build / ".journal-cache").rglob("*.kept"))))
"""
    helped = run(code.format(alone=False)).split()
    shutil.rmtree(build / ".journal-cache")
    alone = run(code.format(alone=True)).split()
    assert helped[0] == helped[1] == alone[0] == alone[1]
    assert (helped[2], alone[2]) == ("True", "False")
    assert helped[3] == alone[3], "a page that only a copy asked for is kept too"


def test_the_judgement_is_the_same_with_help_and_without(tmp_path: Path) -> None:
    code = f"""
from datetime import date
from hashlib import sha256
from pathlib import Path
from journal.build import read, tell
from journal.ground import ahead
from journal.ground.kept_work import KeptWork
from journal.judge import checks
copied = []
in_shares = shares.in_shares
def watched(*given):
    copied.append(len(given[0]))
    return in_shares(*given)
checks.in_shares = watched
checks.WORTH_SHARING, checks.AT_ONCE = {{worth}}, 2
checks.KeptWork = partial(KeptWork, unused=-1.0)  # what nobody asked for goes at once
build, cache = Path({str(EXAMPLE)!r}), Path({str(tmp_path)!r}) / "{{worth}}"
for turn in range(2):
    told = tell(read(build, date(2026, 5, 9)), {{{{}}}}, [], date(2026, 5, 9), cache).judgement
    print(sha256(repr([told.findings, told.records, told.standings]).encode()).hexdigest())
    print(len(list((cache / "positions").iterdir())))
print(copied)
"""
    helped = run(code.format(worth=0)).splitlines()
    alone = run(code.format(worth=10**9)).splitlines()
    assert helped[:4] == alone[:4]
    assert helped[:2] == helped[2:4], "a position that only a copy asked for is kept too"
    assert alone[4] == "[]"
    assert len(helped[4]) > len("[]"), "it was shared"
