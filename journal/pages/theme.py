"""Themes: a chain of folders, the user's first and `bench` last, and what is looked up along it.

A theme is a folder with `theme.toml`, `templates/` and `files/`. A template or file missing in one is taken from the
next, so a theme holds only what it changes. Files go out under `theme/`. A template that only adds to another theme's
names that theme: `{% extends "bench/base.html" %}`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from jinja2 import (
    BytecodeCache,
    ChoiceLoader,
    Environment,
    FileSystemLoader,
    PrefixLoader,
    StrictUndefined,
    Template,
    TemplateError,
    TemplateSyntaxError,
)
from jinja2.bccache import Bucket
from jinja2.sandbox import SandboxedEnvironment
from markupsafe import Markup, escape

from journal.ground.atomic import WriteFault, write_whole
from journal.ground.kept_work import keyed, read_kept, signed, unsigned
from journal.ground.packaged import packaged_themes
from journal.pages import words
from journal.pages.address import THEME_FILES

DEFAULT = "bench"
TICKED = re.compile(r"(``+|`[^`]*`)")


class ThemeFault(WriteFault):
    """A theme that cannot be used: what is wrong, in which of its files, on which line (0: the file as a whole)."""

    def __init__(self, message: str, file: str, line: int = 0, help: str = "") -> None:
        super().__init__(f"{file}:{line}: {message}" if line else f"{file}: {message}", help)
        self.file = file
        self.line = line


def ticks(text: str) -> Markup:
    """A sentence of ours in which `ticks` stand round what is to be written; the rest is escaped as ever.

    Several in a row are a fence, and are what is to be written.
    """
    return Markup("").join(
        Markup("<code>{}</code>").format(piece.strip("`") or piece) if n % 2 else escape(piece)
        for n, piece in enumerate(TICKED.split(text))
    )


def chain(name: str, build: Path | None = None) -> tuple[Path, ...]:
    """The folders of a theme, in the order they are looked through.

    build  its `themes` folder is searched before the packaged ones

    A theme whose toml says `over = "NAME"` is followed by that theme; `bench` closes every chain. A name that is no
    theme's is a ThemeFault.
    """
    roots = [build / "themes", packaged_themes()] if build else [packaged_themes()]
    found: list[Path] = []
    at, seen = name, set[str]()
    while at and at not in seen:
        seen.add(at)
        plain = re.fullmatch(r"\w[\w.-]*", at) is not None
        folders = [root / at for root in roots if plain and (root / at / "theme.toml").is_file()]
        if not folders:
            raise _no_theme(at, found, roots)
        for folder in folders:
            _refuse_links(folder)
        found += folders
        at = _over(folders[0])
    return tuple(found if DEFAULT in seen else [*found, packaged_themes() / DEFAULT])


def _refuse_links(folder: Path) -> None:
    """A theme of a build may be somebody else's, and all that its links lead to would be published."""
    if folder.is_relative_to(packaged_themes()):
        return
    inside = (path for name in ("templates", "files") for path in (folder / name, *sorted((folder / name).rglob("*"))))
    for path in (folder.parent, folder, folder / "theme.toml", *inside):
        if path.is_symlink():
            message = "this is a link, and a theme may hold none: it may lead out of the build"
            raise ThemeFault(message, str(path), 0, "Put the file or folder itself in its place.")


def _no_theme(name: str, found: Sequence[Path], roots: Sequence[Path]) -> ThemeFault:
    """The fault, with the file that names the theme and the themes there are."""
    named_in = str(found[-1] / "theme.toml") if found else "build.toml"
    there = sorted({path.parent.name for root in roots for path in root.glob("*/theme.toml")})
    help = f"There are: {', '.join(there)}. One of your own is a folder `themes/NAME` in the build, with a theme.toml."
    return ThemeFault(f'there is no theme "{name}"', named_in, 0, help)


def _over(folder: Path) -> str:
    """The theme that this one lies over; "" where it names none."""
    path = folder / "theme.toml"
    try:
        over = tomllib.loads(path.read_text(encoding="utf-8")).get("over", "")
        if isinstance(over, str):
            return over
        why = 'over takes the name of a theme, such as over = "bench"'
    except (OSError, ValueError, RecursionError) as fault:
        why = next((words for kind, words in UNREADABLE if isinstance(fault, kind)), "") or str(fault)
    raise ThemeFault(f"theme.toml cannot be read: {why}", str(path))


NOT_UTF8 = "it is not saved as UTF-8"
UNREADABLE: tuple[tuple[type[Exception], str], ...] = (
    (UnicodeDecodeError, NOT_UTF8),
    (tomllib.TOMLDecodeError, ""),
    (ValueError, "a number in it is far too long"),
    (RecursionError, "lists in it lie too deep"),
)


class _Compiled(BytecodeCache):
    """Compiled templates, which are code: only what is signed is looked at, before anything of it is unpacked.

    One that cannot be kept is compiled again at the next make. Those for the sandbox are others (`kind`).
    """

    def __init__(self, folder: Path, kind: str) -> None:
        self._folder, self._kind = folder, kind

    def load_bytecode(self, bucket: Bucket) -> None:
        path = self._path(bucket)
        with suppress(OSError, ValueError):
            bucket.bytecode_from_string(unsigned(path.name, read_kept(path)))

    def dump_bytecode(self, bucket: Bucket) -> None:
        path = self._path(bucket)
        with suppress(OSError):
            write_whole(path, signed(path.name, bucket.bytecode_to_string()))

    def _path(self, bucket: Bucket) -> Path:
        return self._folder / f"{keyed(f'{self._kind}|{bucket.key}')}.cache"


@dataclass(frozen=True)
class Theme:
    """The templates and files of a chain of folders; `cache` keeps compiled templates between runs."""

    folders: tuple[Path, ...]
    cache: Path | None = None

    @cached_property
    def environment(self) -> Environment:
        environment = self._kind()(
            loader=self._loader(),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
            bytecode_cache=self._bytecode(),
        )
        environment.filters |= {
            "date": words.say_date,
            "short_date": words.short_date,
            "brief_date": words.brief_date,
            "count": words.count,
            "capital": words.capital,
            "ticks": ticks,
        }
        environment.policies["json.dumps_kwargs"] = {"sort_keys": True}
        return environment

    def _kind(self) -> type[Environment]:
        """Templates that came with a build may be somebody else's: they see what they are given, and nothing behind."""
        ours = all(folder.is_relative_to(packaged_themes()) for folder in self.folders)
        return Environment if ours else SandboxedEnvironment

    def _loader(self) -> ChoiceLoader:
        """A plain name is looked up along the chain, `NAME/base.html` from the last theme of that name on."""
        places = [str(folder / "templates") for folder in self.folders]
        named = {folder.name: FileSystemLoader(places[at:]) for at, folder in enumerate(self.folders)}
        return ChoiceLoader([FileSystemLoader(places), PrefixLoader(named)])

    def _bytecode(self) -> BytecodeCache | None:
        if self.cache is None:
            return None
        folder = self.cache / "templates"
        folder.mkdir(parents=True, exist_ok=True)
        return _Compiled(folder, self._kind().__name__)

    def files(self) -> dict[str, Path]:
        """Published path to file; the first folder that has one wins. Hidden files stay at home."""
        found: dict[str, Path] = {}
        for folder in self.folders:
            for path in sorted((folder / "files").rglob("*")):
                inside = path.relative_to(folder / "files")
                if path.is_file() and not any(piece.startswith(".") for piece in inside.parts):
                    found.setdefault(THEME_FILES + inside.as_posix(), path)
        return found

    def template_files(self) -> list[Path]:
        """All that the templates of the chain say, and how the chain runs."""
        return [path for folder in self.folders for path in sorted((folder / "templates").rglob("*")) if path.is_file()]

    def module(self, template: str, context: Mapping[str, object]) -> Any:
        """A template's macros, bound to the context of a page."""
        return self._guarded(template, lambda found: found.make_module(dict(context)))

    def render(self, template: str, context: Mapping[str, object]) -> str:
        return str(self._guarded(template, lambda found: found.render(context)))

    def _guarded(self, template: str, use: Callable[[Template], object]) -> Any:
        try:
            return use(self.environment.get_template(template))
        except UnicodeDecodeError as fault:
            place = self._not_utf8()
            if not place:
                raise
            raise ThemeFault(f"this template cannot be read: {NOT_UTF8}", *place) from fault
        except TemplateSyntaxError as fault:
            raise ThemeFault(fault.message or "cannot be read", fault.filename or template, fault.lineno) from fault
        except TemplateError as fault:
            file, line = self._place(fault, template)
            raise ThemeFault(fault.message or type(fault).__name__, file, line) from fault
        except RecursionError as fault:
            file, line = self._place(fault, template)
            theme = self.folders[-1].name
            help = f'A template that adds to that of {theme} says so: {{% extends "{theme}/{Path(file).name}" %}}'
            raise ThemeFault("this template leads back to itself", file, line, help) from fault
        except (TypeError, ValueError, ArithmeticError, LookupError, AttributeError) as fault:
            file, line = self._place(fault, "")
            if not file:
                raise
            raise ThemeFault(f"{type(fault).__name__}: {fault}", file, line) from fault

    def _not_utf8(self) -> tuple[str, int] | None:
        """File and line of the first template that is not saved as UTF-8: jinja does not say which it was reading."""
        for path in (path for path in self.template_files() if not path.name.startswith(".")):
            data = path.read_bytes()
            try:
                data.decode()
            except UnicodeDecodeError as fault:
                return str(path), data.count(b"\n", 0, fault.start) + 1
        return None

    def _place(self, fault: BaseException, otherwise: str) -> tuple[str, int]:
        """File and line of the innermost template in a traceback; jinja gives its frames their template's."""
        roots: Sequence[str] = [str(folder) for folder in self.folders]
        place = (otherwise, 0)
        trace = fault.__traceback__
        while trace:
            file = trace.tb_frame.f_code.co_filename
            if file.endswith(".html") and file.startswith(tuple(roots)):
                place = (file, trace.tb_lineno)
            trace = trace.tb_next
        return place
