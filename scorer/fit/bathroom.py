"""Clearances, light and ventilation of a bathroom against guideline and model code.

The local code decides; the model code's figures are its minimum.

References
----------
.. [1] International Residential Code: P2705.1 (fixture clearances), P2708.1 (shower), R303.3 and
   M1505.4.4 (bathroom light and exhaust).
.. [2] National Kitchen & Bath Association, "Bathroom Planning Guidelines" (30 in, 18 in, 20 in).
.. [3] International Property Maintenance Code 304.14 (insect screens).
"""

from __future__ import annotations

from scorer.fit.geometry import along_wall, standing
from scorer.fit.room_plan import (
    HAIR_IN,
    Appliance,
    FitCheck,
    FitResult,
    RoomPlan,
    at_least,
    lacking,
    result_of,
)

CENTERLINE_IN = {"toilet": (18.0, 15.0), "lavatory": (20.0, 15.0)}
"""Centreline to wall or obstacle: (guideline [2]_, model code minimum [1]_) [in]."""

FRONT_IN = (30.0, 21.0)
"""Clear floor in front of a fixture: (guideline [2]_, model code minimum [1]_) [in]."""

FIXTURES = ("toilet", "lavatory", "tub", "shower")
IN_EVERY_BATHROOM = ("toilet", "lavatory")
"""A half bath has these and neither tub nor shower."""

SHOWER_IN = (36.0, 30.0)
WINDOW_SQFT = 3.0
FAN_CFM = 50.0

CLEARANCE = "NKBA bathroom guidelines; tight down to the minimum of IRC P2705.1"
VENTILATION = "IRC R303.3 and M1505.4.4"
NO_FIXTURES = (
    "The room names no toilet, lavatory, tub or shower, so their clearances were not checked; add "
    "them under appliances."
)
NOT_NAMED = "The room names no {0}, so its clearances were not checked."
NO_WINDOW = "The room names no window that opens, so there is no screen to check."
SCREENS = "IPMC 304.14: screens of 16 mesh per inch on windows that open"


def fixtures(plan: RoomPlan) -> FitResult:
    """Check toilet, lavatory, tub and shower clearances, and light and ventilation.

    Says which fixtures the room does not name; without any of them it is not known whether the
    bathroom fits.
    """
    checks: list[FitCheck] = []
    for fixture in plan.appliances:
        if fixture.kind in CENTERLINE_IN:
            checks.append(_centerline(plan, fixture))
        if fixture.kind in FIXTURES:
            checks.append(_front(plan, fixture))
        if fixture.kind == "shower":
            limit, minimum = SHOWER_IN
            checks.append(
                at_least(
                    "shower size",
                    min(fixture.width_in, fixture.depth_in),
                    limit,
                    minimum,
                    "in",
                    "NKBA bathroom guidelines; tight down to IRC P2708.1",
                    "Shortest inside measure of the shower",
                )
            )
    result = result_of("bathroom fixtures", (*checks, ventilation(plan)))
    here = {fixture.kind for fixture in plan.appliances}
    if here.isdisjoint(FIXTURES):
        return lacking(result, (NO_FIXTURES,), all_of_it=True)
    missing = (NOT_NAMED.format(kind) for kind in IN_EVERY_BATHROOM if kind not in here)
    return lacking(result, tuple(missing), all_of_it=False)


def ventilation(plan: RoomPlan) -> FitCheck:
    """A window of 3 sq ft, half of it to open, or a fan of 50 cu ft/min that leads outdoors."""
    glass = sum(
        o.width_in * o.height_in / 144.0 for o in plan.openings if o.kind == "window" and o.openable
    )
    if plan.fan_cfm >= FAN_CFM or glass < WINDOW_SQFT:
        return at_least(
            "ventilation",
            plan.fan_cfm,
            FAN_CFM,
            FAN_CFM,
            "cu ft/min",
            VENTILATION,
            "Exhaust fan (no window that opens is large enough)"
            if glass < WINDOW_SQFT
            else "Exhaust fan",
        )
    return at_least(
        "ventilation",
        glass,
        WINDOW_SQFT,
        WINDOW_SQFT,
        "sq ft",
        VENTILATION,
        "Glass of windows that open",
    )


def screens(plan: RoomPlan) -> FitResult:
    """Every window that opens has an insect screen."""
    windows = [o for o in plan.openings if o.kind == "window" and o.openable]
    if not windows:
        return lacking(result_of("window screens", ()), (NO_WINDOW,), all_of_it=True)
    screened = sum(o.screened for o in windows)
    check = at_least(
        "window screens",
        screened,
        len(windows),
        len(windows),
        "windows",
        SCREENS,
        "Windows with a screen",
    )
    count = len(windows)
    sentence = f"Windows with a screen: {screened} of {count}; the guideline asks for {count}."
    return result_of("window screens", (check.model_copy(update={"sentence": sentence}),))


def _centerline(plan: RoomPlan, fixture: Appliance) -> FitCheck:
    center = fixture.offset_in + fixture.width_in / 2.0
    nearest = min(center, plan.wall_in(fixture.wall) - center)
    own = along_wall(plan, fixture.wall, fixture.offset_in, fixture.width_in, fixture.depth_in)
    lengthwise = fixture.wall in ("north", "south")
    for thing in standing(plan):
        box = thing.box
        if box == own:
            continue
        if lengthwise and box.top < own.bottom and own.top < box.bottom:
            side = min(abs(box.left - center), abs(box.right - center))
        elif not lengthwise and box.left < own.right and own.left < box.right:
            side = min(abs(box.top - center), abs(box.bottom - center))
        else:
            continue
        nearest = min(nearest, side)
    limit, minimum = CENTERLINE_IN[fixture.kind]
    what = f"Middle of the {fixture.kind} to the wall or the next thing"
    return at_least(f"{fixture.kind} centerline", nearest, limit, minimum, "in", CLEARANCE, what)


def _front(plan: RoomPlan, fixture: Appliance) -> FitCheck:
    reach = plan.width_in if fixture.wall in ("north", "south") else plan.length_in
    free = reach - fixture.depth_in
    own = along_wall(plan, fixture.wall, fixture.offset_in, fixture.width_in, fixture.depth_in)
    for thing in standing(plan):
        box = thing.box
        if fixture.wall in ("north", "south") and box.left < own.right and own.left < box.right:
            gap = box.top - own.bottom if fixture.wall == "north" else own.top - box.bottom
        elif fixture.wall in ("west", "east") and box.top < own.bottom and own.top < box.bottom:
            gap = box.left - own.right if fixture.wall == "west" else own.left - box.right
        else:
            continue
        if box != own and gap >= -HAIR_IN:
            free = min(free, gap)
    limit, minimum = FRONT_IN
    what = f"Clear floor in front of the {fixture.kind}"
    return at_least(f"{fixture.kind} front", free, limit, minimum, "in", CLEARANCE, what)
