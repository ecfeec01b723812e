"""The figures of a deal row by row, in the words that page, print and workbook share."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal, NamedTuple

from scorer.money.home_money import HomeMoney

Unit = Literal["usd", "rate", "times"]
"""Dollars, a share [1/year], or a ratio."""

AS_IS, WORK_FIRST = "Let as it is", "Work first"
RENT = "Rent a month"
SPENT = "Work and lost rent before that"
INCOME = "Income after running costs, first year"
IN_HAND = "In hand in the first year"
SALE = "Sale at the end: an estimate, not an appraisal"
WORTH = "Worth today, at your target return"
YEARLY_RETURN = "Yearly return on the cash put in"
BORROWED = "Borrowed"
PAYMENT = "Loan payment a month"
COVERAGE = "Debt service coverage"
IN_HAND_ON_CASH = "That, over the cash put in"
NO_LOAN = "no loan"
WITHOUT: Mapping[Unit, str] = {"usd": "–", "rate": "none", "times": NO_LOAN}
"""What stands where there is no figure."""


class DealRow(NamedTuple):
    """One figure of both ways; None where there is none."""

    words: str
    as_is: float | None
    work_first: float | None
    unit: Unit = "usd"


def now_or_as_is_rows(deal: HomeMoney) -> tuple[DealRow, ...]:
    """Doing the work first against letting the home as it is."""
    now, as_is = deal.compare.now, deal.compare.as_is
    return (
        DealRow(RENT, deal.rent_now_usd, deal.rent_then_usd),
        DealRow(SPENT, 0.0, deal.spent_usd),
        DealRow(INCOME, as_is.noi_usd, now.noi_usd),
        DealRow(IN_HAND, as_is.cash_flow_year_usd, now.cash_flow_year_usd),
        DealRow(SALE, as_is.sale_usd, now.sale_usd),
        DealRow(WORTH, as_is.npv_usd, now.npv_usd),
        DealRow(YEARLY_RETURN, as_is.irr, now.irr, "rate"),
    )


def loan_rows(deal: HomeMoney) -> tuple[DealRow, ...]:
    """What borrowing does to both; none where nothing is borrowed."""
    if deal.loan_usd <= 0:
        return ()
    now, as_is = deal.compare.now, deal.compare.as_is
    return (
        DealRow(BORROWED, deal.loan_usd, deal.loan_usd),
        DealRow(PAYMENT, as_is.payment_month_usd, now.payment_month_usd),
        DealRow(INCOME, as_is.noi_usd, now.noi_usd),
        DealRow(COVERAGE, as_is.dscr, now.dscr, "times"),
        DealRow(IN_HAND, as_is.cash_flow_year_usd, now.cash_flow_year_usd),
        DealRow(IN_HAND_ON_CASH, as_is.cash_on_cash, now.cash_on_cash, "rate"),
    )


def written(
    rows: Sequence[DealRow],
    usd: Callable[[float], str],
    rate: Callable[[float], str],
    times: Callable[[float], str],
) -> list[tuple[str, str, str]]:
    """Rows as text: words, as it is, work first; the functions write a figure of each unit."""
    write = {"usd": usd, "rate": rate, "times": times}

    def cell(value: float | None, unit: Unit) -> str:
        return WITHOUT[unit] if value is None else write[unit](value)

    return [(r.words, cell(r.as_is, r.unit), cell(r.work_first, r.unit)) for r in rows]
