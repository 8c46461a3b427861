"""Taking private names out of every text, key and id of a tree of records."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar
from unicodedata import normalize
from urllib.parse import quote

T = TypeVar("T")
Eraser = Callable[[str], str]

# Words of our own tables, never the writer's: a private name that happens to spell one must not break them.
OURS: Mapping[str, frozenset[str]] = {
    name: frozenset(words.split())
    for name, words in {
        "Said": "key kind",
        "Event": "kind",
        "Feature": "rim axis",
        "Reading": "relation method slip_kind",
        "Value": "quantity unit shown bound",
        "Number": "quantity",
        "Entry": "key",
        "Slip": "kind",
        "Split": "relation",
        "Statement": "method",
        "Photo": "sizes",
        "Settings": "units bare decimal sides language theme",
        "Finding": "word severity",
        "Record": "state word located_by",
        "Standing": "carried",
        "FacePosition": "axes",
        "Edge": "normal",
        "Residual": "unit",
        "Token": "type tag",
    }.items()
}


def eraser(anywhere: Iterable[str], whole: Iterable[str]) -> Eraser | None:
    """Names found `anywhere` go even inside longer words; `whole` ones where they stand as words of their own."""
    patterns = [_spelt(name) for name in anywhere] + [rf"(?<!\w){_spelt(name)}(?!\w)" for name in whole if name]
    if not patterns:
        return None
    private = re.compile("|".join(sorted(set(patterns), key=lambda p: (-len(p), p))), re.I)

    def erase(text: str) -> str:
        gone = "left-out" if re.fullmatch(r"[a-z0-9/._#-]+", text) else "[left out]"
        return private.sub(gone, text)

    return erase


def _spelt(name: str) -> str:
    """The ways a name may stand in a text: with any spaces, as a slug, or as a web address spells it."""
    spellings = []
    for form in ("NFC", "NFD"):
        written = normalize(form, name)
        spellings.append(r"[\s\-_]+".join(re.escape(word) for word in written.split()))
        spellings.append(re.escape(quote(written)))
    plain = normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    spellings.append("-".join(re.findall(r"[a-z0-9]+", plain)))
    return "(?:" + "|".join(spelling for spelling in dict.fromkeys(spellings) if spelling) + ")"


def scrubbed(value: T, erase: Eraser) -> T:
    """The same records with every text, key and id put through `erase`."""
    return _scrub(value, erase)  # type: ignore[no-any-return]  # a walk over anything gives back the same shape


def _scrub(value: Any, erase: Eraser) -> Any:
    """The value erased; the very same object where there was nothing to erase (equality leaves out spans)."""
    if isinstance(value, str):
        erased = erase(value)
        return value if erased == value else erased
    if isinstance(value, (tuple, list)):
        items = [_scrub(item, erase) for item in value]
        same = all(new is old for new, old in zip(items, value, strict=True))
        return value if same else type(value)(items)
    if isinstance(value, Mapping):
        return {_scrub(key, erase): _scrub(item, erase) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return _scrub_record(value, erase)
    return value


def _scrub_record(record: Any, erase: Eraser) -> Any:
    if getattr(record, "type", None) == "inline":
        record = _flattened(record, erase)
    changed, ours = {}, OURS.get(type(record).__name__, frozenset())
    for field in fields(record):
        before = getattr(record, field.name)
        if field.init and field.name not in ours:
            after = _scrub(before, erase)
            if after is not before:
                changed[field.name] = after
    return replace(record, **changed) if changed else record


def _flattened(inline: Any, erase: Eraser) -> Any:
    """A line of Markdown as plain text where a private name runs across its emphasis or its line ends."""
    children = inline.children or []
    plain = "".join("\n" if c.type in ("softbreak", "hardbreak") else c.content for c in children)
    if erase(plain) == plain or not children or "".join(erase(c.content) for c in children) == erase(plain):
        return inline
    text = next((c for c in children if c.type == "text"), None)
    if text is None:
        return inline
    return inline.copy(content=erase(plain), children=[text.copy(content=erase(plain), level=0)])
