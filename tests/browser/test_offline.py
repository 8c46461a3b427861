"""The site kept by a browser: served over this machine's own address below a path, then the server is gone."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from tests.browser.watched import Watched, expect
from tests.builds import write_build
from tests.site_fixture import site_of, written

pytestmark = pytest.mark.browser

BELOW = "some folder/truck"
FIRST = """# First door

```removed hinge, left
from: door post
place: cab / door post
hole to lower edge: 312 mm by rule
photos: IMG_1
```
"""
SECOND = FIRST.replace("312 mm", "313 mm").replace("# First door", "# Second door")


class Server:
    """A folder served at 127.0.0.1 until it is cut off; every address asked for is in `asked`."""

    def __init__(self, folder: Path) -> None:
        self.asked: list[str] = []
        server = self

        class Handler(SimpleHTTPRequestHandler):
            def log_message(self, *_: object) -> None:
                server.asked.append(self.path)

            def send_head(self) -> Any:
                del self.headers["If-Modified-Since"]  # to the second: here two builds are made within one
                return super().send_head()

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Handler, directory=str(folder)))
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        self.home = f"http://127.0.0.1:{self.server.server_port}/{BELOW.replace(' ', '%20')}/"

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


def made(tmp_path: Path, name: str, note: str, picture: str = "grey") -> Path:
    """A site of one day with one picture large enough to have three sizes."""
    from PIL import Image

    build = write_build(tmp_path / name, {"2026-03-07 door/note.md": note})
    Image.new("RGB", (2000, 1500), picture).save(build / "2026-03-07 door" / "IMG_1.jpg")
    return written(site_of(build, "shop"), tmp_path / f"{name} site")


def serve(site: Path, at: Path) -> None:
    """The site below the served folder: new files over the old ones."""
    for path in sorted(site.rglob("*")):
        if path.is_file():
            target = at / BELOW / path.relative_to(site)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())


@pytest.fixture
def first(tmp_path: Path) -> Path:
    serve(made(tmp_path, "first", FIRST), tmp_path / "served")
    return tmp_path / "served"


@pytest.fixture
def server(first: Path) -> Iterator[Server]:
    server = Server(first)
    yield server
    server.stop()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context()
    page = context.new_page()
    page.said = []
    page.on("console", lambda one: page.said.append(one.text))
    page.on("pageerror", lambda fault: page.said.append(str(fault)))
    yield page
    context.close()


def kept(page: Any, url: str) -> None:
    """Open a page and wait until the browser keeps the site."""
    page.goto(url)
    page.evaluate("navigator.serviceWorker.ready")
    page.evaluate("""new Promise((done) => navigator.serviceWorker.controller ? done()
        : navigator.serviceWorker.addEventListener('controllerchange', () => done()))""")


def seen(page: Any, words: str) -> Any:
    return page.get_by_text(words).locator("visible=true").first


def caches(page: Any) -> list[str]:
    return list(page.evaluate("caches.keys()"))


def test_without_a_net_every_page_and_the_search_are_there(page: Any, server: Server, first: Path) -> None:
    kept(page, server.home)
    page.context.set_offline(True)
    server.stop()
    page.goto(server.home)
    expect(page.get_by_role("heading", level=1)).to_have_text("Platform truck No. 9")
    page.get_by_role("navigation", name="Contents").get_by_role("link", name="Parts").click()
    page.get_by_role("link", name="hinge, left").click()
    expect(seen(page, "312 mm")).to_be_visible()
    page.goto(server.home + "search/index.html?q=312%20mm")
    expect(page.locator("#hits .hit").first).to_contain_text("hinge, left")
    paths = [path.relative_to(first / BELOW).as_posix() for path in first.rglob("*.html")]
    assert len(paths) > 10
    for path in paths:
        page.goto(server.home + path)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        ink = page.evaluate("getComputedStyle(document.body).color")
        assert ink == "rgb(27, 32, 38)", f"{path} has its style"
    assert page.said == []


def test_without_a_net_the_small_picture_stands_for_the_large_ones(page: Any, server: Server) -> None:
    kept(page, server.home + "404.html")
    server.stop()
    page.goto(server.home + "days/2026-03-07/index.html")
    width = "document.querySelector('.plate img').naturalWidth"
    page.locator(".plate img").scroll_into_view_if_needed()
    page.wait_for_timeout(300)
    size = page.evaluate("fetch(document.querySelector('a.full').href).then((r) => r.blob()).then(createImageBitmap)"
                         ".then((map) => map.width)")
    assert size == 400
    assert page.evaluate(width) > 0


def test_what_is_not_kept_says_so_without_a_net(page: Any, server: Server) -> None:
    kept(page, server.home)
    server.stop()
    page.goto(server.home + "parts/nobody/index.html")
    expect(page.get_by_text("not kept on this device")).to_be_visible()
    page.get_by_role("link").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Platform truck No. 9")


def updated(page: Any) -> None:
    """Let the browser look for a newer build, and wait until it has settled what it found."""
    page.evaluate("""navigator.serviceWorker.getRegistration().then((one) => one.update().then(() => new Promise(
        (done) => { const wait = () => one.installing ? setTimeout(wait, 50) : done(); wait(); })))""")


def brought(page: Any) -> None:
    """Let the browser look until the newer build waits, here whole.

    More than once: a page that was just opened makes the browser look by itself, and a look asked for meanwhile is
    that one, which may have begun before the server was ready.
    """
    page.evaluate("""async () => {
        const one = await navigator.serviceWorker.getRegistration();
        for (let look = 0; look < 20 && !one.waiting; look += 1) {
            await one.update();
            while (one.installing) await new Promise((done) => setTimeout(done, 50));
        }
        if (!one.waiting) throw new Error("no newer build came");
    }""")


def asked(page: Any, url: str) -> None:
    """Ask for a page between two builds: it is loaded anew by itself, which cuts off whoever waits for the first."""
    page.goto(url, wait_until="commit")


def test_a_second_build_takes_over_whole_between_two_pages(
    page: Any, server: Server, first: Path, tmp_path: Path
) -> None:
    kept(page, server.home + "days/index.html")
    before = caches(page)
    serve(made(tmp_path, "second", SECOND, "navy"), first)
    updated(page)
    expect(page.get_by_role("status").get_by_text("newer version")).to_be_visible()
    # The page on the screen is still the old build's: what it asks for is too.
    old = page.evaluate("fetch('2026-03-07/index.html').then((one) => one.text())")
    assert "Second door" not in old
    asked(page, server.home + "days/2026-03-07/index.html")
    expect(page.get_by_role("heading", name="Second door")).to_be_visible()
    expect(seen(page, "313 mm")).to_be_visible()
    after = caches(page)
    assert len(before) == len(after) == 1
    assert before != after
    server.stop()
    page.goto(server.home + "parts/hinge-left/index.html")
    expect(seen(page, "313 mm")).to_be_visible()
    expect(page.get_by_text("312 mm")).to_have_count(0)


def test_what_has_not_changed_is_not_fetched_again(page: Any, server: Server, first: Path, tmp_path: Path) -> None:
    kept(page, server.home)
    serve(made(tmp_path, "second", SECOND), first)
    server.asked.clear()
    updated(page)
    assert any(path.endswith("days/2026-03-07/index.html") for path in server.asked)
    assert not [path for path in server.asked if "/theme/" in path or "/photos/" in path or "404" in path]


def test_the_button_shows_the_newer_build(page: Any, server: Server, first: Path, tmp_path: Path) -> None:
    kept(page, server.home + "days/2026-03-07/index.html")
    serve(made(tmp_path, "second", SECOND), first)
    updated(page)
    page.get_by_role("button", name="Show it").click()
    expect(page.get_by_role("heading", name="Second door")).to_be_visible()


def test_a_build_that_came_over_by_half_never_takes_over(
    page: Any, server: Server, first: Path, tmp_path: Path
) -> None:
    """A server half way from one build to the next: the list is new, one page is still the old one."""
    kept(page, server.home + "days/index.html")
    second, late = made(tmp_path, "second", SECOND), Path("parts") / "hinge-left" / "index.html"
    held = (second / late).read_bytes()
    (second / late).write_bytes((first / BELOW / late).read_bytes())
    serve(second, first)
    updated(page)
    page.goto(server.home + "days/2026-03-07/index.html")
    expect(page.get_by_role("heading", name="First door")).to_be_visible()
    page.goto(server.home + "parts/hinge-left/index.html")
    expect(seen(page, "312 mm")).to_be_visible()
    (first / BELOW / late).write_bytes(held)
    brought(page)
    asked(page, server.home + "days/2026-03-07/index.html")
    expect(page.get_by_role("heading", name="Second door")).to_be_visible()
    page.goto(server.home + "parts/hinge-left/index.html")
    expect(seen(page, "313 mm")).to_be_visible()


def test_from_a_folder_nothing_is_asked_for(watched: Watched, first: Path) -> None:
    page = watched.open(first / BELOW / "index.html")
    page.wait_for_timeout(300)
    assert page.locator("link[rel=manifest]").count() == 0
    assert page.locator("script[src$='offline.js']").count() == 1


def test_served_pages_name_their_manifest(page: Any, server: Server) -> None:
    page.goto(server.home + "parts/hinge-left/index.html")
    manifest = page.locator("link[rel=manifest]")
    expect(manifest).to_have_count(1)
    assert manifest.evaluate("(one) => one.href") == server.home + "build.webmanifest"
    session = page.context.new_cdp_session(page)
    found = session.send("Page.getAppManifest")
    assert found["errors"] == []
    assert '"name": "Platform truck No. 9"' in found["data"]
