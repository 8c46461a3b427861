"""When Python looks for objects to throw away: a build is read, told and shown, and hardly anything of it goes."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

HEAP = 50_000  # objects


@contextmanager
def all_that_is_made_stays() -> Iterator[None]:
    """Python looks through all objects again and again for rings to throw away; here are none, and it costs a sixth."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def what_is_there_stays() -> Iterator[None]:
    """The same of what was made before: only what is made from now on is looked through, a heap at a time."""
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(HEAP)
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()
