"""The README's reference of kinds, keys and words of a statement, made from the tables that the parser reads."""

from __future__ import annotations

from collections.abc import Iterable

from journal.notes.kinds import COMMON, KINDS, Key, Kind
from journal.notes.words import CONTACTS, DIMENSION_SPELLINGS, DIMENSIONS, RELATIONS

BEGIN = "<!-- reference -->"
END = "<!-- /reference -->"

_SHAPES = {
    "words": "words",
    "names": "names of parts",
    "list": "a list",
    "photos": "names of pictures",
    "date": "a date or words",
    "yes": "`yes` or `no`",
    "count": "a number",
    "line": "two points and words",
}
_ABOUT = {
    "part": "a part",
    "photo": "a picture",
    "job": "a job",
    "order": "a thing ordered",
    "none": "nothing",
}


def reference() -> str:
    """Markdown: the kinds, their keys, and the words of a statement."""
    sections = [
        _kinds(),
        "Keys that every slip but `private` takes:",
        _keys(COMMON),
        *(block for kind in KINDS if kind.keys for block in (f"**{kind.name}**: {kind.says}", _keys(kind.keys))),
        "Words of a statement, and what else is understood as them:",
        _words(),
    ]
    return "\n\n".join(sections)


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in line)} |" for line in lines)


def _kinds() -> str:
    return _table(("slip", "says", "its first line names"), ((_code(k.name), k.says, _about(k)) for k in KINDS))


def _about(kind: Kind) -> str:
    return _ABOUT[kind.about]


def _keys(keys: Iterable[Key]) -> str:
    return _table(("key", "holds", "says"), ((_code(key.name), _holds(key), key.says) for key in keys))


def _holds(key: Key) -> str:
    shape = " or ".join(_code(choice) for choice in key.choices) if key.choices else _SHAPES[key.shape]
    marks = [mark for mark, true in (("may repeat", key.adds_up), ("never public", key.private)) if true]
    return ", ".join([shape, *marks])


def _words() -> str:
    rows = [
        *(("relation", name, phrases) for name, phrases in RELATIONS.items()),
        *(("contact", name, phrases) for name, phrases in CONTACTS.items()),
        *(("dimension", name, DIMENSION_SPELLINGS.get(name, ())) for name in DIMENSIONS),
    ]
    return _table(("word", "is a", "also"), ((_code(name), sort, _others(name, also)) for sort, name, also in rows))


def _others(name: str, phrases: Iterable[str]) -> str:
    return ", ".join(_code(phrase) for phrase in phrases if phrase != name)


def _code(text: str) -> str:
    return f"`{text}`"
