"""The preview without a browser: who is answered, what is given out, what a save does, what a fault leaves standing."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from journal.preview import Preview, PreviewFault, begin, counts, run
from journal.serving import OWN_FILES, Server, Shown
from tests.builds import TODAY, write_build

DAY = "2026-03-21 left sill/note.md"
NOTE = "# Guides off\n\nWords.\n\n```removed guide bracket, left\nfrom: sill, left\nheld by: 2 spot welds\n```\n"
OTHER = "2026-03-28 wet/note.md"
OLD_TITLE = 'title = "Truck"\n'


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A preview that is only asked."""
    folder = tmp_path_factory.mktemp("served")
    (folder / "secret.txt").write_text("a secret")
    files = {"build.toml": OLD_TITLE, DAY: NOTE, "2026-03-21 left sill/IMG_1.jpg": "a picture"}
    preview = Preview(write_build(folder / "truck", files), "shop", TODAY)
    assert preview.make().fault == ""
    server = begin(preview, 0)
    yield server
    server.shutdown()
    server.server_close()


def ask(server: Server, path: str, method: str = "GET", **headers: str) -> tuple[int, dict[str, str], bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_address[1], timeout=30)
    connection.putrequest(method, path, skip_host="Host" in headers, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name, value)
    connection.endheaders()
    answer = connection.getresponse()
    got = answer.status, dict(answer.getheaders()), answer.read()
    connection.close()
    return got


def raw(server: Server, request: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", server.server_address[1]), timeout=30) as line:
        line.sendall(request)
        line.shutdown(socket.SHUT_WR)
        return line.makefile("rb").read()


# --- who is answered, and what is given out


def test_it_listens_on_this_machine_only(served: Server) -> None:
    assert served.socket.getsockname()[0] == "127.0.0.1"


def test_pages_pictures_and_data_are_given_out_with_their_kind(served: Server) -> None:
    for path, kind in (
        ("/index.html", "text/html; charset=utf-8"),
        ("/theme/bench.css", "text/css; charset=utf-8"),
        ("/theme/search.js", "text/javascript; charset=utf-8"),
        ("/data/parts.json", "application/json"),
        ("/theme/mark.svg", "image/svg+xml"),
    ):
        status, headers, body = ask(served, path)
        assert (status, headers["Content-Type"]) == (200, kind), path
        assert int(headers["Content-Length"]) == len(body) > 0
    picture = next(name for name in served.shown().files if name.startswith("photos/"))
    status, headers, body = ask(served, f"/{picture}")
    assert (status, headers["Content-Type"], body[:2]) == (200, "image/jpeg", b"\xff\xd8")


def test_folders_lead_to_their_page(served: Server) -> None:
    for path, to in (("/", "/index.html"), ("/parts", "/parts/index.html"), ("/days/2026-03-21", None)):
        status, headers, _ = ask(served, path)
        assert status == 301
        assert headers["Location"] == (to or f"{path}/index.html")
    assert ask(served, "/parts/")[0] == 200


def test_every_page_gets_the_script_and_no_looser_policy(served: Server) -> None:
    _, headers, body = ask(served, "/parts/index.html?x=1")
    assert b'<script defer src="/.preview/preview.js" data-page="parts/index.html" data-number="1"' in body
    assert b"'unsafe-inline'" not in body
    assert b"http-equiv=\"Content-Security-Policy\"" in body
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    for name in OWN_FILES:
        assert ask(served, f"/{name}")[0] == 200


def test_the_site_itself_has_no_trace_of_the_preview(served: Server) -> None:
    pages = [data for name, data in served.shown().files.items() if name.endswith(".html")]
    assert pages
    assert not any(b".preview" in page for page in pages if isinstance(page, bytes))


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "localhost", "127.0.0.1:1", "127.0.0.1.evil.example:{port}",
     "localhost.:{port}", "[::1]:{port}", "0.0.0.0:{port}", "127.0.0.1:{port}@evil.example", ""],
)  # fmt: skip
@pytest.mark.parametrize("path", ["/index.html", "/.preview/news?page=&seen=0", "/photos/", "/"])
def test_another_name_is_not_answered(served: Server, host: str, path: str) -> None:
    """DNS rebinding: a page whose name was turned to this address reads nothing."""
    status, _, body = ask(served, path, Host=host.format(port=served.server_address[1]))
    assert status == 421
    assert b"Truck" not in body


def test_both_of_its_own_names_are_answered(served: Server) -> None:
    for name in ("127.0.0.1", "localhost"):
        assert ask(served, "/index.html", Host=f"{name}:{served.server_address[1]}")[0] == 200


@pytest.mark.parametrize(
    "request_head",
    ["GET /index.html", "GET /index.html HTTP/1.0\r\n", "GET /index.html HTTP/1.1\r\n",
     "GET /index.html HTTP/1.1\r\nHost: {here}\r\nHost: evil.example\r\n",
     "GET http://evil.example/index.html HTTP/1.1\r\nHost: {here}\r\n",
     "GET index.html HTTP/1.1\r\nHost: {here}\r\n",
     "GET * HTTP/1.1\r\nHost: {here}\r\n"],
)  # fmt: skip
def test_a_request_that_is_not_as_a_browser_makes_it_gets_nothing(served: Server, request_head: str) -> None:
    here = f"127.0.0.1:{served.server_address[1]}"
    answer = raw(served, (request_head.format(here=here) + "\r\n").encode())
    assert b"Truck" not in answer
    assert b" 200 " not in answer.split(b"\r\n")[0]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"])
def test_only_reading_is_possible(served: Server, method: str) -> None:
    status, headers, body = ask(served, "/index.html", method)
    assert status in (405, 501)
    assert status == 501 or headers["Allow"] == "GET, HEAD"
    assert b"Truck" not in body


def test_head_gives_the_head_alone(served: Server) -> None:
    status, headers, body = ask(served, "/index.html", "HEAD")
    assert (status, body) == (200, b"")
    assert int(headers["Content-Length"]) == len(ask(served, "/index.html")[2])


@pytest.mark.parametrize(
    "path",
    ["/../secret.txt", "/../../secret.txt", "/%2e%2e/secret.txt", "/..%2fsecret.txt", "/%2e%2e%2f%2e%2e%2fsecret.txt",
     "/..\\secret.txt", "/..%5csecret.txt", "/....//secret.txt", "/parts/../../secret.txt", "//secret.txt",
     "/theme/../../secret.txt", "/%252e%252e/secret.txt", "/..%c0%afsecret.txt", "/secret.txt%00.html", "/etc/passwd",
     "//etc/passwd", "/file:///etc/passwd", "/build.toml", "/../truck/build.toml", "/2026-03-21%20left%20sill/note.md",
     "/.journal-cache/made.json", "/.preview/../serving.py", "/.preview/", "/.preview/preview.py", "/.preview"],
)  # fmt: skip
def test_nobody_walks_out_of_the_site(served: Server, path: str) -> None:
    status, _, body = ask(served, path)
    assert status == 404
    assert b"a secret" not in body
    assert b"root:" not in body
    assert b"title =" not in body


def test_an_address_is_never_repeated_as_markup(served: Server) -> None:
    _, _, body = ask(served, "/%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
    assert b"<script>" not in body
    assert b'data-page="&quot;&gt;&lt;script&gt;' in body


def test_another_page_may_not_load_our_files_into_its_own(served: Server) -> None:
    """Fetch standard: a browser keeps a same-origin resource from pages of other origins."""
    for path in ("/search/index-data.js", "/data/parts.json", "/index.html"):
        headers = ask(served, path)[1]
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "Access-Control-Allow-Origin" not in headers


def test_no_browser_keeps_a_preview(served: Server) -> None:
    assert ask(served, "/index.html")[1]["Cache-Control"] == "no-store"
    assert b"register" not in ask(served, "/theme/offline.js")[2]
    assert b"unregister" in ask(served, "/offline-worker.js")[2]


@pytest.mark.parametrize("query", ["", "page=index.html", "page=&seen=x", "page=&seen=-1", "page=&seen=99999999999"])
def test_a_question_for_news_that_makes_no_sense_is_refused(served: Server, query: str) -> None:
    assert ask(served, f"/.preview/news?{query}")[0] == 400


# --- what is new


def test_a_page_is_loaded_anew_only_if_something_of_it_changed() -> None:
    shown = Shown(5, {}, {"days/a/index.html": 5, "parts/index.html": 2, "theme/bench.css": 3, "photos/x.jpg": 5})
    assert shown.is_newer("days/a/index.html", 4)
    assert not shown.is_newer("days/a/index.html", 5)
    assert not shown.is_newer("parts/index.html", 3)
    assert shown.is_newer("parts/index.html", 2), "the theme"
    assert shown.is_newer("places/index.html", 6), "a page of a preview that ran before"


@pytest.mark.parametrize(
    ("path", "is_read"),
    [("2026-03-21 x/note.md", True), ("2026/2026-03-21 x/IMG.jpg", True), ("build.toml", True),
     ("themes/mine/files/a.css", True), ("site/index.html", False), (".journal-cache/made.json", False),
     ("manuals/a.pdf", False), ("2026-03-21 x/.note.md.swp", False), ("../elsewhere/build.toml", False)],
)  # fmt: skip
def test_only_what_a_site_is_made_from_counts(path: str, is_read: bool) -> None:
    assert counts(Path("/truck"), str(Path("/truck") / path)) is is_read


def test_nothing_is_written_but_the_cache(tmp_path: Path) -> None:
    build = write_build(tmp_path / "truck", {"build.toml": OLD_TITLE, DAY: NOTE})
    Preview(build, "shop", TODAY).make()
    assert {path.name for path in build.iterdir()} == {"build.toml", "2026-03-21 left sill", ".journal-cache"}
    assert [path.name for path in tmp_path.iterdir()] == ["truck"]


# --- while notes are saved


class Running:
    """A preview in a thread, as the command runs it."""

    def __init__(self, build: Path) -> None:
        self.build = build
        self.preview = Preview(build, "shop", TODAY)
        self.said: list[str] = []
        self.stop = threading.Event()
        self.opened: list[str] = []
        words: Any = (self.preview, 0, self.said.append, self.opened.append, self.stop)
        self.thread = threading.Thread(target=run, args=words)
        self.thread.start()
        self.until(lambda: bool(self.opened))

    def until(self, holds: Callable[[], bool], within: float = 60) -> None:
        end = time.monotonic() + within
        while not holds():
            assert time.monotonic() < end, f"still waiting after {within} s; said: {self.said}"
            time.sleep(0.05)

    def page(self, path: str) -> bytes:
        content = self.preview.shown().files.get(path, b"")
        assert isinstance(content, bytes)
        return content

    def save(self, path: str, text: str) -> None:
        """Whole at once, as editors do; what is caught half-written has tests of its own."""
        file = self.build / path
        file.parent.mkdir(parents=True, exist_ok=True)
        beside = file.with_name(f".{file.name}.new")
        beside.write_text(text, encoding="utf-8")
        beside.replace(file)


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    started = Running(write_build(tmp_path / "truck", {"build.toml": OLD_TITLE, DAY: NOTE, OTHER: "Rain.\n"}))
    yield started
    started.stop.set()
    started.thread.join(30)
    assert not started.thread.is_alive()


def test_a_save_makes_what_changed_and_only_that_page_is_new(running: Running) -> None:
    first = running.preview.shown().number
    running.save(DAY, NOTE.replace("Words.", "Other words."))
    running.until(lambda: b"Other words." in running.page("days/2026-03-21/index.html"))
    shown = running.preview.shown()
    assert shown.is_newer("days/2026-03-21/index.html", first)
    assert not shown.is_newer("days/2026-03-28/index.html", first)
    assert any("made again" in line for line in running.said)


def test_a_question_for_news_is_answered_when_there_is_some(running: Running) -> None:
    server = begin(running.preview, 0)
    seen = running.preview.shown().number
    threading.Timer(0.5, lambda: running.save(DAY, NOTE.replace("Words.", "News."))).start()
    _, _, body = ask(server, f"/.preview/news?page=days/2026-03-21/index.html&seen={seen}")
    server.shutdown()
    server.server_close()
    news = json.loads(body)
    assert news["reload"] is True
    assert news["number"] > seen


@pytest.mark.parametrize(
    "half",
    ["```removed guide brack", "```removed guide bracket, left\nfrom: si", "# Guides off\n\n~~~", "\ufeff", "\x00\x00",
     "```measured\nhole to", "![", "```photo IMG_1\nline: 0.1,"],
)  # fmt: skip
def test_a_note_saved_half_written_is_told_and_takes_nothing_down(tmp_path: Path, half: str) -> None:
    build = write_build(tmp_path, {"build.toml": OLD_TITLE, DAY: half, OTHER: "Rain.\n"})
    shown = Preview(build, "shop", TODAY).make()
    assert shown.fault == ""
    assert "days/2026-03-28/index.html" in shown.files


def test_what_cannot_be_made_leaves_the_last_good_site_and_says_why(running: Running) -> None:
    good = running.page("index.html")
    running.save("themes/mine/theme.toml", "")
    running.save("themes/mine/templates/parts.html", "{% block main %}")
    running.save("build.toml", 'title = "Truck"\ntheme = "mine"\n')
    running.until(lambda: bool(running.preview.shown().fault))
    shown = running.preview.shown()
    assert "themes/mine/templates/parts.html:1: " in shown.fault
    assert "as it was before" in shown.fault
    assert running.page("index.html") == good
    assert running.thread.is_alive()
    running.save("themes/mine/templates/parts.html", '{% extends "bench/parts.html" %}')
    running.until(lambda: running.preview.shown().fault == "")


def test_a_fault_of_ours_does_not_end_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    preview = Preview(write_build(tmp_path, {"build.toml": OLD_TITLE, DAY: NOTE}), "shop", TODAY)
    good = preview.make()
    monkeypatch.setattr("journal.preview.lay_out", lambda *_: 1 // 0)
    shown = preview.make()
    assert "ZeroDivisionError" in shown.fault
    assert shown.files == good.files


def test_a_build_that_could_not_be_made_yet_says_so_on_every_page(tmp_path: Path) -> None:
    build = write_build(tmp_path, {"build.toml": 'title = "T"\ntheme = "gone"\n', DAY: NOTE})
    preview = Preview(build, "shop", TODAY)
    preview.make()
    server = begin(preview, 0)
    status, _, body = ask(server, "/index.html")
    assert status == 503
    assert b"there is no theme" in body
    assert b"/.preview/preview.js" in body
    write_build(build, {"build.toml": OLD_TITLE})
    preview.make()
    assert ask(server, "/index.html")[0] == 200
    assert json.loads(ask(server, "/.preview/news?page=index.html&seen=1")[2])["reload"] is True
    server.shutdown()
    server.server_close()


def test_a_port_that_is_taken_is_told_and_ours_is_made_way_for(tmp_path: Path) -> None:
    preview = Preview(tmp_path, "shop", TODAY)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(PreviewFault, match="taken"):
            begin(preview, taken.getsockname()[1])
    one, other = begin(preview, None), begin(preview, None)
    assert one.server_address != other.server_address
    for server in (one, other):
        server.shutdown()
        server.server_close()
