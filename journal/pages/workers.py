"""Worker processes for pictures: a decoder that crashes, hangs or eats memory costs one picture, not the run.

Each worker is a Python of its own that reads one request a line and answers with one line, both JSON. Threads
here only wait for them; jobs are handed out in order while the memory they are said to take fits the bound.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from journal.ground.atomic import WriteFault
from journal.ground.records import record
from journal.ground.shares import cores
from journal.pages.picture_worker import READY, Answer

# The bound is for the whole run: this process and each worker before its first picture take about this much.
MEMORY = 600_000_000
OWN_MEMORY = 60_000_000
WORKER_MEMORY = 45_000_000
MOST_WORKERS = 6
LARGE = 200_000_000
POLL = 0.25


@record
class Job:
    """One request.

    key      what the caller knows it by
    request  ("facts", path, hash it as well) or ("draw", path, folder or None, name)
    memory   bytes it may take; a job over the bound runs alone
    seconds  after which it is given up
    """

    key: str
    request: tuple[object, ...]
    memory: int
    seconds: float


class Worker:
    """One worker process, started when first asked and again after it was lost."""

    def __init__(self) -> None:
        self.process: subprocess.Popen[bytes] | None = None
        self.deadline = float("inf")
        self.late = False

    def ask(self, job: Job) -> Answer:
        """The answer to a job; a fault in plain words where the process did not live to give one."""
        process = self._running()
        self.late = False
        self.deadline = time.monotonic() + job.seconds
        try:
            assert process.stdin
            assert process.stdout
            process.stdin.write(json.dumps(job.request).encode() + b"\n")
            process.stdin.flush()
            line = process.stdout.readline()
        except OSError:
            line = b""
        finally:
            self.deadline = float("inf")
        if line.endswith(b"\n"):
            if job.memory >= LARGE:
                self.stop()  # what a large picture took goes back to the system
            answer: Answer = json.loads(line)
            return answer
        self.stop()
        if self.late:
            reason = f"reading it took longer than {job.seconds:.0f} s"
            return {"fault": ["unreadable-photo", reason], "lasting": True}
        return {"fault": ["unreadable-photo", "the decoder broke down over it"]}

    def _running(self) -> subprocess.Popen[bytes]:
        if self.process is None or self.process.poll() is not None:
            self.process = _start()
        return self.process

    def give_up_if_late(self, now: float) -> None:
        if now > self.deadline and self.process:
            self.late = True
            self.process.kill()

    def stop(self) -> None:
        process, self.process = self.process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError):
                if pipe:
                    pipe.close()


def _start() -> subprocess.Popen[bytes]:
    """A new worker that has said it is ready. It finds this package wherever it was found here."""
    home = str(Path(__file__).resolve().parents[2])
    paths = [home, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    process = subprocess.Popen(
        [sys.executable, "-c", "from journal.pages.picture_worker import serve; serve()"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
        start_new_session=True,  # Ctrl-C is for this process; it ends its workers itself
    )
    assert process.stdout
    if process.stdout.readline() != READY:
        process.kill()
        process.wait()
        raise WriteFault("The helper that reads pictures could not be started.", "Install the package again.")
    return process


class Crew:
    """As many workers as there are cores for, used for one round of jobs after the other."""

    def __init__(self, workers: int | None = None) -> None:
        count = workers or min(cores(), MOST_WORKERS)
        self._workers = [Worker() for _ in range(count)]
        self._free = MEMORY - OWN_MEMORY - count * WORKER_MEMORY
        self._busy = 0
        self._turn = threading.Condition()
        self._stopped = False

    def stop(self) -> None:
        """End all workers; those that are busy as well."""
        with self._turn:
            self._stopped = True
            self._turn.notify_all()
        for worker in self._workers:
            worker.stop()

    def run(self, jobs: Sequence[Job]) -> Iterator[tuple[Job, Answer]]:
        """Do all jobs; each comes with its answer as it is done, in the caller's own thread."""
        waiting = deque(jobs)
        done: queue.Queue[tuple[Job, Answer | BaseException]] = queue.Queue()
        for worker in self._workers[: len(jobs)]:
            threading.Thread(target=self._work, args=(worker, waiting, done), daemon=True).start()
        for _ in jobs:
            job, answer = self._next(done)
            if isinstance(answer, BaseException):
                raise answer
            yield job, answer

    def _next(
        self, done: queue.Queue[tuple[Job, Answer | BaseException]]
    ) -> tuple[Job, Answer | BaseException]:
        while True:
            with suppress(queue.Empty):
                return done.get(timeout=POLL)
            now = time.monotonic()
            for worker in self._workers:
                worker.give_up_if_late(now)

    def _work(
        self, worker: Worker, waiting: deque[Job], done: queue.Queue[tuple[Job, Answer | BaseException]]
    ) -> None:
        while job := self._take(waiting):
            try:
                done.put((job, worker.ask(job)))
            except BaseException as fault:
                done.put((job, fault))
            finally:
                self._give_back(job)

    def _take(self, waiting: deque[Job]) -> Job | None:
        """The next job, once there is memory for it."""
        with self._turn:
            while waiting and not self._stopped:
                if not self._busy or self._busy + waiting[0].memory <= self._free:
                    self._busy += waiting[0].memory
                    return waiting.popleft()
                self._turn.wait()
            return None

    def _give_back(self, job: Job) -> None:
        with self._turn:
            self._busy -= job.memory
            self._turn.notify_all()
