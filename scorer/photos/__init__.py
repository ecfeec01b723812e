"""Photos → `Reading`: what one photo shows, each figure with its unit and its region."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scorer.photos.decode import load_photo, thumbnail_jpeg
    from scorer.photos.explain import overlay
    from scorer.photos.likeness import group_duplicates
    from scorer.photos.painting import repaint
    from scorer.photos.photoset import look_over
    from scorer.photos.read import ALGORITHM_VERSION, read_photo, read_photo_and_surfaces

# Imported on first use, so that a program that only needs the record starts without OpenCV.
_HOME = {
    "ALGORITHM_VERSION": "read",
    "group_duplicates": "likeness",
    "load_photo": "decode",
    "look_over": "photoset",
    "overlay": "explain",
    "read_photo": "read",
    "read_photo_and_surfaces": "read",
    "repaint": "painting",
    "thumbnail_jpeg": "decode",
}

__all__ = [
    "ALGORITHM_VERSION",
    "group_duplicates",
    "load_photo",
    "look_over",
    "overlay",
    "read_photo",
    "read_photo_and_surfaces",
    "repaint",
    "thumbnail_jpeg",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
