"""Arithmetic of a rental: rent in, cost out, what is left, and what that is worth.

Every function takes plain figures; money is in dollars, rates are shares [0–1], and a year has
twelve equal months. None of this is an appraisal or advice.

References
----------
.. [1] Appraisal Institute, The Appraisal of Real Estate: direct capitalization, V = NOI / R.
.. [2] numpy-financial documentation: present value, payment and internal rate of return.
"""

from __future__ import annotations

from collections.abc import Sequence

from scorer.errors import InputError

MONTHS = 12


def net_operating_income(
    rent_month_usd: float, vacancy: float, operating_share: float, annual_tax_usd: float = 0.0
) -> float:
    """Net operating income, NOI [$/year].

    Rent less vacancy, less running costs (a share of the full rent), less property tax; loan
    payments, income tax and depreciation are not running costs.
    """
    gross = MONTHS * rent_month_usd
    return gross * (1.0 - vacancy) - gross * operating_share - annual_tax_usd


def value_at_cap_rate(noi_usd: float, cap_rate: float) -> float:
    """Value by direct capitalization, NOI over cap rate [$] [1]_. An estimate, not an appraisal.

    >>> value_at_cap_rate(20_000, 0.08)
    250000.0
    """
    return noi_usd / _positive(cap_rate, "cap_rate")


def loan_payment(loan_usd: float, yearly_rate: float, years: float) -> float:
    """Level monthly payment that repays the loan [$/month] [2]_.

    .. math:: p = L \\frac{i}{1 - (1 + i)^{-n}}

    with the monthly rate i (a twelfth of the yearly) and n months.
    """
    months = MONTHS * _positive(years, "years")
    rate = yearly_rate / MONTHS
    if rate == 0:
        return loan_usd / months
    return float(loan_usd * rate / (1.0 - (1.0 + rate) ** -months))


def loan_balance(loan_usd: float, yearly_rate: float, years: float, months_paid: int) -> float:
    """What is still owed after so many payments [$]; zero from the last payment on."""
    if months_paid >= MONTHS * years:
        return 0.0
    payment = loan_payment(loan_usd, yearly_rate, years)
    rate = yearly_rate / MONTHS
    if rate == 0:
        return loan_usd - payment * months_paid
    growth = (1.0 + rate) ** months_paid
    return float(loan_usd * growth - payment * (growth - 1.0) / rate)


def debt_service_coverage(noi_usd: float, loan_payment_month_usd: float) -> float | None:
    """NOI over a year's loan payments, DSCR [1]; None without a loan."""
    yearly = MONTHS * loan_payment_month_usd
    return noi_usd / yearly if yearly > 0 else None


def net_present_value(yearly_rate: float, flows_usd: Sequence[float]) -> float:
    """Value today of flows at the ends of years 0, 1, 2 … [$] [2]_; the first is not discounted."""
    if yearly_rate <= -1:
        raise InputError(f"yearly_rate: must be above -1 (given: {yearly_rate:g}).")
    return float(sum(flow / (1.0 + yearly_rate) ** t for t, flow in enumerate(flows_usd)))


def internal_rate_of_return(flows_usd: Sequence[float]) -> float | None:
    """Yearly rate at which the flows are worth nothing today, IRR [1/year] [2]_.

    Of several such rates the one nearest to zero is given; None where there is none (all flows of
    one sign, for example).
    """
    from scipy.optimize import brentq

    flows = [float(flow) for flow in flows_usd]
    if not any(f > 0 for f in flows) or not any(f < 0 for f in flows):
        return None
    edges = sorted({-0.999, *(x / 100 for x in range(-99, 100)), *(x / 4 for x in range(4, 401))})
    values = [net_present_value(rate, flows) for rate in edges]
    found = [edge for edge, value in zip(edges, values, strict=True) if value == 0]
    for left, right, a, b in zip(edges, edges[1:], values, values[1:], strict=False):
        if a * b < 0:
            root = brentq(lambda r: net_present_value(r, flows), left, right, xtol=1e-12)
            found.append(float(root))
    return min(found, key=abs) if found else None


def cash_flow(
    noi_usd: float, loan_payment_month_usd: float = 0.0, reserve_usd: float = 0.0
) -> float:
    """What a year leaves in hand before income tax [$/year]: NOI less loan payments and reserve."""
    return noi_usd - MONTHS * loan_payment_month_usd - reserve_usd


def _positive(value: float, name: str) -> float:
    if value <= 0:
        raise InputError(f"{name}: must be above zero (given: {value:g}).")
    return value
