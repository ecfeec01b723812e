"""A batch of homes: in worker processes, killed and taken up, larger than memory."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from scorer.report import ranked_table, to_csv, to_json
from scorer.screening import Progress, ScreenedFolder, batch, packed, screen_folder, weighing
from scorer.screening.cache import ReadingCache
from scorer.shortlist.result import HomeResult
from tests.screening import deeds
from tests.screening.three_homes import screen, three_homes


@pytest.fixture
def homes(tmp_path: Path) -> Path:
    return three_homes(tmp_path / "homes")


def test_what_is_shown_needs_no_bulk(homes: Path) -> None:
    screened = screen(homes)
    shown = screened.homes.shown()
    assert all(home.options == () == home.readings for home in shown)
    assert any(home.options for home in screened.homes)
    for report in (to_json, to_csv, ranked_table):
        assert report(shown) == report(screened.homes)  # type: ignore[operator]
    assert shown[1] == next(iter(shown[1:]))


def test_worker_processes_give_the_same_bytes(homes: Path) -> None:
    (homes / "home 1" / "broken.jpg").write_bytes(b"no photo")
    here = screen(homes, kept=False)
    processes = screen_folder(homes, workers=2, isolate=True)
    for report in (to_json, to_csv, ranked_table):
        assert report(processes.homes) == report(here.homes)  # type: ignore[operator]
    assert processes.problems == here.problems

    def plain(results: ScreenedFolder) -> Iterator[HomeResult]:
        for home in results.homes:
            readings = tuple(r.model_copy(update={"seconds": 0}) for r in home.readings)
            yield home.model_copy(update={"readings": readings})

    assert list(plain(processes)) == list(plain(here))


def test_a_home_that_breaks_or_stops_its_worker_costs_itself_only(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("deadly", "endless"):
        shutil.copytree(homes / "home 1", homes / name)
    real = weighing.weighing
    monkeypatch.setattr(
        batch, "weighing", lambda home: real(home)._replace(do=deeds.weigh_deadly, seconds=3.0)
    )
    with ReadingCache() as opened:
        screened = screen_folder(homes, workers=2, isolate=True, cache=opened)
        assert opened.count_homes() == 3
    assert sorted(home.home for home in screened.homes) == ["home 0", "home 1", "home 2"]
    assert [problem.sentence for problem in screened.problems] == [
        "deadly: this home could not be screened (it broke the program that weighs it); the "
        "others were.",
        "endless: this home could not be screened (it took longer than 3 seconds); the others "
        "were.",
    ]


KILLED = """
import os, sys
from pathlib import Path
from scorer.screening import batch, screen_folder, weighing
from scorer.screening.cache import ReadingCache
from scorer.screening.home import screen_home

folder, stop = Path(sys.argv[1]), int(sys.argv[2])
done = 0

def counted(listing, *args, **kwargs):
    global done
    done += 1
    if done == stop:
        os.kill(os.getpid(), 9)
    print(listing.home, flush=True)
    return screen_home(listing, *args, **kwargs)

weighing.screen_home = counted
with ReadingCache() as cache:
    assert len(screen_folder(folder, workers=1, cache=cache).homes) == 3
    assert not cache.problems
"""


def test_a_run_that_was_killed_is_taken_up_where_it_ended(homes: Path) -> None:
    was_weighed: list[str] = []
    for stop in (2, 2, 9):
        command = [sys.executable, "-c", KILLED, str(homes), str(stop)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120)
        assert done.returncode == (0 if stop == 9 else -signal.SIGKILL), done.stderr
        was_weighed += done.stdout.splitlines()
    assert was_weighed == ["home 0", "home 1", "home 2"]


@pytest.mark.skipif(sys.platform != "linux", reason="names that are no text need Linux")
def test_a_photo_whose_name_is_no_text_is_screened_all_the_same(homes: Path) -> None:
    photo = os.fsencode(homes / "home 1" / "kitchen.jpg")
    os.rename(photo, photo.replace(b"kitchen", b"kitchen \xe9"))
    first = screen(homes)
    assert len(first.homes) == 3
    assert first.photos_read == 6
    assert to_json(screen(homes).homes) == to_json(first.homes)


def test_results_beyond_the_memory_meant_for_them_lie_on_disk(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = screen(homes)
    monkeypatch.setattr(packed, "IN_MEMORY_BYTES", 100)
    again = screen(homes)
    assert list(again.homes) == list(first.homes)
    assert again.homes[-1] == first.homes[2]


def test_progress_tells_what_was_read_before(homes: Path) -> None:
    for known in (0, 6):
        seen: list[Progress] = []
        screen(homes, on_progress=seen.append)
        assert seen[-1].photos_done == seen[-1].photos_total == 6
        assert seen[-1].homes_done == 3
        assert seen[-1].photos_known == known


def test_names_are_known_without_unpacking(homes: Path) -> None:
    screened = screen(homes)
    assert screened.homes.names == tuple(home.home for home in screened.homes)
    assert screened.homes[1:].shown().names == screened.homes.names[1:]


def test_the_table_starts_without_what_draws_pdf() -> None:
    script = "import sys, scorer.report as r; r.ranked_table; print('fpdf' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stdout == "False\n"
