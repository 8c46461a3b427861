"""How places are spelt: the first spelling of a name stands for all, as `Underside` is where `underside` is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from journal.ground.names import fold

Path = tuple[str, ...]


def place_key(path: Sequence[str]) -> Path:
    """What all spellings of a path have in common."""
    return tuple(fold(piece) for piece in path)


def spelt(tree: Mapping[Path, Path], path: Path) -> Path:
    """A path as the tree (`place_key` to path) has it; as it is written where the tree has none of it.

    A last piece by itself means the only place of that name, wherever that is: `dash` for `cab / dash`.
    """
    key = place_key(path)
    if key in tree or len(key) != 1:
        return tree.get(key, path)
    named = [there for other, there in tree.items() if other[-1] == key[0]]
    return named[0] if len(named) == 1 else path
