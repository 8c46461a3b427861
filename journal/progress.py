"""A progress bar for long work, where a terminal is there to show it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, int, int], None]
WORTH_A_BAR = 8  # fewer pictures than this are done before anybody could read it


@contextmanager
def progress_bar() -> Iterator[Progress | None]:
    """A callable for (what, done, of all), or None where no terminal listens."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        ProgressColumn,
        Task,
        TextColumn,
        TimeRemainingColumn,
    )
    from rich.progress import Progress as Bar
    from rich.text import Text

    class Rate(ProgressColumn):
        """Pictures a second."""

        def render(self, task: Task) -> Text:
            return Text(f"{task.speed:.1f} a second" if task.speed else "")

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        Rate(),
        TimeRemainingColumn(),
    )
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        tasks: dict[str, object] = {}

        def told(what: str, done: int, of_all: int) -> None:
            if of_all < WORTH_A_BAR:
                return
            if what not in tasks:
                tasks[what] = bar.add_task(what, total=of_all)
            bar.update(tasks[what], completed=done, total=of_all)  # type: ignore[arg-type]

        yield told
