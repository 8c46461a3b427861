"""A site in memory, read through a browser on this machine alone.

Only names of the site are answered, so there is no folder to be walked out of; only GET and HEAD; only on the loopback
address, and only under the names this machine has there: a page of somebody else's whose name was turned to this
address (DNS rebinding) is refused, and so is any that would load a file of ours into its own.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import field
from html import escape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, quote, unquote

from journal.ground.records import record

ADDRESS = "127.0.0.1"
OWN = ".preview/"  # what the server adds to a site; no name of a site begins with a dot
OWN_FILES = {f"{OWN}{name}": Path(__file__).with_name(name) for name in ("preview.js", "preview.css")}
NEWS = f"{OWN}news"
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# HTML standard, RFC 9239, RFC 4180, RFC 4287 and so on; what is not here is only bytes.
TYPES = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "json": "application/json",
    "webmanifest": "application/manifest+json",
    "csv": "text/csv; charset=utf-8",
    "txt": "text/plain; charset=utf-8",
    "xml": "application/xml",
    "svg": "image/svg+xml",
    "jpg": "image/jpeg",
    "png": "image/png",
    "webp": "image/webp",
    "pdf": "application/pdf",
    "dxf": "image/vnd.dxf",
}
QUIET_FOR = 30  # seconds without a word after which a connection is closed
HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


@record
class Shown:
    """What there is to see at one moment.

    number   counts the makes, those that failed too
    files    name from the site's root -> bytes, or a file of the cache
    changed  the make that last changed a file, or took it away
    fault    why the newest notes are not shown; "" where they are
    told     what was found in them: "2 problems, 1 warning"
    """

    number: int = 0
    files: Mapping[str, bytes | Path] = field(default_factory=dict)
    changed: Mapping[str, int] = field(default_factory=dict)
    fault: str = ""
    told: str = ""

    def is_newer(self, page: str, seen: int) -> bool:
        """Whether a page, a file beside it or one of the theme changed after the make that it was last seen in."""
        folder = page.rpartition("/")[0] + "/"
        own = (page, folder, "theme/")
        return seen > self.number or any(n > seen for name, n in self.changed.items() if name.startswith(own))


class Server(ThreadingHTTPServer):
    """Serves what `shown` gives; `wait(seen)` gives it too, once it is newer than the make `seen` or time is up."""

    daemon_threads = True

    def __init__(self, port: int, shown: Callable[[], Shown], wait: Callable[[int], Shown]) -> None:
        super().__init__((ADDRESS, port), Handler)
        self.shown = shown
        self.wait = wait

    @property
    def hosts(self) -> frozenset[str]:
        """What a browser that came here on purpose calls us."""
        port = self.server_address[1]
        return frozenset({f"{ADDRESS}:{port}", f"localhost:{port}"})

    @property
    def url(self) -> str:
        return f"http://{ADDRESS}:{self.server_address[1]}/"

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that closes its connection is no fault to print."""


class Handler(BaseHTTPRequestHandler):
    server: Server
    server_version, sys_version = "journal", ""
    protocol_version = "HTTP/1.1"
    timeout = QUIET_FOR

    def do_GET(self) -> None:
        self._answer()

    do_HEAD = do_GET

    def _refuse_method(self) -> None:
        self.close_connection = True  # what may follow as a body is not read
        self._say(HTTPStatus.METHOD_NOT_ALLOWED, "Only reading is possible here.", {"Allow": "GET, HEAD"})

    do_POST = do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = do_CONNECT = _refuse_method

    def _answer(self) -> None:
        path, _, query = self.path.partition("?")
        if self.headers.get_all("Host", []) not in ([host] for host in self.server.hosts):
            self._say(HTTPStatus.MISDIRECTED_REQUEST, f"This preview is at {self.server.url} only.")
        elif not path.startswith("/"):
            self._say(HTTPStatus.BAD_REQUEST, "This is no address of a page.")
        elif path == f"/{NEWS}":
            self._news(parse_qs(query))
        else:
            self._file(unquote(path[1:], errors="replace"))

    def _news(self, asked: Mapping[str, list[str]]) -> None:
        """What has happened since the page that asks was loaded; waits until something has."""
        page, seen = asked.get("page", [""])[0], asked.get("seen", [""])[0]
        if not seen.isdecimal() or len(seen) > 9:
            self._say(HTTPStatus.BAD_REQUEST, "Which make was seen last is not said.")
            return
        shown = self.server.wait(int(seen))
        reload = bool(shown.files) and shown.is_newer(page, int(seen))
        news = {"number": shown.number, "fault": shown.fault, "told": shown.told, "reload": reload}
        self._send(HTTPStatus.OK, json.dumps(news).encode(), TYPES["json"])

    def _file(self, name: str) -> None:
        shown = self.server.shown()
        content = OWN_FILES.get(name) or shown.files.get(name)
        if content is not None:
            self._content(name, content, shown)
        elif (index := f"{name}/index.html".lstrip("/")) in shown.files and not name.endswith("/"):
            self._say(HTTPStatus.MOVED_PERMANENTLY, "It is in its folder.", {"Location": quote(f"/{index}")})
        elif f"{name}index.html" in shown.files:
            self._content(f"{name}index.html", shown.files[f"{name}index.html"], shown)
        elif not shown.files:
            self._page(HTTPStatus.SERVICE_UNAVAILABLE, name, _bare("Not made yet", shown.fault), shown)
        else:
            text = "There is nothing at this address."
            self._page(HTTPStatus.NOT_FOUND, name, _bare("Nothing here", text), shown)

    def _content(self, name: str, content: bytes | Path, shown: Shown) -> None:
        try:
            data = content.read_bytes() if isinstance(content, Path) else content
        except OSError:
            self._say(HTTPStatus.NOT_FOUND, "This file has gone from the cache; save a note to make it again.")
            return
        if name.endswith(".html"):
            self._page(HTTPStatus.OK, name, data, shown)
        else:
            kind = TYPES.get(name.rpartition(".")[2].lower(), "application/octet-stream")
            self._send(HTTPStatus.OK, data, kind)

    def _page(self, status: HTTPStatus, name: str, page: bytes, shown: Shown) -> None:
        self._send(status, watching(page, name, shown), TYPES["html"], {"Content-Security-Policy": POLICY})

    def _say(self, status: HTTPStatus, text: str, headers: Mapping[str, str] | None = None) -> None:
        self._send(status, text.encode(), TYPES["txt"], headers)

    def _send(self, status: HTTPStatus, data: bytes, kind: str, headers: Mapping[str, str] | None = None) -> None:
        self.send_response(status)
        for header, value in (HEADERS | {"Content-Type": kind, "Content-Length": str(len(data))}).items():
            self.send_header(header, value)
        for header, value in (headers or {}).items():
            self.send_header(header, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)

    def log_message(self, format: str, *args: object) -> None:
        """Not a word for each file that is asked for."""


def watching(page: bytes, name: str, shown: Shown) -> bytes:
    """The page with the script that asks for news of it, and what there is to tell now."""
    told = {"page": name, "number": str(shown.number), "fault": shown.fault, "told": shown.told}
    data = " ".join(f'data-{key}="{escape(value)}"' for key, value in told.items())
    put = (
        f'<link rel="stylesheet" href="/{OWN}preview.css">\n<script defer src="/{OWN}preview.js" {data}></script>\n'
    ).encode("utf-8", "replace")
    head, end, rest = page.partition(b"</head>")
    return head + put + end + rest if end else page + put


def _bare(title: str, text: str) -> bytes:
    """A page that no theme has to be able to make."""
    return (
        f'<!doctype html>\n<html lang="en">\n<head><meta charset="utf-8"><title>{escape(title)}</title></head>\n'
        f'<body><h1>{escape(title)}</h1>\n<p>{escape(text)}</p>\n'
        '<p><a href="/">To the first page</a></p></body>\n</html>\n'
    ).encode("utf-8", "replace")
