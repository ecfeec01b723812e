"""What the user decides once, before any home is looked at."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationError

from scorer.errors import InputError
from scorer.records import Probability, Record

Aim = Literal["net_gain", "rent_lift", "return"]
Positive = Annotated[float, Field(gt=0, le=1e9)]
NotNegative = Annotated[float, Field(ge=0, le=1e9)]


class Settings(Record):
    """Limits, own time and money assumptions.

    Attributes
    ----------
    budget_usd
        The most to spend on one home's work [$].
    weeks
        The longest the home may stand empty for the work [weeks]; ten years at most.
    hours_per_week, helpers
        Own spare hours of one person [h/week], of which there are 168, and people beside the owner.
    own_hour_usd
        What an hour of one's own work is worth to the user [$/h]; zero is allowed.
    aim
        What the scope should make largest: net gain over the holding time, rent lift, or return.
    holding_years
        Time over which rent lift is counted [years].
    vacancy
        Share of rent lost to empty weeks and bad debt [0–1].
    cap_rate
        Net operating income over value, to turn rent into value [0–1].
    target_return
        Yearly return that the most-to-pay price must earn [0–1].
    location_factor, price_factor
        Local price level against the price book's base, and prices now against the book's date.
    seed
        Seed of every random draw.
    """

    budget_usd: NotNegative = 8_000.0
    weeks: Annotated[float, Field(gt=0, le=520)] = 6.0
    hours_per_week: Annotated[float, Field(gt=0, le=168)] = 20.0
    helpers: Annotated[int, Field(ge=0, le=20)] = 1
    own_hour_usd: Annotated[float, Field(ge=0, le=1_000)] = 20.0
    aim: Aim = "net_gain"
    holding_years: Annotated[float, Field(gt=0, le=50)] = 5.0
    vacancy: Probability = 0.07
    cap_rate: Annotated[float, Field(gt=0, le=0.5)] = 0.08
    target_return: Annotated[float, Field(gt=0, le=1)] = 0.10
    payback_limit_months: Positive = 36.0
    location_factor: Annotated[float, Field(gt=0.2, le=5)] = 1.0
    price_factor: Annotated[float, Field(gt=0.2, le=5)] = 1.0
    seed: int = 20_260_101


PERCENT_WORDS = {
    "vacancy": "Vacancy",
    "cap_rate": "The cap rate",
    "target_return": "Your target return",
}
"""Settings that are shares [0–1] and are asked for in percent, as a sentence names them."""


def as_percent(settings: Settings, name: str) -> float:
    """One of :data:`PERCENT_WORDS` in percent."""
    return round(100.0 * float(getattr(settings, name)), 6)


def from_percent(name: str, percent: float) -> float:
    """The share [0–1] that a percent stands for.

    Raises
    ------
    InputError
        If the setting can't have that value; the sentence says which it can.
    """
    share = round(percent / 100.0, 8)
    try:
        Settings.model_validate({name: share})
    except ValidationError:
        raise InputError(
            f"{PERCENT_WORDS[name]} can't be {percent:,.10g} %: it must be {_limits(name)}; the "
            "figure kept before still holds."
        ) from None
    return share


def _limits(name: str) -> str:
    found = {}
    for limit in Settings.model_fields[name].metadata:
        for side in ("ge", "gt", "le", "lt"):
            if hasattr(limit, side):
                found[side] = f"{100.0 * getattr(limit, side):g} %"
    words = {"ge": "{} or more", "gt": "above {}", "le": "at most {}", "lt": "below {}"}
    return " and ".join(words[side].format(value) for side, value in found.items())
