"""Tasks that need what is in memory, done on all cores: each further process is a copy of this one."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, TypeVar
from warnings import catch_warnings, simplefilter

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

Given = TypeVar("Given")
Said = TypeVar("Said")
MOST_PROCESSES = 32
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

    Only where this process can be copied. Each process takes the next task that nobody has taken, so the long ones
    stand first. What a copy does not bring, because it was lost or a task of it failed, is done here: a fault comes
    out as if nobody had helped. What tasks and `said` give is pickled.
    """
    from multiprocessing import get_context

    turns, copies = _turns(len(tasks)), []
    try:
        for _ in range(min(cores(), MOST_PROCESSES) - 1):
            here, there = get_context("fork").Pipe(duplex=False)
            copy = get_context("fork").Process(target=_share, args=(tasks, turns, said, there), daemon=True)
            with there, suppress(OSError):  # no more processes or memory: then there is one helper less
                with catch_warnings():  # Python warns where a library has threads of its own; numpy's stop for a copy
                    simplefilter("ignore", DeprecationWarning)
                    copy.start()
                copies.append((copy, here))
        done = {number: tasks[number]() for number in _taken(turns)}
        told = []
        for _, here in copies:
            with suppress(EOFError, OSError):
                more, end = here.recv()
                done.update(more)
                told.append(end)
    finally:
        os.close(turns)
        for copy, here in copies:
            here.close()
            copy.kill()
            copy.join()
    done.update((number, task()) for number, task in enumerate(tasks) if number not in done)
    return [done[number] for number in range(len(tasks))], [*told, said()]


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


def _share(tasks: Sequence[Callable[[], Given]], turns: int, said: Callable[[], object], there: Connection) -> None:
    """In a copy: do what it takes, and send it; a copy of a process that was killed stops."""
    done: dict[int, Given] = {}
    first = os.getppid()
    with suppress(BaseException):  # it is done again by the process that was copied, which can tell what is wrong
        for number in _taken(turns):
            done[number] = tasks[number]()
            if os.getppid() != first:
                return
    with suppress(BaseException):
        there.send((done, said()))
