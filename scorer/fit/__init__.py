"""Does an idea fit the room before it is bought: clearances, frontage, spacing, a drawing."""

from scorer.fit.bathroom import fixtures, screens, ventilation
from scorer.fit.drawing import plan_svg
from scorer.fit.ideas import island_or_instead, longest_run
from scorer.fit.kitchen import counters_and_storage
from scorer.fit.measured import MeasuredFit, feet, fit_of_estimate, plus_minus_in
from scorer.fit.outlets import outlet_spacing
from scorer.fit.pieces import island, table
from scorer.fit.room_plan import (
    Appliance,
    Cabinets,
    FitCheck,
    FitResult,
    Outlet,
    PlanOpening,
    RoomPlan,
)
from scorer.fit.simple import simple_kitchen

__all__ = [
    "Appliance",
    "Cabinets",
    "FitCheck",
    "FitResult",
    "MeasuredFit",
    "Outlet",
    "PlanOpening",
    "RoomPlan",
    "counters_and_storage",
    "feet",
    "fit_of_estimate",
    "fixtures",
    "island",
    "island_or_instead",
    "longest_run",
    "outlet_spacing",
    "plan_svg",
    "plus_minus_in",
    "screens",
    "simple_kitchen",
    "table",
    "ventilation",
]
