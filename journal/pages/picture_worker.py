"""The inside of a worker process: one request a line, one answer a line, both JSON. Imports little, starts fast."""

from __future__ import annotations

import json
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from journal.pages.renditions import content_key, draw
from journal.read.photos import PhotoFault, header_facts

Answer = dict[str, Any]
"""Of "facts": {"facts", "content"}; of "draw": {"drawn"}; else {"fault", "lasting"} or {"unwritable", "errno"}."""

READY = b"ready\n"
# The hard stop, should an estimate be wrong or a file hostile. (A WebP's header alone may set aside 2 GB that are
# then never touched.)
HARD_LIMIT = 3_000_000_000


def serve() -> None:
    """Answer requests until the pipe closes. Whatever a library prints goes nowhere near the answers."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    _limit_memory()
    answers.write(READY)
    answers.flush()
    for line in sys.stdin.buffer:
        answers.write(json.dumps(_answer(*json.loads(line))).encode() + b"\n")
        answers.flush()


def _limit_memory() -> None:
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (HARD_LIMIT, HARD_LIMIT))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _answer(what: str, path: str, *rest: Any) -> Answer:
    try:
        return _facts(Path(path), *rest) if what == "facts" else _drawn(Path(path), *rest)
    except PhotoFault as fault:
        return {"fault": [fault.word, fault.message], "lasting": fault.lasting}
    except MemoryError:
        return {"fault": ["unreadable-photo", "it needs more memory than one picture may take"]}
    except OSError as fault:
        return {"unwritable": fault.strerror or str(fault), "errno": fault.errno}


def _facts(path: Path, hashed: bool) -> Answer:
    facts = header_facts(path)
    return {"facts": facts._asdict(), "content": content_key(path) if hashed or not facts.whole else ""}


def _drawn(path: Path, into: str | None, name: str) -> Answer:
    return {"drawn": draw(path, Path(into) if into else None, name)._asdict()}
