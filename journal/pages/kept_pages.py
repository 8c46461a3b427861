"""Pages, kept between runs by all that they show: a note that changes a few pages costs those few.

A page is made from its sheet, its card, what every page knows, and the theme. All of that goes into the digest, with
the code of this program and of what tells the theme's templates, so that nothing that matters can be missed.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from datetime import date
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from json import JSONEncoder
from pathlib import Path
from typing import Any

from journal.ground.kept_work import KeptWork, values_of
from journal.pages.kept_drawings import Drawn
from journal.pages.theme import Theme

TOLD_BY = ("jinja2", "markupsafe", "markdown-it-py")


class KeptPages:
    """The pages of one edition; what the last site of it did not show is not kept."""

    def __init__(self, folder: Path | None, theme: Theme, known: object) -> None:
        """`known` is what every page shows."""
        self.work = KeptWork(folder, (*_program(), *theme.template_files()), unused=0)
        self._json = JSONEncoder(check_circular=False, default=self._plain)
        self._known = repr([*map(version, TOLD_BY), self._sum(known)])

    def of(self, shown: object, make: Callable[[], bytes]) -> bytes:
        """The page that shows this: kept, else made.

        shown  views and plain values, all that the page depends on besides what every page shows
        """
        if self.work.folder is None:
            return make()
        return self.work.result(f"{self._known}|{self._sum(shown)}", make, bytes, bytes)

    def _sum(self, shown: object) -> str:
        """The same for the same views, in every process."""
        return sha256(self._json.encode(shown).encode("ascii")).hexdigest()

    def _plain(self, shown: object) -> object:
        """What JSON does not know in what it knows; nobody reads it back."""
        return PLAIN[type(shown)](shown)


class _Plain(dict[type, Callable[[Any], object]]):
    """What JSON knows, by what it does not: views as their name and their fields."""

    def __missing__(self, kind: type) -> Callable[[Any], object]:
        values: Callable[[Any], object] = values_of(kind) or (lambda other: pickle.dumps(other, 5).hex())
        self[kind] = found = lambda shown: (kind.__name__, values(shown))
        return found


PLAIN = _Plain({date: lambda day: ("date", day.toordinal()), Drawn: lambda drawn: ("Drawn", drawn.key)})


@cache
def _program() -> tuple[Path, ...]:
    return tuple(sorted(Path(__file__).parent.parent.rglob("*.py")))
