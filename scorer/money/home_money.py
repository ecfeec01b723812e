"""One home's loan, depreciation, and work now against letting as it is: information, not advice.

References
----------
.. [1] IRS Publication 527, "Residential Rental Property", table 2-1: appliances such as stoves and
   refrigerators, carpets and furniture in a rental are 5-year property; a residential rental
   building and what is built into it, 27.5 years. Land is not written off.
.. [2] IRS Publication 551, "Basis of Assets": cost, and improvements that are paid for; one's own
   labor is no part of it.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from scorer.listing.listing import Listing
from scorer.money.depreciation import (
    YearOfDepreciation,
    depreciation_timetable,
    small_taxpayer_limit,
)
from scorer.money.holding import NowOrAsIs, holding_years, now_or_as_is
from scorer.money.outcome import Outcome
from scorer.money.terms import Terms
from scorer.records import Record
from scorer.scope.plan import Scope
from scorer.settings import Settings
from scorer.upgrades.option import Option

FIVE_YEAR_LADDERS = frozenset({"range", "refrigerator", "dishwasher", "laundry_machines"})
"""Ladders of the catalogue whose new things are 5-year property [1]_; carpet is another."""

NOT_ADVICE = (
    "Information, not tax or loan advice, and not an appraisal: ask a tax adviser and the lender "
    "before you count on it."
)
TAX_WORDS = (
    "A rental building and what is built into it is written off over 27.5 years from the middle of "
    "the month in which it is ready to let; appliances and carpet over five (IRS Publications 527 "
    "and 946). Land is not written off, and neither are your own hours. All the work is counted as "
    "improvement here, the cautious reading; some of it may be repair, which is deducted at once."
)
LOAN_WORDS = (
    "Debt service coverage is the income that is left after running costs, over the loan payments. "
    "Many lenders ask for 1.2 or more (common practice, no source)."
)

Percent = Annotated[float, Field(ge=0, le=100)]


class MoneyInput(Record):
    """What the user assumes of loan and taxes, in percent as the page asks for it.

    Attributes
    ----------
    loan_percent
        Loan over price [%]; zero: paid in cash. The usual figure for a rental is common practice,
        no source.
    loan_rate_percent, loan_years
        Yearly rate [%/year] and term [years].
    closing_percent, selling_percent
        Cost of buying and of selling over the price [%]; common practice, no source.
    rent_growth_percent
        Yearly growth of the rent [%/year].
    reserve_percent
        Set aside for large repairs over full rent [%].
    land_percent
        Land's share of the price [%]; common practice, no source: a tax bill often tells.
    month
        Calendar month in which the home is ready to let, 1 to 12.
    """

    loan_percent: Percent = 75.0
    loan_rate_percent: Annotated[float, Field(ge=0, le=50)] = 7.0
    loan_years: Annotated[float, Field(gt=0, le=50)] = 30.0
    closing_percent: Annotated[float, Field(ge=0, le=50)] = 3.0
    selling_percent: Annotated[float, Field(ge=0, le=50)] = 6.0
    rent_growth_percent: Annotated[float, Field(gt=-50, le=50)] = 0.0
    reserve_percent: Percent = 0.0
    land_percent: Percent = 20.0
    month: Annotated[int, Field(ge=1, le=12)] = 1

    @property
    def terms(self) -> Terms:
        """The same as shares."""
        return Terms(
            loan_share=self.loan_percent / 100,
            loan_rate=self.loan_rate_percent / 100,
            loan_years=self.loan_years,
            closing_share=self.closing_percent / 100,
            selling_share=self.selling_percent / 100,
            rent_growth=self.rent_growth_percent / 100,
            reserve_share=self.reserve_percent / 100,
        )


class HomeMoney(Record):
    """What a home's loan, taxes and timing come to, and what they were worked out from.

    Attributes
    ----------
    price_usd, rent_now_usd, lift_month_usd
        Price [$], rent as it is and middle rise by the work [$/month].
    work_usd, lost_rent_usd
        Middle cost of the work with own hours at their value, and rent lost meanwhile [$].
    operating_share, annual_tax_usd
        Running costs over full rent [0–1], and property tax [$/year] where it is known.
    loan_usd
        Borrowed [$].
    years
        Holding time in whole years.
    compare
        Both ways with this loan.
    building_usd, five_year_usd
        What is written off over 27.5 years, and over five [$].
    timetable
        All years of depreciation.
    repair_limit_usd
        Yearly repairs and improvements that a small taxpayer may deduct at once [$].
    """

    given: MoneyInput
    price_usd: float
    rent_now_usd: float
    lift_month_usd: float
    work_usd: float
    lost_rent_usd: float
    work_cash_usd: float
    operating_share: float
    annual_tax_usd: float
    vacancy: float
    cap_rate: float
    target_return: float
    loan_usd: float
    years: int
    compare: NowOrAsIs
    building_usd: float
    five_year_usd: float
    timetable: tuple[YearOfDepreciation, ...]
    repair_limit_usd: float

    @property
    def rent_then_usd(self) -> float:
        """Rent after the work [$/month]."""
        return self.rent_now_usd + self.lift_month_usd

    @property
    def spent_usd(self) -> float:
        """Work and the rent lost meanwhile [$]."""
        return self.work_usd + self.lost_rent_usd

    @property
    def verdict(self) -> str:
        """Which way is worth more, and whether either earns the target return, in words."""
        ways = self.compare
        better = (
            "Doing the work first comes out ahead"
            if ways.gain_usd > 0
            else "Letting it as it is comes out ahead"
        )
        if max(ways.now.npv_usd, ways.as_is.npv_usd) < 0:
            return f"{better}, but at this price neither way earns your target return"
        return better


def home_money(
    listing: Listing,
    scope: Scope,
    outcome: Outcome,
    rent_now_usd: float,
    settings: Settings,
    given: MoneyInput | None = None,
    price_usd: float | None = None,
) -> HomeMoney | None:
    """Loan, depreciation, and work now against letting as it is, at middle figures.

    Parameters
    ----------
    rent_now_usd
        What the home is let for, or would be as it is [$/month].
    given
        The user's assumptions; the usual ones if None.
    price_usd
        What the user would pay [$]; the asking price if None.

    Returns
    -------
    HomeMoney or None
        None if there is neither a price nor an asking price above zero, or no rent.
    """
    given = given or MoneyInput()
    price = listing.list_price_usd if price_usd is None else price_usd
    if not price or rent_now_usd <= 0:
        return None
    terms = given.terms
    share, tax = terms.running_costs(listing)
    compare = now_or_as_is(
        price,
        rent_now_usd,
        outcome.rent_lift_month_usd.p50,
        settings,
        terms,
        work_usd=outcome.cost_usd.p50,
        lost_rent_usd=outcome.lost_rent_usd,
        operating_share=share,
        annual_tax_usd=tax,
    )
    five_year = sum(o.cash_usd.typical for o in scope.options if is_five_year(o))
    bought = price * (1.0 - given.land_percent / 100)
    building = bought + max(0.0, scope.cash_usd.typical - five_year)
    return HomeMoney(
        given=given,
        price_usd=price,
        rent_now_usd=rent_now_usd,
        lift_month_usd=outcome.rent_lift_month_usd.p50,
        work_usd=outcome.cost_usd.p50,
        lost_rent_usd=outcome.lost_rent_usd,
        work_cash_usd=scope.cash_usd.typical,
        operating_share=share,
        annual_tax_usd=tax,
        vacancy=settings.vacancy,
        cap_rate=settings.cap_rate,
        target_return=settings.target_return,
        loan_usd=price * terms.loan_share,
        years=holding_years(settings),
        compare=compare,
        building_usd=building,
        five_year_usd=five_year,
        timetable=depreciation_timetable(building, given.month, five_year),
        repair_limit_usd=small_taxpayer_limit(bought),
    )


def is_five_year(option: Option) -> bool:
    """Whether what an option buys is 5-year property: appliances and carpet [1]_."""
    bought = option.rung in {"replace", "add"}
    return bought and (option.ladder in FIVE_YEAR_LADDERS or "carpet" in option.upgrade)
