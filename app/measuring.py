"""Measure a length in a photo, from four corners of something of known size."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

from app.components import clicked_point
from app.figures import number
from app.pictures import photo
from scorer.errors import InputError
from scorer.photos.measure import known_sizes, length_between
from scorer.records import Range
from scorer.workspace import Screened

PLACES = ("top left", "top right", "bottom right", "bottom left")
STEPS = (
    *(f"Click the {place} corner of it." for place in PLACES),
    "Click where the length to measure begins.",
    "Click where it ends.",
)


def measure_in_photo(item: Screened, use: Mapping[str, Callable[[Range], None]]) -> None:
    """Six clicks and a length, with its range; an estimate, marked as one.

    Parameters
    ----------
    use
        What the length [in] can be used for: the words of a button, and what it does.
    """
    paths = {p.name: p.path for p in item.home.listing.photos}
    with st.expander("Measure from a photo"):
        if not paths:
            st.info("This home has no photos.")
            return
        st.write(
            "Choose something of known size that lies on the same wall, front or floor as the "
            "length that you want, then click its four corners and the two ends of the length."
        )
        one, two = st.columns(2)
        name = one.selectbox("Photo", list(paths), key=f"measure_photo_{item.home.id}")
        sizes = known_sizes()
        known = two.selectbox(
            "Known thing",
            list(sizes),
            format_func=lambda i: sizes[i].label,
            key=f"measure_known_{item.home.id}",
        )
        key = f"measure_points_{item.home.id}_{name}"
        points: list[tuple[float, float]] = st.session_state.setdefault(key, [])
        picture = photo(paths[name], 1000)
        if picture is None:
            st.warning(f"{name} can't be read.")
            return
        step = STEPS[len(points)] if len(points) < len(STEPS) else "Done. Start again to redo."
        st.markdown(f"**{step}**")
        point = clicked_point(picture, points, f"Photo {name}", f"pick_{item.home.id}_{name}")
        seen = f"{key}_seen"
        if point is not None and point[2] != st.session_state.get(seen) and len(points) < 6:
            st.session_state[seen] = point[2]
            points.append((point[0], point[1]))
            st.rerun()
        if points and st.button("Start again", key=f"again_{key}"):
            points.clear()
            st.rerun()
        if len(points) == len(STEPS):
            try:
                got = length_between(points[:4], sizes[known], points[4], points[5]).length_in
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
