"""A day's note as a story: CommonMark without raw HTML, pictures where the writer put them, slips in place.

Nothing a note holds can run in the page or lead it elsewhere: text is escaped, links go to http, https, mailto or an
anchor or are shown as their words, pictures are the build's own or are shown as theirs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol
from urllib.parse import unquote

from markdown_it.common.utils import escapeHtml
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markupsafe import Markup

from journal.notes.slips import markdown
from journal.pages.views import Photo
from journal.pages.words import spellings

SAFE_SCHEMES = frozenset({"http", "https", "mailto"})
UNSEEN = re.compile(r"[\x00-\x20\x7f-\xa0\u200b-\u200f\u2028-\u202e\ufeff]")


class Plates(Protocol):
    """How the theme shows what stands in a story."""

    def figure(self, photo: Photo) -> Markup: ...

    def slip(self, number: int) -> Markup: ...


@dataclass(frozen=True)
class Story:
    """What one note needs to be told.

    tokens  of the note; the fence of slip n carries meta["slip"] = n
    photo   the picture a name stands for, None where there is none of that name
    title   the page's heading: the same heading in the note is not said twice
    beside  what is to stand below a block that is no slip, by its first and last line
    """

    tokens: Sequence[Token]
    photo: Callable[[str], Photo | None]
    title: str
    beside: Callable[[int, int], Markup] = lambda first, last: Markup("")


def tell(story: Story, plates: Plates) -> Markup:
    """The note as HTML."""
    teller = _Teller(story, plates)
    return Markup(teller.whole(_without_title(story)))  # every piece of it was escaped by the teller


def pictured(story: Story) -> frozenset[str]:
    """Keys of the pictures that the note itself shows."""
    return frozenset(photo.key for photo in pictures(story.tokens, story.photo))


def pictures(tokens: Sequence[Token], photo: Callable[[str], Photo | None]) -> Iterator[Photo]:
    """The pictures that a story shows, in order."""
    children = (child for token in tokens for child in token.children or () if _is_shown(child))
    yield from filter(None, (photo(_named(child)) for child in children))


def _is_shown(token: Token) -> bool:
    """Whether it is a picture that stands for itself, outside emphasis and links."""
    return token.type == "image" and not token.level


def _named(token: Token) -> str:
    """The file of a picture, as the model found it, else as it is written."""
    return str(token.meta.get("picture") or unquote(str(token.attrs.get("src", ""))))


def _words(token: Token) -> str:
    """How the writer describes a picture."""
    return "".join(child.content for child in token.children or [])


def _described(photo: Photo, description: str) -> Photo:
    """The picture in the words that stand for it here, and what is drawn on it; a name describes nothing."""
    if not description.strip() or description.strip().casefold() in spellings(photo.key):
        return photo
    drawn = (f"{overlay.text}: {overlay.figure}" for overlay in photo.overlays if overlay.figure)
    return photo._replace(alt="; ".join((description, *drawn)))


def tell_markdown(text: str, story: Story, plates: Plates) -> Markup:
    """Markdown that stands inside a slip, by the same rules."""
    return tell(Story(tuple(markdown().parse(text)), story.photo, ""), plates)


def safe_link(href: str) -> str:
    """The address if it may be followed, else ""."""
    bare = UNSEEN.sub("", unquote(href))
    if bare.startswith("#"):
        return href.strip()
    scheme = re.match(r"([a-zA-Z][a-zA-Z0-9+.\-]*):", bare)
    return href.strip() if scheme and scheme[1].lower() in SAFE_SCHEMES else ""


def _without_title(story: Story) -> Sequence[Token]:
    """The tokens without a first heading that only repeats the page's."""
    tokens = story.tokens
    if len(tokens) > 2 and tokens[0].type == "heading_open" and _folded(tokens[1].content) == _folded(story.title):
        return tokens[3:]
    return tokens


def _folded(text: str) -> str:
    return " ".join(text.split()).casefold()


class _Teller(RendererHTML):
    """markdown-it's renderer with our own rules; each is named by the token it is for."""

    def __init__(self, story: Story, plates: Plates) -> None:
        super().__init__()
        self._story = story
        self._plates = plates
        self._links: list[bool] = []

    def whole(self, tokens: Sequence[Token]) -> str:
        options = markdown().options
        pieces: list[str] = []
        at = 0
        while at < len(tokens):
            token = tokens[at]
            if token.type == "paragraph_open" and self._pictures(tokens[at + 1]):
                pieces.append(self._paragraph(tokens[at + 1], options, hidden=token.hidden))
                at += 3
                continue
            pieces.append(self._block(tokens, at, options))
            at += 1
        return "".join(pieces)

    def _block(self, tokens: Sequence[Token], at: int, options: Any) -> str:
        token = tokens[at]
        if token.type == "inline":
            return str(self.renderInline(token.children or [], options, {}))
        rule = self.rules.get(token.type)
        return str(rule(tokens, at, options, {}) if rule else self.renderToken(tokens, at, options, {}))

    def renderToken(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        """A plain tag; a style of its own would break the page's policy, so alignment becomes a class."""
        token = tokens[idx]
        style = str(token.attrs.get("style", ""))
        if style:
            attrs = {k: v for k, v in token.attrs.items() if k != "style"}
            token = token.copy(attrs={**attrs, "class": style.replace("text-align:", "align-")})
            return str(super().renderToken([*tokens[:idx], token, *tokens[idx + 1 :]], idx, options, env))
        return str(super().renderToken(tokens, idx, options, env))

    # --- pictures

    def _pictures(self, inline: Token) -> bool:
        return any(self._photo(child) for child in inline.children or [])

    def _photo(self, token: Token) -> Photo | None:
        """The picture that an image token stands for."""
        return self._story.photo(_named(token)) if _is_shown(token) else None

    def _paragraph(self, inline: Token, options: Any, *, hidden: bool) -> str:
        """A paragraph with pictures: its words in paragraphs, its pictures between them as figures."""
        pieces: list[str] = []
        words: list[Token] = []
        for child in inline.children or []:
            photo = self._photo(child)
            if photo is None:
                words.append(child)
                continue
            figure = self._plates.figure(_described(photo, _words(child)))
            pieces += [self._words(words, options, hidden=hidden), str(figure)]
            words = []
        pieces.append(self._words(words, options, hidden=hidden))
        return "".join(pieces)

    def _words(self, tokens: list[Token], options: Any, *, hidden: bool) -> str:
        breaks = ("softbreak", "hardbreak")
        while tokens and (tokens[0].type in breaks or not _says(tokens[0])):
            tokens = tokens[1:]
        while tokens and (tokens[-1].type in breaks or not _says(tokens[-1])):
            tokens = tokens[:-1]
        if not tokens:
            return ""
        said = str(self.renderInline(tokens, options, {}))
        return said if hidden else f"<p>{said}</p>\n"

    def image(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        """A picture inside emphasis or a link, or of a name the day does not have: its words."""
        token = tokens[idx]
        words = _words(token) or _named(token)
        return f'<span class="no-picture">{escapeHtml(words)}</span>'

    # --- what a note may not do

    def html_block(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return f"<p>{escapeHtml(tokens[idx].content)}</p>\n"

    def html_inline(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return str(escapeHtml(tokens[idx].content))

    def link_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        href = safe_link(str(tokens[idx].attrs.get("href", "")))
        self._links.append(bool(href))
        outside = "" if href.startswith("#") else ' rel="noreferrer noopener external"'
        return f'<a href="{escapeHtml(href)}"{outside}>' if href else ""

    def link_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return "</a>" if self._links.pop() else ""

    # --- headings, slips, code

    def heading_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return f"<h{_level(tokens[idx])}>"

    def heading_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return f"</h{_level(tokens[idx])}>\n"

    def fence(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        slip = tokens[idx].meta.get("slip")
        if slip is not None:
            return str(self._plates.slip(slip))
        first, end = tokens[idx].map or (0, 0)
        return self.code_block(tokens, idx, options, env) + str(self._story.beside(first + 1, end))

    def code_block(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return f'<pre tabindex="0"><code>{escapeHtml(tokens[idx].content)}</code></pre>\n'


def _says(token: Token) -> bool:
    return token.type != "text" or bool(token.content.strip())


def _level(token: Token) -> int:
    """One lower than in the note: the page has its own first heading."""
    return min(6, int(token.tag[1]) + 1)
