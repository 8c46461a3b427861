"""Taking private names out of every text, key and id of a tree of records."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar
from unicodedata import category, normalize
from urllib.parse import unquote

from journal.ground.names import fold, slug

T = TypeVar("T")
Spans = Sequence[tuple[int, int, str]]  # from, to, what is said instead

GONE = "[left out]"

# Words of our own tables, never the writer's: a private name that happens to spell one must not break them.
OURS: Mapping[str, frozenset[str]] = {
    name: frozenset(words.split())
    for name, words in {
        "Said": "key kind",
        "Event": "kind",
        "Feature": "rim axis",
        "Reading": "relation method slip_kind",
        "Value": "quantity unit shown bound spread",
        "Number": "quantity",
        "Entry": "key",
        "Sentence": "key",
        "Slip": "kind",
        "Split": "relation",
        "Statement": "method",
        "Photo": "sizes",
        "Settings": "units bare decimal sides language theme paper",
        "TagSheet": "paper",
        "Finding": "word severity",
        "Record": "state word located_by",
        "Standing": "carried",
        "FacePosition": "axes",
        "Edge": "normal",
        "Residual": "unit",
        "Token": "type tag",
    }.items()
}

# A letter, or one that is spelt as a web address spells it (UTF-8, percent-encoded: RFC 3986).
LETTER = re.compile(
    r"%[0-7][0-9a-f]|%[cd][0-9a-f]%[89ab][0-9a-f]|%e[0-9a-f](?:%[89ab][0-9a-f]){2}|%f[0-7](?:%[89ab][0-9a-f]){3}|.",
    re.I | re.S,
)
FEWEST_LETTERS = 3  # of a name that is told without the signs at its ends: "Jr." is, "C++" is not
UNSEEN = ("Mn", "Me", "Cf", "Cc", "Cs")  # accents that stand apart, soft hyphens, signs of no width


@dataclass(frozen=True)
class Eraser:
    """Takes private names out of texts. Capitals, accents and signs that cannot be seen do not count.

    apart  what is said for names that are alike without the private ones in them, by the group that finds each
    """

    private: re.Pattern[str]
    apart: Mapping[str, str] = field(default_factory=dict)

    def __call__(self, text: str) -> str:
        spans = self._spans(text)
        return _without(text, spans) if spans else text

    def pieces(self, texts: Sequence[str]) -> list[str]:
        """The texts without the names in them, also those that run on from one text into the next."""
        whole = "\n".join(texts)
        spans = self._spans(whole)
        if not spans:
            return list(texts)
        erased, begin = [], 0
        for text in texts:
            here = [_clipped(span, begin, begin + len(text)) for span in spans]
            erased.append(_without(text, [span for span in here if span[0] < span[1]]))
            begin += len(text) + 1
        return erased

    def _spans(self, text: str) -> Spans:
        """Where in a text private names stand."""
        if text.isascii() and "%" not in text and text.replace("\n", " ").isprintable():
            return self._found(text.lower())
        letters = LETTER.findall(text)
        plain = [_plain(letter) for letter in letters]
        found = self._found("".join(plain))
        return _in_letters(found, letters, plain) if found else []

    def _found(self, text: str) -> Spans:
        return [(*m.span(), self.apart.get(m.lastgroup or "", GONE)) for m in self.private.finditer(text)]


def _in_letters(spans: Spans, letters: Sequence[str], plain: Sequence[str]) -> Spans:
    """Spans of the plain text as those of the text itself, with the signs that cannot be seen after a letter."""
    starts, at = [], 0
    for letter, seen in zip(letters, plain, strict=True):
        starts += [at] * len(seen)
        at += len(letter)
    starts.append(at)
    return [(starts[begin], starts[bisect_right(starts, starts[end - 1])], said) for begin, end, said in spans]


def _clipped(span: tuple[int, int, str], begin: int, end: int) -> tuple[int, int, str]:
    """What lies of a span in a piece of the text; a name in pieces is told from no other."""
    first, last, said = span
    whole = begin <= first and last <= end
    return max(first, begin) - begin, min(last, end) - begin, said if whole else GONE


def _without(text: str, spans: Spans) -> str:
    return _with(text, spans, slug if re.fullmatch(r"[a-z0-9/._#-]+", text) else str)


def _with(text: str, spans: Spans, spelt: Callable[[str], str]) -> str:
    for start, end, said in reversed(spans):
        text = text[:start] + spelt(said) + text[end:]
    return text


@lru_cache(maxsize=1 << 12)
def _plain(letter: str) -> str:
    """A letter as it is compared: small and without accents; "" for a sign that cannot be seen."""
    written = normalize("NFKD", unquote(letter) if len(letter) > 1 else letter)
    return "".join(" " if sign.isspace() else fold(sign) for sign in written if _is_seen(sign))


def _is_seen(sign: str) -> bool:
    return sign.isspace() or category(sign) not in UNSEEN


def eraser(anywhere: Iterable[str], whole: Iterable[str], things: Iterable[str] = ()) -> Eraser | None:
    """Names found `anywhere` go even inside longer words; `whole` ones where they stand as words of their own.

    things  what stays is called so: where two are alike without the private names in them, all but the first get a
            number, in the order they come, or they would be taken for one
    """
    patterns = [pattern for name in anywhere for pattern in _anywhere(_parted(name))]
    patterns += [_whole(parted) for name in whole if any(parted := _parted(name))]
    if not patterns:
        return None
    ordered = sorted(set(patterns), key=lambda pattern: (-len(pattern), pattern))
    numbered = _numbered(things, Eraser(re.compile("|".join(ordered))))
    apart = {f"n{number}": said for number, said in enumerate(numbered.values())}
    first = [f"(?P<{group}>{name})" for group, name in zip(apart, numbered, strict=True)]
    return Eraser(re.compile("|".join([*first, *ordered])), apart)


def _numbered(things: Iterable[str], erase: Eraser) -> dict[str, str]:
    """Patterns of names, longest first, that are no longer their own with the private names out, and what is said."""
    left = {name: _with(name, erase._spans(name), str) for name in dict.fromkeys(things)}
    taken: dict[str, str] = {}
    found = {}
    for name, text in left.items():
        known, number, said = fold(name), 1, text
        while taken.setdefault(fold(said), known) != known:
            number += 1
            said = text.replace(GONE, f"[left out {number}]", 1)
        if said != text:
            found[_whole(_parted(name))] = said
    return dict(sorted(found.items(), key=lambda pair: (-len(pair[0]), pair[0])))


def _whole(parted: Sequence[str]) -> str:
    return rf"(?<!\w){_spelt(parted, _gap_in_whole)}(?!\w)"


def _parted(name: str) -> list[str]:
    """A name as it is compared: a word, the signs after it, a word, and so on; "" for a word where signs end it."""
    return re.split(r"([\W_]+)", "".join(map(_plain, name)).strip())


def _anywhere(parted: Sequence[str]) -> Iterator[str]:
    """With any signs between the words; written as one word only where no letter stands beside it."""
    if any(parted):
        yield _spelt(parted, lambda gap: r"[\W_]+" if " " in gap else r"[\W_]*")
    if len(words := [word for word in parted[::2] if word]) > 1:
        yield rf"(?<![^\W\d_]){''.join(words)}(?![^\W\d_])"


def _gap_in_whole(gap: str) -> str:
    """A title's words stand in a sentence too: a full stop between them is none of the title's."""
    return r"[\s\-_]+" if set(gap) <= set(" -_") else r"[\W_]+"


def _spelt(parted: Sequence[str], between: Callable[[str], str]) -> str:
    """The words of a name with what may stand between them. Signs at its ends count where little else tells it."""
    outer = {1} if not parted[0] else set[int]()
    outer |= {len(parted) - 2} if not parted[-1] else set()
    few = sum(map(len, parted[::2])) < FEWEST_LETTERS
    pieces = []
    for n, piece in enumerate(parted):
        if n % 2 == 0 or (n in outer and few):
            pieces.append(re.escape(piece))
        elif n not in outer:
            pieces.append(between(piece))
    return "".join(pieces)


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
        return value if _same(items, value) else type(value)(items)
    if isinstance(value, Mapping):
        return {_scrub(key, erase): _scrub(item, erase) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return _scrub_record(value, erase)
    return value


def _scrub_record(record: Any, erase: Eraser) -> Any:
    name = type(record).__name__
    record = IN_ONE[name](record, erase) if name in IN_ONE else record
    changed, ours, rows = {}, OURS.get(name, frozenset()), ROWS.get(name)
    for part in fields(record):
        before = getattr(record, part.name)
        if part.init and part.name not in ours:
            after = _rows(before, erase) if part.name == rows else _scrub(before, erase)
            if after is not before:
                changed[part.name] = after
    return replace(record, **changed) if changed else record


# --- names that run from one piece into the next


def _rows(texts: tuple[str, ...], erase: Eraser) -> tuple[str, ...]:
    erased = tuple(erase.pieces(texts))
    return texts if erased == texts else erased


def _day_in_one(day: Any, erase: Eraser) -> Any:
    """A day whose notes tell no name across cells, items or lines: the search has its whole story in one."""
    inline = [token for note in day.notes for token in note.note.tokens if token.type == "inline"]
    plain = ["".join("\n" if c.type in BREAKS else c.content for c in token.children or ()) for token in inline]
    changed = {
        id(token): _flattened(token, erased)
        for token, text, erased in zip(inline, plain, erase.pieces(plain), strict=True)
        if erased not in (text, "".join(erase(c.content) for c in token.children or ()))
    }
    return replace(day, notes=tuple(_with_tokens(note, changed) for note in day.notes)) if changed else day


def _with_tokens(note: Any, changed: Mapping[int, Any]) -> Any:
    tokens = tuple(changed.get(id(token), token) for token in note.note.tokens)
    return replace(note, note=replace(note.note, tokens=tokens))


def _flattened(inline: Any, text: str) -> Any:
    """A line of Markdown as plain text: a private name ran across its emphasis or its ends."""
    only = inline.children[0].copy(type="text", tag="", attrs={}, markup="", children=None, level=0, content=text)
    return inline.copy(content=text, children=[only])


def _slip_in_one(slip: Any, erase: Eraser) -> Any:
    """A slip whose keys and sentences tell no name across its lines."""
    lines = sorted((*slip.entries, *slip.sentences), key=lambda line: line.span.line)
    told = _lines_in_one(lines, erase)
    if _same(told, lines):
        return slip
    new = {id(line): one for line, one in zip(lines, told, strict=True)}
    entries, sentences = (tuple(new[id(line)] for line in row) for row in (slip.entries, slip.sentences))
    return replace(slip, entries=entries, sentences=sentences)


def _part_in_one(part: Any, erase: Eraser) -> Any:
    """A part of which nothing tells a name across what was said of it, one after another or under one key."""
    said = _lines_in_one(part.said, erase)
    for key in {one.key for one in said}:
        at = [n for n, one in enumerate(said) if one.key == key]
        for n, one in zip(at, _lines_in_one([said[n] for n in at], erase), strict=True):
            said[n] = one
    return part if _same(said, part.said) else replace(part, said=tuple(said))


def _same(one: Sequence[Any], other: Sequence[Any]) -> bool:
    return all(new is old for new, old in zip(one, other, strict=True))


def _lines_in_one(lines: Sequence[Any], erase: Eraser) -> list[Any]:
    """Entries, sentences or what was said, without the names that run on from one into the next."""
    texts = [line.value if hasattr(line, "value") else line.text for line in lines]
    erased = erase.pieces(texts)
    if erased == texts:
        return list(lines)
    return [
        line if new == erase(text) else _said_anew(line, new)
        for line, text, new in zip(lines, texts, erased, strict=True)
    ]


def _said_anew(line: Any, text: str) -> Any:
    items = {"items": (text,)} if hasattr(line, "items") else {}
    return replace(line, **{"value" if hasattr(line, "value") else "text": text}, **items)


BREAKS = frozenset({"softbreak", "hardbreak"})
# Records whose pieces are shown or searched in one, and fields that are such pieces.
IN_ONE: Mapping[str, Callable[[Any, Eraser], Any]] = {"Day": _day_in_one, "Slip": _slip_in_one, "Part": _part_in_one}
ROWS: Mapping[str, str] = {"Said": "items", "Entry": "items", "Part": "also_called", "Job": "notes"}
