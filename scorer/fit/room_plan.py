"""A simple description of a room from above, and what a fit check says of it.

Lengths are inches, inside wall to wall. Walls are named by the side of the plan: ``north`` is the
top of the drawing, and offsets run along a wall from west to east, or from north to south.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from scorer.records import Record

Side = Literal["north", "east", "south", "west"]
SIDES: tuple[Side, ...] = ("north", "east", "south", "west")
HAIR_IN = 1e-6
"""Lengths that differ by less are the same: what floating point leaves of a sum [in]."""
Inches = Annotated[float, Field(gt=0, le=1200)]
Offset = Annotated[float, Field(ge=0, le=1200)]
Verdict = Literal["pass", "tight", "fails"]
IdeaVerdict = Literal["pass", "tight", "fails", "unknown"]
"""``unknown``: the room lacks what the idea is about."""

ApplianceKind = Literal[
    "sink",
    "range",
    "refrigerator",
    "dishwasher",
    "oven",
    "toilet",
    "lavatory",
    "tub",
    "shower",
    "washer",
    "dryer",
]


class PlanOpening(Record):
    """A door, window or cased opening.

    Attributes
    ----------
    swing
        Where a door leaf turns: into this room, out of it, or not at all (sliding).
    height_in, openable, screened
        Of a window: glass height [in], whether it opens, whether it has an insect screen.
    """

    kind: Literal["door", "window", "opening"]
    wall: Side
    offset_in: Offset
    width_in: Inches
    swing: Literal["in", "out", "none"] = "none"
    height_in: Inches = 48.0
    openable: bool = True
    screened: bool = True


class Cabinets(Record):
    """A run of cabinets along a wall.

    ``shelves`` and ``drawers`` count the storeys of each in the run, for the storage frontage.
    """

    wall: Side
    offset_in: Offset
    length_in: Inches
    kind: Literal["base", "wall", "tall"] = "base"
    depth_in: Inches = 24.0
    shelves: Annotated[int, Field(ge=0, le=12)] = 2
    drawers: Annotated[int, Field(ge=0, le=12)] = 1


class Appliance(Record):
    """An appliance or fixture against a wall.

    Attributes
    ----------
    door_in
        Depth of the open door in front of it [in].
    """

    kind: ApplianceKind
    wall: Side
    offset_in: Offset
    width_in: Inches
    depth_in: Inches = 25.0
    door_in: Annotated[float, Field(ge=0, le=60)] = 0.0

    @model_validator(mode="before")
    @classmethod
    def _forget_in_run(cls, given: object) -> object:
        """Files of earlier versions name ``in_run``, which no check used."""
        if isinstance(given, dict):
            return {name: value for name, value in given.items() if name != "in_run"}
        return given


class Outlet(Record):
    """A receptacle outlet in a wall; ``counter`` if it serves the counter."""

    wall: Side
    offset_in: Offset
    counter: bool = False


class RoomPlan(Record):
    """A rectangular room from above.

    Attributes
    ----------
    length_in
        West to east [in].
    width_in
        North to south [in].
    fan_cfm
        Exhaust of a bathroom fan that leads outdoors [cu ft/min]; zero if there is none.
    estimated
        Sizes were measured from a photo, not with a tape.
    """

    length_in: Inches
    width_in: Inches
    openings: tuple[PlanOpening, ...] = ()
    cabinets: tuple[Cabinets, ...] = ()
    appliances: tuple[Appliance, ...] = ()
    outlets: tuple[Outlet, ...] = ()
    fan_cfm: Annotated[float, Field(ge=0, le=2000)] = 0.0
    estimated: bool = False

    @property
    def area_sqft(self) -> float:
        """Floor area [sq ft]."""
        return self.length_in * self.width_in / 144.0

    def wall_in(self, side: Side) -> float:
        """Length of a wall [in]."""
        return self.length_in if side in ("north", "south") else self.width_in

    @model_validator(mode="after")
    def _inside(self) -> Self:
        things: list[tuple[str, Side, float, float]] = [
            (o.kind, o.wall, o.offset_in, o.width_in) for o in self.openings
        ]
        things += [(f"{c.kind} cabinets", c.wall, c.offset_in, c.length_in) for c in self.cabinets]
        things += [(a.kind, a.wall, a.offset_in, a.width_in) for a in self.appliances]
        things += [("outlet", o.wall, o.offset_in, 0.0) for o in self.outlets]
        for name, side, offset, width in things:
            if offset + width > self.wall_in(side) + 0.01:
                raise ValueError(
                    f"the {name} on the {side} wall ends at {offset + width:g} in, but that wall "
                    f"is {self.wall_in(side):g} in long; mend its offset or width"
                )
        return self


class FitCheck(Record):
    """One clearance, frontage or spacing against its guideline.

    Attributes
    ----------
    value, limit, unit
        What there is and what the guideline asks for.
    guideline
        The published guideline.
    sentence
        Plain words: what there is, what is asked for.
    """

    name: str
    verdict: Verdict
    value: float
    limit: float
    unit: str
    guideline: str
    sentence: str


class FitResult(Record):
    """All checks of one idea, the worst of them as verdict, and the next idea that fits.

    Attributes
    ----------
    piece
        Where a free-standing piece would stand: left, top, right, bottom [in].
    missing
        A sentence for what could not be checked, as the room does not name it.
    """

    idea: str
    verdict: IdeaVerdict
    checks: tuple[FitCheck, ...]
    piece: tuple[float, float, float, float] | None = None
    instead: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


def at_least(
    name: str, value: float, limit: float, tight: float, unit: str, guideline: str, what: str
) -> FitCheck:
    """A check that wants ``value`` at ``limit`` or more; between ``tight`` and it is tight."""
    verdict: Verdict = "pass" if value >= limit - HAIR_IN else "fails"
    if verdict == "fails" and value >= tight - HAIR_IN:
        verdict = "tight"
    sentence = f"{what}: {round(value, 1):g} {unit}; the guideline asks for {limit:g} {unit}."
    return FitCheck(
        name=name,
        verdict=verdict,
        value=value,
        limit=limit,
        unit=unit,
        guideline=guideline,
        sentence=sentence,
    )


def at_most(
    name: str, value: float, limit: float, unit: str, guideline: str, what: str
) -> FitCheck:
    """A check that wants ``value`` at ``limit`` or less."""
    return FitCheck(
        name=name,
        verdict="pass" if value <= limit + HAIR_IN else "fails",
        value=value,
        limit=limit,
        unit=unit,
        guideline=guideline,
        sentence=f"{what}: {round(value, 1):g} {unit}; the guideline allows {limit:g} {unit}.",
    )


def result_of(
    idea: str,
    checks: tuple[FitCheck, ...],
    piece: tuple[float, float, float, float] | None = None,
    instead: tuple[str, ...] = (),
) -> FitResult:
    """The worst verdict of the checks is the verdict of the idea."""
    order: tuple[Verdict, ...] = ("pass", "tight", "fails")
    worst = max((order.index(check.verdict) for check in checks), default=0)
    return FitResult(idea=idea, verdict=order[worst], checks=checks, piece=piece, instead=instead)


def lacking(result: FitResult, missing: tuple[str, ...], *, all_of_it: bool) -> FitResult:
    """The result with what the room does not name.

    Where that is all that the idea is about, a pass of the rest says nothing: it is not known
    then. What fails, fails all the same.
    """
    verdict = "unknown" if all_of_it and result.verdict != "fails" else result.verdict
    return result.model_copy(update={"missing": missing, "verdict": verdict})


FIELDS = tuple(
    dict.fromkeys(
        name
        for record in (RoomPlan, PlanOpening, Cabinets, Appliance, Outlet)
        for name in record.model_fields
    )
)
"""Names of all fields of a room plan, for one that is misspelled."""
