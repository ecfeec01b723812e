"""An upgrade applied to one room of one home, with its quantities, cost, hours and rent."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal, NamedTuple

from pydantic import Field

from scorer.records import Probability, Range, Record
from scorer.rooms import RoomKind

Rung = Literal["clean", "repair", "paint", "replace", "add"]
Family = Literal["kitchen", "paint", "bathroom", "flooring", "safety", "outside", "other"]


class Line(Record):
    """One row of the take-off times the price book.

    Attributes
    ----------
    item, label
        Price book row and its name in plain words.
    kind
        ``material``, ``labour`` or ``allowance`` (a lump with a wide range).
    unit
        What ``quantity`` counts (``gal``, ``sq ft``, ``each``, ``hour`` …).
    quantity
        Needed, waste included [unit].
    buy
        Whole packs to buy at the typical quantity [pack]; zero for labour.
    pack
        What one pack is, in plain words ("1 gal can").
    pack_size, pack_usd
        How much is in one pack [unit], and its price at the user's place and time, corrected by
        finished work as the cost is [$]; 1 and zero for labour and allowances.
    left_over
        Bought but not needed at the typical quantity [unit].
    cost_usd
        [$]; own labour counts at the user's own hourly value.
    hours
        Labour [h]; zero for materials.
    trade
        Who does it; ``own`` if the owner can.
    """

    item: str
    label: str
    kind: Literal["material", "labour", "allowance"]
    unit: str
    quantity: Range
    buy: int = 0
    pack: str = ""
    pack_size: Annotated[float, Field(gt=0)] = 1.0
    pack_usd: Range = Range(low=0.0, typical=0.0, high=0.0)
    left_over: float = 0.0
    cost_usd: Range
    hours: Range
    trade: str = "own"

    @property
    def is_own_labour(self) -> bool:
        """Whether the cost is the owner's own time and no cash."""
        return self.kind == "labour" and self.trade == "own"


class Sums(NamedTuple):
    """What lines come to: cost, own labour at its value [$]; cash, without it [$]; hours [h]."""

    cost_usd: Range
    cash_usd: Range
    hours: Range


def sums_of(lines: Sequence[Line]) -> Sums:
    """Sums of the lines of one option."""
    nothing = Range.exactly(0.0)
    return Sums(
        cost_usd=sum((line.cost_usd for line in lines), start=nothing),
        cash_usd=sum((x.cost_usd for x in lines if not x.is_own_labour), start=nothing),
        hours=sum((line.hours for line in lines), start=nothing),
    )


class Option(Record):
    """One thing that could be done in one room.

    Attributes
    ----------
    id
        ``"<room>: <upgrade id>"``, unique within a home.
    ladder, rung
        Options of one room on the same ladder exclude each other (clean, repair, paint, replace).
    family
        One of the kinds of work that pay most, or another.
    cost_usd, cash_usd, hours
        :func:`sums_of` the lines.
    rent_month_usd
        What the rent may rise by, if this alone is done [$/month].
    certainty
        Probability that the condition behind it is there.
    reasons
        Conditions that call for it.
    needs
        Options that must be chosen too (ids).
    after
        Options that come first if they are chosen (ids).
    excludes
        Options that cannot be chosen with this one, ladder mates included.
    held_by
        Holds (see :mod:`scorer.scope.holds`) that stop this work until somebody has looked.
    stage
        Place in the order of work: smaller first.
    drying_hours
        Waiting time before the next layer [h].
    durability_years
        How long it lasts before it must be done again [years].
    required
        Needed before the home may be let at all (habitability, safety).
    cautions
        What to heed where the work can hurt someone.
    source
        Where the rent effect comes from.
    """

    id: str
    room: str
    room_kind: RoomKind
    upgrade: str
    label: str
    ladder: str
    rung: Rung
    family: Family
    lines: tuple[Line, ...]
    cost_usd: Range
    cash_usd: Range
    hours: Range
    rent_month_usd: Range
    certainty: Probability
    reasons: tuple[str, ...]
    needs: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    held_by: tuple[str, ...] = ()
    stage: Annotated[int, Field(ge=0, le=99)] = 50
    drying_hours: Annotated[float, Field(ge=0, le=1000)] = 0.0
    durability_years: Annotated[float, Field(gt=0, le=100)] = 10.0
    required: bool = False
    cautions: tuple[str, ...] = ()
    source: str = ""
