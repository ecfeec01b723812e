"""One home's loan, taxes, and work now or never, against published examples."""

from __future__ import annotations

import numpy_financial as npf
import pytest
from pydantic import ValidationError

from scorer.listing.listing import Listing
from scorer.money.home_money import HomeMoney, MoneyInput, home_money, is_five_year
from scorer.money.outcome import Outcome
from scorer.records import Quantiles, Range
from scorer.scope.plan import Scope
from scorer.settings import Settings
from tests.scope.invented import option

PAINT = option("paint_walls", cash=800.0)
RANGE = option("range_replace", "kitchen", ladder="range", rung="replace", cash=700.0)
NO_SPREAD = {"p10": 0.0, "p50": 0.0, "p90": 0.0}


def outcome(cost: float = 2_000.0, lift: float = 60.0) -> Outcome:
    same = {name: Quantiles(**NO_SPREAD) for name in ("value_created_usd", "net_gain_usd")}
    return Outcome(
        cost_usd=Quantiles(p10=cost, p50=cost, p90=cost),
        rent_lift_month_usd=Quantiles(p10=lift, p50=lift, p90=lift),
        payback_months=None,
        return_on_cost=None,
        lost_rent_usd=500.0,
        most_to_pay_usd=None,
        payback_within_limit=0.5,
        **same,
    )


def scope(*options) -> Scope:
    cash = sum(o.cash_usd.typical for o in options)
    nothing = Range.exactly(0.0)
    return Scope(
        options=options, holds=(), keeps=(), left_out=(), purchases=(), calendar=(),
        cost_usd=Range.exactly(2_000.0), cash_usd=Range.exactly(cash), hours=nothing,
        rent_month_usd=nothing, weeks=nothing,
    )  # fmt: skip


def money_of(
    given: MoneyInput | None = None, price: float | None = None, rent: float = 1_500.0, **facts
) -> HomeMoney | None:
    listing = Listing(home="h", **{"list_price_usd": 200_000.0, **facts})
    settings = Settings(holding_years=5)
    return home_money(listing, scope(PAINT, RANGE), outcome(), rent, settings, given, price)


def test_the_payment_and_the_coverage_are_the_textbooks():
    # $100,000 at 6 % over 30 years: $599.55 a month (the usual textbook loan).
    given = MoneyInput(loan_percent=50, loan_rate_percent=6)
    found = money_of(given)
    assert found.loan_usd == 100_000
    assert found.compare.as_is.payment_month_usd == pytest.approx(599.55, abs=0.005)
    noi = 12 * 1_500 * (1 - 0.07 - 0.43)
    assert found.compare.as_is.dscr == pytest.approx(noi / (12 * 599.55), rel=1e-4)
    assert found.compare.now.dscr > found.compare.as_is.dscr


def test_depreciation_leaves_land_and_own_hours_out():
    # IRS Publication 527, chapter 2: a building of $160,000 in service in February, $5,091.
    found = money_of(MoneyInput(land_percent=20, month=2))
    assert found.building_usd == 160_000 + 800
    assert found.five_year_usd == 700
    assert found.timetable[0].building_usd == pytest.approx(5_091 * 160_800 / 160_000, abs=1)
    assert found.timetable[0].five_year_usd == pytest.approx(0.2 * 700)
    assert sum(y.total_usd for y in found.timetable) == pytest.approx(161_500)
    assert found.repair_limit_usd == pytest.approx(0.02 * 160_000)


def test_only_appliances_and_carpet_that_are_bought_are_five_year_property():
    assert is_five_year(RANGE)
    assert is_five_year(option("floor_carpet_tile", ladder="floor", rung="replace"))
    assert not is_five_year(option("carpet_clean", ladder="floor", rung="clean"))
    assert not is_five_year(option("range_clean", "kitchen", ladder="range", rung="clean"))
    assert not is_five_year(PAINT)


def test_the_ladders_of_five_year_property_are_in_the_catalogue():
    from scorer.money.home_money import FIVE_YEAR_LADDERS
    from scorer.upgrades.catalogue import load_catalogue

    assert {upgrade.ladder for upgrade in load_catalogue()} >= FIVE_YEAR_LADDERS


def test_the_return_is_that_of_numpy_financial():
    found = money_of(price=90_000)
    for held in (found.compare.now, found.compare.as_is):
        assert held.irr == pytest.approx(float(npf.irr(held.flows_usd)), abs=1e-9)
        npv = float(npf.npv(found.target_return, held.flows_usd))
        assert held.npv_usd == pytest.approx(npv)


def test_the_users_price_outranks_the_asking_price_and_none_gives_nothing():
    assert money_of(price=150_000).price_usd == 150_000
    assert money_of(list_price_usd=None, price=150_000).price_usd == 150_000
    assert money_of(list_price_usd=None) is None
    assert money_of(rent=0.0) is None


def test_a_known_tax_is_counted_in_dollars():
    found = money_of(annual_tax_usd=1_800.0)
    assert (found.operating_share, found.annual_tax_usd) == (0.30, 1_800.0)


@pytest.mark.parametrize("wrong", [{"loan_percent": 101}, {"month": 13}, {"loan_years": 0}])
def test_impossible_assumptions_are_refused(wrong):
    with pytest.raises(ValidationError):
        MoneyInput(**wrong)
