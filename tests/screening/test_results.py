"""Results of homes kept by all that they were made from: found again, and never a wrong one."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.listing import Listing
from scorer.money.comps import parse_comps
from scorer.report import ranked_table, to_csv, to_json
from scorer.screening import (
    Progress,
    Screened,
    append_tag,
    batch,
    cache,
    packed,
    screen_folder,
    weighing,
)
from scorer.screening.cache import RESULTS_A_HOME, ReadingCache
from scorer.screening.home import screen_home
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.pricebook import load_price_book
from tests.homes import DARK_RED, LIGHT, save_photo
from tests.screening import deeds

KINDS = ("kitchen", "bathroom")


@pytest.fixture
def homes(tmp_path: Path) -> Path:
    folder = tmp_path / "homes"
    for number in range(3):
        home = folder / f"home {number}"
        for kind in KINDS:
            save_photo(home / f"{kind}.jpg", DARK_RED if number == 1 else LIGHT, seed=number)
        facts = {"ListPrice": 80_000, "LeaseAmount": 900, "YearBuilt": 1990, "BedroomsTotal": 1}
        (home / "listing.json").write_text(json.dumps(facts))
        age(home)
    return folder


def age(folder: Path) -> None:
    then = time.time() - 60
    for path in folder.iterdir():
        os.utime(path, (then, then))


@pytest.fixture
def weighed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the homes that were weighed; none where a result was found."""
    names: list[str] = []

    def counted(listing: Listing, *args: object, **kwargs: object) -> HomeResult:
        names.append(listing.home)
        return screen_home(listing, *args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(weighing, "screen_home", counted)
    return names


def screen(folder: Path, *, kept: bool = True, **given: object) -> Screened:
    if not kept:
        return screen_folder(folder, workers=1, **given)  # type: ignore[arg-type]
    with ReadingCache() as opened:
        return screen_folder(folder, workers=1, cache=opened, **given)  # type: ignore[arg-type]


def test_an_unchanged_folder_is_not_weighed_again_and_prints_the_same(
    homes: Path, weighed: list[str]
) -> None:
    first = screen(homes)
    assert weighed == ["home 0", "home 1", "home 2"]
    again = screen(homes)
    assert len(weighed) == 3
    assert to_json(again.homes) == to_json(first.homes) == to_json(screen(homes, kept=False).homes)
    assert list(again.homes) == list(first.homes)
    assert again.problems == first.problems
    assert again.photos_read == 6


def test_what_is_shown_needs_no_bulk(homes: Path) -> None:
    screened = screen(homes)
    shown = screened.homes.shown()
    assert all(home.options == () == home.readings for home in shown)
    assert any(home.options for home in screened.homes)
    for report in (to_json, to_csv, ranked_table):
        assert report(shown) == report(screened.homes)  # type: ignore[operator]
    assert shown[1] == next(iter(shown[1:]))


def other_fact(homes: Path) -> dict[str, object]:
    path = homes / "home 1" / "listing.json"
    path.write_text(path.read_text().replace("1990", "1950"))
    return {}


def other_tag(homes: Path) -> dict[str, object]:
    append_tag(homes / "home 1", Tag(room="bathroom 1", condition="leak_below_bath", severity=3))
    return {}


def other_photo(homes: Path) -> dict[str, object]:
    save_photo(homes / "home 1" / "kitchen.jpg", LIGHT, seed=9)
    return {}


def other_photo_of_the_same_size_and_time(homes: Path) -> dict[str, object]:
    path = homes / "home 1" / "kitchen.jpg"
    before, data = path.stat(), path.read_bytes()
    path.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    os.utime(path, ns=(before.st_mtime_ns, before.st_mtime_ns))
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    return {}


def photo_of_another_room(homes: Path) -> dict[str, object]:
    (homes / "home 1" / "kitchen.jpg").rename(homes / "home 1" / "bedroom.jpg")
    return {}


def further_photo(homes: Path) -> dict[str, object]:
    save_photo(homes / "home 1" / "front.jpg")
    return {}


def photo_gone(homes: Path) -> dict[str, object]:
    (homes / "home 1" / "kitchen.jpg").unlink()
    return {}


def caption(homes: Path) -> dict[str, object]:
    (homes / "home 1" / "media.csv").write_text("MediaURL,ImageOf\nkitchen.jpg,Laundry\n")
    return {}


def room_size(homes: Path) -> dict[str, object]:
    (homes / "home 1" / "rooms.csv").write_text("RoomType,RoomArea\nKitchen,300\n")
    return {}


def wrong_fact(homes: Path) -> dict[str, object]:
    (homes / "listings.csv").write_text("ListingId,LivingArea\nhome 1,nonsense\n")
    return {}


def setting(homes: Path) -> dict[str, object]:
    return {"settings": Settings(own_hour_usd=31.0)}


def vacancy(homes: Path) -> dict[str, object]:
    return {"settings": Settings(vacancy=0.2)}


def cap_rate(homes: Path) -> dict[str, object]:
    return {"settings": Settings(cap_rate=0.06)}


def target_return(homes: Path) -> dict[str, object]:
    return {"settings": Settings(target_return=0.2)}


def seed(homes: Path) -> dict[str, object]:
    return {"settings": Settings(seed=5)}


def comps(homes: Path) -> dict[str, object]:
    rows = [f"{rent},1,1,700,2026-01-10,updated," for rent in (900, 950, 970, 1010)]
    found, _ = parse_comps(
        "\n".join(["rent_usd_month,beds,baths,area_sqft,date,condition,features", *rows])
    )
    return {"comps": found}


def price(homes: Path) -> dict[str, object]:
    book = load_price_book()
    rows = {
        name: row.model_copy(update={"typical_usd": (row.typical_usd + row.high_usd) / 2 + 0.01})
        for name, row in book.rows.items()
    }
    return {"price_book": book.model_copy(update={"rows": rows})}


def wage(homes: Path) -> dict[str, object]:
    book = load_price_book()
    wages = {
        name: wage.model_copy(update={"own_pace_typical": 1.01 * wage.own_pace_typical})
        for name, wage in book.wages.items()
    }
    return {"price_book": book.model_copy(update={"wages": wages})}


OF_ONE_HOME = (
    other_fact, other_tag, other_photo, other_photo_of_the_same_size_and_time,
    photo_of_another_room, further_photo, photo_gone, caption, room_size, wrong_fact,
)  # fmt: skip
OF_ALL = (setting, vacancy, cap_rate, target_return, seed, comps, price, wage)


@pytest.mark.parametrize("change", [*OF_ONE_HOME, *OF_ALL])
def test_whatever_changes_gives_a_fresh_result(
    homes: Path, weighed: list[str], change: Callable[[Path], dict[str, object]]
) -> None:
    before = screen(homes)
    weighed.clear()
    given = change(homes)
    changed = screen(homes, **given)
    assert weighed == (["home 1"] if change in OF_ONE_HOME else ["home 0", "home 1", "home 2"])
    assert to_json(changed.homes) == to_json(screen(homes, kept=False, **given).homes)
    if change is not other_photo_of_the_same_size_and_time:
        assert list(changed.homes) != list(before.homes)
    weighed.clear()
    assert list(screen(homes, **given).homes) == list(changed.homes)
    assert weighed == []


def test_another_version_of_the_program_weighs_anew(
    homes: Path, weighed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    screen(homes)
    for module in (weighing, cache):
        monkeypatch.setattr(module, "weighing_method", lambda: "next")
    with ReadingCache() as opened:
        assert opened.stale() == (0, 0, 3)
    screen(homes)
    assert len(weighed) == 6
    with ReadingCache() as opened:
        assert opened.count_homes() == 6
        assert opened.tidy() == (0, 0, 3)
        assert opened.count_homes() == 3
    shutil.rmtree(homes / "home 2")
    with ReadingCache() as opened:
        assert opened.stale().results == 1


def test_a_program_without_its_source_keeps_no_result(
    homes: Path, weighed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(weighing, "weighing_method", lambda: "")
    screen(homes)
    screen(homes)
    assert len(weighed) == 6


DAMAGE = {
    "text in place of the result": "update result set shown = x'00'",
    "a result cut short": "update result set rest = substr(rest, 1, length(rest) - 1)",
    "a changed byte": "update result set shown = cast(substr(shown, 1, 99) || x'07' || "
    "substr(shown, 101) as blob)",
    "another rank": "update result set head = replace(head, 'false', 'true')",
    "nonsense": "update result set head = '[]'",
    "another's result": "update result set (head, shown, rest, seal) = (select head, shown, rest, "
    "seal from result as r where r.home = 'home 1')",
    "another's result under its key": "update result set (head, shown, rest) = (select head, "
    "shown, rest from result as r where r.home = 'home 1')",
}


@pytest.mark.parametrize("statement", DAMAGE.values(), ids=DAMAGE)
def test_a_damaged_row_is_made_again(homes: Path, weighed: list[str], statement: str) -> None:
    first = to_json(screen(homes).homes)
    with ReadingCache() as opened:
        path = opened.path
    other = sqlite3.connect(path)
    other.execute(statement)
    other.commit()
    other.close()
    weighed.clear()
    assert to_json(screen(homes).homes) == first
    assert len(weighed) >= 2
    weighed.clear()
    assert to_json(screen(homes).homes) == first
    assert weighed == []


def test_a_photo_that_cannot_be_read_is_tried_again_and_its_home_not_weighed(
    homes: Path, weighed: list[str]
) -> None:
    (homes / "home 1" / "broken.jpg").write_bytes(b"no photo")
    first = screen(homes)
    assert len(first.problems) == 1
    assert first.photos_read == 6
    weighed.clear()
    again = screen(homes)
    assert weighed == []
    assert list(again.homes) == list(first.homes)
    assert again.problems == first.problems
    save_photo(homes / "home 1" / "broken.jpg")
    mended = screen(homes)
    assert weighed == ["home 1"]
    assert mended.problems == ()
    assert mended.photos_read == 7


def test_a_photo_changed_while_it_is_read_keeps_no_result(
    homes: Path, weighed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = homes / "home 1" / "kitchen.jpg"
    data = path.read_bytes()
    changed = []

    def meanwhile(progress: Progress) -> None:
        if not changed and progress.home == "home 0":
            changed.append(save_photo(path, LIGHT, seed=5))

    # The next home's photos are asked for before the first home's are all done.
    with ReadingCache() as opened:
        monkeypatch.setattr(opened, "put", lambda *_: False)
        screen_folder(homes, workers=1, cache=opened, on_progress=meanwhile)
        assert opened.count_homes() == 0
    path.write_bytes(data)
    weighed.clear()
    screen(homes)
    assert len(weighed) == 3


def test_a_few_results_of_a_home_are_kept(homes: Path, weighed: list[str]) -> None:
    for hour in range(RESULTS_A_HOME + 2):
        screen(homes, settings=Settings(own_hour_usd=hour))
    weighed.clear()
    for hour in range(2, RESULTS_A_HOME + 2):
        screen(homes, settings=Settings(own_hour_usd=hour))
    assert weighed == []
    with ReadingCache() as opened:
        assert opened.count_homes() == 3 * RESULTS_A_HOME


def test_without_a_cache_nothing_is_kept(homes: Path, weighed: list[str], own_cache: Path) -> None:
    screen(homes, kept=False)
    screen(homes, kept=False)
    assert len(weighed) == 6
    assert list(own_cache.iterdir()) == []


def test_worker_processes_give_the_same_bytes(homes: Path) -> None:
    (homes / "home 1" / "broken.jpg").write_bytes(b"no photo")
    here = screen(homes, kept=False)
    processes = screen_folder(homes, workers=2, isolate=True)
    for report in (to_json, to_csv, ranked_table):
        assert report(processes.homes) == report(here.homes)  # type: ignore[operator]
    assert processes.problems == here.problems

    def plain(results: Screened) -> Iterator[HomeResult]:
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
