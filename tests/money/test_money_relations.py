"""Which way a home's money must move with rent, vacancy, loan, rates and work.

Metamorphic relations (T. Y. Chen, S. C. Cheung and S. M. Yiu, HKUST-CS98-01, 1998).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.listing.listing import Listing
from scorer.money.draws import draw_scope
from scorer.money.holding import hold_home, most_to_pay
from scorer.money.terms import Terms
from scorer.money.uncertainty import outcome_of
from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.scope.plan import Scope
from scorer.settings import Settings
from tests.scope.invented import hold, option, spread

FEW = settings(max_examples=40, deadline=None)
PRICES, RENTS = st.floats(30_000, 300_000), st.floats(400, 3_000)
WEEKS = spread(3.0)
STEPS = st.floats(0.01, 0.3)
LOAN = Terms(loan_share=0.75)
HOME = Listing(home="invented home", monthly_rent_usd=900, list_price_usd=80_000)
WORK = (option("paint", rent=20, cost=300), option("floor", "kitchen", rent=30, cost=900))


def scope(*options, holds=(), weeks=WEEKS, ceiling=None) -> Scope:  # type: ignore[no-untyped-def]
    nothing = Range.exactly(0.0)
    return Scope(
        options=options,
        holds=holds,
        keeps=(),
        left_out=(),
        purchases=(),
        calendar=(),
        cost_usd=sum((o.cost_usd for o in options), nothing),
        cash_usd=sum((o.cash_usd for o in options), nothing),
        hours=sum((o.hours for o in options), nothing),
        rent_month_usd=sum((o.rent_month_usd for o in options), nothing),
        weeks=weeks,
        lift_ceiling_usd=ceiling,
    )


@FEW
@given(price=PRICES, rent=RENTS, step=STEPS)
def test_worth_and_price_fall_with_vacancy_cap_rate_and_target(
    price: float, rent: float, step: float
) -> None:
    plain, terms = Settings(), LOAN
    for worse in (
        {"vacancy": plain.vacancy + step},
        {"cap_rate": plain.cap_rate + step},
    ):
        harder = plain.model_copy(update=worse)
        a, b = (hold_home(price, rent, s, terms) for s in (plain, harder))
        assert b.sale_usd <= a.sale_usd
        assert b.npv_usd <= a.npv_usd
        assert most_to_pay(rent, harder, terms) <= most_to_pay(rent, plain, terms) + 1e-6
    wanting = plain.model_copy(update={"target_return": plain.target_return + step})
    cash = Terms()  # without a loan every later flow is income
    a, b = (hold_home(price, rent, s, cash) for s in (plain, wanting))
    assert a.flows_usd == b.flows_usd
    assert b.npv_usd <= a.npv_usd
    assert most_to_pay(rent, wanting, cash) <= most_to_pay(rent, plain, cash) + 1e-6


@FEW
@given(price=PRICES, rent=RENTS, step=STEPS)
def test_a_dearer_loan_takes_more_each_month_and_leaves_less(
    price: float, rent: float, step: float
) -> None:
    plain = LOAN
    dear = plain.model_copy(update={"loan_rate": plain.loan_rate + step})
    a, b = (hold_home(price, rent, Settings(), terms) for terms in (plain, dear))
    assert b.payment_month_usd > a.payment_month_usd
    assert b.cash_flow_year_usd < a.cash_flow_year_usd
    assert b.npv_usd < a.npv_usd
    assert b.noi_usd == a.noi_usd  # a loan is no running cost
    assert b.sale_usd == a.sale_usd


@FEW
@given(price=PRICES, rent=RENTS, factor=st.floats(0.3, 3.0))
def test_twice_the_home_is_twice_the_money(price: float, rent: float, factor: float) -> None:
    one, more = (
        hold_home(k * price, k * rent, Settings(), LOAN, work_usd=k * 2_000, annual_tax_usd=k * 900)
        for k in (1.0, factor)
    )
    assert more.npv_usd == pytest.approx(factor * one.npv_usd, rel=1e-6, abs=1e-3)
    assert more.flows_usd == pytest.approx([factor * flow for flow in one.flows_usd])
    assert more.dscr == pytest.approx(one.dscr)
    assert more.cash_on_cash == pytest.approx(one.cash_on_cash)


def test_dearer_work_longer_work_and_a_ceiling_never_raise_a_draws_net_gain() -> None:
    rent = Range.exactly(900.0)
    plain = draw_scope(scope(*WORK), "home", Settings(), rent).net_gain_usd
    dear = [o.model_copy(update={"cost_usd": o.cost_usd.scaled(1.5)}) for o in WORK]
    for worse in (scope(*dear), scope(*WORK, weeks=spread(6.0)), scope(*WORK, ceiling=25.0)):
        assert np.all(draw_scope(worse, "home", Settings(), rent).net_gain_usd <= plain + 1e-9)
    richer = [o.model_copy(update={"rent_month_usd": o.rent_month_usd.scaled(1.2)}) for o in WORK]
    better = draw_scope(scope(*richer), "home", Settings(), rent)
    assert np.all(better.net_gain_usd >= plain - 1e-9)
    fuller = draw_scope(scope(*WORK), "home", Settings(vacancy=0.0), rent)
    assert np.all(fuller.net_gain_usd >= plain - 1e-9)


def test_a_hold_or_an_unseen_room_never_makes_a_home_cheaper() -> None:
    wet = hold(room="kitchen", stops=(WORK[1].id,))
    plain = outcome_of(scope(*WORK), HOME, Settings())
    for more in (
        outcome_of(scope(*WORK, holds=(wet,)), HOME, Settings()),
        outcome_of(scope(*WORK), HOME, Settings(), unseen={"bathroom 1": RoomKind.BATHROOM}),
    ):
        for percentile in ("p10", "p50", "p90"):
            cost = getattr(more.cost_usd, percentile)
            assert cost >= getattr(plain.cost_usd, percentile) * 0.99  # other draws, 20,000 of them
        assert more.cost_usd.p90 > plain.cost_usd.p90
        assert more.net_gain_usd.p50 <= plain.net_gain_usd.p50
        assert more.most_to_pay_usd is not None
        assert plain.most_to_pay_usd is not None
        assert more.most_to_pay_usd <= plain.most_to_pay_usd
        assert more.payback_within_limit <= plain.payback_within_limit
