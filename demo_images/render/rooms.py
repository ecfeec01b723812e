"""From a description to a model and a camera, for every kind of room."""

from __future__ import annotations

from collections.abc import Callable

from .camera import View
from .dry_rooms import basement, bedroom, hall, living
from .mesh import Model
from .outside import House, deck, front
from .room_spec import RoomSpec
from .wet_rooms import bathroom, kitchen, laundry

__all__ = ["BUILDERS", "RoomSpec", "build"]


def exterior(spec: RoomSpec) -> tuple[Model, View]:
    """House front from the street side."""
    m = Model(spec.seed)
    house: House = spec.get("house", House())
    front(m, house)
    x = spec.get("x", -3.2)
    return m, View((x, -10.2, 1.65), (0.2, 0.0, 1.95), spec.fov)


def back_deck(spec: RoomSpec) -> tuple[Model, View]:
    """Deck along the back wall."""
    m = Model(spec.seed)
    deck(m, spec.get("grey", True), spec.get("house", House()))
    return m, View((2.45, -3.05, 1.95), (-1.6, -0.75, 0.75), spec.fov)


BUILDERS: dict[str, Callable[[RoomSpec], tuple[Model, View]]] = {
    "kitchen": kitchen,
    "bathroom": bathroom,
    "bedroom": bedroom,
    "living": living,
    "hall": hall,
    "laundry": laundry,
    "basement": basement,
    "front": exterior,
    "deck": back_deck,
}


def build(spec: RoomSpec) -> tuple[Model, View]:
    """Model and camera of one picture."""
    return BUILDERS[spec.kind](spec)
