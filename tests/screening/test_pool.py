"""Photos read with an executor: in order, bounded, and a deadly photo costs that photo only."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

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


def _run(tmp_path: Path, script: str) -> list[str]:
    path = tmp_path / "script.py"
    path.write_text(script)
    done = subprocess.run(
        [sys.executable, str(path)], capture_output=True, text=True, check=True, timeout=120
    )
    return done.stdout.splitlines()


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
        assert len(drawn) <= 2 * WINDOW_PER_WORKER * (os.cpu_count() or 1)


def test_a_photo_that_kills_its_worker_costs_that_photo_only(tmp_path: Path) -> None:
    script = SCRIPT.replace("GUARD\nfor", "if __name__ == '__main__':\n  for")
    lines = _run(tmp_path, script.replace("KILLER", "'7.jpg'"))
    assert [line.split()[0] for line in lines] == [f"{n}.jpg" for n in range(30)]
    failed = [line for line in lines if not line.endswith("None")]
    assert len(failed) == 1
    assert "7.jpg: the photo broke the program that decodes it" in failed[0]


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
