"""Readings kept by content: found again, never wrong, and no reason for a run to fail."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from scorer.photos.reading import Reading
from scorer.screening import cache as module
from scorer.screening.cache import FILE_NAME, ReadingCache, cache_folder
from scorer.screening.pool import Job, read_photos


@pytest.fixture
def cache(tmp_path: Path) -> Iterator[ReadingCache]:
    with ReadingCache(tmp_path / "c" / "readings.sqlite") as opened:
        yield opened


def photo(path: Path, content: bytes = b"one", age_seconds: float = 60.0) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    then = time.time() - age_seconds
    os.utime(path, (then, then))
    return path


class Reader:
    """Counts what it reads."""

    def __init__(self) -> None:
        self.read: list[str] = []

    def __call__(self, job: Job) -> Reading:
        self.read.append(job.name)
        data = Path(job.path).read_bytes()
        error = f"{job.name}: bad" if data == b"bad" else None
        return Reading(file=job.name, error=error, sharpness=float(len(data)), seconds=0.5)


def read(
    cache: ReadingCache, *paths: Path, kind: str | None = None
) -> tuple[list[Reading], list[str]]:
    reader = Reader()
    jobs = [Job(str(path), path.name, kind) for path in paths]
    return list(read_photos(jobs, len(jobs), workers=1, read_one=reader, cache=cache)), reader.read


def test_a_second_run_reads_nothing_and_says_the_same(cache: ReadingCache, tmp_path: Path) -> None:
    paths = [photo(tmp_path / f"{n}.jpg", b"x" * n) for n in range(1, 6)]
    first, was_read = read(cache, *paths)
    assert was_read == [path.name for path in paths]
    assert read(cache, *paths) == (first, [])


def test_a_moved_or_copied_photo_is_known_under_its_new_name(
    cache: ReadingCache, tmp_path: Path
) -> None:
    path = photo(tmp_path / "a" / "one.jpg")
    read(cache, path)
    copied = Path(shutil.copy(path, tmp_path / "other.jpg"))
    readings, was_read = read(cache, copied)
    assert was_read == []
    assert [reading.file for reading in readings] == ["other.jpg"]


def test_other_bytes_another_room_or_another_method_are_read_anew(
    cache: ReadingCache, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = photo(tmp_path / "one.jpg")
    read(cache, path)
    assert read(cache, path, kind="kitchen")[1] == ["one.jpg"]
    photo(path, b"three", age_seconds=30)
    assert read(cache, path)[0][0].sharpness == 5
    assert cache.stale() == (0, 0, 0)
    monkeypatch.setattr(module, "reading_method", lambda: "next")
    assert read(cache, path)[1] == ["one.jpg"]
    assert cache.stale().readings == 3
    assert cache.tidy() == (3, 0, 0)
    assert cache.count() == 1


def test_a_file_changed_a_moment_ago_is_hashed_again(cache: ReadingCache, tmp_path: Path) -> None:
    # Same size and, by a coarse clock, the same time of change: only the bytes tell them apart.
    path = photo(tmp_path / "one.jpg", b"aa", age_seconds=0)
    moment = path.stat().st_mtime_ns
    read(cache, path)
    path.write_bytes(b"bb")
    os.utime(path, ns=(moment, moment))
    assert read(cache, path)[1] == ["one.jpg"]


def test_a_photo_that_changes_while_it_is_read_is_not_kept(
    cache: ReadingCache, tmp_path: Path
) -> None:
    path = photo(tmp_path / "one.jpg")
    key = cache.key(str(path))
    assert key is not None
    photo(path, b"other bytes", age_seconds=10)
    cache.put(key, Reading(file="one.jpg"))
    assert cache.count() == 0


def test_a_photo_that_could_not_be_read_is_tried_again(cache: ReadingCache, tmp_path: Path) -> None:
    paths = [photo(tmp_path / "bad.jpg", b"bad"), photo(tmp_path / "good.jpg")]
    read(cache, *paths)
    readings, was_read = read(cache, *paths)
    assert was_read == ["bad.jpg"]
    assert [reading.error for reading in readings] == ["bad.jpg: bad", None]


def test_files_that_are_gone_are_stale(cache: ReadingCache, tmp_path: Path) -> None:
    path = photo(tmp_path / "one.jpg")
    read(cache, path)
    path.unlink()
    assert cache.stale() == (0, 1, 0)
    assert cache.tidy() == (0, 1, 0)
    assert cache.count() == 1  # the same bytes may come back


@pytest.mark.parametrize("content", [b"not a database at all" * 100, b""])
def test_a_broken_file_is_set_aside(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "readings.sqlite"
    file.write_bytes(content)
    path = photo(tmp_path / "one.jpg")
    with ReadingCache(file) as cache:
        assert read(cache, path)[1] == ["one.jpg"]
        assert read(cache, path)[1] == []
    assert bool(cache.problems) == bool(content)
    if content:
        assert "it was set aside" in cache.problems[0]
        assert file.with_name("readings.sqlite.broken").read_bytes() == content


def test_a_file_that_breaks_in_use_is_set_aside(tmp_path: Path) -> None:
    file = tmp_path / "readings.sqlite"
    paths = [photo(tmp_path / f"{n}.jpg", bytes([n]) * 50) for n in range(200)]
    with ReadingCache(file) as cache:
        read(cache, *paths)
    data = bytearray(file.read_bytes())
    data[8192:] = b"\x55" * (len(data) - 8192)  # the head says database, the pages don't
    file.write_bytes(bytes(data))
    with ReadingCache(file) as cache:
        readings, _ = read(cache, *paths)
    assert [reading.error for reading in readings] == [None] * 200
    assert len(cache.problems) == 1
    with ReadingCache(file) as cache:
        assert read(cache, *paths[-50:])[1] == []


def test_other_tables_under_the_name_are_set_aside(tmp_path: Path) -> None:
    file = tmp_path / "readings.sqlite"
    with sqlite3.connect(file) as other:
        other.execute("create table reading (something text)")
    other.close()
    path = photo(tmp_path / "one.jpg")
    with ReadingCache(file) as cache:
        for _ in range(2):
            readings, was_read = read(cache, path)
            assert readings[0].error is None
        assert was_read == []
    assert "set aside" in cache.problems[0]


def test_a_place_that_cannot_be_written_costs_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    path = photo(tmp_path / "one.jpg")
    with ReadingCache(tmp_path / "file" / "readings.sqlite") as cache:
        assert read(cache, path)[1] == ["one.jpg"]
    assert "photos are read without it" in cache.problems[0]


def test_nonsense_in_place_of_a_reading_is_read_anew(cache: ReadingCache, tmp_path: Path) -> None:
    path = photo(tmp_path / "one.jpg")
    read(cache, path)
    with sqlite3.connect(cache.path) as other:
        other.execute("update reading set reading = '{\"file\": 3}'")
    other.close()
    assert read(cache, path)[1] == ["one.jpg"]


def test_a_pipe_is_not_waited_for(cache: ReadingCache, tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(tmp_path / "pipe.jpg")
    assert cache.key(str(tmp_path / "pipe.jpg")) is None


def test_the_folder_is_the_users_own_or_the_one_named(own_cache: Path) -> None:
    assert cache_folder() == own_cache
    with ReadingCache() as cache:
        assert cache.path == own_cache / FILE_NAME


KILLED = """
import os, sys
from pathlib import Path
from scorer.photos.reading import Reading
from scorer.screening.cache import ReadingCache
from scorer.screening.pool import Job, read_photos

folder, stop = Path(sys.argv[1]), int(sys.argv[2])
done = 0

def read_one(job):
    global done
    done += 1
    if done == stop:
        os.kill(os.getpid(), 9)
    print(job.name, flush=True)
    return Reading(file=job.name)

jobs = [Job(str(folder / f"{n}.jpg"), f"{n}.jpg") for n in range(20)]
with ReadingCache(folder / "c.sqlite") as cache:
    assert len(list(read_photos(jobs, 20, workers=1, read_one=read_one, cache=cache))) == 20
    assert not cache.problems
"""


def test_a_run_that_was_killed_is_taken_up_where_it_ended(tmp_path: Path) -> None:
    for number in range(20):
        photo(tmp_path / f"{number}.jpg", bytes([number]))
    was_read: list[str] = []
    for stop in (7, 2, 9, 99):
        command = [sys.executable, "-c", KILLED, str(tmp_path), str(stop)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60)
        assert done.returncode == (0 if stop == 99 else -9), done.stderr
        was_read += done.stdout.split()
    # Each photo is read once, whichever run did it, but for nothing read twice.
    assert was_read == [f"{number}.jpg" for number in range(20)]
