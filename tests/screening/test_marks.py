"""What runs that were killed leave behind is taken away, and nothing else."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scorer.screening.hands import OwnWorkers, Work
from scorer.screening.marks import OLD_SECONDS, PREFIX, marks_folder, sweep

pytestmark = pytest.mark.skipif(not hasattr(os, "getuid"), reason="nothing is swept here")


def left(folder: Path, process: int, age_seconds: float = 2 * OLD_SECONDS) -> Path:
    path = folder / f"{PREFIX}{process}-ab_c1"
    path.mkdir()
    (path / "17").write_bytes(b"")
    then = time.time() - age_seconds
    os.utime(path, (then, then))
    return path


@pytest.fixture
def gone() -> int:
    """Number of a process that has ended."""
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        process.wait()
    return process.pid


def test_an_old_folder_of_a_process_that_is_gone_is_taken_away(tmp_path: Path, gone: int) -> None:
    path = left(tmp_path, gone)
    assert sweep(tmp_path) == 1
    assert not path.exists()


def test_others_stay(tmp_path: Path, gone: int) -> None:
    kept = [left(tmp_path, os.getpid()), left(tmp_path, 1)]
    (tmp_path / "young").mkdir()
    kept.append(left(tmp_path / "young", gone, age_seconds=60))
    named = tmp_path / "value-add-notes"
    named.mkdir()
    kept.append(named)
    (tmp_path / f"{PREFIX}{gone}-file").write_text("a file")
    target = tmp_path / "target"
    target.mkdir()
    (target / "3").write_text("somebody's")
    (tmp_path / f"{PREFIX}{gone}-link").symlink_to(target)
    for folder in (tmp_path, tmp_path / "young"):
        assert sweep(folder, now=time.time() + (0 if folder.name == "young" else 10_000)) == 0
    assert all(path.exists() for path in kept)
    assert (target / "3").exists()


def test_a_folder_that_holds_anything_else_stays(tmp_path: Path, gone: int) -> None:
    path = left(tmp_path, gone)
    (path / "letter.txt").write_text("mine")
    then = time.time() - 2 * OLD_SECONDS
    os.utime(path, (then, then))
    sweep(tmp_path)
    assert (path / "letter.txt").exists()


def test_a_folder_that_is_not_there_is_no_trouble(tmp_path: Path) -> None:
    assert sweep(tmp_path / "none") == 0


def test_the_name_tells_whose_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with marks_folder() as folder:
        assert Path(folder).name.startswith(f"{PREFIX}{os.getpid()}-")
        assert sweep(now=time.time() + 10_000) == 0
    assert list(tmp_path.iterdir()) == []


def test_the_next_start_sweeps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, gone: int) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    path = left(tmp_path, gone)
    workers = OwnWorkers(1)
    try:
        work = Work(len, "four", lambda *_: None, 60.0)
        assert workers.finish(workers.take(work)) == 4
    finally:
        workers.close(wait=True)
    assert not path.exists()
