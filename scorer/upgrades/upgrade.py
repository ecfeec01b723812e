"""One row of the catalogue of upgrades, as a frozen record."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from scorer.conditions.data_file import Identifier
from scorer.conditions.finding import Finding
from scorer.records import Range, Record
from scorer.rooms import RoomKind
from scorer.upgrades.option import Family, Rung

Text = Annotated[str, Field(min_length=3, max_length=400)]

RUNG_ORDER: tuple[Rung, ...] = ("clean", "repair", "paint", "replace", "add")
"""From the cheapest rung of a ladder to the dearest."""


class Trigger(Record):
    """A fault that calls for the upgrade, from the slightest to the gravest severity it cures."""

    condition: Identifier
    min_severity: Annotated[int, Field(ge=1, le=3)] = 1
    max_severity: Annotated[int, Field(ge=1, le=3)] = 3

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.min_severity > self.max_severity:
            raise ValueError(
                f"min_severity {self.min_severity} is above max_severity {self.max_severity}"
            )
        return self

    def matches(self, finding: Finding) -> bool:
        """Whether a finding that nobody rejected calls for the upgrade."""
        return (
            not finding.rejected
            and finding.condition == self.condition
            and self.min_severity <= finding.severity <= self.max_severity
        )


class UpgradeLine(Record):
    """One row of the take-off: a price-book item times a measure of the room.

    Attributes
    ----------
    item
        Id of the price-book row.
    measure
        Name of the quantity that the take-off gives for the room, in the item's unit.
    times
        How often the measure counts, for example 2 for two coats [1].
    only_if
        The line counts only where this condition is found in the room (a primer under a light
        colour only where the wall is dark).
    """

    item: Identifier
    measure: Identifier
    times: Annotated[float, Field(gt=0, le=100)] = 1.0
    only_if: Identifier | None = None


class Upgrade(Record):
    """Something that can be done in a kind of room.

    Attributes
    ----------
    rooms
        Kinds of room where it is offered.
    ladder, rung
        Upgrades on one ladder exclude each other in one room; the rungs rise in cost and rent.
    triggers
        Any one of them calls for the upgrade.
    keeps
        Sound conditions that rule it out: what is sound is kept.
    excludes
        Upgrades that make no sense together with this one in one room, ladder mates left out.
    needs, after
        Upgrades that must be chosen too; upgrades that, if chosen, are done before.
    held_by
        Hold kinds that stop the work until somebody has looked, those that the hold file names by
        ladder and rung included.
    rent_percent
        What doing this alone in one room adds to the monthly rent of the home [%].
    required
        The home should not be let without it where the trigger is found.
    stage
        Place in the order of work [0–99]: 0 safety, 10 demolition, 20 wet and rough-in, 30 repair,
        40 preparation of ceilings and walls, 50 paint, 60 floor, 70 fixtures, 80 finish, 90 clean.
    drying_hours
        Wait before the next work in the room [h].
    durability_years
        Years until it must be done again in a rental [years].
    own_trade
        ``own`` if an able owner may do it, else the trade of the wages that must.
    cautions
        The usual caution where the work can hurt somebody.
    source
        Where durability, limits and rent effect come from.
    """

    id: Identifier
    label: Text
    rooms: Annotated[tuple[RoomKind, ...], Field(min_length=1)]
    ladder: Identifier
    rung: Rung
    family: Family
    triggers: Annotated[tuple[Trigger, ...], Field(min_length=1)]
    keeps: tuple[Identifier, ...] = ()
    excludes: tuple[Identifier, ...] = ()
    needs: tuple[Identifier, ...] = ()
    after: tuple[Identifier, ...] = ()
    held_by: tuple[Identifier, ...] = ()
    lines: Annotated[tuple[UpgradeLine, ...], Field(min_length=1)]
    rent_percent: Range
    required: bool = False
    stage: Annotated[int, Field(ge=0, le=99)]
    drying_hours: Annotated[float, Field(ge=0, le=336)] = 0.0
    durability_years: Annotated[float, Field(gt=0, le=100)]
    own_trade: Identifier = "own"
    cautions: tuple[Text, ...] = ()
    source: Text

    @model_validator(mode="after")
    def _sober(self) -> Self:
        if self.rent_percent.low < 0 or self.rent_percent.high > MOST_RENT_PERCENT:
            raise ValueError(
                f"rent_percent must lie within 0 and {MOST_RENT_PERCENT:g}: "
                f"{self.rent_percent.low:g} to {self.rent_percent.high:g}"
            )
        return self


MOST_RENT_PERCENT = 12.6
"""No single upgrade may promise more than a premium kitchen earned in the Munich rent index of 1999
(ordinary least squares on the data of Fahrmeir et al., *Regression*, Springer 2013) [%]."""
