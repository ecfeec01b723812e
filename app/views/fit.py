"""Does it fit? Check an idea against the room before it is bought."""

from __future__ import annotations

import streamlit as st
from pydantic import ValidationError

from app.measuring import measure_in_photo
from app.shared import home_in_hand
from scorer.fit import (
    FitResult,
    RoomPlan,
    counters_and_storage,
    island_or_instead,
    plan_svg,
    simple_kitchen,
    table,
)
from scorer.fit.room_plan import Side

SIDES: tuple[Side, ...] = ("north", "east", "south", "west")
MARKS = {"pass": "fits", "tight": "tight", "fails": "does not fit"}

st.title("Does it fit?")
st.write(
    "Describe the room from above; north is the top of the drawing. The check uses the published "
    "planning guidelines for aisles, walkways and seats."
)
item = home_in_hand()


def _plan(length_ft: float, width_ft: float) -> RoomPlan:
    runs = st.multiselect("Walls with base cabinets", SIDES, ["north"], format_func=str.capitalize)
    windows = st.multiselect("Walls with a window", SIDES, ["east"], format_func=str.capitalize)
    doors = st.multiselect("Walls with a door", SIDES, ["west"], format_func=str.capitalize)
    estimated = st.checkbox("These sizes are estimated from a photo")
    return simple_kitchen(length_ft, width_ft, runs, windows, doors, estimated=estimated)


def _checks(result: FitResult) -> None:
    for check in result.checks:
        st.markdown(f"- **{MARKS[check.verdict]}** · {check.sentence} ({check.guideline})")


def _result(plan: RoomPlan, result: FitResult) -> None:
    show = {"pass": st.success, "tight": st.warning, "fails": st.error}[result.verdict]
    show(f"{result.idea.capitalize()}: {MARKS[result.verdict]}.")
    _checks(result)
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
        with st.expander("Counter, landing areas and storage of this kitchen"):
            _checks(counters_and_storage(plan))
    measure_in_photo(item)
