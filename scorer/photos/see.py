"""Ask the room network, and put its answer into the readers' own terms."""

from __future__ import annotations

from functools import lru_cache

from scorer.errors import InputError
from scorer.photos.colour import ByteArray
from scorer.photos.scene import Surfaces, cells_size
from scorer.photos.surfaces import RoomNet, RoomPrediction, room_net, tone_probability


@lru_cache(maxsize=1)
def _network() -> RoomNet:
    try:
        return room_net()
    except Exception as error:  # OpenCV's own error, or a missing file
        raise InputError(
            "The package's room network (scorer/photos/models/rooms.onnx) cannot be loaded; "
            "install the package again."
        ) from error


def see(rgb: ByteArray, network: RoomNet | None = None) -> Surfaces:
    """Surfaces and whole-picture answers for one photo of shape (h, w, 3), 8-bit sRGB.

    Raises
    ------
    InputError
        when the package has no network that can be run.
    """
    return as_surfaces((network or _network()).predict(rgb, size=cells_size(*rgb.shape[:2])))


def as_surfaces(prediction: RoomPrediction) -> Surfaces:
    """The parts of the network's answer that the readers use."""
    return Surfaces(
        prediction.surfaces,
        {
            "room": prediction.kind,
            "era": prediction.era,
            "floor": prediction.floor,
            "cabinets": prediction.cabinets,
            "lightness": prediction.lightness,
            "tone": tone_probability(prediction.lightness),
            "bold": prediction.bold,
            "exposure": prediction.exposure,
            "light": prediction.light,
        },
    )
