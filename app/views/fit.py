"""Does it fit? Check an idea against the room before it is bought."""

from __future__ import annotations

import streamlit as st
from pydantic import ValidationError

from app.shared import home_in_hand
from scorer.fit import (
    Appliance,
    Cabinets,
    FitResult,
    PlanOpening,
    RoomPlan,
    island_or_instead,
    plan_svg,
    table,
)

SIDES = ("north", "east", "south", "west")
MARKS = {"pass": "fits", "tight": "tight", "fails": "does not fit"}

st.title("Does it fit?")
st.write(
    "Describe the room from above; north is the top of the drawing. The check uses the published "
    "planning guidelines for aisles, walkways and seats."
)
item = home_in_hand()


def _plan(length_ft: float, width_ft: float) -> RoomPlan:
    length, width = 12.0 * length_ft, 12.0 * width_ft
    runs = st.multiselect("Walls with base cabinets", SIDES, ["north"], format_func=str.capitalize)
    windows = st.multiselect("Walls with a window", SIDES, ["east"], format_func=str.capitalize)
    doors = st.multiselect("Walls with a door", SIDES, ["west"], format_func=str.capitalize)
    along = {"north": length, "south": length, "east": width, "west": width}
    return RoomPlan(
        length_in=length,
        width_in=width,
        cabinets=tuple(Cabinets(wall=s, offset_in=0, length_in=along[s]) for s in runs),
        openings=(
            *(
                PlanOpening(kind="window", wall=s, offset_in=along[s] / 2 - 18, width_in=36)
                for s in windows
            ),
            *(
                PlanOpening(kind="door", wall=s, offset_in=along[s] - 34, width_in=32, swing="out")
                for s in doors
            ),
        ),
        appliances=tuple(
            Appliance(kind="range", wall=s, offset_in=along[s] / 2 - 15, width_in=30, door_in=20)
            for s in runs[:1]
        ),
    )


def _result(plan: RoomPlan, result: FitResult) -> None:
    show = {"pass": st.success, "tight": st.warning, "fails": st.error}[result.verdict]
    show(f"{result.idea.capitalize()}: {MARKS[result.verdict]}.")
    for check in result.checks:
        st.markdown(f"- **{MARKS[check.verdict]}** · {check.sentence} ({check.guideline})")
    if result.instead:
        st.markdown("**What fits instead**")
        for idea in result.instead:
            st.markdown(f"- {idea}")
    with st.container(key="plan"):
        st.image(plan_svg(plan, result), alt="Plan of the room from above", width=540)


if item is not None:
    kitchens = [r for r in item.result.rooms if r.kind.value == "kitchen"]
    known = kitchens[0] if kitchens else None
    left, right = st.columns([1, 1.3], gap="large")
    with left:
        one, two = st.columns(2)
        length = one.number_input(
            "Room length, ft", 4.0, 60.0, (known and known.length_ft) or 12.0, 0.5
        )
        width = two.number_input(
            "Room width, ft", 4.0, 60.0, (known and known.width_ft) or 10.0, 0.5
        )
        idea = st.segmented_control("Idea", ["Island", "Table"], default="Island") or "Island"
        long = one.number_input("Idea length, in", 12.0, 144.0, 60.0, 2.0)
        deep = two.number_input("Idea depth, in", 12.0, 72.0, 36.0, 2.0)
        seats = st.number_input("Seats", 0, 8, 2) if idea == "Island" else 0
        try:
            plan = _plan(length, width)
        except ValidationError as error:
            st.error(error.errors()[0]["msg"].removeprefix("Value error, ").capitalize() + ".")
            st.stop()
    with right:
        if idea == "Island":
            overhang = 12.0 if seats else 0.0
            found = island_or_instead(plan, long, deep, seats=seats, overhang_in=overhang)
        else:
            found = table(plan, long, deep, by_window=False)
        _result(plan, found)
