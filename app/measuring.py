"""Measure a length in a photo, from four corners of something of known size."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import streamlit as st

from app.components import clicked_point
from app.figures import number
from app.pictures import photo
from scorer.errors import InputError
from scorer.photos.measure import KnownSize, known_sizes, length_between
from scorer.records import Range
from scorer.workspace import Screened

Point = tuple[float, float]
PLACES = ("top left", "top right", "bottom right", "bottom left")
STEPS = (
    *(f"Click the {place} corner of it." for place in PLACES),
    "Click where the length to measure begins.",
    "Click where it ends.",
)


def measure_in_photo(
    item: Screened, use: Mapping[str, Callable[[Range], None]], room: str, here: Sequence[str]
) -> None:
    """Six clicks and a length, with its range; an estimate, marked as one.

    Parameters
    ----------
    use
        What the length [in] can be used for: the words of a button, and what it does.
    room, here
        Name of the room in hand, and the photos that show it: they come first.
    """
    paths = {p.name: p.path for p in item.home.photos_to_read()}
    names = sorted(paths, key=lambda name: name not in here)
    with st.expander("Measure from a photo"):
        if not paths:
            st.info("This home has no photos.")
            return
        st.write(
            "Choose something of known size that lies on the same wall, front or floor as the "
            "length that you want, then click its four corners and the two ends of the length."
        )
        if not any(name in here for name in names):
            st.info(f"No photo shows the {room}; these are the others.")
        one, two = st.columns(2)
        name = one.selectbox("Photo", names, key=f"measure_photo_{item.home.id}_{room}")
        sizes = known_sizes()
        known = two.selectbox(
            "Known thing",
            list(sizes),
            format_func=lambda i: sizes[i].label,
            key=f"measure_known_{item.home.id}",
        )
        picture = photo(paths[name], 1000)
        if picture is None:
            st.warning(f"{name} can't be read.")
            return
        points = _clicked(picture, name, item.home.id)
        if len(points) == len(STEPS):
            _length(points, sizes[known], use)


def _clicked(picture: bytes, name: str, home_id: int) -> list[Point]:
    """The picture, what to click next, and the points clicked so far."""
    key = f"measure_points_{home_id}_{name}"
    points: list[Point] = st.session_state.setdefault(key, [])
    step = STEPS[len(points)] if len(points) < len(STEPS) else "Done. Start again to redo."
    st.markdown(f"**{step}**")
    click = clicked_point(picture, points, f"Photo {name}", f"pick_{home_id}_{name}")
    seen = f"{key}_seen"
    if click is not None and click[2] != st.session_state.get(seen) and len(points) < len(STEPS):
        st.session_state[seen] = click[2]
        points.append((click[0], click[1]))
        st.rerun()
    if points and st.button("Start again", key=f"again_{key}"):
        points.clear()
        st.rerun()
    return points


def _length(
    points: Sequence[Point], known: KnownSize, use: Mapping[str, Callable[[Range], None]]
) -> None:
    """The length between the last two points, and what it can be used for."""
    try:
        got = length_between(points[:4], known, points[4], points[5]).length_in
    except InputError as error:
        st.info(str(error))
        return
    st.success(
        f"About {number(got.typical)} in ({number(got.low)} to {number(got.high)} in), "
        "estimated from the photo. Measure with a tape before you buy."
    )
    with st.container(horizontal=True):
        for words, take in use.items():
            st.button(words, key=f"use_{words}", on_click=take, args=(got,))
