"""A note as a story: what it may do, and what stays text."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import pytest
from markupsafe import Markup

from journal.notes.slips import markdown
from journal.pages.story import Story, safe_link, tell, tell_markdown
from journal.pages.views import Photo

OUTSIDE = 'rel="noreferrer noopener external"'


def photo(name: str) -> Photo:
    return Photo(
        key=f"2026-03-07/{name}", name=name, url="", anchor="photo-1", alt="", caption="", day=date(2026, 3, 7),
        src="p.jpg", sizes=(), large="p.jpg", width=4, height=3, parts=(),
    )  # fmt: skip


@dataclass
class Plates:
    told: list[int] = field(default_factory=list)

    def figure(self, photo: Photo) -> Markup:
        return Markup("[{}]").format(photo.name)

    def slip(self, number: int) -> Markup:
        return Markup("(slip {})").format(number)


def story(text: str, title: str = "") -> str:
    tokens = markdown().parse(text)
    number = 0
    for token in tokens:
        if token.type == "fence" and token.info.startswith("removed"):
            token.meta["slip"] = number
            number += 1
    return str(tell(Story(tokens, lambda name: photo(name) if name == "a.jpg" else None, title), Plates()))


@pytest.mark.parametrize(
    ("text", "html"),
    [
        ("words ![x](a.jpg) more", "<p>words </p>\n[a.jpg]<p> more</p>\n"),
        ("![x](a.jpg)", "[a.jpg]"),
        ("![x](a.jpg)\n![y](a.jpg)", "[a.jpg][a.jpg]"),
        ("![a door](b.jpg)", '<p><span class="no-picture">a door</span></p>\n'),
        ("**![a door](a.jpg)**", '<p><strong><span class="no-picture">a door</span></strong></p>\n'),
        ("- ![x](a.jpg) words", "<ul>\n<li>[a.jpg] words</li>\n</ul>\n"),
        ("# One\n\n###### Six", "<h2>One</h2>\n<h6>Six</h6>\n"),
        ("```removed a\nx\n```", "(slip 0)"),
        ("> ```removed a\n> x\n> ```", "<blockquote>\n(slip 0)</blockquote>\n"),
        ("```\n<b>\n```", '<pre tabindex="0"><code>&lt;b&gt;\n</code></pre>\n'),
        ("<b onclick=x>hi</b>", "<p>&lt;b onclick=x&gt;hi&lt;/b&gt;</p>\n"),
        ("[x](javascript:alert(1))", "<p>[x](javascript:alert(1))</p>\n"),
        ("[x](#there)", '<p><a href="#there">x</a></p>\n'),
        ("[x](../up.html)", "<p>x</p>\n"),
        ("[x](https://a.b/?c=d&e)", f'<p><a href="https://a.b/?c=d&amp;e" {OUTSIDE}>x</a></p>\n'),
        ("[x [y](ftp://a) z](https://a.b)", '<p>[x y z](https://a.b)</p>\n'),
    ],
)
def test_what_becomes_of_it(text: str, html: str) -> None:
    assert story(text) == html


def test_a_table_inside_a_slip_is_one_as_in_the_story() -> None:
    table = "| hole | mm |\n| --- | ---: |\n| front | 12 |\n"
    whole = Story((), lambda name: None, "")
    assert str(tell_markdown(table, whole, Plates())) == story(table)
    assert '<td class="align-right">12</td>' in story(table)


def test_a_heading_that_repeats_the_pages_own_is_not_said_twice() -> None:
    assert story("# Left  Sill\n\nGone.", title="left sill") == "<p>Gone.</p>\n"
    assert story("# Right sill\n\nGone.", title="left sill") == "<h2>Right sill</h2>\n<p>Gone.</p>\n"


@pytest.mark.parametrize(
    "href",
    [
        "javascript:alert(1)", "JAVASCRIPT:alert(1)", " java\tscript:alert(1)", "java\nscript:alert(1)",
        "\x01javascript:alert(1)", "javascript%3Aalert(1)", "%6aavascript:alert(1)", "data:text/html,x", "vbscript:x",
        "file:///etc/passwd", "blob:x", "//evil.example", "/root", "up.html", "", "\u200bjavascript:x", "filesystem:x",
        "view-source:x", "jar:x", "about:blank",
    ],
)  # fmt: skip
def test_links_that_may_not_be_followed(href: str) -> None:
    assert safe_link(href) == ""


@pytest.mark.parametrize("href", ["http://a.b", "https://a.b/c?d#e", "mailto:a@b.c", "#x", "HTTPS://A.B"])
def test_links_that_may(href: str) -> None:
    assert safe_link(href) == href
