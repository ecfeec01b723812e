"""Loan, taxes, and work now against letting as it is, on paper and in the workbook."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Sequence
from typing import Any

from scorer.money.deal_rows import (
    AS_IS,
    BORROWED,
    COVERAGE,
    IN_HAND,
    INCOME,
    NO_LOAN,
    PAYMENT,
    RENT,
    SALE,
    WORK_FIRST,
    WORTH,
    YEARLY_RETURN,
    DealRow,
    loan_rows,
    now_or_as_is_rows,
    written,
)
from scorer.money.depreciation import five_year_share
from scorer.money.holding import lifted_share
from scorer.money.home_money import LOAN_WORDS, NOT_ADVICE, TAX_WORDS, HomeMoney
from scorer.money.returns import MONTHS, loan_balance
from scorer.report.paper import Paper
from scorer.report.table import money_words

YEARS_ON_PAPER = 10
RUNNING = "Running costs over rent"
SOURCES = (
    "Loan payment, net present value and internal rate of return: numpy-financial documentation.",
    "Value by direct capitalization: Appraisal Institute, The Appraisal of Real Estate.",
    "Depreciation: IRS Publications 527, 551 and 946; Treasury Regulation 1.263(a)-3(h).",
)


def deal_pages(paper: Paper, deal: HomeMoney) -> None:
    """The sections of the printed report."""
    gain = deal.compare.gain_usd
    paper.heading("Work now, or let it as it is", room_mm=90.0)
    paper.words(
        f"{deal.verdict}. The difference is {money_words(abs(gain))} in today's money at a target "
        f"return of {_rate(deal.target_return)}; middle figures over {deal.years} years. Price "
        f"{money_words(deal.price_usd)}, of which {money_words(deal.loan_usd)} is borrowed. "
        f"Vacancy {_rate(deal.vacancy)}, running costs {_rate(deal.operating_share)} of the rent, "
        f"value at a cap rate of {_rate(deal.cap_rate)}."
    )
    _grid(paper, now_or_as_is_rows(deal))
    rows = loan_rows(deal)
    if rows:
        paper.heading("If you borrow", 11, level=1, room_mm=85.0)
        _grid(paper, rows)
        paper.words(LOAN_WORDS, 8.0)
    paper.words(NOT_ADVICE, 8.0)
    paper.heading("Depreciation for taxes")
    paper.words(
        f"Building and work {money_words(deal.building_usd)}, appliances and carpet "
        f"{money_words(deal.five_year_usd)}; land {deal.given.land_percent:g} % of the price, "
        f"ready to let in {month_name[deal.given.month]}."
    )
    years = [
        (
            str(year.year),
            money_words(year.building_usd),
            money_words(year.five_year_usd),
            money_words(year.total_usd),
        )
        for year in deal.timetable[:YEARS_ON_PAPER]
    ]
    head = ("Year", "Building and work", "Appliances, carpet", "Together")
    paper.grid(head, years, (1, 2, 2, 2), right=(1, 2, 3))
    paper.words(f"The workbook has all years. {TAX_WORDS} {NOT_ADVICE}", 8.0)


def _grid(paper: Paper, rows: Sequence[DealRow]) -> None:
    cells = written(rows, money_words, _rate, "{:.2f}".format)
    paper.grid(("Figure", AS_IS, WORK_FIRST), cells, (5, 2, 2), right=(1, 2))


def _rate(share: float) -> str:
    return f"{share:.1%}".replace("-", "−")


def deal_sheets(book: Any, style: Any, deal: HomeMoney) -> None:
    """Two sheets of live formulas: change an input and all that follows from it changes."""
    _now_or_as_is(book, style, deal)
    _depreciation(book, style, deal)


def _now_or_as_is(book: Any, style: Any, deal: HomeMoney) -> None:
    sheet = book.add_worksheet("Now or as is")
    sheet.set_column(0, 0, 44)
    sheet.set_column(1, 2, 16)
    sheet.set_column(3, 3, 70)
    for column, title in enumerate(("Figure", AS_IS, WORK_FIRST, "Note")):
        sheet.write_string(0, column, title, style["head"])
    terms = deal.given.terms
    rent_then = deal.rent_then_usd
    inputs: tuple[tuple[str, float, float | str, str, str], ...] = (
        ("Price", deal.price_usd, "=B2", "money", "Change the cells of column B and C."),
        ("Loan over price", terms.loan_share, "=B3", "percent", ""),
        ("Interest a year", terms.loan_rate, "=B4", "percent", ""),
        ("Years to pay it back", terms.loan_years, "=B5", "number", ""),
        ("Cost of buying over price", terms.closing_share, "=B6", "percent", ""),
        ("Cost of selling over price", terms.selling_share, "=B7", "percent", ""),
        ("Rent lost to empty weeks", deal.vacancy, "=B8", "percent", ""),
        (
            RUNNING,
            deal.operating_share,
            "=B9*B11/C11",
            "percent",
            "A rent raised by work bears no more running costs in dollars.",
        ),
        ("Property tax a year", deal.annual_tax_usd, "=B10", "money", "0: in the running costs"),
        (RENT, deal.rent_now_usd, f"=B11+{deal.lift_month_usd!r}", "money", "Middle figures"),
        ("Rent growth a year", terms.rent_growth, "=B12", "percent", ""),
        ("Reserve over rent", terms.reserve_share, "=B13", "percent", ""),
        ("Work", 0.0, deal.work_usd, "money", "Own hours at their value"),
        ("Rent lost during the work", 0.0, deal.lost_rent_usd, "money", ""),
        ("Cap rate", deal.cap_rate, "=B16", "percent", "Income over value"),
        ("Target return a year", deal.target_return, "=B17", "percent", ""),
    )
    worked_out = {
        RENT: rent_then,
        RUNNING: lifted_share(deal.operating_share, deal.rent_now_usd, rent_then),
    }
    for at, (name, as_is, now, form, note) in enumerate(inputs, start=1):
        sheet.write_string(at, 0, name)
        sheet.write_number(at, 1, as_is, style[form])
        if isinstance(now, str):
            sheet.write_formula(at, 2, now, style[form], worked_out.get(name, as_is))
        else:
            sheet.write_number(at, 2, now, style[form])
        sheet.write_string(at, 3, note)
    _results(sheet, style, deal, first_flow=33)
    at = 34 + deal.years + 1
    for line in (f"Holding time {deal.years} years.", NOT_ADVICE, LOAN_WORDS, *SOURCES):
        sheet.write_string(at, 0, line)
        at += 1
    sheet.freeze_panes(1, 1)


def _results(sheet: Any, style: Any, deal: HomeMoney, first_flow: int) -> None:
    last_flow = first_flow + deal.years
    years, terms = deal.years, deal.given.terms
    owed = loan_balance(deal.loan_usd, terms.loan_rate, terms.loan_years, MONTHS * years)
    for c, hold in (("B", deal.compare.as_is), ("C", deal.compare.now)):
        place = ord(c) - ord("A")
        income = f"12*{c}11*(1+{c}12)^{{n}}*(1-{c}8-{c}9)-{c}10"
        flows = f"{c}{first_flow + 2}:{c}{last_flow + 1}"
        rows: tuple[tuple[str, str, float | str | None, str], ...] = (
            (BORROWED, f"={c}2*{c}3", deal.loan_usd, "money"),
            (
                PAYMENT,
                f"=IF({c}20>0,-PMT({c}4/12,12*{c}5,{c}20),0)",
                hold.payment_month_usd,
                "money",
            ),
            (
                INCOME,
                f"={income.format(n=0)}",
                hold.noi_usd,
                "money",
            ),
            (
                COVERAGE,
                f'=IF({c}21>0,{c}22/(12*{c}21),"{NO_LOAN}")',
                NO_LOAN if hold.dscr is None else hold.dscr,
                "number",
            ),
            (
                "Cash put in",
                f"={c}2*(1+{c}6)-{c}20+{c}14+{c}15",
                -hold.flows_usd[0],
                "money",
            ),
            (
                IN_HAND,
                f"={c}22-{_due(c, 1)}-12*{c}13*{c}11",
                hold.cash_flow_year_usd,
                "money",
            ),
            (
                SALE,
                f"=({income.format(n=years)})/{c}16",
                hold.sale_usd,
                "money",
            ),
            (
                "Still owed at the end",
                f"=IF(OR({c}20<=0,{years}>={c}5),0,FV({c}4/12,12*{years},{c}21,-{c}20))",
                owed,
                "money",
            ),
            (
                WORTH,
                f"={c}{first_flow + 1}+NPV({c}17,{flows})",
                hold.npv_usd,
                "money",
            ),
            (
                YEARLY_RETURN,
                f"=IRR({c}{first_flow + 1}:{c}{last_flow + 1})",
                hold.irr,
                "percent",
            ),
        )
        for at, (name, formula, value, form) in enumerate(rows, start=19):
            sheet.write_string(at, 0, name)
            sheet.write_formula(at, place, formula, style[form], 0 if value is None else value)
        sheet.write_string(first_flow - 1, 0, "Cash by year", style["head"])
        for year, flow in enumerate(hold.flows_usd):
            sheet.write_string(first_flow + year, 0, f"End of year {year}")
            if year == 0:
                formula = f"=-{c}24"
            else:
                paid = f"-{_due(c, year)}-12*{c}13*{c}11"
                formula = f"={income.format(n=year - 1)}{paid}"
                if year == years:
                    formula += f"+{c}26*(1-{c}7)-{c}27"
            sheet.write_formula(first_flow + year, place, formula, style["money"], flow)
    sheet.write_string(29, 0, "Work first, over letting as it is, worth today", style["head"])
    sheet.write_formula(29, 2, "=C28-B28", style["money"], deal.compare.gain_usd)


def _due(column: str, year: int) -> str:
    """Loan payments of a year; the term may end within it."""
    return f"12*{column}21*MAX(0,MIN(1,{column}5-{year - 1}))"


def _depreciation(book: Any, style: Any, deal: HomeMoney) -> None:
    sheet = book.add_worksheet("Depreciation")
    sheet.set_column(0, 0, 44)
    sheet.set_column(1, 4, 18)
    inputs = (
        ("Price", deal.price_usd, "money"),
        ("Land over price", deal.given.land_percent / 100, "percent"),
        ("Work paid for, own hours left out", deal.work_cash_usd, "money"),
        ("Of that, appliances and carpet", deal.five_year_usd, "money"),
        ("Month in which it is ready to let, 1 to 12", float(deal.given.month), "whole"),
    )
    for at, (name, value, form) in enumerate(inputs):
        sheet.write_string(at, 0, name)
        sheet.write_number(at, 1, value, style[form])
    sheet.write_string(5, 0, "Building and work, written off over 27.5 years")
    sheet.write_formula(5, 1, "=B1*(1-B2)+MAX(0,B3-B4)", style["money"], deal.building_usd)
    head = ("Year", "Share of the building", "Building and work", "Appliances, carpet", "Together")
    for column, title in enumerate(head):
        sheet.write_string(7, column, title, style["head"])
    for at, year in enumerate(deal.timetable, start=8):
        n, row = year.year, at + 1
        share = f"=MAX(0,MIN(330,12*{n}-($B$5-0.5))-MAX(0,12*{n - 1}-($B$5-0.5)))/330"
        of_building = year.building_usd / deal.building_usd if deal.building_usd else 0.0
        sheet.write_number(at, 0, n, style["whole"])
        sheet.write_formula(at, 1, share, style["share"], of_building)
        sheet.write_formula(at, 2, f"=$B$6*B{row}", style["money"], year.building_usd)
        sheet.write_formula(
            at, 3, f"=$B$4*{five_year_share(n)}", style["money"], year.five_year_usd
        )
        sheet.write_formula(at, 4, f"=C{row}+D{row}", style["money"], year.total_usd)
    end = 9 + len(deal.timetable)
    for at, line in enumerate((TAX_WORDS, NOT_ADVICE, SOURCES[-1]), start=end):
        sheet.write_string(at, 0, line)
