"""Results of homes kept by all that they were made from: found again, and never a wrong one."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.listing import Listing
from scorer.money.comps import parse_comps
from scorer.report import to_json
from scorer.screening import Progress, append_tag, cache, screen_folder, weighing
from scorer.screening.cache import RESULTS_A_HOME, ReadingCache
from scorer.screening.home import screen_home
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.pricebook import load_price_book
from tests.homes import LIGHT, save_photo
from tests.screening.three_homes import screen, three_homes


@pytest.fixture
def homes(tmp_path: Path) -> Path:
    return three_homes(tmp_path / "homes")


@pytest.fixture
def weighed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the homes that were weighed; none where a result was found."""
    names: list[str] = []

    def counted(listing: Listing, *args: object, **kwargs: object) -> HomeResult:
        names.append(listing.home)
        return screen_home(listing, *args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(weighing, "screen_home", counted)
    return names


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
