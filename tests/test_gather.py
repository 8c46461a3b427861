"""Copying off a phone or card: into the right day, never over anything, never away from the source."""

from __future__ import annotations

import errno
import hashlib
import os
import random
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from journal import gather as module
from journal.gather import PART, Report, gather
from journal.ground.atomic import WriteFault, locked
from journal.read.movies import movie_moment
from tests.pictures_made import exif, save_jpeg, scene

TAKEN = "2026:03:21 14:05:17"


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """A card with two days of pictures."""
    save_jpeg(tmp_path / "card/DCIM/IMG_0001.jpg", scene(64, 48, 1), exif=exif(TAKEN))
    save_jpeg(
        tmp_path / "card/DCIM/IMG_0002.jpg",
        scene(64, 48, 2),
        exif=exif("2026:03:28 09:00:00", offset="+13:00"),
    )
    save_jpeg(tmp_path / "card/DCIM/more/20260328_101112.jpg", scene(64, 48, 3))
    return tmp_path / "card"


@pytest.fixture
def build(tmp_path: Path) -> Path:
    (tmp_path / "build").mkdir()
    (tmp_path / "build/build.toml").write_text('title = "Platform truck No. 9"\n')
    return tmp_path / "build"


def state(folder: Path) -> dict[str, tuple[str, int]]:
    return {
        path.relative_to(folder).as_posix(): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            os.stat(path).st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".journal-cache" not in path.parts
    }


def targets(report: Report) -> list[str]:
    return sorted(copy.target for copy in report.copied)


ALL = ["2026-03-21/IMG_0001.jpg", "2026-03-28/20260328_101112.jpg", "2026-03-28/IMG_0002.jpg"]


def test_pictures_go_into_the_day_they_were_taken_and_the_card_stays_as_it_is(
    card: Path, build: Path
) -> None:
    before = state(card)
    report = gather([card], build)
    assert targets(report) == ALL
    assert state(card) == before
    for copy in report.copied:
        assert (build / copy.target).read_bytes() == copy.source.read_bytes()
        assert os.stat(build / copy.target).st_mtime_ns == os.stat(copy.source).st_mtime_ns
    assert not list(build.rglob(PART + "*"))


def test_a_second_run_copies_nothing(card: Path, build: Path) -> None:
    gather([card], build)
    before = state(build)
    report = gather([card], build)
    assert not report.copied
    assert sorted(copy.target for copy in report.present) == ALL
    assert state(build) == before


def test_a_dry_run_says_the_same_and_writes_nothing(card: Path, build: Path) -> None:
    before = sorted(build.rglob("*"))
    would = gather([card], build, dry_run=True)
    assert sorted(build.rglob("*")) == before
    assert gather([card], build) == would


def test_a_day_that_has_a_name_is_used_and_its_pictures_found_under_any_name(card: Path, build: Path) -> None:
    day = build / "2026-03-21 left sill"
    day.mkdir()
    (day / "sill before cutting.jpg").write_bytes((card / "DCIM/IMG_0001.jpg").read_bytes())
    report = gather([card], build)
    assert [copy.target for copy in report.present] == ["2026-03-21 left sill/sill before cutting.jpg"]
    save_jpeg(card / "DCIM/IMG_0003.jpg", scene(64, 48, 4), exif=exif(TAKEN))
    assert targets(gather([card], build)) == ["2026-03-21 left sill/IMG_0003.jpg"]


def test_days_kept_by_year_stay_so(card: Path, build: Path) -> None:
    (build / "2026/2026-03-07 arrival").mkdir(parents=True)
    assert targets(gather([card], build)) == [f"2026/{target}" for target in ALL]


def test_another_picture_of_the_same_name_is_never_written_over(card: Path, build: Path) -> None:
    for seed in (7, 8):
        save_jpeg(card / f"{seed}/IMG_0001.jpg", scene(64, 48, seed), exif=exif(TAKEN))
    (build / "2026-03-21").mkdir()
    (build / "2026-03-21/IMG_0001.jpg").write_bytes(b"mine")
    assert targets(gather([card], build))[:3] == [f"2026-03-21/IMG_0001-{number}.jpg" for number in (2, 3, 4)]
    assert (build / "2026-03-21/IMG_0001.jpg").read_bytes() == b"mine"


def test_the_same_picture_twice_on_the_card_is_copied_once(card: Path, build: Path) -> None:
    (card / "copy.jpg").write_bytes((card / "DCIM/IMG_0001.jpg").read_bytes())
    for dry_run in (True, False):
        report = gather([card], build, dry_run=dry_run)
        assert (len(report.copied), len(report.present)) == (3, 1)


def test_what_has_no_date_is_named_and_not_guessed(card: Path, build: Path) -> None:
    plain = save_jpeg(card / "IMG_0009.jpg", scene(64, 48, 9))
    broken = card / "IMG_0010.jpg"
    broken.write_bytes(b"broken")
    dated = card / "IMG_20260328_000000.jpg"
    dated.write_bytes(b"broken too, and kept for what can be saved of it")
    report = gather([card], build)
    assert report.undated == [plain, broken]
    assert "2026-03-28/IMG_20260328_000000.jpg" in targets(report)


def test_other_files_are_passed_over_and_hidden_ones_not_even_named(card: Path, build: Path) -> None:
    (card / "IMG_0001.AAE").write_text("edits")
    (card / "DCIM/._IMG_0001.jpg").write_bytes(b"litter")
    (card / ".thumbnails").mkdir()
    save_jpeg(card / ".thumbnails/1.jpg", exif=exif(TAKEN))
    report = gather([card], build)
    assert report.passed_over == [card / "IMG_0001.AAE"]
    assert targets(report) == ALL


def test_single_files_and_several_sources(card: Path, build: Path) -> None:
    files = [card / "DCIM/IMG_0001.jpg", card / "DCIM/more", card / "DCIM/IMG_0001.jpg"]
    assert targets(gather(files, build)) == ALL[:2]


def test_a_folder_that_holds_the_build_does_not_feed_it_to_itself(card: Path, build: Path) -> None:
    gather([card], build)
    report = gather([build.parent], build)
    assert not report.copied
    assert len(report.present) == 3
    with pytest.raises(WriteFault, match="in the build already"):
        gather([build / "2026-03-21"], build)


def test_links_that_lead_round_in_a_circle_end(card: Path, build: Path) -> None:
    (card / "round").symlink_to(card)
    (card / "loop.jpg").symlink_to("loop.jpg")
    report = gather([card], build)
    assert targets(report) == ALL
    assert report.faults == [(card / "loop.jpg", "it is no ordinary file")]


# -- movies and sounds ---------------------------------------------------------------------------------------


def _box(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I4s", 8 + len(data), kind) + data


def _movie(made: datetime, *, apple: str = "", wide: bool = False) -> bytes:
    seconds = int((made - datetime(1904, 1, 1, tzinfo=made.tzinfo)).total_seconds())
    times = struct.pack(">QQ" if wide else ">II", seconds, seconds)
    head = bytes([wide, 0, 0, 0]) + times
    keys = _box(b"meta", b"com.apple.quicktime.creationdate" + apple.encode()) if apple else b""
    return (
        _box(b"ftyp", b"qt  ")
        + _box(b"mdat", bytes(100))
        + _box(b"moov", _box(b"mvhd", head + bytes(80)) + keys)
    )


@pytest.mark.parametrize("wide", [False, True])
def test_a_movie_tells_its_time(tmp_path: Path, wide: bool) -> None:
    made = datetime.fromisoformat("2026-03-21T23:30:00+00:00")
    path = tmp_path / "a.mp4"
    path.write_bytes(_movie(made, wide=wide))
    moment = movie_moment(path)
    assert moment
    assert moment.taken == made.astimezone().strftime("%Y-%m-%dT%H:%M:%S")
    path.write_bytes(_movie(made, apple="2026-03-22T12:30:00+1300", wide=wide))
    moment = movie_moment(path)
    assert moment
    assert (moment.taken, moment.offset) == ("2026-03-22T12:30:00", "+13:00")


NO_MOVIES = [
    *(b"", b"\0", bytes(64), b"\xff" * 99, b"\0\0\0\1moov" + bytes(4)),
    *(_box(b"moov", b"mvhd"), _box(b"moov", bytes(200))),
]


@pytest.mark.parametrize("data", NO_MOVIES)
def test_a_movie_without_a_time_has_none(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.mov").write_bytes(data)
    assert movie_moment(tmp_path / "a.mov") is None


def test_movies_and_sounds_are_copied_and_said_not_to_be_published(card: Path, build: Path) -> None:
    noon = datetime.fromisoformat("2026-03-28T12:00:00+00:00")
    (card / "DCIM/IMG_0001.mov").write_bytes(_movie(noon))  # goes with its picture, whatever it says itself
    (card / "DCIM/IMG_0007.mp4").write_bytes(_movie(noon, wide=True))
    (card / "DCIM/memo 2026-03-28.m4a").write_bytes(b"sound")
    (card / "DCIM/memo.m4a").write_bytes(b"sound without a date")
    report = gather([card], build)
    assert [copy.target for copy in report.unpublished] == [
        "2026-03-21/IMG_0001.mov",
        "2026-03-28/IMG_0007.mp4",
        "2026-03-28/memo 2026-03-28.m4a",
    ]
    assert report.undated == [card / "DCIM/memo.m4a"]


# -- faults --------------------------------------------------------------------------------------------------


def test_a_source_that_is_not_there_and_a_build_that_is_none_are_told(card: Path, build: Path) -> None:
    with pytest.raises(WriteFault, match="not there"):
        gather([card / "absent"], build)
    with pytest.raises(WriteFault, match="not there"):
        gather([card], build / "absent")


def test_a_second_run_at_the_same_time_is_told_so(card: Path, build: Path) -> None:
    (build / ".journal-cache").mkdir()
    with (
        locked(build / ".journal-cache/gather.lock", wait=False),
        pytest.raises(WriteFault, match="Another run"),
    ):
        gather([card], build)


def test_a_full_disk_is_told_and_leaves_only_whole_copies(
    card: Path, build: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really, calls = os.fsync, []

    def full(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        really(handle)

    monkeypatch.setattr(os, "fsync", full)
    report = gather([card], build)
    assert report.faults == [(card / "DCIM/IMG_0002.jpg", "the disk is full. Make room and run it again")]
    assert targets(report) == ALL[:2]
    assert list(state(build)) == [*ALL[:2], "build.toml"]
    monkeypatch.undo()
    assert targets(gather([card], build)) == ALL[2:]


def test_a_copy_that_came_out_different_is_thrown_away(
    card: Path, build: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = module._hash
    monkeypatch.setattr(
        module, "_hash", lambda path: b"other" if path.name.startswith(PART) else really(path)
    )
    report = gather([card], build)
    assert not report.copied
    assert len(report.faults) == 3
    assert all("came out different" in message for _, message in report.faults)
    assert list(state(build)) == ["build.toml"]


def test_a_card_that_cannot_be_read_to_the_end_costs_that_picture(
    card: Path, build: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = module._pour

    def scratched(file: Path, write: Callable[[bytes], object]) -> bytes | None:
        return None if file.name == "IMG_0002.jpg" else really(file, write)

    monkeypatch.setattr(module, "_pour", scratched)
    report = gather([card], build)
    assert report.faults == [(card / "DCIM/IMG_0002.jpg", "it could not be read")]
    assert targets(report) == ALL[:2]
    assert not list(build.rglob(PART + "*"))


def test_on_a_disk_without_links_nothing_is_written_over_either(
    card: Path, build: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_link(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_link)
    assert targets(gather([card], build)) == ALL
    part = build / "part"
    part.write_bytes(b"new")
    with pytest.raises(FileExistsError):
        module._name_without_replacing(part, build / ALL[0])


RUN = (
    "import sys; from pathlib import Path; from journal.gather import gather; print('go', flush=True)\n"
    "gather([Path(sys.argv[1])], Path(sys.argv[2]))"
)


def test_killed_at_any_moment_only_whole_pictures_bear_their_names(card: Path, build: Path) -> None:
    for index in range(10, 50):
        save_jpeg(card / f"burst/IMG_1{index:03}.jpg", scene(64, 48, index), exif=exif(TAKEN))
    before = state(card)
    known = {digest for digest, _ in before.values()}
    moments = random.Random(5)
    for _ in range(10):
        child = subprocess.Popen([sys.executable, "-c", RUN, str(card), str(build)], stdout=subprocess.PIPE)
        with child:
            assert child.stdout
            child.stdout.readline()
            time.sleep(moments.uniform(0.3, 0.7))
            child.send_signal(signal.SIGKILL)
        for path in build.rglob("*.jpg"):
            assert hashlib.sha256(path.read_bytes()).hexdigest() in known
    report = gather([card], build)
    assert len(report.copied) + len(report.present) == 43
    assert len(state(build)) == 44
    assert not list(build.rglob(PART + "*"))
    assert state(card) == before
