"""A home through every stage, and a folder of homes."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing import Listing
from scorer.listing.listing import PhotoFile
from scorer.photos.reading import Colour, Reading, ToneProbability, Wall
from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.screening import Progress, rank_homes, screen_folder, screen_home, screen_one
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.learning import Correction, Corrections
from tests.homes import DARK_RED, make_home, save_photo


def _walls(name: str, dark: float) -> Reading:
    colour = Colour(hex="#5c1e22", name="dark red", lab=(22.0, 30.0, 14.0))
    return Reading(
        file=name,
        wall=Wall(
            fraction=0.4,
            tone="dark" if dark > 0.5 else "light",
            tone_probability=ToneProbability(dark=dark, mid=0.0, light=1 - dark),
            lrv=Range(low=3, typical=5, high=9)
            if dark > 0.5
            else Range(low=60, typical=75, high=85),
            colour=colour if dark > 0.5 else None,
            bold_probability=dark,
        ),
    )


def _home(dark: float, home: str = "h") -> tuple[Listing, list[Reading]]:
    photos = tuple(
        PhotoFile(path=f"{kind}.jpg", name=f"{kind}.jpg", room_kind=kind)
        for kind in (RoomKind.KITCHEN, RoomKind.BEDROOM)
    )
    listing = Listing(
        home=home,
        bedrooms=1,
        bathrooms=1,
        living_area_sqft=800,
        year_built=1990,
        monthly_rent_usd=900,
        list_price_usd=80_000,
        photos=photos,
    )
    return listing, [_walls(photo.name, dark) for photo in photos]


def test_dark_walls_become_paint_and_light_walls_do_not() -> None:
    dark = screen_home(*_home(0.95), [])
    light = screen_home(*_home(0.02), [])
    assert {"kitchen", "bedroom 1"} <= {
        f.room for f in dark.findings if f.condition == "dark_walls"
    }
    assert any(option.family == "paint" for option in dark.scope.options)
    assert not any(option.family == "paint" for option in light.scope.options)
    assert dark.score > light.score
    assert dark.outcome.rent_lift_month_usd.p50 > light.outcome.rent_lift_month_usd.p50


def test_a_person_who_says_no_takes_the_paint_away_and_the_reading_is_kept() -> None:
    tags = [
        Tag(room=room, condition=condition, present=False)
        for room in ("kitchen", "bedroom 1")
        for condition in ("dark_walls", "bold_walls", "accent_wall")
    ]
    result = screen_home(*_home(0.95), tags)
    assert not any(option.family == "paint" for option in result.scope.options)
    rejected = [f for f in result.findings if f.condition == "dark_walls"]
    assert len(rejected) == 2
    assert all(f.rejected and any(e.source == "photo" for e in f.evidence) for f in rejected)


def test_walls_that_a_person_found_to_be_plain_paint_are_offered_paint() -> None:
    listing, readings = _home(0.9)
    patterned = [
        r.model_copy(
            update={"wall": r.wall and r.wall.model_copy(update={"covered_probability": 0.9})}
        )
        for r in readings
    ]

    def dark(tags: Iterable[Tag]) -> dict[str, float]:
        found = screen_home(listing, patterned, tuple(tags)).findings
        return {f.room: f.certainty for f in found if f.condition == "dark_walls"}

    (room, sure), _ = _certainty_of_dark_walls(listing, readings).items()
    assert dark(()) == {}
    not_so = Tag(room=room, condition="walls_covered", present=False, tagged_at="2026-05-30T10:00Z")
    assert dark([not_so]) == {room: sure}
    so = not_so.model_copy(update={"present": True, "tagged_at": "2026-05-30T11:00Z"})
    assert dark([not_so, so]) == {}
    result = screen_home(listing, patterned, (not_so,))
    kept = next(f for f in result.findings if f.condition == "walls_covered")
    assert kept.rejected
    assert kept.evidence[0].source == "photo"
    assert any(o.family == "paint" and o.room == room for o in result.options)


def _certainty_of_dark_walls(listing: Listing, readings: list[Reading]) -> dict[str, float]:
    found = screen_home(listing, readings, ()).findings
    return {f.room: f.certainty for f in found if f.condition == "dark_walls"}


def test_the_same_home_gives_the_same_result_and_survives_json() -> None:
    first = screen_home(*_home(0.95), [])
    assert screen_home(*_home(0.95), []) == first
    assert HomeResult.model_validate_json(first.model_dump_json()) == first


def test_the_budget_is_kept() -> None:
    for budget in (0.0, 300.0, 1_000.0):
        result = screen_home(*_home(0.95), [], Settings(budget_usd=budget))
        assert result.scope.cash_usd.typical <= budget + 1e-6


def test_what_work_really_cost_corrects_the_next_estimate() -> None:
    plain = screen_home(*_home(0.95), [])
    twice = Corrections(cash_by_trade={"own": Correction(factor=2.0, jobs=9)})
    dearer = screen_home(*_home(0.95), [], corrections=twice)
    before = {option.id: option.cash_usd.typical for option in plain.options}
    assert all(option.cash_usd.typical >= before[option.id] for option in dearer.options)
    assert any(option.cash_usd.typical > before[option.id] for option in dearer.options)


def test_unseen_rooms_and_missing_facts_are_told() -> None:
    listing, readings = _home(0.95)
    result = screen_home(listing.model_copy(update={"list_price_usd": None}), readings, [])
    assert "bathroom 1" in {item.room for item in result.unseen}
    assert "The asking price (ListPrice) is missing" in result.missing_facts[0]


def test_an_unseen_room_widens_the_cost_until_a_person_has_been_there() -> None:
    unseen = screen_home(*_home(0.95), [])
    rooms = [item.room for item in unseen.unseen]
    sound = {"front": "roof_worn", "living room": "dirty_trim", "bathroom 1": "leak_below_bath"}
    tags = [Tag(room=r, condition=c, present=False) for r, c in sound.items()]
    visited = screen_home(*_home(0.95), tags)
    assert set(sound) <= set(rooms)
    assert visited.errors == ()
    assert visited.unseen == ()
    spread = [r.outcome.cost_usd.p90 - r.outcome.cost_usd.p10 for r in (unseen, visited)]
    assert spread[0] > spread[1]


def test_a_home_of_which_nothing_is_known_is_screened_all_the_same() -> None:
    result = screen_home(Listing(home="h"), [], [])
    assert result.score == 0
    assert result.scope.options == ()
    assert result.outcome.cost_usd.p10 == 0 < result.outcome.cost_usd.p90  # all is unseen
    assert result.reasons


def test_a_tag_that_cannot_be_used_costs_that_tag_only() -> None:
    tags = [
        Tag(room="moon", condition="dark_walls"),
        Tag(room="kitchen", condition="leak_below_bath"),
        Tag(room="bathroom", condition="leak_below_bath", severity=3, tagged_at="yesterday"),
        Tag(room="bathroom", condition="leak_below_bath", severity=3),
    ]
    result = screen_home(*_home(0.02), tags)
    assert len(result.errors) == 3
    assert [f.room for f in result.findings if f.condition == "leak_below_bath"] == ["bathroom 1"]
    assert result.scope.holds


@pytest.fixture
def batch(tmp_path: Path) -> Path:
    for number in range(3):
        make_home(tmp_path / f"home {number}", DARK_RED if number == 1 else (225, 222, 214), number)
    return tmp_path


def test_a_folder_is_ranked_and_progress_counts_every_photo(batch: Path) -> None:
    seen: list[Progress] = []
    screened = screen_folder(batch, on_progress=seen.append)
    assert [home.rank for home in screened.homes] == [1, 2, 3]
    assert screened.problems == ()
    assert [progress.photos_done for progress in seen] == list(range(1, 13))
    assert (seen[-1].homes_done, seen[-1].photos_total) == (3, 12)


def test_packed_homes_are_what_ranking_gives(batch: Path) -> None:
    homes = screen_folder(batch).homes
    assert tuple(homes) == rank_homes(tuple(homes)[::-1])
    assert [home.rank for home in homes[1:]] == [2, 3]
    assert homes[-1] == tuple(homes)[2]
    assert len(homes[:1]) == 1
    with pytest.raises(IndexError):
        homes[3]


def test_the_result_does_not_depend_on_the_executor(batch: Path) -> None:
    def plain(homes: Iterable[HomeResult]) -> list[HomeResult]:
        return [
            home.model_copy(
                update={
                    "readings": tuple(r.model_copy(update={"seconds": 0}) for r in home.readings)
                }
            )
            for home in homes
        ]

    serial = screen_folder(batch, workers=1)
    with ThreadPoolExecutor(3) as threads:
        threaded = screen_folder(batch, executor=threads)
    assert plain(serial.homes) == plain(threaded.homes)


def test_one_home_that_breaks_does_not_stop_the_batch(
    batch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scorer.screening import weighing

    def breaks(listing: Listing, *args: object, **kwargs: object) -> HomeResult:
        if listing.home == "home 1":
            raise RuntimeError("planted")
        return screen_home(listing, *args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(weighing, "screen_home", breaks)
    screened = screen_folder(batch)
    assert [home.home for home in screened.homes] != []
    assert {home.home for home in screened.homes} == {"home 0", "home 2"}
    (problem,) = screened.problems
    assert "home 1: this home could not be screened (RuntimeError: planted)" in problem.sentence


def test_one_home_alone(batch: Path) -> None:
    (batch / "home 1" / "broken.jpg").write_bytes(b"no")
    result = screen_one(batch / "home 1")
    assert result.home == "home 1"
    assert len(result.errors) == 1
    with pytest.raises(InputError, match="no such folder"):
        screen_one(batch / "none")


def test_photos_of_phones_are_taken(tmp_path: Path) -> None:
    import pillow_heif

    pillow_heif.register_heif_opener()
    for name in ("kitchen.heic", "bath.webp", "bed.png", "front.jpeg"):
        save_photo(tmp_path / "h" / name)
    screened = screen_folder(tmp_path)
    assert screened.problems == ()
    assert len([r for r in screened.homes[0].readings if r.error is None]) == 4


def test_comps_move_the_rent_effects_and_none_leave_them() -> None:
    from scorer.money.comps import parse_comps

    kitchen = Tag(room="kitchen", condition="dated_kitchen", severity=2)
    listing = Listing(home="a", bedrooms=2, bathrooms=1, living_area_sqft=900, monthly_rent_usd=900)
    rows = ["rent_usd_month,beds,baths,area_sqft,date,condition,features"]
    rows += [f"{rent},2,1,900,2026-01-10,{state}," for rent, state in [
        (850, "dated"), (860, "dated"), (870, "dated"), (1150, "updated"), (1160, "updated"),
    ]]  # fmt: skip
    comps, problems = parse_comps("\n".join(rows))
    assert not problems
    without = screen_home(listing, (), [kitchen]).options
    assert without == screen_home(listing, (), [kitchen], comps=()).options
    moved = screen_home(listing, (), [kitchen], comps=comps).options
    assert [o.id for o in moved] == [o.id for o in without]
    assert [o.rent_month_usd for o in moved] != [o.rent_month_usd for o in without]
