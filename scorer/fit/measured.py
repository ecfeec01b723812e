"""A fit check where the room was measured from a photo: does the doubt matter?"""

from __future__ import annotations

from collections.abc import Callable

from pydantic import ValidationError

from scorer.fit.drawing import feet_and_inches
from scorer.fit.room_plan import FitCheck, FitResult, IdeaVerdict, RoomPlan
from scorer.records import Range, Record

WORDS: dict[IdeaVerdict, str] = {
    "pass": "it fits",
    "tight": "it is tight",
    "fails": "it does not fit",
    "unknown": "it can't be told",
}
BEFORE_YOU_BUY = "Measure it at the viewing before you buy."

MakePlan = Callable[[float, float], RoomPlan]
"""A room from its length and width [ft]."""


class MeasuredFit(Record):
    """A check at the middle of the estimate, and what its ends say.

    Attributes
    ----------
    plan, result
        The room at typical size and its check. A verdict that the ends of the estimate do not
        share is ``tight``, and what fits instead is then named for the small end.
    doubt
        A sentence about the ends; empty where the sizes are exact.
    straddles
        The ends of the estimate have different verdicts.
    """

    plan: RoomPlan
    result: FitResult
    doubt: str = ""
    straddles: bool = False


def fit_of_estimate(
    make_plan: MakePlan,
    length_ft: Range,
    width_ft: Range,
    check: Callable[[RoomPlan], FitResult],
) -> MeasuredFit:
    """Check a room at the small end, the middle and the large end of its sizes.

    Parameters
    ----------
    make_plan
        Makes the room from a length and a width [ft].
    length_ft, width_ft
        Exact, or low, typical and high [ft].
    check
        The check of one room.

    Raises
    ------
    pydantic.ValidationError
        If the room can't be made at its typical size.
    """
    plan = make_plan(length_ft.typical, width_ft.typical)
    typical = check(plan)
    if length_ft.low == length_ft.high and width_ft.low == width_ft.high:
        return MeasuredFit(plan=plan, result=typical)
    low = _at(make_plan, length_ft.low, width_ft.low, check)
    high = _at(make_plan, length_ft.high, width_ft.high, check)
    small, large = _size(length_ft.low, width_ft.low), _size(length_ft.high, width_ft.high)
    plan = plan.model_copy(update={"estimated": True})
    worst: IdeaVerdict = low.verdict if low else "fails"
    best: IdeaVerdict = high.verdict if high else "fails"
    checks = tuple(_spread(typical, low, high))
    if worst == best == typical.verdict:
        end = small if worst == "pass" else large
        doubt = f"Sizes are estimated from a photo; also at {end} {WORDS[worst]}. {BEFORE_YOU_BUY}"
        result = typical.model_copy(update={"checks": checks})
        return MeasuredFit(plan=plan, result=result, doubt=doubt)
    doubt = (
        f"The estimate straddles the limit: at {small} {WORDS[worst]}, at {large} {WORDS[best]}. "
        f"{BEFORE_YOU_BUY}"
    )
    instead = low.instead if low else typical.instead
    result = typical.model_copy(update={"verdict": "tight", "checks": checks, "instead": instead})
    return MeasuredFit(plan=plan, result=result, doubt=doubt, straddles=True)


def feet(length_in: Range) -> Range:
    """Inches as feet."""
    return length_in.scaled(1.0 / 12.0)


def plus_minus_in(length_ft: Range) -> float:
    """Half of what lies between low and high [in]."""
    return 6.0 * (length_ft.high - length_ft.low)


def _at(
    make_plan: MakePlan, length_ft: float, width_ft: float, check: Callable[[RoomPlan], FitResult]
) -> FitResult | None:
    """The check, or None where the room can't hold what stands in it."""
    try:
        return check(make_plan(length_ft, width_ft))
    except ValidationError:
        return None


def _size(length_ft: float, width_ft: float) -> str:
    return f"{feet_and_inches(12 * length_ft)} by {feet_and_inches(12 * width_ft)}"


def _spread(typical: FitResult, low: FitResult | None, high: FitResult | None) -> list[FitCheck]:
    """The checks with what the ends say, where the ends have the same checks."""
    names = [check.name for check in typical.checks]
    if low is None or high is None or any([c.name for c in r.checks] != names for r in (low, high)):
        return list(typical.checks)
    found = []
    for check, small, large in zip(typical.checks, low.checks, high.checks, strict=True):
        least, most = sorted((small.value, large.value))
        if most - least >= 0.1:
            same = small.verdict == large.verdict == check.verdict
            check = check.model_copy(
                update={
                    "verdict": check.verdict if same else "tight",
                    "sentence": f"{check.sentence} By the estimate it is {round(least, 1):g} to "
                    f"{round(most, 1):g} {check.unit}.",
                }
            )
        found.append(check)
    return found
