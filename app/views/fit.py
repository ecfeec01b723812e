"""Does it fit? Check an idea against the room before it is bought."""

from __future__ import annotations

from functools import partial

import streamlit as st
from pydantic import ValidationError

from app.figures import local
from app.measuring import measure_in_photo
from app.room_size import SIZES, assumed, fit_key, room_size, use_measured
from app.shared import home_in_hand, workspace
from scorer.fit import (
    FitResult,
    MeasuredFit,
    RoomPlan,
    counters_and_storage,
    fit_of_estimate,
    island_or_instead,
    plan_svg,
    simple_kitchen,
    table,
)
from scorer.fit.pieces import NKBA
from scorer.fit.room_plan import Side
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.workspace import Screened

SIDES: tuple[Side, ...] = ("north", "east", "south", "west")
MARKS = {"pass": "fits", "tight": "tight", "fails": "does not fit"}
REACHED = {"pass": "enough", "tight": "a little short", "fails": "short"}
NOT_FURNISHED = {
    RoomKind.WHOLE_HOME, RoomKind.FRONT, RoomKind.DECK, RoomKind.BATHROOM, RoomKind.HALL,
}  # fmt: skip


def _checks(result: FitResult, marks: dict[str, str]) -> None:
    lines = [
        f"- **{marks[check.verdict]}** · {local(check.sentence)} ({_guideline(check.guideline)})"
        for check in result.checks
    ]
    st.markdown("\n".join(lines))
    st.caption(f"Guidelines by number: {NKBA}.")


def _guideline(words: str) -> str:
    number = words.removeprefix(f"{NKBA}, ")
    return words if number == words else f"guideline no. {number}"


def _result(found: MeasuredFit, is_assumed: bool) -> None:
    result = found.result
    show = {"pass": st.success, "tight": st.warning, "fails": st.error}[result.verdict]
    doubt = "The room’s size is assumed: measure it before you buy." if is_assumed else found.doubt
    show(f"{result.idea.capitalize()}: {MARKS[result.verdict]}. {doubt}".strip())
    with st.container(key="plan"):
        st.image(plan_svg(found.plan, result), alt="Plan of the room from above", width=540)
    if result.instead:
        st.markdown("**What fits instead**")
        st.markdown("\n".join(f"- {local(idea)}" for idea in result.instead))
    st.markdown("**What was checked**")
    _checks(result, MARKS)


def _rooms(item: Screened) -> dict[str, Room]:
    """Rooms that furniture is put in, kitchens first."""
    rooms = [room for room in item.result.rooms if room.kind not in NOT_FURNISHED]
    rooms.sort(key=lambda room: room.kind is not RoomKind.KITCHEN)
    return {room.name: room for room in rooms or [Room(name="kitchen", kind=RoomKind.KITCHEN)]}


def _room(item: Screened) -> Room:
    """The room that is checked."""
    rooms = _rooms(item)
    name = st.selectbox(
        "Room",
        list(rooms),
        format_func=str.capitalize,
        key=f"fit_room_{item.home.id}",
        persist_state="session",
    )
    return rooms[name or next(iter(rooms))]


def _shape(item: Screened, room: Room) -> tuple[Range, Range, dict[str, list[Side]]]:
    length, width = room_size(item, room)
    kitchen = room.kind is RoomKind.KITCHEN
    walls: dict[str, list[Side]] = {
        name: st.multiselect(
            f"Walls with {what}",
            SIDES,
            usual,
            format_func=str.capitalize,
            key=fit_key(item, room, name),
            persist_state="session",
        )
        for name, what, usual in (
            ("cabinets", "base cabinets", ["north"] if kitchen else []),
            ("windows", "a window", ["east"]),
            ("doors", "a door", ["west"]),
        )
    }
    st.caption("Photos don’t tell which wall has what: set the walls as they are in this room.")
    return length, width, walls


def _checked(item: Screened, room: Room) -> MeasuredFit:
    length, width, walls = _shape(item, room)
    st.subheader("The idea", anchor=False)
    ideas = ["Island", "Table"] if room.kind is RoomKind.KITCHEN else ["Table"]
    idea = st.segmented_control(
        "Idea",
        ideas,
        default=ideas[0],
        required=True,
        key=f"fit_idea_{ideas[0]}",
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

    def check(shape: RoomPlan) -> FitResult:
        if idea == "Table":
            return table(shape, long, deep, by_window=False)
        overhang = 12.0 if seats else 0.0
        return island_or_instead(shape, long, deep, seats=seats, overhang_in=overhang)

    return fit_of_estimate(plan, length, width, check)


def _measuring(item: Screened, room: Room) -> None:
    """A length from a photo, of the room in hand first."""
    where = workspace().rooms(item).photo_rooms
    here = [name for name, shown in where.items() if shown == room.name]
    measure_in_photo(
        item,
        {
            f"Use in the fit check as room {name}": partial(use_measured, item, room, name)
            for name in SIZES
        },
        room.name,
        here,
    )


st.title("Does it fit?", anchor=False)
st.write(
    "Describe the room from above; north is the top of the drawing. The check uses the published "
    "planning guidelines for aisles, walkways and seats."
)
item = home_in_hand()
if item is not None:
    left, right = st.columns([1, 1.3], gap="large")
    with left:
        st.subheader("The room", anchor=False)
        room = _room(item)
        try:
            found = _checked(item, room)
        except ValidationError as error:
            st.error(error.errors()[0]["msg"].removeprefix("Value error, ").capitalize() + ".")
            st.stop()
    with right:
        _result(found, bool(assumed(item, room)))
        if room.kind is RoomKind.KITCHEN:
            with st.expander("Counter, landing areas and storage of this kitchen"):
                _checks(counters_and_storage(found.plan), REACHED)
                st.caption(
                    "Shelves and drawers: the widths of all of them added up, and counted twice "
                    "where they are about 2 ft deep. What an older kitchen has is often less."
                )
    _measuring(item, room)
