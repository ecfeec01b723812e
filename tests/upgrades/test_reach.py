"""Every fault that may be tagged in a room leads somewhere: to work, to a hold, or to a reason."""

from __future__ import annotations

import pytest

from scorer.conditions.checklist import Condition, load_conditions
from scorer.conditions.finding import Finding
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.settings import Settings
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.options import build_options
from scorer.upgrades.pricebook import load_price_book
from scorer.upgrades.takeoff import measure

FAULTS = [c for c in load_conditions().values() if c.polarity == "fault"]
PLACES = [(condition, kind) for condition in FAULTS for kind in condition.room_kinds]

LOOK_ONLY = {
    # The grade says that there is nothing to do yet, or that others have no more.
    "too_few_outlets": "two outlets are what the International Property Maintenance Code asks for",
    "dishwasher_broken": "loud, with rusty racks: it still washes",
    "dishwasher_missing": "few homes near by have one",
    "washer_dryer_missing": "few homes near by have them",
    "no_cooling": "few homes near by have it",
    "laundry_unfinished": "dusty: the deep clean of the whole home takes it along",
    # Slight grades of what a look decides.
    "sagging_floor": "old and stable: nothing to mend",
    "foundation_crack": "hairline: watched, not mended",
    "tub_cracked": "a chip in the enamel",
    "cabinets_beyond_repair": "one box: mended by hand",
    "leak_under_sink": "an old stain, dry",
    "sewage_backup": "a dry trap: pour water in",
    "outlet_ungrounded": "two slots and in order: allowed where they are (NFPA 70 406.4(D)(2))",
    "gfci_missing": "there, only old: press its button",
    "panel_unsafe": "full and old, in order",
    "water_heater_failing": "old, in order",
    "roof_worn": "some moss",
    "steps_broken": "hairline cracks",
    "trip_edge": "an edge below 3/4 in is no hazard (HUD NSPIRE v3.0)",
    "built_before_1978": "tested, and no lead where work is planned",
}
"""Faults of which severity 1 leads to no work and no hold, and why."""


def leads_to(condition: Condition, kind: RoomKind, severity: int) -> bool:
    if condition.holds_at(severity):
        return True
    found = Finding(
        room="here", condition=condition.id, severity=severity, certainty=1.0, evidence=()
    )
    room = Room(name="here", kind=kind)
    options = build_options(
        [found], [room], load_catalogue(), load_price_book(), Settings(), Range.exactly(900.0)
    )
    return bool(options)


@pytest.mark.parametrize(
    ("condition", "kind"), PLACES, ids=lambda x: getattr(x, "id", None) or x.value
)
def test_every_fault_leads_to_work_or_a_hold_wherever_it_may_be_tagged(
    condition: Condition, kind: RoomKind
) -> None:
    led = [leads_to(condition, kind, severity) for severity in (1, 2, 3)]
    assert led[1:] == [True, True]
    assert led[0] or condition.id in LOOK_ONLY


def test_the_list_of_what_is_only_looked_at_names_no_more_than_that() -> None:
    silent = {c.id for c, kind in PLACES if not leads_to(c, kind, 1)}
    assert set(LOOK_ONLY) == silent
    assert all(reason for reason in LOOK_ONLY.values())


def test_laundry_cabinets_are_a_few_doors_and_no_kitchen() -> None:
    # Two to four stock doors, 15 to 21 in wide and 30 in high: arithmetic.
    laundry = Room(name="laundry", kind=RoomKind.LAUNDRY, length_ft=10, width_ft=8)
    faces = measure("cabinet_face_sqft", laundry)
    assert 2 * 1.25 * 2.5 <= faces.low <= faces.typical <= faces.high <= 4 * 1.75 * 2.5
    found = [
        Finding(room="laundry", condition=condition, severity=3, certainty=1.0, evidence=())
        for condition in ("cabinets_tired", "cabinets_beyond_repair", "counter_worn", "sink_worn")
    ]
    options = build_options(
        found, [laundry], load_catalogue(), load_price_book(), Settings(), Range.exactly(900.0)
    )
    assert {o.upgrade for o in options} >= {
        "laundry_cabinets_paint",
        "laundry_cabinets_replace",
        "laundry_tub_replace",
    }
    assert "kitchen" not in {o.family for o in options}
    # A laundry earns no kitchen's rent (premium kitchen +12.6 %, Munich rent index 1999).
    assert max(o.rent_month_usd.high for o in options) < 0.03 * 900


def test_work_that_can_be_done_side_by_side_is_not_made_to_choose() -> None:
    def options(room: Room, *conditions: str) -> dict[str, tuple[str, ...]]:
        found = [
            Finding(room=room.name, condition=c, severity=2, certainty=1.0, evidence=())
            for c in conditions
        ]
        made = build_options(
            found, [room], load_catalogue(), load_price_book(), Settings(), Range.exactly(900.0)
        )
        return {o.upgrade: o.excludes for o in made}

    # NFPA 70 406.4(D) and 210.52(A): old outlets made safe and more of them are two jobs.
    bedroom = Room(name="bedroom", kind=RoomKind.BEDROOM)
    outlets = options(bedroom, "outlet_ungrounded", "too_few_outlets")
    assert set(outlets) == {"outlet_replace_grounded", "outlet_add"}
    assert not any(outlets.values())
    # A toilet that rocks may be set anew or replaced, not both.
    bathroom = Room(name="bathroom", kind=RoomKind.BATHROOM)
    toilets = options(bathroom, "toilet_rocks")
    assert {"toilet_reset", "toilet_replace"} <= set(toilets)
    assert toilets["toilet_reset"] == ("bathroom: toilet_replace",)
