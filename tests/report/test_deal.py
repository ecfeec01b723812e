"""Loan and taxes in the report and the workbook; the formulas are worked out by another program."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime

import openpyxl
import pypdf
import pytest

from scorer.money.deal_rows import DealRow, loan_rows, now_or_as_is_rows, written
from scorer.money.home_money import HomeMoney, MoneyInput, home_money
from scorer.report import home_report_pdf, home_workbook
from scorer.report.table import money_words
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from tests.report.sheets import Sheet

GIVEN = MoneyInput(loan_percent=75, month=3, rent_growth_percent=1, reserve_percent=4)
WHEN = datetime(2026, 5, 30, 12, tzinfo=UTC)


@pytest.fixture
def deal(home: HomeResult) -> HomeMoney:
    settings = Settings(holding_years=6, vacancy=0.08)
    found = home_money(home.listing, home.scope, home.outcome, 900.0, settings, GIVEN)
    assert found is not None
    return found


@pytest.fixture
def content(home: HomeResult, deal: HomeMoney) -> bytes:
    return home_workbook(home, deal)


@pytest.mark.parametrize("column", ["B", "C"])
def test_the_formulas_come_to_what_the_library_says(content, deal: HomeMoney, column: str):
    sheet = Sheet(content, "Now or as is")
    held = deal.compare.as_is if column == "B" else deal.compare.now
    expected = {
        "Borrowed": deal.loan_usd,
        "Loan payment a month": held.payment_month_usd,
        "Income after running costs, first year": held.noi_usd,
        "Debt service coverage": held.dscr,
        "Cash put in": -held.flows_usd[0],
        "In hand in the first year": held.cash_flow_year_usd,
        "Sale at the end: an estimate, not an appraisal": held.sale_usd,
        "Worth today, at your target return": held.npv_usd,
        "Yearly return on the cash put in": held.irr,
    }
    for name, value in expected.items():
        assert sheet[f"{column}{sheet.row(name)}"] == pytest.approx(value, rel=1e-9), name
    first = sheet.row("End of year 0")
    flows = sheet.several(column, first, first + deal.years)
    assert flows == pytest.approx(held.flows_usd)


def test_the_gain_is_live(content, deal: HomeMoney):
    sheet = Sheet(content, "Now or as is")
    row = sheet.row("Work first, over letting as it is, worth today")
    assert sheet[f"C{row}"] == pytest.approx(deal.compare.gain_usd)
    sheet.cells["C14"].value = deal.work_usd + 1_000
    assert sheet[f"C{row}"] == pytest.approx(deal.compare.gain_usd - 1_000)


def test_what_a_reader_without_a_calculator_sees_is_the_same(content):
    seen = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    for name in ("Now or as is", "Depreciation"):
        sheet = Sheet(content, name)
        checked = 0
        for row in sheet.cells.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    kept = seen[name][cell.coordinate].value
                    assert sheet[cell.coordinate] == pytest.approx(kept), cell.coordinate
                    checked += 1
        assert checked > 30


def test_depreciation_is_live_and_writes_off_all(content, deal: HomeMoney):
    sheet = Sheet(content, "Depreciation")
    first = sheet.row("Year") + 1
    last = first + len(deal.timetable) - 1
    assert sheet.several("E", first, last) == pytest.approx([y.total_usd for y in deal.timetable])
    assert sum(sheet.several("E", first, last)) == pytest.approx(
        deal.building_usd + deal.five_year_usd
    )


def test_the_report_shows_the_same_money_and_says_that_it_is_no_advice(home, photos, deal):
    pdf = home_report_pdf(home, photos, WHEN, deal)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    text = re.sub(r"\s+", " ", " ".join(pages))
    for words in (
        f"${deal.compare.now.payment_month_usd:,.0f}",
        f"{deal.compare.now.dscr:.2f}",
        f"${deal.timetable[0].building_usd:,.0f}",
        "not tax or loan advice, and not an appraisal",
        "IRS Publications 527 and 946",
    ):
        assert words in text, words
    without = home_report_pdf(home, photos, WHEN)
    assert "Debt service" not in pypdf.PdfReader(io.BytesIO(without)).pages[-1].extract_text()


def test_page_and_print_draw_the_same_rows_in_the_same_words(home, photos, deal: HomeMoney):
    pdf = home_report_pdf(home, photos, WHEN, deal)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    text = re.sub(r"\s+", " ", " ".join(pages))
    rows = [*now_or_as_is_rows(deal), *loan_rows(deal)]
    assert len(rows) == 13
    cells = written(rows, money_words, "{:.1%}".format, "{:.2f}".format)
    for words, as_is, work_first in cells:
        assert f"{words} {as_is} {work_first}".replace("-", "−") in text, words
    assert "Vacancy 8.0%" in text
    assert "cap rate of 8.0%" in text


def test_rows_say_what_stands_where_there_is_no_figure(home: HomeResult):
    given = MoneyInput(loan_percent=0)
    bare = home_money(home.listing, home.scope, home.outcome, 900.0, Settings(), given)
    assert bare is not None
    assert loan_rows(bare) == ()
    rows = [
        DealRow("a", None, 1.0, "times"),
        DealRow("b", None, 0.5, "rate"),
        DealRow("c", None, 2.0),
    ]
    assert written(rows, str, str, str) == [
        ("a", "no loan", "1.0"),
        ("b", "none", "0.5"),
        ("c", "–", "2.0"),
    ]
