"""A site is written whole or not at all, and nothing outside it is touched."""

from __future__ import annotations

import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from journal.ground import files as module
from journal.ground import swap as swapping
from journal.ground.atomic import LEFT, PART, PART_END, sweep
from journal.ground.files import (
    SiteRefused,
    WriteFault,
    fill_tree,
    forget_trees,
    heal,
    locked,
    standing,
    write_site,
    write_whole,
)
from journal.ground.kept_work import KeptWork

MARK = ".journal-site"
SITE: dict[str, bytes | Path] = {
    "index.html": b"front",
    "parts/sill/index.html": b"sill",
    "data/a.json": b"{}",
}


def write(out: Path, site: dict[str, bytes | Path] | None = None, **options: object) -> module.Written:
    return write_site(out, SITE if site is None else site, mark=MARK, **options)  # type: ignore[arg-type]


def tree(out: Path) -> dict[str, bytes]:
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.name != MARK
    }


def beside(out: Path) -> list[str]:
    """Whatever a run left next to the site."""
    return sorted(path.name for path in out.parent.iterdir() if path.name.startswith(f".{out.name}.journal-"))


def test_a_site_holds_exactly_what_was_given(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "site"
    written = write(out)
    assert tree(out) == SITE
    assert written == module.Written(tuple(sorted(SITE)), 0, (), written.digest)
    assert beside(out) == []


def test_unchanged_files_keep_bytes_times_and_even_their_place_on_the_disk(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write(out)
    before = {name: os.stat(out / name) for name in SITE}
    written = write(out, {**SITE, "index.html": b"new front", "more.html": b"more"})
    assert written == module.Written(("index.html", "more.html"), 2, (), written.digest)
    for name in ("parts/sill/index.html", "data/a.json"):
        now = os.stat(out / name)
        assert (now.st_ino, now.st_mtime_ns) == (before[name].st_ino, before[name].st_mtime_ns)
    assert os.stat(out / "index.html").st_mtime_ns > before["index.html"].st_mtime_ns


def test_a_page_that_is_gone_goes_with_its_folder(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write(out)
    assert write(out, {"index.html": b"front"}).removed == ("data/a.json", "parts/sill/index.html")
    assert sorted(path.name for path in out.iterdir()) == [MARK, "index.html"]


def test_where_nothing_changed_nothing_is_swapped_nor_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "site"
    written = write(out)
    before = os.stat(out).st_ino
    read: list[str] = []
    really = Path.read_bytes
    monkeypatch.setattr(Path, "read_bytes", lambda path: (read.append(path.name), really(path))[1])
    assert write(out) == module.Written((), 3, (), written.digest)
    assert os.stat(out).st_ino == before
    assert read == [MARK]


def test_the_same_files_give_the_same_bytes_the_marker_included(tmp_path: Path) -> None:
    write(tmp_path / "one")
    time.sleep(0.02)
    write(tmp_path / "two")
    assert (tmp_path / "one" / MARK).read_bytes() == (tmp_path / "two" / MARK).read_bytes()


def test_a_file_that_somebody_changed_is_put_right(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write(out)
    (out / "index.html").write_bytes(b"frent")  # same length
    assert write(out).changed == ("index.html",)
    assert tree(out) == SITE


def test_a_file_of_the_cache_is_linked_and_is_then_known_without_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cached = tmp_path / "cached.jpg"
    cached.write_bytes(b"picture")
    site: dict[str, bytes | Path] = {**SITE, "photos/a-800.jpg": cached}
    write(tmp_path / "site", site)
    assert os.path.samefile(cached, tmp_path / "site/photos/a-800.jpg")
    monkeypatch.setattr(Path, "read_bytes", _only_marker)
    assert write(tmp_path / "site", site).changed == ()


def _only_marker(path: Path, _really: Callable[[Path], bytes] = Path.read_bytes) -> bytes:
    assert path.name == MARK
    return _really(path)


def test_where_links_do_not_reach_files_are_copied_with_their_times(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_link(*_: object, **__: object) -> None:
        raise OSError(errno.EXDEV, "other disk")

    monkeypatch.setattr(os, "link", no_link)
    cached = tmp_path / "cached.jpg"
    cached.write_bytes(b"picture")
    os.utime(cached, (1_000_000, 1_000_000))
    site: dict[str, bytes | Path] = {**SITE, "photos/a.jpg": cached}
    out = tmp_path / "site"
    write(out, site)
    old = os.stat(out / "index.html").st_mtime_ns
    assert not os.path.samefile(cached, out / "photos/a.jpg")
    assert write(out, {**site, "data/a.json": b"[]"}).changed == ("data/a.json",)
    assert os.stat(out / "index.html").st_mtime_ns == old
    assert os.stat(out / "photos/a.jpg").st_mtime == 1_000_000


def test_a_picture_drawn_again_to_the_same_bytes_keeps_its_time(tmp_path: Path) -> None:
    cached = tmp_path / "cached.jpg"
    cached.write_bytes(b"picture")
    write(tmp_path / "site", {"photos/a.jpg": cached})
    before = os.stat(tmp_path / "site/photos/a.jpg").st_mtime_ns
    cached.unlink()
    cached.write_bytes(b"picture")
    os.utime(cached, (5, 5))
    assert write(tmp_path / "site", {"photos/a.jpg": cached}).changed == ()
    assert os.stat(tmp_path / "site/photos/a.jpg").st_mtime_ns == before


# -- what is kept, what is refused ---------------------------------------------------------------------------


def test_names_to_keep_move_across_untouched(tmp_path: Path) -> None:
    out = tmp_path / "site"
    (out / ".git" / "objects").mkdir(parents=True)
    (out / ".git" / "objects" / "ab").write_bytes(b"object")
    (out / ".git" / "HEAD").symlink_to("refs/heads/main")
    (out / "CNAME").write_text("truck.example")
    for front in (b"one", b"two"):
        write(out, {"index.html": front}, keep=[".git", "CNAME", "absent"])
        assert (out / ".git/objects/ab").read_bytes() == b"object"
        assert os.readlink(out / ".git/HEAD") == "refs/heads/main"
        assert (out / "CNAME").read_text() == "truck.example"
        assert (out / "index.html").read_bytes() == front


def test_a_folder_of_other_things_is_refused_and_left_alone(tmp_path: Path) -> None:
    out = tmp_path / "holiday"
    out.mkdir()
    (out / "beach.jpg").write_bytes(b"sun")
    with pytest.raises(SiteRefused, match=r"no site made here.*beach\.jpg|beach\.jpg.*left alone"):
        write(out)
    assert tree(out) == {"beach.jpg": b"sun"}


def test_a_file_put_into_the_site_is_never_lost(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write(out)
    (out / "parts" / "robots.txt").write_text("mine")
    with pytest.raises(SiteRefused, match=r'"parts/robots.txt", which is not part of the site') as refusal:
        write(out, {"index.html": b"new"})
    assert "keep" in refusal.value.help
    assert (out / "index.html").read_bytes() == b"front"


def test_what_desktops_leave_behind_is_no_reason_to_refuse(tmp_path: Path) -> None:
    out = tmp_path / "site"
    out.mkdir()
    (out / ".DS_Store").write_bytes(b"\0")
    write(out)
    (out / "parts" / "Thumbs.db").write_bytes(b"\0")
    write(out, {"index.html": b"new"})
    assert tree(out) == {"index.html": b"new"}


@pytest.mark.parametrize(
    "name", ["", ".", "../x", "a/../../x", "/etc/x", "a//b", "a\\..\\x", "C:x", "a/\0b", "a/./b", "a/"]
)
def test_no_name_leads_out_of_the_site(tmp_path: Path, name: str) -> None:
    with pytest.raises(WriteFault, match="outside the output folder"):
        write(tmp_path / "site", {name: b"x"})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("keep", ["../x", "a/b", "/etc", "", "index.html", "parts", MARK])
def test_what_cannot_be_kept_is_said(tmp_path: Path, keep: str) -> None:
    with pytest.raises(WriteFault) as fault:
        write(tmp_path / "site", keep=[keep])
    assert "`keep`" in fault.value.message + fault.value.help


@pytest.mark.parametrize(
    "place",
    [".", "..", "2026-03-21 left sill", "2026-03-21 left sill/site", "2026/x", ".journal-cache", "../.."],
)
def test_an_output_that_would_take_the_build_with_it_is_refused(tmp_path: Path, place: str) -> None:
    build = tmp_path / "home" / "build"
    day = build / "2026-03-21 left sill"
    day.mkdir(parents=True)
    (day / "note.md").write_text("note")
    with pytest.raises(SiteRefused):
        write(build / place, build=build)
    assert tree(tmp_path) == {"home/build/2026-03-21 left sill/note.md": b"note"}


def test_the_top_of_the_disk_is_refused() -> None:
    with pytest.raises(SiteRefused, match="top of the disk"):
        write(Path("/"))


@pytest.mark.parametrize("place", ["site", "out/site", "../site"])
def test_an_output_beside_the_days_is_fine(tmp_path: Path, place: str) -> None:
    build = tmp_path / "build"
    build.mkdir()
    write(build / place, build=build)
    assert tree(build / place) == SITE


def test_an_output_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "site").write_text("mine")
    with pytest.raises(SiteRefused, match="is a file"):
        write(tmp_path / "site")
    assert (tmp_path / "site").read_text() == "mine"


def test_an_output_that_is_a_link_is_written_where_it_points(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "site").symlink_to("real")
    write(tmp_path / "site")
    assert os.readlink(tmp_path / "site") == "real"
    assert tree(tmp_path / "real") == SITE


def test_a_link_in_the_site_is_never_followed_out_of_it(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    (elsewhere / "sill").mkdir(parents=True)
    (elsewhere / "sill" / "index.html").write_bytes(b"not yours")
    out = tmp_path / "site"
    write(out)
    (out / "parts/sill/index.html").unlink()
    (out / "parts/sill/index.html").symlink_to(elsewhere / "sill/index.html")
    write(out)
    assert not (out / "parts/sill/index.html").is_symlink()
    (out / "parts/sill/index.html").unlink()
    (out / "parts/sill").rmdir()
    (out / "parts/sill").symlink_to(elsewhere / "sill")
    with pytest.raises(SiteRefused):
        write(out)
    assert (elsewhere / "sill/index.html").read_bytes() == b"not yours"


# -- faults --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "words"),
    [(errno.ENOSPC, "disk is full"), (errno.EACCES, "may not be written"), (errno.EROFS, "read-only")],
)
def test_a_fault_of_the_disk_is_a_clear_sentence_and_the_old_site_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, words: str
) -> None:
    out = tmp_path / "site"
    write(out)
    really = module._put

    def fail_at_the_second(path: str, data: bytes) -> None:
        if data == b"second":
            raise OSError(code, os.strerror(code), path)
        really(path, data)

    monkeypatch.setattr(module, "_put", fail_at_the_second)
    with pytest.raises(WriteFault, match=words) as fault:
        write(out, {"a.html": b"first", "b.html": b"second"})
    assert fault.value.help
    assert tree(out) == SITE
    assert beside(out) == []


def test_any_other_exception_leaves_the_old_site_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "site"
    write(out)

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(module, "swap", stop)
    with pytest.raises(KeyboardInterrupt):
        write(out, {"index.html": b"new"})
    assert tree(out) == SITE


def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir()
    for folder in (tmp_path, *tmp_path.parents):  # the other user has to get here at all
        if str(folder).startswith("/tmp/pytest"):
            folder.chmod(0o755)
    closed.chmod(0o555)
    code = (
        "import os, sys; from pathlib import Path; from journal.ground.files import *\n"
        "if os.geteuid() == 0: os.seteuid(65534)\n"
        "try: write_site(Path(sys.argv[1]), {'a': b'b'}, mark='.m')\n"
        "except WriteFault as fault: print(fault.message)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(closed / "site")], capture_output=True, text=True, check=True
    )
    assert "may not be written to" in done.stdout


def test_a_second_run_at_the_same_time_is_told_so(tmp_path: Path) -> None:
    out = tmp_path / "site"
    with locked(tmp_path / ".site.journal-lock", wait=False) as mine:
        assert mine
        with pytest.raises(WriteFault, match="Another run is writing"):
            write(out)
    write(out)
    assert beside(out) == []


def test_without_an_exchange_two_renames_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(swapping, "_exchange", lambda *_: False)
    out = tmp_path / "site"
    write(out)
    write(out, {"index.html": b"new"})
    assert tree(out) == {"index.html": b"new"}
    assert beside(out) == []


def test_the_second_rename_failing_brings_the_old_site_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(swapping, "_exchange", lambda *_: False)
    out = tmp_path / "site"
    write(out)
    really = os.rename

    def fail(source: Path, target: Path) -> None:
        if str(source).endswith("-new"):
            raise OSError(errno.EBUSY, "busy")
        really(source, target)

    monkeypatch.setattr(os, "rename", fail)
    with pytest.raises(WriteFault):
        write(out, {"index.html": b"new"})
    assert tree(out) == SITE


def test_a_run_killed_between_two_renames_is_healed(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write(out)
    os.rename(out, tmp_path / ".site.journal-old")
    (tmp_path / ".site.journal-new").mkdir()
    heal(out)
    assert tree(out) == SITE
    assert beside(out) == []


def test_leftovers_go_with_the_next_run_and_links_among_them_are_not_followed(tmp_path: Path) -> None:
    write(tmp_path / "site")
    precious = tmp_path / "precious"
    precious.mkdir()
    (precious / "x").write_text("x")
    (tmp_path / ".site.journal-new").symlink_to(precious)
    (tmp_path / ".site.journal-old").mkdir()
    (tmp_path / ".site.journal-old" / "y").symlink_to(precious)
    write(tmp_path / "site")
    assert beside(tmp_path / "site") == []
    assert (precious / "x").read_text() == "x"


KILLED = """
import os, sys
from pathlib import Path
from journal.ground import files, swap
if sys.argv[2] == "renames":
    swap._exchange = lambda one, other: False
files.LARGE_MARKER = 0
out = Path(sys.argv[1])
print("go", flush=True)
turn = int(sys.argv[3])
while True:
    turn += 1
    text = str(turn).encode()
    site = {f"parts/{index}/index.html": text * 50 for index in range(60 + turn % 3)}
    spare = out.parent / "spare" if sys.argv[2] == "spare" else None
    files.write_site(out, site, mark=".journal-site", keep=[".git"], spare=spare)
"""


@pytest.mark.parametrize("way", ["exchange", "renames", "spare"])
def test_killed_at_fifty_moments_the_old_site_or_the_new_stands_complete(tmp_path: Path, way: str) -> None:
    out = tmp_path / "site"
    (out / ".git").mkdir(parents=True)
    (out / ".git" / "HEAD").write_text("ref")
    moments, hit = random.Random(7), 0
    for round in range(50):
        child = subprocess.Popen(
            [sys.executable, "-c", KILLED, str(out), way, str(round * 1000)], stdout=subprocess.PIPE
        )
        with child:
            assert child.stdout
            assert child.stdout.readline() == b"go\n"
            time.sleep(moments.uniform(0, 0.06))
            child.send_signal(signal.SIGKILL)
        hit += bool(beside(out))
        if way == "renames" and not out.exists():
            heal(out)  # what the next command does first
        pages = tree(out)
        assert pages.pop(".git/HEAD") == b"ref"
        if pages:  # none before the first site was ever swapped in
            text = pages["parts/0/index.html"]
            assert set(pages.values()) == {text}
            turn = int(text[: len(text) // 50])
            assert set(pages) == {f"parts/{index}/index.html" for index in range(60 + turn % 3)}
    assert hit > 10  # the kills did hit runs at work
    write(out, keep=[".git"])
    assert {name: data for name, data in tree(out).items() if not name.startswith(".git")} == SITE
    assert beside(out) == []


# -- the tree that the next site is laid out in --------------------------------------------------------------


class Large:
    """A site that counts as large, and the folder of the cache for its tree."""

    def __init__(self, folder: Path) -> None:
        self.out, self.spare = folder / "site", folder / "cache" / "spare"
        self.linked: list[str] = []

    def write(self, site: dict[str, bytes | Path], **options: object) -> module.Written:
        self.linked.clear()
        return write(self.out, site, spare=self.spare, **options)

    @property
    def tree(self) -> Path:
        (found,) = self.spare.iterdir()
        return found


@pytest.fixture
def large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Large:
    """Written, and written again in its tree."""
    made, link = Large(tmp_path), module._link
    monkeypatch.setattr(module, "LARGE_MARKER", 0)

    def watched(source: str, target: str) -> None:
        made.linked.append(source)
        link(source, target)

    monkeypatch.setattr(module, "_link", watched)
    made.write({"days/1/index.html": b"old", "days/2/index.html": b"gone", "data/a.json": b"{}"})
    assert tree(made.tree) == tree(made.out)
    made.write({**SITE, "data/b.json": b"[]"})
    assert tree(made.tree) == tree(made.out)
    return made


THEN: dict[str, bytes | Path] = {
    "index.html": b"new", "parts/sill": b"a file now", "days/3/index.html": b"three", "data/a.json": b"{}"
}  # fmt: skip


def harm_one_file(kept: Path) -> None:
    (kept / "data/a.json").unlink()
    (kept / "data/a.json").write_bytes(b"{}")


def put_a_link_there(kept: Path) -> None:
    kept.rename(kept.with_name("elsewhere"))
    kept.symlink_to(kept.with_name("elsewhere"))


def test_the_next_site_is_laid_out_in_the_tree_of_the_last(large: Large) -> None:
    before = (large.out / "data/a.json").stat()
    for site in (THEN, SITE, THEN):
        written = large.write(site)
        assert not large.linked, "nothing that stays is linked anew"
        assert set(written.changed) == set(site) - {"data/a.json"}
        assert tree(large.out) == tree(large.tree) == site
        assert not (large.tree / MARK).exists(), "a marker written there would be written into the site"
        assert beside(large.out) == []
    after = (large.out / "data/a.json").stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)
    assert standing(large.out, mark=MARK)


def test_files_of_the_cache_are_in_no_tree(large: Large, tmp_path: Path) -> None:
    cached = tmp_path / "b-800.jpg"
    cached.write_bytes(b"picture")
    for site in (THEN, SITE, THEN):
        large.write({**site, "photos/b-800.jpg": cached})
        assert tree(large.out) == {**site, "photos/b-800.jpg": b"picture"}
        assert tree(large.tree) == site
    assert [Path(name).name for name in large.linked] == ["b-800.jpg"]


def test_pictures_are_put_into_the_tree_before_they_are_needed(large: Large, tmp_path: Path) -> None:
    cached = [tmp_path / f"{letter}-800.jpg" for letter in "abc"]
    for number, file in enumerate(cached):
        file.write_bytes(b"picture %d" % number)
    pictures = {f"photos/{file.name}": file for file in cached}
    large.write({**SITE, **pictures})
    (tmp_path / "a-800.jpg").unlink()
    del pictures["photos/a-800.jpg"]
    fill_tree(large.spare, large.out, MARK)
    assert sorted(path.name for path in large.tree.glob("photos/*")) == ["a-800.jpg", "b-800.jpg", "c-800.jpg"]
    large.write({**THEN, **pictures})
    assert large.linked == []
    assert tree(large.out) == {**THEN, "photos/b-800.jpg": b"picture 1", "photos/c-800.jpg": b"picture 2"}
    assert tree(large.tree) == THEN


def test_a_marker_that_somebody_wrote_leads_nothing_out_of_the_tree(large: Large, tmp_path: Path) -> None:
    (tmp_path / "precious").write_bytes(b"precious")
    marker = large.out / MARK
    marker.write_text(marker.read_text().replace('"files": {', '"files": {"../precious": "8", '))
    fill_tree(large.spare, large.out, MARK)
    assert tree(large.spare) == {f"{large.tree.name}/{name}": data for name, data in tree(large.out).items()}


@pytest.mark.parametrize("there", [lambda kept: None, lambda kept: kept.write_bytes(b""), put_a_link_there])
def test_nothing_is_put_where_no_tree_is(large: Large, there: Callable[[Path], object]) -> None:
    kept = large.tree
    kept.rename(large.spare.with_name("moved"))
    if there is put_a_link_there:
        kept.symlink_to(large.spare.with_name("moved"))
    else:
        there(kept)
    before = tree(large.spare.with_name("moved"))
    fill_tree(large.spare, large.out, MARK)
    assert tree(large.spare.with_name("moved")) == before


def test_without_an_exchange_the_tree_is_kept_too(large: Large, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(swapping, "_exchange", lambda *_: False)
    large.write(THEN)
    assert tree(large.out) == tree(large.tree) == THEN
    assert beside(large.out) == []


@pytest.mark.parametrize(
    "harm",
    [
        harm_one_file,
        lambda kept: (kept / "data/a.json").unlink(),
        lambda kept: (kept / "data/c.json").write_bytes(b"secret"),
        lambda kept: (kept / "parts/sill/index.html").rename(kept / "parts/sill/other.html"),
        lambda kept: (shutil.rmtree(kept), kept.write_bytes(b"")),
        lambda kept: shutil.rmtree(kept),
    ],
)
def test_a_tree_that_is_not_the_site_is_not_taken(large: Large, harm: Callable[[Path], object]) -> None:
    harm(large.tree)
    large.write(THEN)
    assert large.linked
    assert tree(large.out) == tree(large.tree) == THEN
    assert beside(large.out) == []


def test_a_link_in_place_of_the_tree_is_not_followed(large: Large) -> None:
    put_a_link_there(large.tree)
    large.write(THEN)
    assert tree(large.out) == THEN
    assert tree(large.spare / "elsewhere") == {**SITE, "data/b.json": b"[]"}


def test_what_somebody_wrote_into_the_site_is_put_right_though_the_tree_has_it_too(large: Large) -> None:
    with open(large.out / "data/a.json", "r+b") as file:
        file.write(b"[]")
    assert (large.tree / "data/a.json").read_bytes() == b"[]"
    assert "data/a.json" in large.write(THEN).changed
    assert tree(large.out) == tree(large.tree) == THEN


def test_what_is_kept_for_somebody_else_is_in_no_tree(large: Large) -> None:
    (large.out / ".git").mkdir()
    (large.out / ".git" / "HEAD").write_text("ref")
    for site in (THEN, SITE):
        large.write(site, keep=[".git"])
        assert tree(large.out) == {**site, ".git/HEAD": b"ref"}
        assert tree(large.tree) == site


@pytest.mark.parametrize("name", ["link", "rename"])
def test_where_no_tree_can_be_kept_the_site_is_written_all_the_same(
    large: Large, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    really = getattr(os, name)

    def refused(source: object, target: object, **options: object) -> None:
        if str(large.spare) in f"{source}{target}" or (name == "link" and ".journal-new" in str(target)):
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        really(source, target, **options)

    with monkeypatch.context() as patch:
        patch.setattr(os, name, refused)
        large.write(THEN)
        assert tree(large.out) == THEN
        assert beside(large.out) == []
        assert list(large.spare.iterdir()) == []
    large.write(SITE)
    assert tree(large.out) == tree(large.tree) == SITE


def test_only_trees_of_sites_that_stand_are_kept(large: Large) -> None:
    forget_trees(large.spare, [large.out])
    assert tree(large.tree) == tree(large.out)
    forget_trees(large.spare, [large.out.with_name("other")])
    assert list(large.spare.iterdir()) == []
    forget_trees(large.spare / "nowhere", [])


# -- whether a site stands -----------------------------------------------------------------------------------


def test_a_site_that_stands_has_a_digest_that_tells_what_it_holds(tmp_path: Path) -> None:
    assert standing(tmp_path / "one", mark=MARK) is None
    write(tmp_path / "one")
    write(tmp_path / "two")
    write(tmp_path / "three", {**SITE, "index.html": b"other"})
    digests = [standing(tmp_path / name, mark=MARK) for name in ("one", "two", "three")]
    assert digests[0] is not None
    assert digests[0] == digests[1] != digests[2]


def _remove(out: Path) -> None:
    (out / "index.html").unlink()


def _change(out: Path) -> None:
    (out / "index.html").write_bytes(b"frent")


def _add(out: Path) -> None:
    (out / "more").write_bytes(b"")


def _damage_marker(out: Path) -> None:
    (out / MARK).write_bytes(b"{")


@pytest.mark.parametrize("harm", [_remove, _change, _add, _damage_marker])
def test_a_site_that_was_touched_does_not_stand(tmp_path: Path, harm: Callable[[Path], None]) -> None:
    out = tmp_path / "site"
    write(out)
    time.sleep(0.02)
    harm(out)
    assert standing(out, mark=MARK) is None


def test_one_file_is_replaced_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "manifest"
    write_whole(path, b"one")
    assert path.read_bytes() == b"one"

    def fail(*_: object) -> None:
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(OSError, match="full"):
        write_whole(path, b"two")
    assert [(found.name, found.read_bytes()) for found in tmp_path.iterdir()] == [("manifest", b"one")]


def test_what_a_killed_write_left_goes_when_it_is_old(tmp_path: Path) -> None:
    old, new, other = (tmp_path / name for name in (f"{PART}a{PART_END}", f"{PART}b{PART_END}", "made.json"))
    for file in (old, new, other):
        file.write_bytes(b"half")
        os.utime(file, (time.time() - (0 if file == new else 2 * LEFT),) * 2)
    sweep(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([new, other])
    sweep(tmp_path / "nowhere")


def test_it_goes_from_kept_work_too_long_before_what_nobody_asks_for(tmp_path: Path) -> None:
    old, new, result = (tmp_path / name for name in (f"{PART}a{PART_END}", f"{PART}b{PART_END}", "a.kept"))
    for file in (old, new, result):
        file.write_bytes(b"half")
        os.utime(file, (time.time() - (0 if file == new else 2 * LEFT),) * 2)
    KeptWork(tmp_path, ()).forget()
    assert sorted(tmp_path.iterdir()) == sorted([new, result])
