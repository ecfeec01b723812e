"""Counter, landing areas and storage of a kitchen against the planning guidelines.

References
----------
.. [1] National Kitchen & Bath Association, "Kitchen Planning Guidelines with Access Standards":
   11 sink landing, 16 refrigerator landing, 17 cooking surface landing, 25 counter frontage,
   27 storage frontage. The 158 in of guideline 25 is from memory; an older edition asks for less.
"""

from __future__ import annotations

from scorer.fit.geometry import uncovered
from scorer.fit.pieces import NKBA
from scorer.fit.room_plan import (
    SIDES,
    Appliance,
    FitCheck,
    FitResult,
    RoomPlan,
    Side,
    at_least,
    lacking,
    result_of,
)

COUNTER_FRONTAGE_IN = 158.0
STORAGE_FRONTAGE_IN = ((150.0, 1400.0), (350.0, 1700.0), (float("inf"), 2000.0))
"""Shelf and drawer frontage, width times depth in feet, by floor area: (up to this area [sq ft],
asked for [in]) [1]_."""

LANDS_BESIDE = ("sink", "range", "refrigerator")
IN_THE_COUNTER = (*LANDS_BESIDE, "oven")
"""Appliances that leave no counter where they stand."""

NO_LANDING = "The room names no {0}, so the counter beside it was not checked."

SINK_LANDING_IN = (24.0, 18.0)
RANGE_LANDING_IN = (15.0, 12.0)
REFRIGERATOR_LANDING_IN = 15.0

TIGHT_SHARE = 0.75
"""A small rental kitchen is tight rather than failing from this share of a guideline on (common
practice, no source)."""


def counters_and_storage(plan: RoomPlan) -> FitResult:
    """Check counter frontage, landing areas beside sink, range and refrigerator, and storage.

    Says which of the three the room does not name.
    """
    checks = [_frontage(plan), _storage(plan)]
    for appliance in plan.appliances:
        if appliance.kind in LANDS_BESIDE:
            checks += _landings(plan, appliance)
    here = {appliance.kind for appliance in plan.appliances}
    missing = (NO_LANDING.format(kind) for kind in LANDS_BESIDE if kind not in here)
    result = result_of("counters and storage", tuple(checks))
    return lacking(result, tuple(missing), all_of_it=False)


def counter_stretches(plan: RoomPlan, wall: Side) -> tuple[tuple[float, float], ...]:
    """Clear counter along a wall, appliances in the run taken out: (start, end) [in]."""
    cuts = [
        (a.offset_in, a.offset_in + a.width_in)
        for a in plan.appliances
        if a.wall == wall and a.kind in IN_THE_COUNTER
    ]
    runs = [run for run in plan.cabinets if run.kind == "base" and run.wall == wall]
    return tuple(
        sorted(
            stretch
            for run in runs
            for stretch in uncovered(run.offset_in, run.offset_in + run.length_in, cuts)
        )
    )


def _frontage(plan: RoomPlan) -> FitCheck:
    total = sum(end - start for wall in SIDES for start, end in counter_stretches(plan, wall))
    return at_least(
        "counter frontage",
        total,
        COUNTER_FRONTAGE_IN,
        TIGHT_SHARE * COUNTER_FRONTAGE_IN,
        "in",
        f"{NKBA}, 25",
        "Clear counter in all",
    )


def _storage(plan: RoomPlan) -> FitCheck:
    total = sum(
        run.length_in * (run.shelves + run.drawers) * max(1.0, round(run.depth_in / 12.0))
        for run in plan.cabinets
    )
    limit = next(asked for area, asked in STORAGE_FRONTAGE_IN if plan.area_sqft <= area)
    return at_least(
        "storage frontage",
        total,
        limit,
        TIGHT_SHARE * limit,
        "in",
        f"{NKBA}, 27",
        "Shelves and drawers, widths added up (one 24 in deep counts twice)",
    )


def _landings(plan: RoomPlan, appliance: Appliance) -> list[FitCheck]:
    start, end = appliance.offset_in, appliance.offset_in + appliance.width_in
    before = after = 0.0
    for left, right in counter_stretches(plan, appliance.wall):
        if abs(right - start) < 1.0:
            before = right - left
        if abs(left - end) < 1.0:
            after = right - left
    wide, narrow = max(before, after), min(before, after)
    if appliance.kind == "refrigerator":
        return [
            at_least(
                "refrigerator landing",
                wide,
                REFRIGERATOR_LANDING_IN,
                TIGHT_SHARE * REFRIGERATOR_LANDING_IN,
                "in",
                f"{NKBA}, 16",
                "Counter beside the refrigerator",
            )
        ]
    limits = SINK_LANDING_IN if appliance.kind == "sink" else RANGE_LANDING_IN
    number = 11 if appliance.kind == "sink" else 17
    return [
        at_least(
            f"{appliance.kind} landing",
            have,
            limit,
            TIGHT_SHARE * limit,
            "in",
            f"{NKBA}, {number}",
            f"Counter on {side} of the {appliance.kind}",
        )
        for have, limit, side in (
            (wide, limits[0], "the wider side"),
            (narrow, limits[1], "the other side"),
        )
    ]
