"""A progress bar for long work, where a terminal is there to show it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

Progress = Callable[[str, int, int], None]
WORTH_A_BAR = 8  # fewer pictures than this are done before anybody could read it


@contextmanager
def progress_bar() -> Iterator[Progress | None]:
    """A callable for (what, done, of all), or None where no terminal listens."""
    if not sys.stderr.isatty():
        yield None
        return
    shown = _Shown()
    try:
        yield shown.tell
    finally:
        shown.stop()


class _Shown:
    """A bar that is there only while there is something to show.

    Its thread would be in the way of work that copies of the process do, and most runs have no new pictures.
    """

    def __init__(self) -> None:
        self._bar: Bar | None = None
        self._tasks: dict[str, TaskID] = {}

    def tell(self, what: str, done: int, of_all: int) -> None:
        if of_all < WORTH_A_BAR:
            return
        bar = self._bar = self._bar or _bar()
        bar.start()
        if what not in self._tasks:
            self._tasks[what] = bar.add_task(what, total=of_all)
        bar.update(self._tasks[what], completed=done, total=of_all)
        if done == of_all:
            bar.remove_task(self._tasks.pop(what))
            bar.stop()

    def stop(self) -> None:
        if self._bar:
            self._bar.stop()


def _bar() -> Bar:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, ProgressColumn, Task, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar
    from rich.text import Text

    class Rate(ProgressColumn):
        """Pictures a second."""

        def render(self, task: Task) -> Text:
            return Text(f"{task.speed:.1f} a second" if task.speed else "")

    columns = TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), Rate(), TimeRemainingColumn()
    return Bar(*columns, console=Console(stderr=True), transient=True)
