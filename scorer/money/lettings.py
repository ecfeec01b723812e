"""Let what homes really let for after the work correct the rent rises of the next estimate.

One letting says how much of the planned rent rise came about. It says so loosely: one tenant's rent
scatters by several percent of the whole rent, which is much of a small rise. So each letting counts
by its precision, and the catalogue's own word keeps its weight [1]_.

References
----------
.. [1] A. Gelman et al., "Bayesian Data Analysis", 3rd ed., CRC Press 2013, section 2.5: mean of a
   normal prior and normal observations of known variance, each weighed by its precision.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from math import hypot, sqrt
from typing import Annotated

from pydantic import Field

from scorer.records import Probability, Record
from scorer.upgrades.option import Option

LETTING_SD = 0.05
"""Scatter of one letting round what the home fetches on the market, the rent before the work
included, as a share of the rent (common practice, no source)."""

PRIOR_SD = 0.65
"""How far the rent rises of one user's homes may lie from the catalogue's, as a share of them: that
part of the catalogue's own ranges which all rises have in common
(:data:`scorer.money.draws.COMMON_RENT_SHARE` of their variance)."""

MOST_RATIO = 3.0
"""A rise is never believed to be more than so many times the planned one, nor a fall more than so
many times it: what lies beyond is likely a slip, or has other causes."""

Rent = Annotated[float, Field(gt=0, le=1e6)]


class Letting(Record):
    """What a home was let for after the work.

    Attributes
    ----------
    rent_before_usd, rent_usd
        Rent as the home was, and after the work [$/month].
    before_sd
        How uncertain the rent before is, as a share of it: 0 where it is known.
    planned_lift_usd
        What the work that was done was expected to add, before any correction [$/month].
    let_on
        First day of the lease.
    note
        Terms that differ: furnished, bills included, a friend's price …
    """

    rent_before_usd: Rent
    rent_usd: Rent
    before_sd: Annotated[float, Field(ge=0, le=2)] = 0.0
    planned_lift_usd: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    let_on: datetime.date | None = None
    note: str = Field(default="", max_length=2_000)


class RentCorrection(Record):
    """A factor on planned rent rises.

    Attributes
    ----------
    factor, sd
        Its mean and standard deviation.
    lettings
        How many lettings stand behind it; those without a planned rise say nothing.
    weight
        Share of the factor that comes from the lettings [0–1]; the catalogue has the rest.
    """

    factor: float = 1.0
    sd: float = PRIOR_SD
    lettings: int = 0
    weight: Probability = 0.0


def learn_rent(lettings: Iterable[Letting], prior_sd: float = PRIOR_SD) -> RentCorrection:
    """The factor on planned rent rises that the lettings speak for.

    Each letting gives a ratio :math:`r_i` of the rise that came to the rise that was planned, with
    the spread :math:`s_i`: :data:`LETTING_SD` of the rent, and what is not known of the rent
    before, over the planned rise. With the prior :math:`N(1, t^2)` the factor is

    .. math:: f = \\frac{t^{-2} + \\sum_i r_i s_i^{-2}}{t^{-2} + \\sum_i s_i^{-2}}

    (reference 1 of the module). Never below zero.
    """
    prior = 1.0 / prior_sd**2
    seen = [_ratio(letting) for letting in lettings if letting.planned_lift_usd > 0]
    precision = sum(1.0 / sd**2 for _, sd in seen)
    mean = (prior + sum(ratio / sd**2 for ratio, sd in seen)) / (prior + precision)
    return RentCorrection(
        factor=max(0.0, mean),
        sd=sqrt(1.0 / (prior + precision)),
        lettings=len(seen),
        weight=precision / (prior + precision),
    )


def _ratio(letting: Letting) -> tuple[float, float]:
    planned = letting.planned_lift_usd
    ratio = (letting.rent_usd - letting.rent_before_usd) / planned
    spread = hypot(LETTING_SD * letting.rent_usd, letting.before_sd * letting.rent_before_usd)
    return max(-MOST_RATIO, min(MOST_RATIO, ratio)), spread / planned


def options_after_lettings(
    options: Sequence[Option], correction: RentCorrection
) -> tuple[Option, ...]:
    """Options whose rent rises are multiplied by the factor.

    The range about each is scaled and gets no narrower: what is learnt is the level of all rises,
    not how far a single one may lie from it.
    """
    if correction.lettings == 0:
        return tuple(options)
    return tuple(
        option.model_copy(
            update={"rent_month_usd": option.rent_month_usd.scaled(correction.factor)}
        )
        for option in options
    )
