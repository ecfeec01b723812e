"""Arithmetic of a rental against numpy-financial and published worked examples."""

from __future__ import annotations

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.money.depreciation import (
    building_share,
    depreciation_timetable,
    five_year_share,
    small_taxpayer_limit,
)
from scorer.money.holding import hold_home, most_to_pay, now_or_as_is
from scorer.money.returns import (
    debt_service_coverage,
    internal_rate_of_return,
    loan_balance,
    loan_payment,
    net_operating_income,
    net_present_value,
    value_at_cap_rate,
)
from scorer.money.terms import Terms
from scorer.settings import Settings

money = st.floats(1_000, 500_000)
rate = st.floats(0.005, 0.2)


@pytest.mark.parametrize(
    ("loan", "yearly", "years", "payment"),
    [
        (200_000, 0.075, 15, 1_854.02),  # numpy-financial documentation, pmt
        (100_000, 0.06, 30, 599.55),  # the usual textbook loan
        (200_000, 0.07, 30, 1_330.60),
        (150_000, 0.05, 15, 1_186.19),
    ],
)
def test_loan_payment(loan: float, yearly: float, years: float, payment: float) -> None:
    assert loan_payment(loan, yearly, years) == pytest.approx(payment, abs=0.005)
    assert loan_payment(loan, yearly, years) == pytest.approx(
        -float(npf.pmt(yearly / 12, 12 * years, loan)), rel=1e-12
    )


def test_loan_balance_after_five_years() -> None:
    # $100,000 at 6 % over 30 years: $93,054.36 owed after 60 payments (textbook)
    assert loan_balance(100_000, 0.06, 30, 60) == pytest.approx(93_054.36, abs=0.005)
    assert loan_balance(100_000, 0.06, 30, 360) == 0.0
    assert loan_balance(1_200, 0.0, 1, 6) == pytest.approx(600)


@given(loan=money, yearly=rate, paid=st.integers(0, 360))
def test_balance_agrees_with_the_future_value(loan: float, yearly: float, paid: int) -> None:
    payment = loan_payment(loan, yearly, 30)
    expected = -float(npf.fv(yearly / 12, paid, -payment, loan))
    assert loan_balance(loan, yearly, 30, paid) == pytest.approx(expected, rel=1e-7, abs=1e-3)


@pytest.mark.parametrize(
    ("flows", "irr"),
    [  # numpy-financial documentation, irr
        ([-100, 39, 59, 55, 20], 0.28095),
        ([-100, 0, 0, 74], -0.0955),
        ([-100, 100, 0, -7], -0.0833),
        ([-100, 100, 0, 7], 0.06206),
        ([-5, 10.5, 1, -8, 1], 0.0886),
        ([-250_000, 100_000, 150_000, 200_000, 250_000, 300_000], 0.5672303),
    ],
)
def test_internal_rate_of_return(flows: list[float], irr: float) -> None:
    assert internal_rate_of_return(flows) == pytest.approx(irr, abs=5e-5)


def test_no_rate_of_return_where_all_flows_have_one_sign() -> None:
    assert internal_rate_of_return([100, 10]) is None
    assert internal_rate_of_return([-100, 0.0]) is None


@given(
    flows=st.lists(st.floats(1, 1e5), min_size=2, max_size=12),
    paid=st.floats(1_000, 1e6),
)
def test_irr_is_where_the_value_is_nil(flows: list[float], paid: float) -> None:
    found = internal_rate_of_return([-paid, *flows])
    if found is not None:
        assert net_present_value(found, [-paid, *flows]) == pytest.approx(0, abs=1e-4 * paid)


def test_net_present_value() -> None:
    flows = [-40_000, 5_000, 8_000, 12_000, 30_000]
    # numpy-financial documentation, npv
    assert net_present_value(0.08, flows) == pytest.approx(3_065.22267, abs=1e-5)
    assert net_present_value(0.08, flows) == pytest.approx(float(npf.npv(0.08, flows)))
    with pytest.raises(InputError, match="yearly_rate"):
        net_present_value(-1.5, flows)


def test_worked_examples_of_the_trade() -> None:
    assert value_at_cap_rate(20_000, 0.08) == 250_000  # V = NOI / R, appraisal textbooks
    assert debt_service_coverage(12_500, 10_000 / 12) == pytest.approx(1.25)
    assert debt_service_coverage(12_500, 0) is None


def test_noi_leaves_the_half_that_the_rule_of_thumb_says() -> None:
    """Half of the rent is gone: a rule of thumb of the trade, no source."""
    assert net_operating_income(1_000, 0.07, 0.43) == pytest.approx(6_000)


@pytest.mark.parametrize(
    ("month", "percent"),
    list(
        enumerate(
            # IRS Publication 946, table A-6, year 1
            (3.485, 3.182, 2.879, 2.576, 2.273, 1.970, 1.667, 1.364, 1.061, 0.758, 0.455, 0.152),
            start=1,
        )
    ),
)
def test_first_year_of_the_building(month: int, percent: float) -> None:
    assert 100 * building_share(month, 1) == pytest.approx(percent, abs=0.0006)


def test_irs_example_of_a_house_let_from_february() -> None:
    # IRS Publication 527, chapter 2: $160,000 × 3.182 % = $5,091
    first = depreciation_timetable(160_000, 2)[0]
    assert round(first.building_usd) == 5_091


@pytest.mark.parametrize("month", range(1, 13))
def test_the_building_is_written_off_once(month: int) -> None:
    shares = [building_share(month, year) for year in range(1, 31)]
    assert sum(shares) == pytest.approx(1.0)
    assert 100 * shares[5] == pytest.approx(3.636, abs=0.001)  # table A-6, later years
    assert shares[29] == 0.0
    if month >= 7:  # table A-6, year 29: 0.152 for July … 1.667 for December
        listed = (0.152, 0.455, 0.758, 1.061, 1.364, 1.667)[month - 7]
        assert 100 * shares[28] == pytest.approx(listed, abs=0.001)
    assert len(depreciation_timetable(1, month)) == (28 if month <= 6 else 29)


def test_five_year_property() -> None:
    # IRS Publication 946, table A-1, half-year convention
    shares = [five_year_share(year) for year in range(1, 8)]
    assert shares == [0.20, 0.32, 0.192, 0.1152, 0.1152, 0.0576, 0.0]
    assert sum(shares) == pytest.approx(1.0)
    row = depreciation_timetable(0, 3, five_year_usd=1_000)[1]
    assert row.total_usd == pytest.approx(320)


def test_small_taxpayer_limit() -> None:
    # Treasury Regulation 1.263(a)-3(h)
    assert small_taxpayer_limit(160_000) == pytest.approx(3_200)
    assert small_taxpayer_limit(800_000) == 10_000
    assert small_taxpayer_limit(1_200_000) == 0


def test_depreciation_names_what_is_wrong() -> None:
    with pytest.raises(InputError, match="month"):
        building_share(13, 1)
    with pytest.raises(InputError, match="year"):
        building_share(1, 0)


HOLD = Settings(holding_years=7, target_return=0.11, cap_rate=0.08, vacancy=0.07)


@given(rent=st.floats(600, 3_000), work=st.floats(0, 15_000), loan=st.sampled_from([0.0, 0.6]))
def test_the_most_to_pay_earns_just_the_target(rent: float, work: float, loan: float) -> None:
    terms = Terms(loan_share=loan, loan_rate=0.07, rent_growth=0.02)
    price = most_to_pay(rent, HOLD, terms, work_usd=work, annual_tax_usd=800)
    if price > 0:
        held = hold_home(price, rent, HOLD, terms, work_usd=work, annual_tax_usd=800)
        assert held.npv_usd == pytest.approx(0, abs=1)
        assert float(npf.irr(held.flows_usd)) == pytest.approx(HOLD.target_return, abs=1e-6)
        assert held.irr == pytest.approx(HOLD.target_return, abs=1e-6)


@given(rent=st.floats(600, 3_000), more=st.floats(0, 500), work=st.floats(0, 5_000))
def test_more_rent_never_lowers_and_more_work_never_raises_the_most_to_pay(
    rent: float, more: float, work: float
) -> None:
    plain = most_to_pay(rent, HOLD, Terms())
    assert most_to_pay(rent + more, HOLD, Terms()) >= plain - 1e-6
    assert most_to_pay(rent, HOLD, Terms(), work_usd=work) <= plain + 1e-6


def test_a_held_home_by_hand() -> None:
    """$100,000 in cash, $1,000 a month, half of it gone: $6,000 a year; sold at $75,000."""
    terms = Terms(closing_share=0.02, selling_share=0.1, operating_share_with_tax=0.43)
    held = hold_home(
        100_000, 1_000, Settings(holding_years=2, vacancy=0.07, cap_rate=0.08), terms, work_usd=500
    )
    assert held.flows_usd == pytest.approx((-102_500, 6_000, 6_000 + 67_500))
    assert held.noi_usd == pytest.approx(6_000)
    assert held.cap_rate_paid == pytest.approx(0.06)
    assert held.dscr is None


def test_a_loan_is_paid_from_the_rent_and_from_the_sale() -> None:
    terms = Terms(loan_share=0.5, loan_rate=0.06, loan_years=30, closing_share=0, selling_share=0)
    held = hold_home(200_000, 2_000, Settings(holding_years=5, vacancy=0, cap_rate=0.08), terms)
    assert held.payment_month_usd == pytest.approx(599.55, abs=0.005)
    assert held.dscr == pytest.approx(held.noi_usd / (12 * 599.55), rel=1e-4)
    assert held.flows_usd[-1] == pytest.approx(
        held.cash_flow_year_usd + held.sale_usd - 93_054.36, abs=0.01
    )


def test_a_loan_that_ends_within_a_year_is_paid_to_its_end() -> None:
    """Loan payments of all years together are those of numpy-financial, month by month."""
    settings = Settings(holding_years=5, vacancy=0, cap_rate=0.08)
    terms = Terms(loan_share=0.5, loan_rate=0.06, loan_years=2.5, closing_share=0, selling_share=0)
    held = hold_home(200_000, 2_000, settings, terms)
    paid = [held.noi_usd - flow for flow in held.flows_usd[1:-1]]
    month = -float(npf.pmt(0.06 / 12, 30, 100_000))
    assert paid == pytest.approx((12 * month, 12 * month, 6 * month, 0.0))
    assert held.flows_usd[-1] == pytest.approx(held.noi_usd + held.sale_usd)


def test_work_now_against_the_home_as_it_is() -> None:
    settings = Settings(holding_years=5, vacancy=0.0, cap_rate=0.08, target_return=0.1)
    terms = Terms(closing_share=0, selling_share=0)
    both = now_or_as_is(90_000, 900, 100, settings, terms, work_usd=2_000, lost_rent_usd=400)
    assert both.now.noi_usd - both.as_is.noi_usd == pytest.approx(1_200)
    assert both.even_after_years == 2
    annuity = float(npf.pv(0.1, 5, -1_200)) + 1_200 / 0.08 / 1.1**5
    assert both.gain_usd == pytest.approx(annuity - 2_400)
