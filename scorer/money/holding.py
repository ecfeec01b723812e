"""A home bought, worked on, let and sold: yearly flows, and the most to pay for it."""

from __future__ import annotations

from scorer.money.returns import (
    MONTHS,
    cash_flow,
    debt_service_coverage,
    internal_rate_of_return,
    loan_balance,
    loan_payment,
    net_operating_income,
    net_present_value,
    value_at_cap_rate,
)
from scorer.money.terms import Terms
from scorer.records import Record
from scorer.settings import Settings


class Holding(Record):
    """One home over the holding time, all at typical figures.

    Attributes
    ----------
    flows_usd
        Cash in hand at the ends of years 0, 1, 2 … before income tax [$]: the purchase, cost of
        buying, work and lost rent in year 0, the sale in the last.
    noi_usd
        Net operating income of the first full year [$/year].
    cap_rate_paid
        That over price [1/year]; None without a price.
    payment_month_usd, dscr
        Loan payment [$/month], and NOI over a year's payments; None without a loan.
    cash_flow_year_usd, cash_on_cash
        What the first year leaves [$/year], and that over the cash put in [1/year].
    sale_usd
        Sale price at the end: NOI of the next year at the cap rate [$]. Not an appraisal.
    npv_usd, irr
        Value today at the target return [$], and the yearly return; None where there is none.
    """

    flows_usd: tuple[float, ...]
    noi_usd: float
    cap_rate_paid: float | None
    payment_month_usd: float
    dscr: float | None
    cash_flow_year_usd: float
    cash_on_cash: float | None
    sale_usd: float
    npv_usd: float
    irr: float | None


class NowOrAsIs(Record):
    """Doing the work now against letting the home as it is.

    Attributes
    ----------
    gain_usd
        Difference of the values today at the target return [$].
    even_after_years
        First year by whose end the work has paid for itself, undiscounted; None if never within
        the holding time.
    """

    now: Holding
    as_is: Holding
    gain_usd: float
    even_after_years: int | None


def hold_home(
    price_usd: float,
    rent_month_usd: float,
    settings: Settings,
    terms: Terms,
    *,
    work_usd: float = 0.0,
    lost_rent_usd: float = 0.0,
    operating_share: float | None = None,
    annual_tax_usd: float = 0.0,
) -> Holding:
    """Flows and returns of one home.

    Parameters
    ----------
    price_usd
        Paid for the home [$].
    rent_month_usd
        Rent that it is let for [$/month].
    work_usd, lost_rent_usd
        Spent on the work, and rent not earned while it lasts [$].
    operating_share
        Running costs over full rent [0–1]; ``terms.operating_share_with_tax`` if None.
    """
    share = terms.operating_share_with_tax if operating_share is None else operating_share
    years = holding_years(settings)

    def noi(year: int) -> float:
        rent = rent_month_usd * (1.0 + terms.rent_growth) ** (year - 1)
        return net_operating_income(rent, settings.vacancy, share, annual_tax_usd)

    loan = price_usd * terms.loan_share
    payment = loan_payment(loan, terms.loan_rate, terms.loan_years) if loan > 0 else 0.0
    put_in = price_usd * (1.0 + terms.closing_share) - loan + work_usd + lost_rent_usd
    sale = value_at_cap_rate(noi(years + 1), settings.cap_rate)
    owed = loan_balance(loan, terms.loan_rate, terms.loan_years, MONTHS * years) if loan else 0.0
    flows = [-put_in]
    for year in range(1, years + 1):
        due = min(1.0, max(0.0, terms.loan_years - (year - 1)))  # a loan may end within a year
        reserve = terms.reserve_share * MONTHS * rent_month_usd
        flows.append(cash_flow(noi(year), payment * due, reserve))
    first = flows[1]
    flows[-1] += sale * (1.0 - terms.selling_share) - owed
    return Holding(
        flows_usd=tuple(flows),
        noi_usd=noi(1),
        cap_rate_paid=noi(1) / price_usd if price_usd > 0 else None,
        payment_month_usd=payment,
        dscr=debt_service_coverage(noi(1), payment),
        cash_flow_year_usd=first,
        cash_on_cash=first / put_in if put_in > 0 else None,
        sale_usd=sale,
        npv_usd=net_present_value(settings.target_return, flows),
        irr=internal_rate_of_return(flows),
    )


def holding_years(settings: Settings) -> int:
    """Holding time in whole years, one at least [years]."""
    return max(1, round(settings.holding_years))


def most_to_pay(
    rent_month_usd: float,
    settings: Settings,
    terms: Terms,
    *,
    work_usd: float = 0.0,
    lost_rent_usd: float = 0.0,
    operating_share: float | None = None,
    annual_tax_usd: float = 0.0,
) -> float:
    """Price at which the target return is just met [$]; zero where no price meets it.

    The value today of all flows at the target return is a straight line in the price, so its zero
    is solved for from two points.
    """

    def npv(price: float) -> float:
        return hold_home(
            price,
            rent_month_usd,
            settings,
            terms,
            work_usd=work_usd,
            lost_rent_usd=lost_rent_usd,
            operating_share=operating_share,
            annual_tax_usd=annual_tax_usd,
        ).npv_usd

    at_zero, step = npv(0.0), 100_000.0
    slope = (npv(step) - at_zero) / step
    if at_zero <= 0 or slope >= 0:
        return 0.0
    return at_zero / -slope


def now_or_as_is(
    price_usd: float,
    rent_now_usd: float,
    lift_month_usd: float,
    settings: Settings,
    terms: Terms,
    *,
    work_usd: float,
    lost_rent_usd: float,
    operating_share: float | None = None,
    annual_tax_usd: float = 0.0,
) -> NowOrAsIs:
    """Doing the work now, against letting the home as it is at the present rent.

    The rent lift bears vacancy but no further running costs: what is added to a rent by paint does
    not raise insurance or management by much. So the two homes differ in rent, work and lost rent.
    """
    share = terms.operating_share_with_tax if operating_share is None else operating_share
    as_is = hold_home(
        price_usd,
        rent_now_usd,
        settings,
        terms,
        operating_share=share,
        annual_tax_usd=annual_tax_usd,
    )
    rent_then = rent_now_usd + lift_month_usd
    now = hold_home(
        price_usd,
        rent_then,
        settings,
        terms,
        work_usd=work_usd,
        lost_rent_usd=lost_rent_usd,
        operating_share=lifted_share(share, rent_now_usd, rent_then),
        annual_tax_usd=annual_tax_usd,
    )
    spent = work_usd + lost_rent_usd
    yearly = now.noi_usd - as_is.noi_usd
    even = None
    for year in range(1, holding_years(settings) + 1):
        if yearly * year >= spent:
            even = year
            break
    return NowOrAsIs(
        now=now, as_is=as_is, gain_usd=now.npv_usd - as_is.npv_usd, even_after_years=even
    )


def lifted_share(share: float, rent_now_usd: float, rent_then_usd: float) -> float:
    """Running costs over the lifted rent, where their dollars stay those of the present rent."""
    return share * rent_now_usd / rent_then_usd if rent_then_usd > 0 else share
