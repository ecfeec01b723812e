"""A condition of one room: suggested by a photo, or tagged by a person."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from scorer.records import Probability, Record

Severity = Annotated[int, Field(ge=0, le=3)]
"""0 sound (nothing to do), 1 slight, 2 plain, 3 severe."""


class Evidence(Record):
    """Where a finding comes from: a photo and the figure read there, or a person's note."""

    source: Literal["photo", "person", "facts"]
    photo: str | None = None
    figure: str = ""


class Tag(Record):
    """What a person said of one condition of one room at the viewing.

    ``present=False`` rejects what a photo suggested. ``tagged_at`` is an ISO 8601 time: when two
    tags speak of the same condition of the same room, the newer one holds.
    """

    room: str
    condition: str
    present: bool = True
    severity: Severity = 2
    note: str = ""
    tagged_at: str = ""


class Finding(Record):
    """One condition of one room.

    Attributes
    ----------
    certainty
        Probability that the condition is there; 1 for a person's tag.
    rejected
        A person looked and it is not so; kept so that the reading is not lost.
    """

    room: str
    condition: str
    severity: Severity
    certainty: Probability
    evidence: tuple[Evidence, ...]
    rejected: bool = False

    @property
    def by_person(self) -> bool:
        """Whether a person said so, or said that it is not so."""
        return any(evidence.source == "person" for evidence in self.evidence)
