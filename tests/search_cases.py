"""The table of cases in tests/cases/search.md, read for both searches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from journal.measure.value import ValueFault, read_value
from journal.pages.search import Row

CASES = Path(__file__).parent / "cases" / "search.md"


@dataclass(frozen=True)
class Case:
    """A line of the second table."""

    line: int
    query: str
    facets: dict[str, str]
    found: str
    near: tuple[str, ...]
    why: str

    def __str__(self) -> str:
        return f"search.md:{self.line}: {self.query} {self.facets or ''}"


def _tables() -> list[list[tuple[int, dict[str, str]]]]:
    tables: list[list[tuple[int, dict[str, str]]]] = []
    names: list[str] = []
    for number, line in enumerate(CASES.read_text("utf-8").splitlines(), 1):
        if not line.startswith("|"):
            names = []
            continue
        cells = [cell.strip() for cell in line.strip().removeprefix("|").removesuffix("|").split("|")]
        if not names:
            names = cells
            tables.append([])
        elif not line.startswith("|---"):
            assert len(cells) == len(names), f"search.md:{number}: {len(names)} columns"
            tables[-1].append((number, dict(zip(names, cells, strict=True))))
    return tables


def _row(cells: dict[str, str]) -> Row:
    try:
        numbers = read_value(cells["text"]).numbers if cells["kind"] == "reading" else ()
    except ValueFault:
        numbers = ()
    return Row(
        kind=cells["kind"],  # type: ignore[arg-type]
        title=cells["title"],
        url=cells["key"],
        text=cells["text"],
        note=cells["note"],
        gone=cells["gone"],
        also=tuple(word.strip() for word in cells["also"].split(";") if word.strip()),
        group=cells["group"],
        place=tuple(cells["place"].split(" / ")) if cells["place"] else (),
        side=cells["side"],
        state=cells["state"],
        date=date.fromisoformat(cells["date"]) if cells["date"] else None,
        numbers=numbers,
    )


def rows() -> list[Row]:
    return [_row(cells) for _, cells in _tables()[0]]


def _facets(words: str) -> Iterator[tuple[str, str]]:
    """`side=left place=underside / left sill`."""
    pieces = words.split("=")
    for n, piece in enumerate(pieces[1:]):
        name = pieces[n].split()[-1]
        yield name, piece if n == len(pieces) - 2 else piece.rsplit(" ", 1)[0]


def cases() -> list[Case]:
    made = []
    for number, cells in _tables()[1]:
        found = cells["found"]
        near = tuple(found.removeprefix("near: ").split("; ")) if found.startswith("near: ") else ()
        facets = dict(_facets(cells["facets"]))
        made.append(Case(number, cells["query"], facets, "" if near else found, near, cells["why"]))
    return made


def written(groups: Sequence[tuple[str, Sequence[str]]]) -> str:
    """Groups as the table writes them, from (key of the head, keys found, the head's too if it was)."""
    said = []
    for head, found in groups:
        others = " ".join(key for key in found if key != head)
        said.append(head + ("" if head in found else "*") + (f" ({others})" if others else ""))
    return "; ".join(said)


def as_json(case: Case) -> list[Any]:
    return [case.query, case.facets]
