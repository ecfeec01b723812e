"""Fit checks against the published guidelines, and the laws that any room must obey."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from scorer.errors import InputError
from scorer.fit import (
    Appliance,
    Cabinets,
    Outlet,
    PlanOpening,
    RoomPlan,
    counters_and_storage,
    fixtures,
    island,
    island_or_instead,
    outlet_spacing,
    plan_svg,
    screens,
    simple_kitchen,
    table,
    ventilation,
)
from scorer.fit.drawing import feet_and_inches
from scorer.fit.outlets import furthest


def galley(width_in: float = 156.0) -> RoomPlan:
    """A 12 ft long kitchen with counters along the north wall, a window and a door."""
    return RoomPlan(
        length_in=144,
        width_in=width_in,
        openings=(
            PlanOpening(kind="window", wall="east", offset_in=40, width_in=36),
            PlanOpening(kind="door", wall="west", offset_in=width_in - 34, width_in=32),
        ),
        cabinets=(
            Cabinets(wall="north", offset_in=0, length_in=144),
            Cabinets(wall="north", offset_in=0, length_in=100, kind="wall", depth_in=12, drawers=0),
        ),
        appliances=(
            Appliance(kind="sink", wall="north", offset_in=60, width_in=33),
            Appliance(kind="range", wall="north", offset_in=108, width_in=30),
        ),
    )


def test_work_aisle_is_42_inches_for_one_cook_and_48_for_two():
    # NKBA kitchen planning guideline 6; 25 in of range + 42 + 24 + 36 in walkway = 127 in.
    one = island(galley(127.0), 48, 24)
    assert one.verdict == "pass"
    aisle = [c for c in one.checks if c.name == "work aisle"]
    assert min(c.value for c in aisle) >= 42.0
    assert aisle[0].limit == 42.0
    two = island(galley(127.0), 48, 24, cooks=2)
    assert two.verdict == "tight"
    assert next(c for c in two.checks if c.name == "work aisle").limit == 48.0


def test_island_in_a_narrow_kitchen_fails_and_something_else_is_named():
    narrow = RoomPlan(
        length_in=120,
        width_in=96,
        openings=(PlanOpening(kind="window", wall="east", offset_in=50, width_in=36),),
        cabinets=(Cabinets(wall="north", offset_in=0, length_in=120),),
    )
    result = island_or_instead(narrow, 60, 36)
    assert result.verdict == "fails"
    assert any("run of base and wall cabinets" in idea for idea in result.instead) or any(
        "table" in idea for idea in result.instead
    )
    assert "table" in " ".join(result.instead)


@pytest.mark.parametrize(("height", "depth"), [(30, 18.0), (36, 15.0), (42, 12.0)])
def test_knee_space_by_counter_height(height, depth):
    # NKBA kitchen planning guideline 9: 24 in of width a seat; 18, 15, 12 in deep at 30, 36, 42 in.
    big = RoomPlan(length_in=300, width_in=300)
    ok = island(big, 48, 36, seats=2, overhang_in=depth, height_in=height)
    assert ok.verdict == "pass"
    short = island(big, 48, 36, seats=2, overhang_in=depth - 1, height_in=height)
    assert next(c for c in short.checks if c.name == "knee space").verdict == "tight"
    crowd = island(big, 48, 36, seats=3, overhang_in=depth, height_in=height)
    assert next(c for c in crowd.checks if c.name == "seats").verdict == "fails"


def test_open_oven_door_must_not_reach_the_island():
    plan = galley(200.0)
    oven = Appliance(kind="range", wall="north", offset_in=108, width_in=30, door_in=20)
    plan = plan.model_copy(update={"appliances": (plan.appliances[0], oven)})
    result = island(plan, 48, 24)
    door = next(c for c in result.checks if c.name == "range door")
    assert door.verdict == "pass"


@pytest.mark.parametrize(
    ("traffic", "limit"), [("none", 32.0), ("edge past", 36.0), ("walk past", 44.0)]
)
def test_room_behind_seats(traffic, limit):
    # NKBA kitchen planning guideline 8: 32, 36, 44 in.
    room = RoomPlan(
        length_in=120,
        width_in=24 + limit,
        openings=(PlanOpening(kind="window", wall="north", offset_in=30, width_in=48),),
    )
    assert table(room, 36, 24, traffic=traffic).verdict == "pass"
    smaller = room.model_copy(update={"width_in": 24 + limit - 1})
    assert table(smaller, 36, 24, traffic=traffic).verdict != "pass"


def test_counter_and_storage_frontage():
    # NKBA guideline 25 (158 in), 27 (1,400 in for a kitchen under 150 sq ft).
    checks = {c.name: c for c in counters_and_storage(galley()).checks}
    assert checks["counter frontage"].limit == 158.0
    assert checks["counter frontage"].value == 144 - 33 - 30
    assert checks["storage frontage"].limit == 1700.0  # 12 × 13 ft = 156 sq ft: medium
    assert checks["storage frontage"].value == 144 * 3 * 2 + 100 * 2 * 1
    small = galley(144.0)
    assert {c.name: c for c in counters_and_storage(small).checks}[
        "storage frontage"
    ].limit == 1400.0


def test_landing_beside_range_and_sink():
    # NKBA guidelines 11 (24 and 18 in) and 17 (15 and 12 in).
    checks = counters_and_storage(galley()).checks
    sink = [c for c in checks if c.name == "sink landing"]
    assert [c.limit for c in sink] == [24.0, 18.0]
    assert [c.value for c in sink] == [60.0, 15.0]
    stove = [c for c in checks if c.name == "range landing"]
    assert [c.limit for c in stove] == [15.0, 12.0]
    assert [c.verdict for c in stove] == ["pass", "fails"]


def bathroom(toilet_at: float, width_in: float = 96.0, **more) -> RoomPlan:
    return RoomPlan(
        length_in=60,
        width_in=width_in,
        appliances=(
            Appliance(kind="toilet", wall="west", offset_in=toilet_at, width_in=20, depth_in=28),
            Appliance(kind="tub", wall="north", offset_in=0, width_in=60, depth_in=30),
        ),
        **more,
    )


def test_toilet_clearances_of_guideline_and_code():
    # NKBA 18 in and IRC P2705.1 15 in from the centreline; 30 and 21 in in front.
    good = {c.name: c for c in fixtures(bathroom(40)).checks}
    assert good["toilet centerline"].value == 20.0  # 40 + 10 − 30 in of tub
    assert good["toilet centerline"].verdict == "pass"
    assert good["toilet front"].value == 32.0
    code = {c.name: c for c in fixtures(bathroom(36)).checks}["toilet centerline"]
    assert (code.value, code.verdict) == (16.0, "tight")
    bad = {c.name: c for c in fixtures(bathroom(32)).checks}["toilet centerline"]
    assert (bad.value, bad.verdict) == (12.0, "fails")


def test_bathroom_needs_a_window_or_a_fan():
    # IRC R303.3: 3 sq ft of glass, or 50 cu ft/min.
    assert ventilation(bathroom(40)).verdict == "fails"
    assert ventilation(bathroom(40, fan_cfm=50)).verdict == "pass"
    window = PlanOpening(kind="window", wall="south", offset_in=10, width_in=18, height_in=24)
    assert ventilation(bathroom(40, openings=(window,))).verdict == "pass"
    fixed = window.model_copy(update={"openable": False})
    assert ventilation(bathroom(40, openings=(fixed,))).verdict == "fails"


def test_every_window_that_opens_has_a_screen():
    window = PlanOpening(kind="window", wall="south", offset_in=10, width_in=18, screened=False)
    assert screens(bathroom(40, openings=(window,))).verdict == "fails"
    done = window.model_copy(update={"screened": True})
    assert screens(bathroom(40, openings=(done,))).verdict == "pass"
    (check,) = screens(bathroom(40, openings=(window,))).checks
    assert check.sentence == "Windows with a screen: 0 of 1; the guideline asks for 1."


def test_each_stretch_is_named_and_a_stretch_without_an_outlet_says_so():
    room = RoomPlan(
        length_in=160,
        width_in=100,
        outlets=(Outlet(wall="north", offset_in=20), Outlet(wall="south", offset_in=30)),
        openings=(PlanOpening(kind="door", wall="north", offset_in=60, width_in=30),),
    )
    told = [check.sentence.partition(":")[0] for check in outlet_spacing(room).checks]
    assert told == [
        "Furthest point of the north wall (0 to 60 in) from an outlet",
        "Length of the north wall (90 to 160 in), which has no outlet",
        "Length of the east wall, which has no outlet",
        "Furthest point of the south wall from an outlet",
        "Length of the west wall, which has no outlet",
    ]


def test_outlet_spacing_of_the_electrical_code():
    # NFPA 70 210.52(A): 12 ft apart; 210.52(C)(1): 4 ft apart.
    room = RoomPlan(
        length_in=144,
        width_in=23,
        outlets=tuple(Outlet(wall=w, offset_in=72) for w in ("north", "south")),
    )
    assert outlet_spacing(room).verdict == "pass"
    longer = room.model_copy(update={"length_in": 150.0})
    assert outlet_spacing(longer).verdict == "fails"
    counter = RoomPlan(
        length_in=96,
        width_in=120,
        cabinets=(Cabinets(wall="north", offset_in=0, length_in=96),),
        outlets=(
            Outlet(wall="north", offset_in=24, counter=True),
            Outlet(wall="north", offset_in=72, counter=True),
        ),
    )
    checks = [c for c in outlet_spacing(counter).checks if c.name == "counter outlets"]
    assert [c.verdict for c in checks] == ["pass"]
    assert furthest(0, 100, [10, 90]) == 40
    assert furthest(0, 30, []) == 30


@pytest.mark.parametrize(("wide", "outlet", "verdict"), [(15, False, "fails"), (15, True, "pass")])
def test_a_counter_between_sink_and_range_needs_its_own_outlet(wide, outlet, verdict):
    """NFPA 70 210.52(C)(1): at each counter 12 in wide or more; there is no corner to turn."""
    room = RoomPlan(
        length_in=144,
        width_in=120,
        cabinets=(Cabinets(wall="north", offset_in=60, length_in=wide),),
        outlets=(Outlet(wall="north", offset_in=65, counter=True),) if outlet else (),
    )
    (check,) = [c for c in outlet_spacing(room).checks if c.name == "counter outlets"]
    assert check.verdict == verdict
    if not outlet:
        assert check.sentence == (
            "Length of the north counter, which has no outlet: 15 in; "
            "the guideline asks for one there."
        )
    narrow = room.model_copy(
        update={"cabinets": (Cabinets(wall="north", offset_in=60, length_in=11),), "outlets": ()}
    )
    assert not [c for c in outlet_spacing(narrow).checks if c.name == "counter outlets"]


@settings(max_examples=25, deadline=None)
@given(
    st.floats(60, 240), st.floats(60, 240), st.floats(0, 60), st.floats(24, 72), st.floats(18, 42)
)
def test_a_larger_room_never_fits_worse(length, width, more, long, deep):
    small = RoomPlan(length_in=length, width_in=width)
    large = RoomPlan(length_in=length + more, width_in=width + more)
    order = ["pass", "tight", "fails"]
    assert order.index(island(large, long, deep).verdict) <= order.index(
        island(small, long, deep).verdict
    )


def test_drawing_is_well_formed_and_to_scale():
    plan = galley()
    result = island(plan, 48, 24)
    svg = ElementTree.fromstring(plan_svg(plan, result, title="Kitchen <plan>"))
    space = "{http://www.w3.org/2000/svg}"
    rects = svg.findall(f".//{space}rect")
    assert any((float(r.get("width")), float(r.get("height"))) == (144.0, 156.0) for r in rects)
    piece = {(float(r.get("width")), float(r.get("height"))) for r in rects}
    assert (48.0, 24.0) in piece or (24.0, 48.0) in piece
    assert "script" not in ElementTree.tostring(svg, encoding="unicode")
    assert feet_and_inches(126) == "10 ft 6 in"


def test_a_kitchen_from_a_few_answers():
    plan = simple_kitchen(12, 10, ["north", "east"], ["south"], ["west"], estimated=True)
    assert (plan.length_in, plan.width_in, plan.area_sqft) == (144, 120, 120)
    assert [(c.wall, c.length_in) for c in plan.cabinets] == [("north", 144), ("east", 120)]
    assert [a.kind for a in plan.appliances] == ["range"]
    assert "estimated from a photo" in plan_svg(plan)
    with pytest.raises(ValidationError, match="door on the west wall"):
        simple_kitchen(12, 2, [], [], ["west"])


def test_bad_input_names_the_thing_and_the_wall():
    with pytest.raises(ValidationError, match="sink on the north wall ends at 130 in"):
        RoomPlan(
            length_in=120,
            width_in=96,
            appliances=(Appliance(kind="sink", wall="north", offset_in=100, width_in=30),),
        )
    with pytest.raises(InputError, match="length and depth above zero"):
        island(galley(), 0, 24)
    with pytest.raises(InputError, match="traffic must be one of"):
        table(galley(), 36, 24, traffic="rush")
