"""What the user decides once, before any home is looked at."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

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
        The longest the home may stand empty for the work [weeks].
    hours_per_week, helpers
        Own spare hours of one person [h/week], and people beside the owner.
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
    weeks: Positive = 6.0
    hours_per_week: Positive = 20.0
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
