"""Pages, kept between runs by all that they show: a note that changes a few pages costs those few.

A page is made from its sheet, its card, what every page knows, and the theme. All of that goes into the digest, with
the code of this program and of what tells the theme's templates, so that nothing that matters can be missed.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from journal.ground.kept_work import ByFields, KeptWork, Reduced, signed, unsigned
from journal.pages.theme import Theme
from journal.pages.views import Reading

TOLD_BY = ("jinja2", "markupsafe", "markdown-it-py")


class KeptPages:
    """The pages of one edition; what the last site of it did not show is not kept."""

    def __init__(self, folder: Path | None, theme: Theme, known: object) -> None:
        """`known` is what every page shows."""
        self.work = KeptWork(folder, (*_program(), *theme.template_files()), unused=0)
        self._readings: dict[int, tuple[Reading, bytes]] = {}
        self._plain, self._views = _views(), _views()
        self._views[Reading] = self._reading
        self._known = repr([*map(version, TOLD_BY), self._sum(known)])

    def of(self, shown: object, make: Callable[[], bytes]) -> bytes:
        """The page that shows this: kept, else made.

        shown  views and plain values, all that the page depends on besides what every page shows
        """
        if self.work.folder is None:
            return make()
        return self.work.result(f"{self._known}|{self._sum(shown)}", make, signed, unsigned)

    def _sum(self, shown: object) -> str:
        """The same for the same views, in every process."""
        return sha256(_pickled(shown, self._views)).hexdigest()

    def _reading(self, reading: Reading) -> Reduced:
        """Readings stand on several pages; each is summed once."""
        kept = self._readings.get(id(reading))
        if kept is None:
            kept = self._readings[id(reading)] = reading, sha256(_pickled(reading, self._plain)).digest()
        return bytes, (kept[1],)


def _pickled(shown: object, views: ByFields) -> memoryview:
    """Values as bytes, to be summed; nobody reads them back."""
    text = io.BytesIO()
    pickler = pickle.Pickler(text, 5)
    pickler.fast = True  # each value as itself, not as "the one above", or equal views might be told apart
    pickler.dispatch_table = views
    pickler.dump(shown)
    return text.getbuffer()


def _views() -> ByFields:
    """Views as their name and their fields."""
    return ByFields(lambda view, values: lambda made: (tuple, ((view.__name__, values(made)),)))


@cache
def _program() -> tuple[Path, ...]:
    return tuple(sorted(Path(__file__).parent.parent.rglob("*.py")))
