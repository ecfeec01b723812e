"""Photos for the page: small, upright, explained or repainted, each made once."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from app.shared import workspace
from scorer.errors import InputError
from scorer.photos import overlay, repaint, thumbnail_jpeg
from scorer.workspace.pairs import pair_pictures


@st.cache_data(show_spinner=False, max_entries=3_000)
def _small(path: str, changed: int, width: int) -> bytes | None:
    if workspace().shelf.is_broken(path):
        return None
    try:
        return thumbnail_jpeg(path, width)
    except (InputError, OSError):
        return None


def photo(path: str, width: int = 640) -> bytes | None:
    """A photo as a small upright JPEG without metadata; None if it can't be read."""
    changed = when_changed(path)
    return None if changed is None else _small(path, changed, width)


def when_changed(path: str) -> int | None:
    """When the file was changed [ns]; None if it is not there."""
    try:
        return Path(path).stat().st_mtime_ns
    except (OSError, ValueError):
        return None


@st.cache_data(show_spinner="Outlining what was measured", max_entries=300)
def explained_photo(path: str, changed: int, subject: str) -> bytes | None:
    """A photo with a region outlined and its figure, as JPEG."""
    try:
        return _jpeg(overlay(path, subject).rgb)
    except InputError:
        return None


@st.cache_data(show_spinner="Painting the walls", max_entries=60)
def repainted_photo(path: str, changed: int, paint_hex: str) -> tuple[bytes, bytes]:
    """The room before and after, as JPEGs.

    Raises
    ------
    InputError
        If no wall is seen in it.
    """
    pair = repaint(path, paint_hex)
    return _jpeg(pair.before), _jpeg(pair.after)


def _jpeg(rgb: object) -> bytes:
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=86)  # type: ignore[arg-type]
    return out.getvalue()


@st.cache_data(show_spinner=False, max_entries=300)
def paired_photos(
    after: str, before: str, changed: tuple[int | None, int | None]
) -> tuple[bytes, bytes] | None:
    """Two photos as JPEGs of one size, before and after; None if one can't be read."""
    try:
        return pair_pictures(after, before)
    except (InputError, OSError):
        return None
