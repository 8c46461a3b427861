"""A slip with where it stands: what the modules of this floor pass among themselves before anything is resolved."""

from __future__ import annotations

from journal.ground.records import record
from journal.model.entities import Moment
from journal.notes.records import Note, Slip
from journal.read.folders import DayFolder


@record
class Written:
    """A slip with where it stands: its day, its note, its number among all slips of the build."""

    slip: Slip
    note: Note
    when: Moment
    folder: DayFolder
    private: bool
    number: int
