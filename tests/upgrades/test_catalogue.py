"""Every row of the catalogue, the laws between rows, and what a broken copy says."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from scorer.conditions.checklist import load_conditions, load_holds
from scorer.conditions.finding import Finding
from scorer.errors import InputError
from scorer.rooms import RoomKind
from scorer.upgrades.catalogue import CATALOGUE_FOLDER, load_catalogue
from scorer.upgrades.pricebook import load_price_book
from scorer.upgrades.takeoff import MEASURES, unit_of
from scorer.upgrades.upgrade import RUNG_ORDER, Trigger, Upgrade

CATALOGUE = load_catalogue()
BY_ID = {upgrade.id: upgrade for upgrade in CATALOGUE}

# Service lives in years: NAHB/Bank of America Study of Life Expectancy of Home Components, 2007.
NAHB_YEARS = {
    "range_replace": 15,
    "refrigerator_replace": 13,
    "dishwasher_replace": 9,
    "dishwasher_add": 9,
    "faucet_replace": 15,
    "water_heater_replace": 10,
}
NAHB_AT_MOST = {
    "walls_paint_light": 15,
    "ceiling_paint": 15,
    "floor_carpet_tile": 10,
    "floor_plank": 50,
    "floor_sheet_vinyl": 50,
    "heating_replace": 20,
    "cooling_window_unit": 15,
    "deck_stain": 20,
    "deck_board_replace": 20,
}


def test_there_are_enough_upgrades_and_every_kind_of_room_has_some() -> None:
    assert len(CATALOGUE) >= 65
    for kind in RoomKind:
        assert sum(kind in u.rooms for u in CATALOGUE) >= 5, kind
    for family in ("kitchen", "paint", "bathroom", "flooring"):  # the four that pay most
        assert sum(u.family == family for u in CATALOGUE) >= 8


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_every_row_is_complete_and_sober(upgrade: Upgrade) -> None:
    rent = upgrade.rent_percent
    assert 0 <= rent.low <= rent.typical <= rent.high
    assert 0 < upgrade.durability_years <= 50
    assert upgrade.source
    assert len({(line.item, line.measure, line.only_if) for line in upgrade.lines}) == len(
        upgrade.lines
    )
    if upgrade.own_trade != "own":
        assert upgrade.cautions
    # Required work is there for health and safety, not for the rent.
    if upgrade.required and upgrade.family == "safety":
        assert rent.typical <= 0.6
    # Every room where it is offered has a condition that can call for it.
    conditions = load_conditions()
    for room in upgrade.rooms:
        assert any(room in conditions[t.condition].room_kinds for t in upgrade.triggers), room


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_no_room_alone_earns_more_than_the_published_upper_bound(upgrade: Upgrade) -> None:
    # Munich rent index 1999 (Fahrmeir et al., Regression, 2013): premium kitchen +12.6 %, premium
    # bathroom +8.3 %; both are for a premium fit-out, so cosmetic work must stay below.
    bound = {"kitchen": 12.6, "bathroom": 8.3}.get(upgrade.family, 5.0)
    assert upgrade.rent_percent.high < bound


def _cosmetic_sum(kind: RoomKind, figure: str) -> float:
    """Best rung of every ladder that only freshens what is there, alternatives left out."""
    best: dict[str, float] = {}
    for upgrade in CATALOGUE:
        if (
            kind not in upgrade.rooms
            or upgrade.rung == "add"
            or upgrade.ladder
            in {
                "laundry_hookup",  # an added feature, as is whatever has the rung "add"
                "wood_floor",
                "wall_paneling",
                "popcorn",
            }
        ):
            continue
        value = getattr(upgrade.rent_percent, figure)
        best[upgrade.ladder] = max(best.get(upgrade.ladder, 0.0), value)
    return sum(best.values())


def test_doing_a_whole_room_stays_near_the_published_upper_bound() -> None:
    # Same source. Every ladder at its best at once is a premium fit-out and more; its plain sum
    # (the scope takes off for doing several things in one room) must not pass that bound by much.
    assert 0.5 * 12.6 < _cosmetic_sum(RoomKind.KITCHEN, "typical") < 1.2 * 12.6
    assert 0.5 * 8.3 < _cosmetic_sum(RoomKind.BATHROOM, "typical") < 1.3 * 8.3
    # Stated need of repair hardly moves the rent (Statistics Canada 11F0027M no. 64, Table 4), so
    # the low figures must be near nothing.
    for kind in RoomKind:
        assert _cosmetic_sum(kind, "low") < 3.5


def test_a_cheaper_rung_never_earns_more_than_a_dearer_one() -> None:
    rank = {rung: i for i, rung in enumerate(RUNG_ORDER)}
    pairs = 0
    for a, b in combinations(CATALOGUE, 2):
        if a.ladder != b.ladder or a.rung == b.rung or not set(a.rooms) & set(b.rooms):
            continue
        low, high = sorted((a, b), key=lambda u: rank[u.rung])
        pairs += 1
        for figure in ("low", "typical", "high"):
            assert getattr(low.rent_percent, figure) <= getattr(high.rent_percent, figure), (
                low.id,
                high.id,
            )
    assert pairs > 50


def test_what_cleaning_cures_lasts_no_longer_than_what_dearer_rungs_cure() -> None:
    rank = {rung: i for i, rung in enumerate(RUNG_ORDER)}
    for a, b in combinations(CATALOGUE, 2):
        if a.ladder == b.ladder and set(a.rooms) & set(b.rooms) and a.rung != b.rung:
            low, high = sorted((a, b), key=lambda u: rank[u.rung])
            if low.rung == "clean":
                assert low.durability_years <= high.durability_years, (low.id, high.id)


@pytest.mark.parametrize(("upgrade", "years"), NAHB_YEARS.items())
def test_service_life_is_the_published_one(upgrade: str, years: float) -> None:
    assert BY_ID[upgrade].durability_years == years
    assert "NAHB 2007" in BY_ID[upgrade].source


@pytest.mark.parametrize(("upgrade", "years"), NAHB_AT_MOST.items())
def test_a_rental_wears_no_slower_than_published(upgrade: str, years: float) -> None:
    assert BY_ID[upgrade].durability_years <= years


def test_published_limits_stand_in_the_rows_they_bind() -> None:
    # IPMC 304.14: 16 mesh an inch.
    for screen in ("screen_build", "screen_mesh_replace", "porch_screen_replace"):
        assert "304.14: 16 mesh" in BY_ID[screen].source
    # EPA 402-K-01-001: up to 10 sq ft an owner may clean mould; above, no row offers it.
    assert "10 sq ft" in BY_ID["mold_clean"].source
    assert list(BY_ID["mold_clean"].triggers) == [Trigger(condition="mold", max_severity=2)]
    # 40 CFR 745.83: 6 sq ft a room inside, 20 sq ft outside, windows always.
    assert any("6 sq ft" in c for c in BY_ID["walls_paint_light"].cautions)
    assert any("20 sq ft" in c for c in BY_ID["siding_paint"].cautions)
    assert "lead_paint" in BY_ID["window_replace"].held_by
    # 29 CFR 1926.1101(k): floors and sprayed ceilings up to 1980.
    assert "suspect_asbestos" in BY_ID["popcorn_scrape"].held_by
    assert any("1980" in c for c in BY_ID["popcorn_scrape"].cautions)
    # Covering sound old floor disturbs nothing; tearing it out does.
    assert "suspect_asbestos" not in BY_ID["floor_plank"].held_by
    assert "suspect_asbestos" in BY_ID["floor_tile"].held_by
    # IPMC 304.18.1: deadbolt throw of 1 in; IRC M1505.4.4: 100 cfm hood, 50 cfm bathroom fan.
    assert "1 in" in BY_ID["locks_rekey"].source
    assert "100 cfm" in BY_ID["hood_replace"].source
    assert "50 cfm" in BY_ID["bath_fan_add"].source
    # MMWR 61(7), 2012: methylene chloride killed tub refinishers.
    assert any("methylene chloride" in c for c in BY_ID["tub_refinish"].cautions)


def test_common_practice_is_called_so() -> None:
    assert "$600-700" in BY_ID["range_clean"].source
    assert "common practice" in BY_ID["range_clean"].source
    assert "common practice" in BY_ID["closet_paint"].source


def test_sound_things_are_kept() -> None:
    assert "cabinets_sound" in BY_ID["cabinets_replace"].keeps
    assert "cabinets_sound" not in BY_ID["cabinets_paint"].keeps  # tired but sound: paint them
    assert "stone_counter" in BY_ID["counter_laminate"].keeps
    assert "floor_sound" in BY_ID["floor_plank"].keeps
    assert "tub_sound" in BY_ID["tub_replace"].keeps
    assert "appliances_work" in BY_ID["range_replace"].keeps


def test_every_fault_but_the_holds_has_a_remedy() -> None:
    cured = {t.condition for u in CATALOGUE for t in u.triggers}
    left = {
        c.id
        for c in load_conditions().values()
        if c.polarity == "fault" and c.hold is None and c.id not in cured
    }
    assert left == set()


@pytest.mark.parametrize("upgrade", ["siding_patch", "siding_paint", "deck_stain"])
def test_outside_the_published_limit_for_old_paint_is_another(upgrade: str) -> None:
    # 40 CFR 745.83, minor repair: 6 sq ft a room inside, 20 sq ft outside.
    assert any("20 sq ft outside" in caution for caution in BY_ID[upgrade].cautions)
    assert not any("6 sq ft in a room" in caution for caution in BY_ID[upgrade].cautions)


def test_a_home_without_cooling_is_offered_some_wherever_it_was_tagged() -> None:
    kinds = {
        k for u in CATALOGUE for t in u.triggers if t.condition == "no_cooling" for k in u.rooms
    }
    assert kinds >= set(load_conditions()["no_cooling"].room_kinds)


def test_water_and_danger_stop_what_covers_them() -> None:
    assert "water_leak" in BY_ID["floor_plank"].held_by
    assert "failed_waterproofing" in BY_ID["bath_tile_replace"].held_by
    assert "water_leak" not in BY_ID["trap_replace"].held_by
    for upgrade in CATALOGUE:
        assert "gas_smell" in upgrade.held_by
        if "mold_area" in upgrade.held_by:
            assert "mold" not in {t.condition for t in upgrade.triggers} or (
                upgrade.id == "mold_clean"
            )


@pytest.mark.parametrize(
    ("upgrade", "hold"),
    [
        # 29 CFR 1926.1101(k): resilient floor up to 1980 is presumed to hold asbestos until a
        # laboratory has tested it; both cut or pull it up.
        ("subfloor_repair", "suspect_asbestos"),
        ("floor_patch", "suspect_asbestos"),
        # 40 CFR 745.83: more than 20 sq ft of old paint outside; a deck is sanded all over.
        ("deck_stain", "lead_paint"),
        ("deck_board_replace", "lead_paint"),
        # EPA 402-K-01-001: the water is stopped before wet material is renewed.
        ("subfloor_repair", "water_leak"),
        ("subfloor_repair", "sewage"),
        # IRC R105.1: nothing that may carry load is cut before it has been judged.
        ("subfloor_repair", "structure"),
        # HUD NSPIRE v3.0 (2023): wiring that is scorched or open; new fixtures wait for it.
        ("bath_fan_add", "unsafe_electrical"),
        ("bath_fan_replace", "unsafe_electrical"),
        ("hood_replace", "unsafe_electrical"),
    ],
)
def test_work_that_opens_or_adds_to_what_may_hurt_waits(upgrade: str, hold: str) -> None:
    assert hold in BY_ID[upgrade].held_by


def test_wet_comes_before_finish_and_top_before_bottom() -> None:
    order = [
        "smoke_alarm_fit",
        "tub_replace",
        "subfloor_repair",
        "ceiling_drywall",
        "ceiling_paint",
        "walls_paint_light",
        "trim_paint",
        "floor_plank",
        "counter_laminate",
        "backsplash_tile",
        "faucet_replace",
        "blinds_replace",
        "deep_clean",
    ]
    stages = [BY_ID[i].stage for i in order if i != "walls_paint_light"]
    assert stages == sorted(stages)
    assert BY_ID["walls_paint_light"].stage >= BY_ID["ceiling_paint"].stage


def test_a_trigger_matches_only_its_severities_and_nothing_rejected() -> None:
    trigger = Trigger(condition="tub_stained", min_severity=2, max_severity=2)

    def finding(severity: int, rejected: bool = False) -> Finding:
        return Finding(
            room="bathroom",
            condition="tub_stained",
            severity=severity,
            certainty=1.0,
            evidence=(),
            rejected=rejected,
        )

    assert [trigger.matches(finding(s)) for s in range(4)] == [False, False, True, False]
    assert not trigger.matches(finding(2, rejected=True))


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_every_line_has_a_price_a_measure_and_one_unit(upgrade: Upgrade) -> None:
    book = load_price_book()
    for line in upgrade.lines:
        row = book.row(line.item)
        assert line.measure in MEASURES
        if row.kind != "material":  # hours and lumps are counted in the measure's own unit
            assert row.unit == unit_of(line.measure)
        assert row.source
    # Something is done or bought whatever is found: no row whose lines all depend on a condition.
    assert any(line.only_if is None for line in upgrade.lines)


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_no_licensed_work_is_offered_to_the_owner_without_saying_so(upgrade: Upgrade) -> None:
    book = load_price_book()
    trades = {book.row(line.item).trade for line in upgrade.lines} - {""}
    hired = {trade for trade in trades if not book.wages[trade].own_possible}
    # NFPA 70 and local codes: new wiring, pipes, flues and roofs are for the licensed trade.
    if hired:
        assert upgrade.own_trade in hired or upgrade.cautions


# ---- broken copies


def _broken(tmp_path: Path, file: str, old: str, new: str) -> Path:
    for source in CATALOGUE_FOLDER.glob("*.toml"):
        (tmp_path / source.name).write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    path = tmp_path / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("walls.toml", 'rung = "clean"', 'rung = "polish"', ["walls_wash", "field rung"]),
        ("walls.toml", 'rooms = ["', 'rooms = ["attic", "', ["walls_wash", "rooms 1", "“attic”"]),
        ("walls.toml", "low = 0, typical = 0.1", "low = 0.2, typical = 0.1", ["rent_percent"]),
        ("walls.toml", "high = 0.3", "high = 30", ["walls_wash", "within 0 and 12.6"]),
        ("walls.toml", "typical = 0.1, high = 0.3", "typical = 0.1, high = 3", ["dearer rung"]),
        ("walls.toml", 'condition = "walls_scuffed"', 'condition = "x"', ["no condition 'x'"]),
        (
            "walls.toml",
            'condition = "walls_scuffed"',
            'condition = "weathered_deck"',
            ["field triggers", "not found in any of the rooms"],
        ),
        (
            "walls.toml",
            'condition = "walls_scuffed"',
            'condition = "walls_light_neutral"',
            ["field triggers", "sound condition"],
        ),
        ("walls.toml", 'held_by = ["', 'held_by = ["ghosts", "', ["held_by", "'ghosts'"]),
        ("walls.toml", "stage = 40", "stage = 140", ["walls_wash", "field stage"]),
        ("walls.toml", "stage = 40", "stage = 40\ncolour = 3", ["walls_wash", "field colour"]),
        ("walls.toml", 'id = "walls_wash"', 'id = "walls_skim"', ["walls_skim", "twice"]),
        ("walls.toml", 'id = "walls_wash"\n', "", ["row ?", "field id"]),
        ("walls.toml", "[[upgrade]]", "[[upgrades]]", ["walls.toml", "[[upgrade]]"]),
        ("walls.toml", "[[upgrade]]", "[upgrade", ["walls.toml", "not valid TOML"]),
        ("walls.toml", 'item = "wall_cleaner"', 'item = "gold"', ["lines.item", "'gold'"]),
        ("walls.toml", 'measure = "wall_sqft"', 'measure = "yards"', ["lines.measure", "'yards'"]),
        ("walls.toml", 'measure = "wall_sqft" },\n]', 'measure = "trim_ft" },\n]', ["how many ft"]),
        ("walls.toml", "stage = 40", 'stage = 40\nown_trade = "magician"', ["field own_trade"]),
        ("kitchen_cabinets.toml", 'after = ["', 'after = ["nothing", "', ["'nothing'"]),
        (
            "kitchen_cabinets.toml",
            'after = ["cabinets_paint"',
            'after = ["deep_clean"',
            ["field after", "comes later"],
        ),
        (
            "ceilings_trim_doors.toml",
            'after = ["walls_paint_light"',
            'after = ["trim_wash"',
            ["field after", "same ladder"],
        ),
        (
            "outside.toml",
            'needs = ["yard_tidy"]',
            'needs = ["yard_plant"]',
            ["yard_plant", "field needs", "itself"],
        ),
    ],
)
def test_a_broken_catalogue_says_file_row_and_field(
    tmp_path: Path, file: str, old: str, new: str, words: list[str]
) -> None:
    with pytest.raises(InputError) as error:
        load_catalogue(_broken(tmp_path, file, old, new))
    message = str(error.value)
    for word in [file, *words]:
        assert word in message


def test_going_round_in_a_circle_is_refused(tmp_path: Path) -> None:
    # The two rows have the same stage, so only the circle is wrong.
    folder = _broken(
        tmp_path,
        "floors.toml",
        'id = "floor_tile"',
        'id = "floor_tile"\nafter = ["basement_floor_paint"]',
    )
    text = (folder / "floors.toml").read_text(encoding="utf-8")
    (folder / "floors.toml").write_text(
        text.replace(
            'id = "basement_floor_paint"',
            'id = "basement_floor_paint"\nafter = ["floor_tile"]',
        ),
        encoding="utf-8",
    )
    with pytest.raises(InputError, match="circle"):
        load_catalogue(folder)


def test_an_empty_folder_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no catalogue file"):
        load_catalogue(tmp_path)


def test_the_holds_name_ladders_and_upgrades_that_exist() -> None:
    ladders = {u.ladder for u in CATALOGUE}
    for hold in load_holds().values():
        assert set(hold.stops_ladders) <= ladders | {"all"}
        assert set(hold.cleared_by) <= set(BY_ID)
        assert any(hold.id in u.held_by for u in CATALOGUE)
