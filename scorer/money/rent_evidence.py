"""What the home may rent for, and how much of that is data and how much is assumption.

Published evidence of what paint or a floor does to a rent is thin: :data:`THIN_EVIDENCE` says so
in the page and in print. The user's own comparable rents (comps) count for more the more there are.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

import numpy as np

from scorer.listing.listing import Listing
from scorer.money.comps import NOT_A_FEATURE, Comp, CompCondition, RentEffect, load_rent_effects
from scorer.money.draws import NORMAL_P90
from scorer.money.rent_guess import facts_used, guess_rent
from scorer.money.rent_model import Floats, Posterior, fit, log_prior
from scorer.records import Probability, Range, Record

THIN_EVIDENCE = (
    "Published evidence for what paint or flooring adds to rent is thin, so the ranges are wide."
)
LEAST_COMPS_FOR_CEILING = 3
CEILING_QUANTILE = 0.9
STEPS: dict[CompCondition, float] = {"dated": -1.0, "average": 0.0, "updated": 1.0}

KNOWN_RENT_SD = 0.15
"""A present rent says so much of the market's, in its logarithm; common practice, no source."""


class AdjustedComp(Record):
    """A comp's rent, moved to what a dwelling of the subject home would fetch.

    ``adjustment`` is the sum of the adjustments' sizes as a share of the rent: the smaller, the
    more the comp says.
    """

    rent_usd_month: float
    adjusted_usd_month: float
    adjustment: float


class EffectEvidence(Record):
    """What a difference does to the rent [%]: before and after the comps were seen.

    ``from_data`` is the share of the prior's variance that the comps took away [0–1].
    """

    id: str
    label: str
    unit: str
    prior_percent: Range
    percent: Range
    from_data: Probability
    source: str


class RentEvidence(Record):
    """What is known of the home's rent.

    Attributes
    ----------
    present_rent_usd
        What the home is let for now, or would be as it is [$/month].
    market_rent_usd
        What comps and assumptions say for the home as it is [$/month].
    ceiling_usd
        Rent of the best comps, moved to the home's size and date [$/month]; None below three comps.
    from_data
        Share of the market rent's uncertainty that the comps took away [0–1].
    sentence
        Where the present rent comes from.
    """

    present_rent_usd: Range
    market_rent_usd: Range
    ceiling_usd: float | None
    comps: tuple[AdjustedComp, ...]
    effects: tuple[EffectEvidence, ...]
    from_data: Probability
    sentence: str


def rent_evidence(
    listing: Listing,
    comps: Sequence[Comp] = (),
    *,
    condition: CompCondition | None = None,
    features: Collection[str] | None = None,
    today: date | None = None,
    effects: Sequence[RentEffect] | None = None,
) -> RentEvidence:
    """Present rent, market rent, ceiling and effects.

    Parameters
    ----------
    listing
        Facts of the home; with several units, rents of the whole home are those of an average
        dwelling times the units.
    comps
        The user's comparable rents, of one dwelling each; none is allowed.
    condition, features
        The home's own, as in :class:`~scorer.money.comps.Comp`; None: not known, as the comps are
        on average.
    today
        Date that rents are moved to; the latest comp's if None.
    effects
        Priors; those of the package if None. With
        :func:`scorer.money.learned_rent.effects_from_catalogue` they follow the catalogue.
    """
    priors = tuple(effects) if effects is not None else load_rent_effects()
    guess = guess_rent(listing)
    subject = _Subject(listing, comps, condition, features, today)
    posterior = _fit(priors, subject, comps, listing, guess)
    units = max(1, listing.units or 1)
    market = _dollars(posterior.quantiles(0)).scaled(units)
    ceiling = _ceiling(priors, subject, comps, posterior)
    known = listing.monthly_rent_usd
    if known is not None:
        present, sentence = Range.exactly(known), "The listing gives the present rent."
    elif comps:
        present = market
        sentence = f"Present rent not given: estimated from {len(comps)} comps and the facts."
    else:
        present = market
        sentence = (
            "Present rent not given and no comps: a rough guess from "
            f"{facts_used(listing)}; the range is wide."
        )
    return RentEvidence(
        present_rent_usd=present,
        market_rent_usd=market,
        ceiling_usd=None if ceiling is None else ceiling * units,
        comps=_adjusted(subject, priors, comps, posterior),
        effects=tuple(
            EffectEvidence(
                id=effect.id,
                label=effect.label,
                unit=effect.unit,
                prior_percent=effect.percent,
                percent=_percent(posterior.quantiles(place), effect.id),
                from_data=float(posterior.from_data[place]),
                source=effect.source,
            )
            for place, effect in enumerate(priors, start=1)
        ),
        from_data=float(posterior.from_data[0]) if comps else 0.0,
        sentence=sentence,
    )


class _Subject:
    """The home that comps are compared with; what is not known of it is as the comps are."""

    def __init__(
        self,
        listing: Listing,
        comps: Sequence[Comp],
        condition: CompCondition | None,
        features: Collection[str] | None,
        today: date | None,
    ) -> None:
        units = max(1, listing.units or 1)
        self.area = listing.living_area_sqft / units if listing.living_area_sqft else None
        self.beds = listing.bedrooms / units if listing.bedrooms is not None else None
        self.baths = listing.bathrooms / units if listing.bathrooms is not None else None
        self.step = STEPS[condition] if condition is not None else None
        self.features = features
        dates = [comp.date for comp in comps if comp.date is not None]
        self.today = today or max(dates, default=None)

    def differences(self, effect: str, comps: Sequence[Comp]) -> Floats:
        """Comp less subject in the effect's unit; zero where either is not known."""
        values: list[float | None]
        own: float | None
        if effect == "area":
            values = [np.log(c.area_sqft) if c.area_sqft else None for c in comps]
            own = np.log(self.area) if self.area else None
        elif effect == "bedrooms":
            values, own = [c.beds for c in comps], self.beds
        elif effect == "bathrooms":
            values, own = [c.baths for c in comps], self.baths
        elif effect == "condition":
            values = [STEPS[c.condition] if c.condition else None for c in comps]
            own = self.step
        elif effect == "months_ago":
            values = [_years(c.date, self.today) for c in comps]
            own = 0.0
        else:
            values = [None if c.features is None else float(effect in c.features) for c in comps]
            own = None if self.features is None else float(effect in self.features)
        known = [value for value in values if value is not None]
        if own is None:
            own = float(np.mean(known)) if known else 0.0
        return np.array([0.0 if value is None else value - own for value in values])


def _years(then: date | None, today: date | None) -> float | None:
    return None if then is None or today is None else (then - today).days / 365.25


def _design(priors: Sequence[RentEffect], subject: _Subject, comps: Sequence[Comp]) -> Floats:
    columns = [np.ones(len(comps)), *(subject.differences(e.id, comps) for e in priors)]
    return np.column_stack(columns) if comps else np.zeros((0, len(columns)))


def _fit(
    priors: Sequence[RentEffect],
    subject: _Subject,
    comps: Sequence[Comp],
    listing: Listing,
    guess: Range,
) -> Posterior:
    units = max(1, listing.units or 1)
    if listing.monthly_rent_usd:
        own = (float(np.log(listing.monthly_rent_usd / units)), KNOWN_RENT_SD)
    else:
        spread = float(np.log(guess.high / guess.low)) / (2 * NORMAL_P90)
        own = (float(np.log(guess.typical / units)), spread)
    pairs = [own, *(_coefficient(effect) for effect in priors)]
    mean, sd = (np.array(values) for values in zip(*pairs, strict=True))
    return fit(_design(priors, subject, comps), np.log([c.rent_usd_month for c in comps]), mean, sd)


TENTH_MORE = float(np.log(1.1))


def _coefficient(effect: RentEffect) -> tuple[float, float]:
    """Mean and spread of a coefficient; that of the area is per unit of its logarithm."""
    mean, sd = log_prior(effect.percent)
    return (mean / TENTH_MORE, sd / TENTH_MORE) if effect.id == "area" else (mean, sd)


def _percent(quantiles: tuple[float, float, float], effect: str) -> Range:
    unit = TENTH_MORE if effect == "area" else 1.0
    low, typical, high = (float(100 * np.expm1(q * unit)) for q in quantiles)
    return Range(low=low, typical=typical, high=high)


def _dollars(quantiles: tuple[float, float, float]) -> Range:
    low, typical, high = (float(np.exp(q)) for q in quantiles)
    return Range(low=low, typical=typical, high=high)


def _adjusted(
    subject: _Subject, priors: Sequence[RentEffect], comps: Sequence[Comp], posterior: Posterior
) -> tuple[AdjustedComp, ...]:
    steps = _design(priors, subject, comps)[:, 1:] * posterior.mean[1:]
    return tuple(
        AdjustedComp(
            rent_usd_month=comp.rent_usd_month,
            adjusted_usd_month=float(comp.rent_usd_month * np.exp(-step.sum())),
            adjustment=float(np.abs(np.expm1(-step)).sum()),
        )
        for comp, step in zip(comps, steps, strict=True)
    )


def _ceiling(
    priors: Sequence[RentEffect], subject: _Subject, comps: Sequence[Comp], posterior: Posterior
) -> float | None:
    """Rent of the best comps, moved for size and date but not for condition and features."""
    if len(comps) < LEAST_COMPS_FOR_CEILING:
        return None
    moved = [
        place
        for place, effect in enumerate(priors, start=1)
        if effect.id in NOT_A_FEATURE and effect.id != "condition"
    ]
    steps = _design(priors, subject, comps)[:, moved] @ posterior.mean[moved]
    rents = np.array([comp.rent_usd_month for comp in comps]) * np.exp(-steps)
    return float(np.quantile(rents, CEILING_QUANTILE))
