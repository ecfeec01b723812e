"""Which work waits for which look: what a careful, licensed renovator would hold, and no more."""

from __future__ import annotations

import pytest

from scorer.conditions.checklist import load_holds
from scorer.conditions.finding import Evidence, Finding
from scorer.listing.listing import Listing
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.scope.holds import find_holds
from scorer.settings import Settings
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.options import build_options
from scorer.upgrades.pricebook import load_price_book
from scorer.upgrades.upgrade import Upgrade

CATALOGUE = load_catalogue()
BY_ID = {upgrade.id: upgrade for upgrade in CATALOGUE}
OUTSIDE = {RoomKind.FRONT, RoomKind.DECK}

# 40 CFR 745.83, renovation: whatever disturbs painted surfaces, removing painted parts included,
# of which the whole surface counts; small jobs (6 sq ft a room, 20 sq ft outside) are outside the
# rule, demolition and window replacement never.
DISTURBS_PAINT = {
    "demolish_tile_labour",
    "demolition_labour",
    "strip_paper_labour",
    "scrape_ceiling_labour",
    "sand_floor_labour",
    "recoat_labour",
    "trim_remove_labour",
    "prep_trim_labour",
    "cabinet_prep_labour",
    "remove_cabinet_labour",
    "vanity_labour",
    "exterior_prep_labour",
    "siding_labour",
    "deck_board_labour",
    "deck_scrape_labour",
    "hang_door_labour",
    "hang_closet_door_labour",
    "entry_door_labour",
    "window_install_labour",
    "window_free_labour",
    "glazing_labour",
    "guard_labour",
    "guard_repair_labour",
    "stair_labour",
    "floor_paint_labour",
}
# 29 CFR 1926.1101(k) (flooring, sprayed surfaces) and EPA, "Protect Your Family from Exposures to
# Asbestos" (wall and ceiling texture and joint compound, cement siding, furnaces): cut, torn or
# scraped, not covered.
TEARS_OLD_MATERIAL = {
    "demolish_tile_labour",
    "demolition_labour",
    "scrape_ceiling_labour",
    "remove_floor_labour",
    "subfloor_labour",
    "floor_labour",
    "siding_labour",
    "duct_kit",
    "furnace_allowance",
}


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_whatever_disturbs_old_paint_or_material_waits_for_the_test(upgrade: Upgrade) -> None:
    items = {line.item for line in upgrade.lines}
    if items & DISTURBS_PAINT:
        assert "lead_paint" in upgrade.held_by
    if items & TEARS_OLD_MATERIAL:
        assert "suspect_asbestos" in upgrade.held_by


def test_the_items_that_disturb_are_in_the_price_book() -> None:
    used = {line.item for upgrade in CATALOGUE for line in upgrade.lines}
    assert used >= DISTURBS_PAINT | TEARS_OLD_MATERIAL


@pytest.mark.parametrize("upgrade", CATALOGUE, ids=lambda u: u.id)
def test_what_waits_says_why_with_the_limit_of_its_place(upgrade: Upgrade) -> None:
    said = " ".join(upgrade.cautions)
    if "suspect_asbestos" in upgrade.held_by:
        assert "asbestos" in said or "1926.1101" in said
    if "lead_paint" not in upgrade.held_by:
        return
    assert "lead" in said
    if "sq ft" not in said:  # windows have no small-job limit; a floor is larger than any
        assert upgrade.ladder in {"window_draft", "wood_floor"}
        return
    # A front door has a side in the room and one outside.
    inside = bool(set(upgrade.rooms) - OUTSIDE) or upgrade.ladder == "front_door"
    outside = bool(set(upgrade.rooms) & OUTSIDE)
    assert ("6 sq ft in a room" in said) == inside
    assert ("20 sq ft outside" in said) == outside


WAITS = [
    # 40 CFR 745.83, and EPA as above: walls come down to the studs.
    ("tub_replace", "lead_paint suspect_asbestos"),
    ("tub_surround_panel", "lead_paint suspect_asbestos"),
    ("bath_tile_replace", "lead_paint suspect_asbestos"),
    ("laundry_hookup_add", "lead_paint suspect_asbestos"),
    # 40 CFR 745.83: a painted part taken out counts with its whole surface.
    ("vanity_replace", "lead_paint"),
    ("dishwasher_add", "lead_paint"),
    ("closet_rod_shelf", "lead_paint"),
    ("closet_doors_hang", "lead_paint"),
    ("closet_paint", "lead_paint"),
    ("guard_build", "lead_paint structure"),
    ("guard_repair", "lead_paint structure"),
    ("stair_tread_repair", "lead_paint structure"),
    # 29 CFR 1926.1101(k): sprayed ceilings, and what is cut through them.
    ("light_add", "suspect_asbestos unsafe_electrical unsafe_panel"),
    ("bath_fan_add", "suspect_asbestos unsafe_electrical unsafe_panel"),
    # EPA 402-K-01-001: dry, and clean of mould, before anything covers it.
    ("popcorn_cover", "water_leak active_moisture mold_area structure unsafe_electrical"),
    ("popcorn_paint", "water_leak active_moisture mold_area"),
    ("paneling_paint", "water_leak active_moisture mold_area sewage structure"),
    ("paneling_remove", "water_leak active_moisture mold_area sewage structure"),
    ("storage_wall_run", "water_leak active_moisture mold_area sewage structure"),
    ("bath_caulk", "water_leak active_moisture mold_area failed_waterproofing"),
    ("basement_floor_paint", "water_leak active_moisture mold_area sewage structure"),
    ("subfloor_repair", "failed_waterproofing mold_area"),
    ("basement_clean", "mold_area sewage"),
    ("odor_air", "mold_area"),
    # NFPA 70 250.114, from memory: these appliances are grounded, so their outlet comes first.
    ("refrigerator_replace", "unsafe_electrical"),
    ("washer_dryer_add", "unsafe_electrical unsafe_panel"),
    ("cooling_window_unit", "unsafe_electrical unsafe_panel"),
    ("dehumidifier_fit", "unsafe_electrical"),
    ("dishwasher_replace", "unsafe_electrical unsafe_panel"),
    ("range_replace", "unsafe_panel"),
    # IRC R105.1: nothing is hung or cut in a wall that may be moving.
    ("window_replace", "structure"),
    ("doors_replace", "structure"),
]


@pytest.mark.parametrize(("upgrade", "holds"), WAITS)
def test_work_waits_for_what_it_would_disturb_cover_or_load(upgrade: str, holds: str) -> None:
    assert set(holds.split()) <= set(BY_ID[upgrade].held_by)


DISTURBS_NOTHING = [
    "walls_wash",
    "walls_touch_up",
    "walls_paint_light",  # rolled over sound paint; spots are sanded, far below 6 sq ft
    "ceiling_wash",
    "ceiling_paint",
    "floor_plank",  # covering a sound old floor is the safe way (29 CFR 1926.1101(k)(8))
    "floor_carpet_tile",
    "floor_sheet_vinyl",
    "blinds_replace",
    "screen_build",
    "screen_mesh_replace",
    "porch_screen_replace",
    "door_hardware_replace",
    "cover_plates_replace",
    "cabinet_hardware_replace",
    "bath_fittings_replace",
    "bulbs_replace",
    "light_replace",
    "porch_light_replace",
    "bath_fan_replace",
    "outlet_replace_grounded",
    "gfci_fit",
    "smoke_alarm_fit",
    "co_alarm_fit",
    "handrail_repair",
    "handrail_replace",  # only where none is there
    "toilet_replace",
    "faucet_replace",
    "trap_replace",
    "range_replace",
    "refrigerator_replace",
    "washer_hose_replace",
    "locks_rekey",
    "house_number_fit",
    "yard_tidy",
    "deck_wash",
    "siding_wash",
    "deep_clean",
]


@pytest.mark.parametrize("upgrade", DISTURBS_NOTHING)
def test_work_that_disturbs_no_old_paint_or_material_needs_no_test(upgrade: str) -> None:
    assert not {"lead_paint", "suspect_asbestos"} & set(BY_ID[upgrade].held_by)


def test_what_clears_a_hold_or_saves_lives_never_waits_for_it() -> None:
    for hold in load_holds().values():
        for upgrade in hold.cleared_by:
            assert hold.id not in BY_ID[upgrade].held_by
    for upgrade in ("smoke_alarm_fit", "co_alarm_fit", "trap_replace", "heating_service"):
        assert set(BY_ID[upgrade].held_by) <= {"gas_smell", "unsafe_heating"}
    # Fans and dehumidifiers dry a room: they don't wait until it is dry.
    for upgrade in ("bath_fan_add", "bath_fan_replace", "dehumidifier_fit"):
        assert not {"active_moisture", "mold_area"} & set(BY_ID[upgrade].held_by)


@pytest.mark.parametrize(("year", "waits"), [(1950, True), (1977, True), (1978, False)])
def test_a_loose_guard_waits_in_a_home_built_before_1978_only(year: int, waits: bool) -> None:
    # 40 CFR 745.80: the rule is about housing built before 1978.
    deck = Room(name="deck", kind=RoomKind.DECK)

    findings = [
        Finding(room=room, condition=condition, severity=2, certainty=1.0, evidence=(evidence,))
        for room, condition, evidence in (
            ("deck", "guard_missing", Evidence(source="person")),
            ("whole home", "built_before_1978", Evidence(source="facts")),
        )
    ]
    options = build_options(
        findings, [deck], CATALOGUE, load_price_book(), Settings(), Range.exactly(900.0)
    )
    holds = find_holds(findings, options, [deck], Listing(home="invented", year_built=year))
    stopped = {option for hold in holds for option in hold.stops if hold.kind == "lead_paint"}
    assert stopped == ({"deck: guard_repair"} if waits else set())
