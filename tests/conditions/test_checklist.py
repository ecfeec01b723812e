"""The checklist's data: every row, the published values, and what a broken copy says."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.conditions.checklist import (
    DATA_FOLDER,
    Condition,
    HoldKind,
    conditions_of,
    load_conditions,
    load_holds,
)
from scorer.conditions.suggesting import ASBESTOS_UP_TO_YEAR, LEAD_BEFORE_YEAR
from scorer.errors import InputError
from scorer.rooms import RoomKind

CONDITIONS = load_conditions()
HOLDS = load_holds()


def test_there_are_enough_conditions_for_every_kind_of_room() -> None:
    assert len(CONDITIONS) >= 80
    assert sum(c.polarity == "sound" for c in CONDITIONS.values()) >= 15
    assert sum(c.person_only for c in CONDITIONS.values()) >= 30
    for kind in RoomKind:
        assert len(conditions_of(kind)) >= 10, kind


@pytest.mark.parametrize("condition", CONDITIONS.values(), ids=lambda c: c.id)
def test_every_condition_is_complete(condition: Condition) -> None:
    assert condition.question.rstrip().endswith(("?", "."))
    assert condition.source
    assert condition.polarity == "fault" or condition.severities == ()
    assert len(set(condition.severities)) == len(condition.severities)
    assert all(len(text) <= 60 for text in condition.severities)  # short: read on a phone
    assert set(condition.contradicts) <= set(CONDITIONS)
    assert all(condition.id in CONDITIONS[other].contradicts for other in condition.contradicts)
    # What contradicts another condition must be able to stand in the same room.
    for other in condition.contradicts:
        assert set(condition.room_kinds) & set(CONDITIONS[other].room_kinds)


@pytest.mark.parametrize("hold", HOLDS.values(), ids=lambda h: h.id)
def test_every_hold_is_complete(hold: HoldKind) -> None:
    allowance = hold.allowance_usd
    assert 0 < allowance.low < allowance.typical < allowance.high <= 20_000
    assert allowance.high >= 3 * allowance.low  # a wide range
    assert "source" in hold.source or "CFR" in hold.source
    assert any(c.hold == hold.id for c in CONDITIONS.values()), "nothing starts this hold"


@pytest.mark.parametrize(
    "condition",
    [
        "dark_walls",
        "bold_walls",
        "dim_room",
        "dirty_trim",
        "leak_below_bath",
        "missing_window_screens",
        "cabinets_sound",
        "dated_kitchen",
        "dated_bathroom",
        "weathered_deck",
        "plain_front_door",
        "dead_burner",
        "closet_floor_missing",
        "dead_bulbs",
        "too_little_counter",
        "too_little_storage",
        "wallpaper",
        "accent_wall",
        "popcorn_ceiling",
        "worn_carpet",
        "outlet_scorched",
        "outlet_ungrounded",
        "smoke_alarm_missing",
        "co_alarm_missing",
        "mold",
        "handrail_loose",
        "failing_caulk",
        "smell_smoke",
        "floor_sound",
        "stone_counter",
        "tub_sound",
        "appliances_work",
        "windows_sound",
    ],
)
def test_the_named_examples_are_there(condition: str) -> None:
    assert condition in CONDITIONS


@pytest.mark.parametrize(
    "condition",
    [
        "smell_smoke",
        "leak_below_bath",
        "dead_burner",
        "closet_floor_missing",
        "leak_under_sink",
        "gas_smell",
    ],
)
def test_what_no_photo_can_show_is_for_a_person(condition: str) -> None:
    assert CONDITIONS[condition].person_only


def test_published_limits_are_named_where_they_apply() -> None:
    # EPA 402-K-01-001: up to 10 sq ft an owner may clean mould; HUD NSPIRE v3.0: 1 and 9 sq ft.
    mold = CONDITIONS["mold"]
    assert "10 sq ft" in mold.source
    assert "1 to 9 sq ft" in mold.severities[1]
    assert "9 sq ft" in mold.severities[2]
    assert not mold.holds_at(2)
    assert mold.holds_at(3)
    assert "10 sq ft" in HOLDS["mold_area"].label
    # 40 CFR 745.83: 6 sq ft a room inside, 20 sq ft outside; subpart E: before 1978.
    assert "6 sq ft" in HOLDS["lead_paint"].stops
    assert "20 sq ft" in HOLDS["lead_paint"].stops
    assert "745.83" in HOLDS["lead_paint"].source
    assert LEAD_BEFORE_YEAR == 1978
    # 29 CFR 1926.1101(k): installed no later than 1980.
    assert ASBESTOS_UP_TO_YEAR == 1980
    assert "1926.1101" in HOLDS["suspect_asbestos"].source
    # IPMC 304.14: 16 mesh an inch; 307.1: rail 30 to 42 in; 304.18.1: deadbolt throw 1 in.
    assert "304.14: 16 mesh" in CONDITIONS["missing_window_screens"].source
    assert "30 to 42 in" in CONDITIONS["handrail_loose"].question
    assert "throw of 1 in" in CONDITIONS["lock_weak"].question
    # NFPA 70 210.8(A), and the federal inspection standard: within 6 ft of water.
    assert "6 ft" in CONDITIONS["gfci_missing"].question
    # IPMC 505.4: hot water of 110 F; 602.2: heat of 68 F.
    assert "110 F" in CONDITIONS["water_heater_failing"].source
    assert "68 F" in CONDITIONS["heat_failing"].source


@pytest.mark.parametrize(
    ("condition", "hold"),
    [
        ("leak_below_bath", "water_leak"),
        ("ceiling_wet", "active_moisture"),
        ("loose_tile", "failed_waterproofing"),
        ("mold", "mold_area"),
        ("built_before_1978", "lead_paint"),
        ("old_resilient_floor", "suspect_asbestos"),
        ("outlet_scorched", "unsafe_electrical"),
        ("outlet_ungrounded", "unsafe_electrical"),
        ("smoke_alarm_missing", "missing_alarms"),
        ("sagging_floor", "structure"),
        ("deck_ledger_loose", "structure"),
        ("gas_smell", "gas_smell"),
        ("sewage_backup", "sewage"),
    ],
)
def test_what_must_stop_the_work_does(condition: str, hold: str) -> None:
    assert CONDITIONS[condition].hold == hold
    assert CONDITIONS[condition].holds_at(3)


def test_gas_stops_everything_and_a_leak_stops_what_covers_it() -> None:
    assert HOLDS["gas_smell"].stops_work("walls", "paint")
    assert HOLDS["gas_smell"].stops_work("anything", "clean")
    leak = HOLDS["water_leak"]
    assert leak.stops_work("floor", "replace")
    assert not leak.stops_work("floor", "clean")
    assert not leak.stops_work("blinds", "replace")


# ---- broken copies


def _broken(tmp_path: Path, name: str, old: str, new: str) -> Path:
    text = (DATA_FOLDER / name).read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / name
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("dark_walls,Dark walls", "dark walls,Dark walls", ["row dark walls", "field id"]),
        ("dark_walls,Dark walls", "dim_room,Dark walls", ["row dim_room", "field id", "twice"]),
        ("bold_walls,Strong wall colour", "bold_walls,", ["row bold_walls", "field label"]),
        (",fault,2,", ",broken,2,", ["row dark_walls", "field polarity", "“broken”"]),
        (",fault,2,", ",fault,4,", ["row dark_walls", "field default_severity", "“4”"]),
        (",fault,2,", ",sound,2,", ["row dark_walls", "default_severity"]),
        ("kitchen|bathroom|bedroom|", "kitchen|cellar|", ["row dark_walls", "room_kinds 2"]),
        (",no,structure,3,", ",no,nothing,3,", ["field hold", "no hold 'nothing'"]),
        (",no,structure,3,", ",no,structure,,", ["hold_from_severity"]),
        (",no,structure,3,", ",perhaps,structure,3,", ["field person_only", "'perhaps'"]),
        (",no,structure,3,", ",yes,structure,3,", ["field person_only", "seen_in_photo"]),
        ("dark_walls|bold_walls|", "purple_walls|bold_walls|", ["contradicts", "'purple_walls'"]),
        ("polarity,", "kind,", ["row 1", "field polarity", "missing"]),
    ],
)
def test_a_broken_checklist_says_file_row_and_field(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    with pytest.raises(InputError) as error:
        load_conditions(_broken(tmp_path, "conditions.csv", old, new))
    for word in ["conditions.csv", *words]:
        assert word in str(error.value)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (",150,500,2500,", ",500,150,2500,", ["row water_leak", "field allowance_usd", "rise"]),
        (",150,500,2500,", ",-5,500,2500,", ["row water_leak", "negative"]),
        (",150,500,2500,", ",some,500,2500,", ["row water_leak", "allowance_usd, low", "“some”"]),
        (",room,", ",street,", ["row water_leak", "field reach", "“street”"]),
        ("licensed plumber,", ",", ["row water_leak", "field who"]),
        ("repair|paint|", "repair|polish|", ["row water_leak", "stops_rungs 2"]),
        (",150,500,2500,", ",150,500,2500,7,", ["row water_leak", "cells"]),
    ],
)
def test_a_broken_hold_says_file_row_and_field(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    with pytest.raises(InputError) as error:
        load_holds(_broken(tmp_path, "holds.csv", old, new))
    for word in ["holds.csv", *words]:
        assert word in str(error.value)


def test_a_missing_or_binary_file_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        load_holds(tmp_path / "none.csv")
    (tmp_path / "holds.csv").write_bytes(b"\xff\xfe\x00id")
    with pytest.raises(InputError, match="not UTF-8"):
        load_holds(tmp_path / "holds.csv")
