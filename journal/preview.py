"""`journal preview`: the site in memory, made again whenever something it is made from is saved.

Nothing is written but the cache of pictures. What cannot be made leaves the last good site in place and is said on
every open page.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from pathlib import Path
from time import monotonic

from journal.ground.atomic import WriteFault
from journal.ground.console import tally
from journal.make import is_read, lay_out
from journal.serving import Server, Shown

PORT = 8417  # any free one will do where this is taken; the same one keeps the boxes that were ticked
PATIENCE = 20.0  # seconds that a page's question for news is held back
SETTLED = 300  # milliseconds within which saves count as one
LOOK_UP = 0.5  # seconds after which it is seen that the preview is to end
# A preview is not to be kept at hand: it is never what was last seen. A worker from elsewhere at this address goes.
NOT_KEPT = {
    "theme/offline.js": b'"use strict"; // no preview is kept\n',
    "offline-worker.js": b'"use strict";\nself.addEventListener("install", () => self.skipWaiting());\n'
    b'self.addEventListener("activate", () => self.registration.unregister());\n',
}


class PreviewFault(Exception):
    """The preview cannot begin."""


class Preview:
    """The newest site that could be made of a build, and whoever waits for the next one."""

    def __init__(self, build: Path, edition: str, as_of: date | None = None) -> None:
        self.build = build
        self.edition = edition
        self.as_of = as_of
        self._shown = Shown()
        self._news = threading.Condition()

    def shown(self) -> Shown:
        return self._shown

    def wait(self, seen: int, patience: float = PATIENCE) -> Shown:
        """What is shown, as soon as it is not what was made as number `seen`, at the latest after a while."""
        with self._news:
            self._news.wait_for(lambda: self._shown.number != seen, patience)
            return self._shown

    def make(self) -> Shown:
        """Make the site anew; where that fails, whatever the reason, the last one stays and says why."""
        old = self._shown
        number = old.number + 1
        try:
            laid = lay_out(self.build, self.edition, self.as_of, None)
        except WriteFault as fault:
            made = _kept(old, f"{str(fault).rstrip('.')}. {fault.help}".rstrip())
        except Exception as fault:  # a save may be caught half-way, and a fault of ours must not end the preview either
            made = _kept(old, f"{type(fault).__name__}: {fault}")
        else:
            files = {**laid.site, **{name: data for name, data in NOT_KEPT.items() if name in laid.site}}
            changed = _changed(old, files, number)
            made = Shown(number, files, changed, told=f"Found: {tally(laid.told.judgement.findings)}.")
        with self._news:
            self._shown = made
            self._news.notify_all()
        return made


def _kept(old: Shown, why: str) -> Shown:
    stands = "The site stands as it was before. " if old.files else ""
    return Shown(old.number + 1, old.files, old.changed, f"{stands}Not made: {why}", old.told)


def _changed(old: Shown, files: Mapping[str, bytes | Path], number: int) -> dict[str, int]:
    """The make that last changed each file, names that went included."""
    changed = dict(old.changed)
    for name in old.files.keys() | files.keys():
        if old.files.get(name) != files.get(name):
            changed[name] = number
    return changed


def counts(build: Path, path: str) -> bool:
    """Whether a file that was saved is one that a site is made from."""
    try:
        inside = Path(path).relative_to(build).parts
    except ValueError:
        return False
    return bool(inside) and is_read(inside[0]) and not any(piece.startswith(".") for piece in inside)


def watch(build: Path, saved: threading.Event, stop: threading.Event) -> None:
    """Sets `saved` after each burst of saves, until `stop`; looks round by itself where the system tells nothing.

    The system tells of a folder, not of a name: where another one, or none, has the build's name, that is told as a
    save, and what is there then is watched.
    """
    from watchfiles import Change
    from watchfiles import watch as bursts

    top = build.resolve()
    gone, known, polling = (Change.deleted, str(top)), _which(top), False
    while not stop.is_set():
        try:
            for changes in bursts(
                top,
                watch_filter=lambda change, path: (change, path) == gone or counts(top, path),
                stop_event=stop,
                debounce=SETTLED,
                force_polling=polling,
                rust_timeout=int(LOOK_UP * 1000),
                yield_on_timeout=True,
            ):
                if changes:
                    saved.set()
                if gone in changes or _which(top) != known:
                    break
        except OSError:  # the system tells nothing, or there is no such folder
            polling = _which(top) is not None
            stop.wait(LOOK_UP)
        if (there := _which(top)) != known:
            known = there
            saved.set()


def _which(folder: Path) -> tuple[int, int] | None:
    """Which folder bears that name; None where none does."""
    try:
        found = os.stat(folder)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def begin(preview: Preview, port: int | None) -> Server:
    """The server, answering from a thread of its own; on a free port where none is asked for and ours is taken."""
    for attempt in (port,) if port is not None else (PORT, 0):
        with suppress(OSError):
            server = Server(attempt, preview.shown, preview.wait)
            threading.Thread(target=server.serve_forever, name="serving", daemon=True).start()
            return server
    raise PreviewFault(f"port {port} is taken or may not be used")


def run(
    preview: Preview,
    port: int | None,
    say: Callable[[str], None],
    opened: Callable[[str], object] | None = None,
    stop: threading.Event | None = None,
) -> None:
    """Make, serve and watch until interrupted (or `stop`); `say` gets lines for the terminal, `opened` the address."""
    stop, saved = stop or threading.Event(), threading.Event()
    server = begin(preview, port)
    say(f"{server.url}  (stop with Ctrl-C)")
    threading.Thread(target=watch, args=(preview.build, saved, stop), name="watching", daemon=True).start()
    try:
        _make(preview, say)
        if opened:
            opened(server.url)
        while not stop.is_set():
            if saved.wait(LOOK_UP):
                saved.clear()
                _make(preview, say)
    except KeyboardInterrupt:
        say("ended")
    finally:
        stop.set()
        server.shutdown()
        server.server_close()


def _make(preview: Preview, say: Callable[[str], None]) -> None:
    began, first = monotonic(), not preview.shown().files
    made = preview.make()
    if made.fault:
        say(made.fault)
        return
    pages = sum(number == made.number and name.endswith(".html") for name, number in made.changed.items())
    took = monotonic() - began
    say(f"{'made' if first else 'made again'} in {took:.1f} s: {pages} pages new or changed. {made.told}")
