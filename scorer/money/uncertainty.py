"""From draws to percentiles, chances, and the inputs that matter most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

import numpy as np

from scorer.listing.listing import Listing
from scorer.money.draws import DRAWS, Draws, Floats, draw_scope
from scorer.money.holding import lifted_share, most_to_pay
from scorer.money.outcome import Driver, Outcome
from scorer.money.terms import Terms
from scorer.records import Quantiles, Range
from scorer.rooms import RoomKind
from scorer.scope.plan import Scope
from scorer.scope.worth import lasting_share, months_let, months_of_lift
from scorer.settings import Settings

MOST_DRIVERS = 10
DRIVER_DRAWS = 5_000
"""Rank correlations are taken over so many draws; their standard error is about 0.014."""


def outcome_of(
    scope: Scope,
    listing: Listing,
    settings: Settings,
    monthly_rent: Range | None = None,
    *,
    terms: Terms | None = None,
    draws: int = DRAWS,
    unseen: Mapping[str, RoomKind] | None = None,
) -> Outcome:
    """What the money spent on a scope may earn. An estimate, not an appraisal.

    Parameters
    ----------
    scope
        From :func:`scorer.scope.plan_scope`.
    listing
        Facts: the home's name fixes its own draws, its tax the most to pay.
    monthly_rent
        Present rent [$/month]; the listing's if None. Not known at all: no rent is lost, and the
        most to pay is None.
    terms
        What buying, holding and selling cost; usual ones if None.
    draws
        Number of random draws.
    unseen
        Rooms that nobody has seen, with their kind: what they may hide widens the cost.
    """
    if monthly_rent is None and listing.monthly_rent_usd is not None:
        monthly_rent = Range.exactly(listing.monthly_rent_usd)
    drawn = draw_scope(scope, listing.home, settings, monthly_rent, draws, unseen=unseen)
    return summarize(drawn, listing, settings, monthly_rent, terms or Terms())


def summarize(
    drawn: Draws, listing: Listing, settings: Settings, monthly_rent: Range | None, terms: Terms
) -> Outcome:
    """Percentiles, chances and drivers of draws; see :func:`outcome_of`."""
    payback = payback_of(drawn)
    yearly = months_let(settings) * drawn.lift_usd
    spent = drawn.cost_usd > 0
    cost, lift = _quantiles(drawn.cost_usd), _quantiles(drawn.lift_usd)
    lost = float(np.median(drawn.lost_rent_usd))
    return Outcome(
        cost_usd=cost,
        rent_lift_month_usd=lift,
        payback_months=_finite_quantiles(payback[~np.isnan(payback)]),
        return_on_cost=_quantiles(yearly[spent] / drawn.cost_usd[spent]) if spent.any() else None,
        value_created_usd=_quantiles(yearly / settings.cap_rate),
        net_gain_usd=_quantiles(drawn.net_gain_usd),
        lost_rent_usd=lost,
        most_to_pay_usd=_most_to_pay(listing, settings, monthly_rent, terms, cost, lift, lost),
        payback_within_limit=_chance_within(payback, settings.payback_limit_months),
        drivers=find_drivers(drawn, settings),
    )


def payback_of(drawn: Draws) -> Floats:
    """Cost over monthly lift, draw by draw [months]: infinite where nothing is earned, and not a
    number where nothing is spent."""
    with np.errstate(divide="ignore", invalid="ignore"):
        months = drawn.cost_usd / np.maximum(drawn.lift_usd, 0.0)
    months[drawn.cost_usd <= 0] = np.nan
    return np.asarray(months)


def _chance_within(payback: Floats, limit_months: float) -> float:
    spent = payback[~np.isnan(payback)]
    return float(np.mean(spent <= limit_months)) if len(spent) else 0.0


def _quantiles(values: Floats) -> Quantiles:
    p10, p50, p90 = (float(v) for v in np.quantile(values, (0.1, 0.5, 0.9)))
    return Quantiles(p10=p10, p50=p50, p90=p90)


def _finite_quantiles(values: Floats) -> Quantiles | None:
    """Quantiles, None where more than one draw in ten is infinite or there are none."""
    if len(values) == 0 or np.mean(np.isinf(values)) > 0.1:
        return None
    p10, p50, p90 = (float(v) for v in np.quantile(values, (0.1, 0.5, 0.9), method="inverted_cdf"))
    return Quantiles(p10=p10, p50=p50, p90=p90) if np.isfinite(p90) else None


def _most_to_pay(
    listing: Listing,
    settings: Settings,
    monthly_rent: Range | None,
    terms: Terms,
    cost: Quantiles,
    lift: Quantiles,
    lost: float,
) -> float | None:
    if monthly_rent is None:
        return None
    share, tax = terms.running_costs(listing)
    then = monthly_rent.typical + lift.p50
    return most_to_pay(
        then,
        settings,
        terms,
        work_usd=cost.p50,
        lost_rent_usd=lost,
        operating_share=lifted_share(share, monthly_rent.typical, then),
        annual_tax_usd=tax,
    )


def find_drivers(drawn: Draws, settings: Settings, most: int = MOST_DRIVERS) -> tuple[Driver, ...]:
    """Spearman's rank correlation of inputs with the net gain, strongest first.

    The common levels stand for themselves; of a row only the part counts that its common level does
    not explain (semipartial rank correlation), or every row would show the level once more. Of all
    inputs those with the widest spread in dollars of net gain are looked at, so that the work stays
    small with many options.
    """
    if not drawn.net_gain_usd.any():
        return ()

    def ranks(values: Floats) -> Floats:
        """Ranks less their mean; equal values share the mean of their ranks."""
        _, place, count = np.unique(values[:DRIVER_DRAWS], return_inverse=True, return_counts=True)
        found = (np.cumsum(count) - (count - 1) / 2.0)[place]
        return np.asarray(found - found.mean())

    gain = ranks(drawn.net_gain_usd)
    price, level = ranks(drawn.price_level), ranks(drawn.rent_level)
    found = [
        Driver(name="Price level of all work", correlation=_correlation(price, gain)),
        Driver(name="Rent level of the place", correlation=_correlation(level, gain)),
    ]
    for row in _widest_inputs(drawn, settings, 3 * most):
        own = ranks(row.values)
        if row.common is not None:
            shared = price if row.common == "price" else level
            own = own - (own @ shared) / (shared @ shared) * shared
        found.append(Driver(name=row.name, correlation=_correlation(own, gain)))
    found.sort(key=lambda driver: -abs(driver.correlation))
    return tuple(found[:most])


def _correlation(a: Floats, b: Floats) -> float:
    length = float(np.sqrt((a @ a) * (b @ b)))
    return float(np.clip(a @ b / length, -1.0, 1.0)) if length > 0 else 0.0


class _Input(NamedTuple):
    """One uncertain figure: its draws, the common level in them, and its spread in net gain [$]."""

    name: str
    values: Floats
    common: Literal["price", "rent"] | None
    spread_usd: float


def _widest_inputs(drawn: Draws, settings: Settings, most: int) -> list[_Input]:
    """The inputs that move the net gain most, the widest first."""
    scope, months = drawn.scope, months_of_lift(settings)
    times = np.array([lasting_share(o, settings.holding_years) for o in scope.options])
    rows: list[_Input] = []
    lift_spread = months * drawn.option_lift.std(axis=0)
    cost_spread = times * drawn.option_cost.std(axis=0)
    for i, option in enumerate(scope.options):
        name = f"{option.label} ({option.room})"
        lift, cost = drawn.option_lift[:, i], drawn.option_cost[:, i]
        rows.append(_Input(f"Rent from: {name}", lift, "rent", float(lift_spread[i])))
        rows.append(_Input(f"Cost of: {name}", cost, "price", float(cost_spread[i])))
    for i, hold in enumerate(scope.holds):
        values, name = drawn.hold_cost[:, i], f"Hold: {hold.label} ({hold.room})"
        rows.append(_Input(name, values, "price", float(values.std())))
    for room, values in drawn.unseen_cost.items():
        rows.append(_Input(f"Not seen: {room}", values, "price", float(values.std())))
    rows.append(_Input("Weeks of work", drawn.weeks, None, float(drawn.lost_rent_usd.std())))
    rows.sort(key=lambda row: -row.spread_usd)
    return [row for row in rows[:most] if row.spread_usd > 0]
