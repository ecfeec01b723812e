"""Length and width of the room that a fit check is made for, and where they come from."""

from __future__ import annotations

import streamlit as st

from app.figures import number
from app.shared import change, tell
from scorer.fit import feet, plus_minus_in
from scorer.records import Range
from scorer.rooms import Room
from scorer.workspace import Screened

SIZES = {"length": ("Room length, ft", 12.0), "width": ("Room width, ft", 10.0)}
"""Names of the fields, and what is assumed of a room whose size is not known [ft]."""
LEAST_FT, MOST_FT = 4.0, 60.0


def room_size(item: Screened, room: Room) -> tuple[Range, Range]:
    """Two fields, a sentence on where their sizes come from, and the sizes [ft]."""
    one, two = st.container(key="room").columns(2)
    with one:
        length = _size(item, room, "length")
    with two:
        width = _size(item, room, "width")
    _where_from(item, room, length, width)
    return length, width


def fit_key(item: Screened, room: Room, name: str) -> str:
    """Key of a field of one room of one home."""
    return f"fit_{name}_{item.home.id}_{room.name}"


def _size_key(item: Screened, room: Room, name: str) -> str:
    """A size that becomes known takes the place of the one that was assumed."""
    return f"{fit_key(item, room, name)}_{getattr(room, f'{name}_ft')}"


def _measured(item: Screened, room: Room) -> dict[str, Range]:
    """Sizes of this room that were measured from a photo [ft]."""
    kept: dict[str, Range] = st.session_state.setdefault(fit_key(item, room, "measured"), {})
    return kept


def _typed(item: Screened, room: Room) -> set[str]:
    """Sizes of this room that were typed on this page."""
    kept: set[str] = st.session_state.setdefault(fit_key(item, room, "typed"), set())
    return kept


def use_measured(item: Screened, room: Room, name: str, length_in: Range) -> None:
    """Carry a measured length into a field."""
    length = feet(length_in)
    if not LEAST_FT <= length.typical <= MOST_FT:
        tell("This length is no room’s: rooms are 4 to 60 ft long.", kind="warning")
        return
    st.session_state[_size_key(item, room, name)] = length.typical
    _measured(item, room)[name] = length
    tell(f"Room {name} taken over from the photo, as an estimate.")


def _was_typed(item: Screened, room: Room, name: str) -> None:
    """What was typed is no estimate."""
    _measured(item, room).pop(name, None)
    _typed(item, room).add(name)


def _size(item: Screened, room: Room, name: str) -> Range:
    """A size, exact as it was typed or with the range of its measurement [ft]."""
    label, usual = SIZES[name]
    where = _size_key(item, room, name)
    known = getattr(room, f"{name}_ft")
    st.session_state.setdefault(where, known or usual)
    typed = st.number_input(
        label,
        min(LEAST_FT, known or LEAST_FT),
        max(MOST_FT, known or MOST_FT),
        step=0.5,
        format="%.2f",
        key=where,
        on_change=_was_typed,
        args=(item, room, name),
        persist_state="session",
    )
    measured = _measured(item, room).get(name)
    if measured is None:
        return Range.exactly(typed)
    st.caption(f"estimated, ± {number(plus_minus_in(measured))} in")
    return measured


def assumed(item: Screened, room: Room) -> list[str]:
    """Sizes that nobody measured, typed or listed."""
    known = {name for name in SIZES if getattr(room, f"{name}_ft") is not None}
    return [n for n in SIZES if n not in known | set(_measured(item, room)) | _typed(item, room)]


def _where_from(item: Screened, room: Room, length: Range, width: Range) -> None:
    """Whether the room's size is its own, and a way to keep one that was typed here."""
    unknown = assumed(item, room)
    if len(unknown) == len(SIZES):
        across, deep = (number(usual) for _, usual in SIZES.values())
        st.warning(f"No size known yet: {across} × {deep} ft assumed. Measure the {room.name}.")
    elif unknown:
        usual = SIZES[unknown[0]][1]
        st.warning(f"No {unknown[0]} known yet: {number(usual)} ft assumed. Measure it.")
    elif not _measured(item, room):  # an estimate is not kept as the room's size
        size = room.model_copy(update={"length_ft": length.typical, "width_ft": width.typical})
        if size == room:
            st.caption(f"The size of the {room.name} as it is kept.")
            return
        st.button(
            f"Keep as the size of the {room.name}",
            key=f"keep_{fit_key(item, room, 'size')}",
            on_click=_keep_size,
            args=(item, room, size),
        )


def _keep_size(item: Screened, room: Room, size: Room) -> None:
    change(
        item.home.id,
        f"Size of the {room.name} kept; quantities follow it.",
        lambda store, home, version: store.save_room(home, version, size),
        undo=lambda store, home, version: store.save_room(home, version, room),
    )
