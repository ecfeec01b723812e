"""Does it fit? Check an idea against the room before it is bought."""

from __future__ import annotations

from functools import partial

import streamlit as st
from pydantic import ValidationError

from app.figures import local, number
from app.measuring import measure_in_photo
from app.shared import home_in_hand, tell
from scorer.fit import (
    FitResult,
    MeasuredFit,
    RoomPlan,
    counters_and_storage,
    feet,
    fit_of_estimate,
    island_or_instead,
    plan_svg,
    plus_minus_in,
    simple_kitchen,
    table,
)
from scorer.fit.pieces import NKBA
from scorer.fit.room_plan import Side
from scorer.records import Range
from scorer.workspace import Screened

SIDES: tuple[Side, ...] = ("north", "east", "south", "west")
MARKS = {"pass": "fits", "tight": "tight", "fails": "does not fit"}
SIZES = {"length": ("Room length, ft", 12.0), "width": ("Room width, ft", 10.0)}
LEAST_FT, MOST_FT = 4.0, 60.0


def _key(item: Screened, name: str) -> str:
    return f"fit_{name}_{item.home.id}"


def _measured(item: Screened) -> dict[str, Range]:
    """Sizes of this room that were measured from a photo [ft]."""
    kept: dict[str, Range] = st.session_state.setdefault(f"fit_measured_{item.home.id}", {})
    return kept


def _use(item: Screened, name: str, length_in: Range) -> None:
    """Carry a measured length into a field."""
    length = feet(length_in)
    if not LEAST_FT <= length.typical <= MOST_FT:
        tell("This length is no room’s: rooms are 4 to 60 ft long.", kind="warning")
        return
    st.session_state[_key(item, name)] = length.typical
    _measured(item)[name] = length
    tell(f"Room {name} taken over from the photo, as an estimate.")


def _typed(item: Screened, name: str) -> None:
    """What was typed is no estimate."""
    _measured(item).pop(name, None)


def _size(item: Screened, name: str, known: float | None) -> Range:
    """A size, exact as it was typed or with the range of its measurement [ft]."""
    label, usual = SIZES[name]
    key = _key(item, name)
    st.session_state.setdefault(key, known or usual)
    typed = st.number_input(
        label,
        LEAST_FT,
        MOST_FT,
        step=0.5,
        format="%.2f",
        key=key,
        on_change=_typed,
        args=(item, name),
        persist_state="session",
    )
    measured = _measured(item).get(name)
    if measured is None:
        return Range.exactly(typed)
    st.caption(f"estimated, ± {number(plus_minus_in(measured))} in")
    return measured


def _checks(result: FitResult) -> None:
    lines = [
        f"- **{MARKS[check.verdict]}** · {local(check.sentence)} ({_guideline(check.guideline)})"
        for check in result.checks
    ]
    st.markdown("\n".join(lines))
    st.caption(f"Guidelines by number: {NKBA}.")


def _guideline(words: str) -> str:
    number = words.removeprefix(f"{NKBA}, ")
    return words if number == words else f"guideline {number}"


def _result(found: MeasuredFit) -> None:
    result = found.result
    show = {"pass": st.success, "tight": st.warning, "fails": st.error}[result.verdict]
    show(f"{result.idea.capitalize()}: {MARKS[result.verdict]}. {found.doubt}".strip())
    with st.container(key="plan"):
        st.image(plan_svg(found.plan, result), alt="Plan of the room from above", width=540)
    if result.instead:
        st.markdown("**What fits instead**")
        st.markdown("\n".join(f"- {local(idea)}" for idea in result.instead))
    st.markdown("**What was checked**")
    _checks(result)


def _room(item: Screened) -> tuple[Range, Range, dict[str, list[Side]]]:
    known = next((r for r in item.result.rooms if r.kind.value == "kitchen"), None)
    st.subheader("The room", anchor=False)
    one, two = st.container(key="room").columns(2)
    with one:
        length = _size(item, "length", known.length_ft if known else None)
    with two:
        width = _size(item, "width", known.width_ft if known else None)
    walls: dict[str, list[Side]] = {
        name: st.multiselect(
            f"Walls with {what}",
            SIDES,
            [usual],
            format_func=str.capitalize,
            key=_key(item, name),
            persist_state="session",
        )
        for name, what, usual in (
            ("cabinets", "base cabinets", "north"),
            ("windows", "a window", "east"),
            ("doors", "a door", "west"),
        )
    }
    return length, width, walls


def _checked(item: Screened) -> MeasuredFit:
    length, width, walls = _room(item)
    st.subheader("The idea", anchor=False)
    idea = st.segmented_control(
        "Idea",
        ["Island", "Table"],
        default="Island",
        required=True,
        key="fit_idea",
        persist_state="session",
    )
    one, two = st.container(key="idea").columns(2)
    long = one.number_input(
        "Idea length, in", 12.0, 144.0, 60.0, 2.0, "%.0f", key="fit_long", persist_state="session"
    )
    deep = two.number_input(
        "Idea depth, in", 12.0, 72.0, 36.0, 2.0, "%.0f", key="fit_deep", persist_state="session"
    )
    seats = 0
    if idea == "Island":
        seats = st.number_input("Seats", 0, 8, 2, key="fit_seats", persist_state="session")

    def plan(length_ft: float, width_ft: float) -> RoomPlan:
        return simple_kitchen(
            length_ft, width_ft, walls["cabinets"], walls["windows"], walls["doors"]
        )

    def check(room: RoomPlan) -> FitResult:
        if idea == "Table":
            return table(room, long, deep, by_window=False)
        overhang = 12.0 if seats else 0.0
        return island_or_instead(room, long, deep, seats=seats, overhang_in=overhang)

    return fit_of_estimate(plan, length, width, check)


st.title("Does it fit?")
st.write(
    "Describe the room from above; north is the top of the drawing. The check uses the published "
    "planning guidelines for aisles, walkways and seats."
)
item = home_in_hand()
if item is not None:
    left, right = st.columns([1, 1.3], gap="large")
    with left:
        try:
            found = _checked(item)
        except ValidationError as error:
            st.error(error.errors()[0]["msg"].removeprefix("Value error, ").capitalize() + ".")
            st.stop()
    with right:
        _result(found)
        with st.expander("Counter, landing areas and storage of this kitchen"):
            _checks(counters_and_storage(found.plan))
    measure_in_photo(
        item,
        {
            "Use in the fit check as room length": partial(_use, item, "length"),
            "Use in the fit check as room width": partial(_use, item, "width"),
        },
    )
