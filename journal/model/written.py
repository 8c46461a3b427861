"""A slip with where it stands: what the modules of this floor pass among themselves before anything is resolved."""

from __future__ import annotations

from dataclasses import dataclass

from journal.model.entities import Moment
from journal.notes.records import Note, Slip
from journal.read.folders import DayFolder


@dataclass(frozen=True, slots=True)
class Written:
    """A slip with where it stands: its day, its note, its number among all slips of the build."""

    slip: Slip
    note: Note
    when: Moment
    folder: DayFolder
    private: bool
    number: int
