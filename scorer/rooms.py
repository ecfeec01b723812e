"""The kinds of room, and what is known of one room's size."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from scorer.records import Record

Feet = Annotated[float, Field(gt=0, le=200)]


class RoomKind(StrEnum):
    """Where a condition can be found; ``WHOLE_HOME`` is what belongs to no one room."""

    KITCHEN = "kitchen"
    BATHROOM = "bathroom"
    BEDROOM = "bedroom"
    LIVING_ROOM = "living_room"
    HALL = "hall"
    LAUNDRY = "laundry"
    BASEMENT = "basement"
    FRONT = "front"
    DECK = "deck"
    WHOLE_HOME = "whole_home"

    @property
    def words(self) -> str:
        """As it stands in a sentence and as a person types it: ``living room``."""
        return self.value.replace("_", " ")

    @property
    def label(self) -> str:
        """The words a landlord would use."""
        return _LABELS.get(self, self.words.capitalize())


WHOLE_HOME = RoomKind.WHOLE_HOME.words
"""Name of the room that stands for what belongs to no one room."""


_LABELS = {
    RoomKind.HALL: "Hall and closets",
    RoomKind.FRONT: "Front and outside",
    RoomKind.DECK: "Porch or deck",
    RoomKind.WHOLE_HOME: "Whole home",
}


class Opening(Record):
    """A door, window or cased opening in a wall."""

    kind: str = Field(pattern="^(door|window|opening)$")
    width_ft: Feet
    height_ft: Feet


class Room(Record):
    """One room of one home; a size that is not known is None and widens the take-off.

    Attributes
    ----------
    name
        Unique within the home, for example ``"bedroom 2"``.
    length_ft, width_ft, height_ft
        Inside wall to wall, and floor to ceiling [ft].
    floor_area_sqft
        Used where length and width are not known [sq ft].
    """

    name: str = Field(min_length=1, max_length=80)
    kind: RoomKind
    length_ft: Feet | None = None
    width_ft: Feet | None = None
    height_ft: Annotated[float, Field(gt=4, le=30)] | None = None
    floor_area_sqft: Annotated[float, Field(gt=0, le=20_000)] | None = None
    openings: tuple[Opening, ...] = ()
