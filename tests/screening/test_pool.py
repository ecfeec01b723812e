"""Photos read with an executor: in order, bounded, and a deadly photo costs that photo only."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from scorer.photos.reading import Reading
from scorer.screening.pool import WINDOW_PER_WORKER, Job, read_job, read_photos


def _jobs(count: int) -> list[Job]:
    return [Job(f"/nowhere/{n}.jpg", f"{n}.jpg") for n in range(count)]


def _named(job: Job) -> Reading:
    return Reading(file=job.name)


SCRIPT = """
import os
from scorer.photos.reading import Reading
from scorer.screening.pool import Job, read_photos

def read_one(job):
    if job.name == KILLER:
        os._exit(9)
    return Reading(file=job.name)

def jobs():
    return [Job(f"/nowhere/{n}.jpg", f"{n}.jpg") for n in range(30)]

GUARD
for reading in read_photos(jobs(), 30, workers=2, read_one=read_one):
    print(reading.file, reading.error)
"""

# PyDLL keeps the interpreter's lock, as a decoder that hangs may: no Python code can run meanwhile.
HANGS = """
import ctypes, os, sys, time
from pathlib import Path
from scorer.photos.reading import Reading
from scorer.screening.pool import Job, read_photos

def read_one(job):
    Path(sys.argv[1], f"{os.getpid()}.pid").touch()
    if job.name in ("3.jpg", "20.jpg"):
        ctypes.PyDLL(None).sleep(300)
    return Reading(file=job.name)

if __name__ == "__main__":
    jobs = [Job(f"/nowhere/{n}.jpg", f"{n}.jpg") for n in range(24)]
    for reading in read_photos(jobs, 24, workers=2, read_one=read_one, seconds=1.5):
        print(reading.file, reading.error, flush=True)
    WAIT
"""


def _run(tmp_path: Path, script: str) -> list[str]:
    path = tmp_path / "script.py"
    path.write_text(script)
    done = subprocess.run(
        [sys.executable, str(path), str(tmp_path)],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return done.stdout.splitlines()


def _alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"  # ended, and only not yet collected by whoever adopted it


def _all_end(folder: Path) -> bool:
    pids = [int(path.stem) for path in folder.glob("*.pid")]
    assert pids
    end = time.monotonic() + 20
    while any(map(_alive, pids)) and time.monotonic() < end:
        time.sleep(0.1)
    return not any(map(_alive, pids))


def test_order_holds_whatever_the_executor() -> None:
    expected = [f"{n}.jpg" for n in range(40)]
    with ThreadPoolExecutor(4) as threads:
        for executor in (None, threads):
            readings = read_photos(_jobs(40), 40, executor, workers=1, read_one=_named)
            assert [reading.file for reading in readings] == expected


def test_jobs_are_drawn_as_they_are_needed() -> None:
    drawn = []

    def jobs() -> object:
        for job in _jobs(10_000):
            drawn.append(job)
            yield job

    with ThreadPoolExecutor(1) as threads:
        stream = read_photos(jobs(), 10_000, threads, read_one=_named)  # type: ignore[arg-type]
        next(stream)
        assert len(drawn) <= 8 * WINDOW_PER_WORKER * (os.cpu_count() or 1) + 1


def test_a_photo_that_kills_its_worker_costs_that_photo_only(tmp_path: Path) -> None:
    script = SCRIPT.replace("GUARD\nfor", "if __name__ == '__main__':\n  for")
    lines = _run(tmp_path, script.replace("KILLER", "'7.jpg'"))
    assert [line.split()[0] for line in lines] == [f"{n}.jpg" for n in range(30)]
    failed = [line for line in lines if not line.endswith("None")]
    assert len(failed) == 1
    assert "7.jpg: the photo broke the program that decodes it" in failed[0]


def test_a_photo_that_hangs_its_worker_costs_that_photo_only(tmp_path: Path) -> None:
    lines = _run(tmp_path, HANGS.replace("WAIT", ""))
    assert [line.split()[0] for line in lines] == [f"{n}.jpg" for n in range(24)]
    failed = [line for line in lines if not line.endswith("None")]
    assert [line.split()[0] for line in failed] == ["3.jpg", "20.jpg"]
    assert all("took longer than 1.5 seconds" in line for line in failed)
    assert _all_end(tmp_path)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to see processes")
def test_workers_end_with_a_parent_that_was_killed(tmp_path: Path) -> None:
    path = tmp_path / "script.py"
    path.write_text(
        HANGS.replace('"3.jpg", "20.jpg"', '"none"')
        .replace("WAIT", "")
        .replace("flush=True)", "flush=True); time.sleep(300)")
    )
    with subprocess.Popen(
        [sys.executable, str(path), str(tmp_path)], stdout=subprocess.PIPE, text=True
    ) as parent:
        assert parent.stdout is not None
        assert parent.stdout.readline().startswith("0.jpg")
        parent.kill()
    assert _all_end(tmp_path)


def test_an_executor_that_loses_a_photo_gets_it_once_more() -> None:
    class Forgetful(ThreadPoolExecutor):
        lost = 0

        def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
            job: Job = args[0]
            if (job.name == "2.jpg" and self.lost < 1) or job.name == "5.jpg":
                self.lost += 1
                future: Future[Any] = Future()
                future.set_exception(ConnectionError("worker gone"))
                return future
            return super().submit(fn, *args, **kwargs)

    with Forgetful(1) as executor:
        readings = list(read_photos(_jobs(8), 8, executor, read_one=_named))
    assert [reading.file for reading in readings] == [f"{n}.jpg" for n in range(8)]
    (failed,) = [reading for reading in readings if reading.error]
    assert failed.error == (
        "5.jpg: the worker that read it was lost (ConnectionError); run it again."
    )


def test_a_script_without_a_main_guard_is_served_all_the_same(tmp_path: Path) -> None:
    # In the script's child processes the loop runs again; the parent's own answer must be whole.
    script = SCRIPT.replace("GUARD\n", "").replace("KILLER", "None")
    assert [line.split()[0] for line in _run(tmp_path, script)][-30:] == [
        f"{n}.jpg" for n in range(30)
    ]


def test_whatever_goes_wrong_is_one_sentence(tmp_path: Path) -> None:
    reading = read_job(Job(str(tmp_path / "no.jpg"), "no.jpg"))
    assert reading.file == "no.jpg"
    assert reading.error
    assert "\n" not in reading.error
