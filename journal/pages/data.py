"""The machine-readable files: measurements, parts, photos. Other programs rely on their fields; change none."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable
from fractions import Fraction

from journal.measure.value import Value
from journal.model.entities import Part, Photo, Reading
from journal.pages import address, words
from journal.pages.viewer import Viewer

SIGNED = re.compile(r"[-+]\d[\d .,/]*[\w°%·]{0,8}").fullmatch  # -2, +5 °C, -1 1/2 in
FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what makes a spreadsheet take a cell for a formula


def files(viewer: Viewer) -> dict[str, bytes]:
    """Path from the site's root to content."""
    readings = sorted(viewer.book.readings.values(), key=lambda r: (r.span.file, r.span.line, r.id))
    rows = [measurement(viewer, reading) for reading in readings]
    return {
        "data/measurements.json": _json("measurements", rows),
        "data/measurements.csv": _csv(rows),
        "data/parts.json": _json("parts", [part(viewer, p) for p in viewer.book.parts.values()]),
        "data/photos.json": _json("photos", [photo(viewer, p) for p in viewer.book.photos.values()]),
    }


def measurement(viewer: Viewer, reading: Reading) -> dict[str, object]:
    """A reading. `mm` fields for lengths only; `value`, `low`, `high` in the base unit `unit`; null: does not apply."""
    standing = viewer.standing(reading.id)
    middle, low, high = _interval(reading.value)
    length = reading.value is not None and reading.value.quantity == "length"
    return {
        "id": reading.id,
        "part": reading.part,
        "host": reading.host,
        "reference_part": reading.reference.owner if reading.reference else None,
        "place": words.path(viewer.place_of(reading)) or None,
        "subject": (reading.subject.name if reading.subject else "") or None,
        "relation": reading.relation or None,
        "reference": (reading.reference.name if reading.reference else "") or None,
        "dimension": reading.dimension or None,
        "own": reading.own,
        "counts": standing.counts,
        "carried": standing.carried or None,
        "written": reading.written or None,
        "mm": middle if length else None,
        "low_mm": low if length else None,
        "high_mm": high if length else None,
        "value": middle,
        "low": low,
        "high": high,
        "unit": (reading.value.unit if reading.value else "") or None,
        "method": reading.method,
        "date": reading.when.day.isoformat(),
        "file": reading.span.file,
        "line": reading.span.line if viewer.shop else None,  # gaps would tell how long private slips are
        "photos": viewer.seen(reading.photos),
        "url": address.reading(reading.part, reading.id),
    }


def _interval(value: Value | None) -> tuple[float | None, float | None, float | None]:
    """Middle, low and high in the base unit; for a one-sided value its number, and null at the open end."""
    if value is None:
        return None, None, None
    middle = _number(value.number)
    if value.low is not None and value.high is not None and not value.bound:
        (a, b), (c, d) = value.low.as_integer_ratio(), value.high.as_integer_ratio()
        middle = round((a * d + c * b) / (2 * b * d), 9)  # (low + high) / 2, of which no reading asks for lowest terms
    return middle, _number(value.low), _number(value.high)


def _number(exact: Fraction | None) -> float | None:
    """The last step: a decimal number, rounded where no tape or scale can follow."""
    return None if exact is None else round(exact.numerator / exact.denominator, 9)


def part(viewer: Viewer, entity: Part) -> dict[str, object]:
    """A part; `record`, `free` and `next` speak of parts that are off and are to come back."""
    record = viewer.record(entity.id)
    judged = viewer.judgement.records.get(entity.id)
    removed_on = viewer.removed_on(entity.id)
    return {
        "id": entity.id,
        "name": entity.name,
        "side": entity.side or None,
        "host": entity.host,
        "place": words.path(viewer.book.place_of(entity.id)) or None,
        "state": viewer.book.state(entity.id),
        "located_by": judged.located_by if judged else None,
        "record": record.word if record else None,
        "free": list(record.free) if record else [],
        "next": list(record.next) if record else [],
        "removed_on": removed_on.isoformat() if removed_on else None,
        "url": address.part(entity.id),
    }


def photo(viewer: Viewer, entity: Photo) -> dict[str, object]:
    """A picture; `pictures` are its published sizes, none where it could not be read."""
    return {
        "file": entity.key,
        "date": entity.day.isoformat(),
        "taken": entity.taken,
        "width": entity.width,
        "height": entity.height,
        "pictures": [size.path for size in entity.sizes],
        "parts": list(entity.shows),
        "url": viewer.photo_url(entity.key),
    }


def _json(name: str, rows: Iterable[dict[str, object]]) -> bytes:
    """One row a line, so that two versions can be compared."""
    lines = ",\n".join(map(json.JSONEncoder(ensure_ascii=False).encode, rows))
    text = f'{{"{name}": [\n{lines}\n]}}\n' if lines else f'{{"{name}": []}}\n'
    return text.encode("utf-8", "replace")


def _csv(rows: list[dict[str, object]]) -> bytes:
    """The columns of the JSON; lists joined with `; `, nothing for null."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(rows[0] if rows else measurement_columns())
    writer.writerows([_cell(cell) for cell in row.values()] for row in rows)
    return out.getvalue().encode("utf-8", "replace")


def measurement_columns() -> tuple[str, ...]:
    return ("id", "part", "host", "reference_part", "place", "subject", "relation", "reference", "dimension", "own",
            "counts", "carried", "written", "mm", "low_mm", "high_mm", "value", "low", "high", "unit", "method",
            "date", "file", "line", "photos", "url")  # fmt: skip


def _cell(value: object) -> object:
    if isinstance(value, str):
        return _plain(value)
    if value is None or (isinstance(value, int) and not isinstance(value, bool)):
        return value
    if isinstance(value, float):
        return f"{value:.9f}".rstrip("0").rstrip(".")
    if isinstance(value, list):
        return "; ".join(value)
    return "true" if value else "false"


def _plain(text: str) -> str:
    """Text that a spreadsheet would run is given an apostrophe in front; a number with a sign is left alone."""
    return "'" + text if text.startswith(FORMULA) and not SIGNED(text) else text
