"""Tasks that need what is in memory, done on all cores or meanwhile: each further process is a copy of this one."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from typing import TYPE_CHECKING, TypeVar
from warnings import catch_warnings, simplefilter

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

Given = TypeVar("Given")
Said = TypeVar("Said")
MOST_PROCESSES = 32
END_WITH_FIRST = 1  # linux/prctl.h: PR_SET_PDEATHSIG
TURN = 4  # bytes of a task's number


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def can_be_copied() -> bool:
    """Whether a copy of this process is sound and helps: a copy has none of the threads, and the libraries of other
    systems than Linux may not be used in one."""
    return sys.platform == "linux" and threading.active_count() == 1 and cores() > 1


def in_shares(tasks: Sequence[Callable[[], Given]], said: Callable[[], Said]) -> tuple[list[Given], list[Said]]:
    """What each task gives, in their order, and what `said` gives at the end in every process that did some.

    Where this process cannot be copied, it does all. Each process takes the next task that nobody has taken, so the
    long ones stand first. What a copy does not bring, because it was lost or a task of it failed, is done here: a
    fault comes out as if nobody had helped. What tasks and `said` give is pickled.
    """
    helpers = min(cores(), MOST_PROCESSES) - 1 if can_be_copied() else 0
    turns = _turns(len(tasks))
    try:
        with _copies([partial(_share, tasks, turns, said)] * helpers) as copies:
            done = {number: tasks[number]() for number in _taken(turns)}
            told = []
            for copy in copies:
                with suppress(EOFError, OSError):
                    more, end = copy.recv()
                    done.update(more)
                    told.append(end)
    finally:
        os.close(turns)
    done.update((number, task()) for number, task in enumerate(tasks) if number not in done)
    return [done[number] for number in range(len(tasks))], [*told, said()]


@contextmanager
def meanwhile(task: Callable[[], None]) -> Iterator[None]:
    """A copy of this process does a task while the block runs, and ends with it, done or not; none does where nothing
    can be copied."""
    with _copies([task] if can_be_copied() else []):
        yield


@contextmanager
def _copies(tasks: Sequence[Callable[[], object]]) -> Iterator[list[Connection]]:
    """A copy of this process for each task, to receive what it gives from; as many as can be started."""
    from multiprocessing import get_context

    context, copies = get_context("fork"), []
    try:
        for task in tasks:
            here, there = context.Pipe(duplex=False)
            copy = context.Process(target=_as_a_copy, args=(task, there, os.getpid()), daemon=True)
            with there, suppress(OSError):  # no more processes or memory: then there is one helper less
                with catch_warnings():  # Python warns where a library has threads of its own; numpy's stop for a copy
                    simplefilter("ignore", DeprecationWarning)
                    copy.start()
                copies.append((copy, here))
        yield [here for _, here in copies]
    finally:
        for copy, here in copies:
            here.close()
            copy.kill()
            copy.join()


def _as_a_copy(task: Callable[[], object], there: Connection, first: int) -> None:
    """In a copy: do the task and send what it gives. Where the process that was copied is killed, it is too."""
    with suppress(BaseException):  # whoever waits does it again, and can tell what is wrong
        from ctypes import CDLL

        CDLL(None).prctl(END_WITH_FIRST, signal.SIGKILL)
        if os.getppid() == first:
            there.send(task())


def _turns(count: int) -> int:
    """A pipe with the numbers of all tasks, of which every process takes; those that find no room are left over."""
    turns, there = os.pipe()
    os.set_blocking(there, False)
    with suppress(BlockingIOError):
        os.write(there, b"".join(number.to_bytes(TURN, "little") for number in range(count)))
    os.close(there)
    return turns


def _taken(turns: int) -> Iterator[int]:
    while number := os.read(turns, TURN):
        yield int.from_bytes(number, "little")


def _share(
    tasks: Sequence[Callable[[], Given]], turns: int, said: Callable[[], Said]
) -> tuple[dict[int, Given], Said]:
    """In a copy: what it took and did."""
    done: dict[int, Given] = {}
    with suppress(Exception):
        for number in _taken(turns):
            done[number] = tasks[number]()
    return done, said()
