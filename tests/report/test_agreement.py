"""Print, workbook, CSV and JSON of the same home say the same figures, also after a change."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, datetime
from functools import cache
from typing import Any, NamedTuple

import openpyxl
import pypdf
import pytest

from scorer.listing.demo import demo_folder
from scorer.money.comps import read_comps
from scorer.money.deal_rows import loan_rows, now_or_as_is_rows
from scorer.money.home_money import HomeMoney, MoneyInput, home_money
from scorer.money.learned_rent import evidence_with_catalogue
from scorer.records import Range
from scorer.report import home_report_pdf, home_workbook, to_csv, to_json
from scorer.report.table import hours_words, money_words
from scorer.screening.folder import screen_one
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult
from scorer.upgrades.catalogue import load_catalogue
from tests.report.sheets import Sheet

WHEN = datetime(2026, 5, 30, 12, tzinfo=UTC)


class Case(NamedTuple):
    home: str
    settings: Settings
    comps: bool
    given: MoneyInput


CASES = {
    "usual limits, rent guessed": Case("207-quarry-road", Settings(), False, MoneyInput()),
    "small limits, tagged, no loan": Case(
        "88-mill-pond-road",
        Settings(
            budget_usd=3_000,
            weeks=3,
            hours_per_week=12,
            helpers=0,
            own_hour_usd=0,
            aim="return",
            holding_years=7,
        ),
        True,
        MoneyInput(loan_percent=0),
    ),
    "large limits, a loan that ends soon": Case(
        "412-orchard-street",
        Settings(
            budget_usd=25_000,
            weeks=12,
            hours_per_week=30,
            helpers=2,
            aim="rent_lift",
            location_factor=1.2,
            vacancy=0.0,
            holding_years=3.4,
        ),
        True,
        MoneyInput(loan_percent=80, loan_years=1.75, rent_growth_percent=2, reserve_percent=5),
    ),
}


class Written(NamedTuple):
    result: HomeResult
    rent_usd: float
    deal: HomeMoney
    text: str
    book: bytes
    row: dict[str, str]
    values: dict[str, Any]


@cache
def written(name: str) -> Written:
    case = CASES[name]
    comps = read_comps(demo_folder().parent / "comps.csv")[0] if case.comps else ()
    result = screen_one(demo_folder() / case.home, case.settings, comps=comps)
    result = result.model_copy(update={"rank": 1})
    rent = evidence_with_catalogue(result.listing, comps, load_catalogue()).present_rent_usd.typical
    deal = deal_of(result, rent, case.settings, case.given)
    pages = pypdf.PdfReader(io.BytesIO(home_report_pdf(result, {}, WHEN, deal))).pages
    (row,) = csv.DictReader(io.StringIO(to_csv([result]).lstrip("\ufeff")))
    (values,) = json.loads(to_json([result]))
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    return Written(result, rent, deal, text, home_workbook(result, deal), row, values)


def deal_of(
    result: HomeResult, rent_usd: float, settings: Settings, given: MoneyInput
) -> HomeMoney:
    deal = home_money(result.listing, result.scope, result.outcome, rent_usd, settings, given)
    assert deal is not None
    return deal


@pytest.fixture(params=CASES)
def made(request: pytest.FixtureRequest) -> Written:
    return written(request.param)


def test_summary_csv_json_and_print_agree(made: Written) -> None:
    sheet = Sheet(made.book, "Summary")
    names = {
        "Cost, $": ("cost", "cost_{}_usd", "Cost"),
        "Rent rise a month, $": ("rent_lift_month", "rent_lift_{}_usd_month", "Rent rise a month"),
        "Net gain over the time you keep it, $": (
            "net_gain",
            "net_gain_{}_usd",
            "Net gain over the time you keep it",
        ),
        "Value created, $": ("value_created", "", "Value created"),
    }
    for name, (key, column, words) in names.items():
        row = sheet.row(name)
        figures = [sheet[f"{letter}{row}"] for letter in "BCD"]
        assert list(made.values[key].values()) == pytest.approx(figures, abs=1e-4)
        for percentile, figure in zip(("p10", "p50", "p90"), figures, strict=True):
            cell = made.row.get(column.format(percentile))
            assert cell is None or float(cell) == round(figure)
        assert f"{words} {' '.join(map(money_words, figures))}" in made.text
    row = sheet.row("Payback, months")
    months = [sheet[f"{letter}{row}"] for letter in "BCD"]
    assert list(made.values["payback_months"].values()) == pytest.approx(months, abs=1e-4)
    assert float(made.row["payback_p50_months"]) == pytest.approx(months[1], abs=0.051)
    assert f"Payback {months[1]:.0f} months" in made.text
    assert "Payback, months " + " ".join(f"{m:,.0f}" for m in months) in made.text
    returned = [sheet[f"{x}{sheet.row('Return on cost a year')}"] for x in "BCD"]
    assert list(made.values["return_on_cost"].values()) == pytest.approx(returned, abs=1e-4)
    assert float(made.row["return_on_cost_p50"]) == pytest.approx(returned[1], abs=5.1e-4)
    assert "Return on cost a year " + " ".join(f"{x:.0%}" for x in returned) in made.text
    most = sheet[f"C{sheet.row('Most to pay for the target return, $')}"]
    assert most == pytest.approx(made.values["most_to_pay"])
    assert float(made.row["most_to_pay_usd"]) == round(most)
    guessed = made.result.listing.monthly_rent_usd is None
    assert f"Most to pay for the target return {money_words(most)}" in made.text
    assert (f"{money_words(most)} (rent guessed)" in made.text) == guessed
    assert sheet[f"C{sheet.row('Checklist score, 0 to 100')}"] == made.values["score"]
    assert float(made.row["score"]) == made.values["score"]
    assert f"Checklist score, 0 to 100 {made.result.score:.0f} " in made.text


def test_the_scope_and_its_sums_agree(made: Written) -> None:
    scope, work = made.result.scope, made.values["upgrades"]
    sheet = Sheet(made.book, "Scope")
    last = len(work) + 2
    assert [sheet[f"B{row}"] for row in range(2, last)] == [option["label"] for option in work]
    assert made.row["upgrades"] == "; ".join(f"{o['room']}: {o['label']}" for o in work)
    for field, letters, total in (
        ("cost_usd", "CDE", scope.cost_usd),
        ("hours", "FGH", scope.hours),
    ):
        for letter, figure in zip(letters, ("low", "typical", "high"), strict=True):
            rows = [option[field][figure] for option in work]
            assert sheet.several(letter, 2, last - 1) == pytest.approx(rows)
            assert sheet[f"{letter}{last}"] == pytest.approx(sum(rows))  # a formula
            assert sheet[f"{letter}{last}"] == pytest.approx(getattr(total, figure))
    cost = f"{money_words(scope.cost_usd.low)} to {money_words(scope.cost_usd.high)}"
    assert f"All together {cost} {hours_words(scope.hours)} " in made.text
    assert f"Own and hired hours {hours_words(scope.hours)} h" in made.text
    assert float(made.row["hours"]) == pytest.approx(scope.hours.typical, abs=0.051)
    assert float(made.row["weeks"]) == pytest.approx(scope.weeks.typical, abs=0.051)
    lines = Sheet(made.book, "Take-off")
    bottom = max(int(place[1:]) for place in lines.formulas())
    for letter, figure in (("I", "low"), ("J", "typical"), ("K", "high")):
        assert lines[f"{letter}{bottom}"] == pytest.approx(getattr(scope.cost_usd, figure))
    shop = Sheet(made.book, "Shopping list")
    for row, bought in enumerate(scope.purchases, start=2):
        assert [shop[f"{x}{row}"] for x in "GHI"] == pytest.approx(
            [bought.cost_usd.low, bought.cost_usd.typical, bought.cost_usd.high]
        )
    for task in scope.calendar:
        if task.kind == "work":
            assert f" {hours_words(Range.exactly(task.hours))} " in made.text


def test_holds_and_what_is_not_known_are_in_all(made: Written) -> None:
    assert [h["label"] for h in made.values["holds"]] == [h.label for h in made.result.scope.holds]
    for hold in made.result.scope.holds:
        assert hold.label in made.row["holds"]
        assert hold.source in made.text
        spend = f"{money_words(hold.allowance_usd.low)} to {money_words(hold.allowance_usd.high)}"
        assert spend in made.text
    unknown = [item.sentence for item in made.result.unseen]
    sheet = Sheet(made.book, "Not known")
    assert [u["sentence"] for u in made.values["unseen"]] == unknown
    assert [sheet[f"B{row}"] for row in range(2, 2 + len(unknown))] == unknown
    for sentence in unknown:
        assert sentence in made.row["unseen"]
        assert sentence in made.text


def test_every_formula_comes_to_the_figure_that_is_kept_beside_it(made: Written) -> None:
    seen = openpyxl.load_workbook(io.BytesIO(made.book), data_only=True)
    checked = 0
    for name in seen.sheetnames:
        sheet = Sheet(made.book, name)
        for place in sheet.formulas():
            assert sheet[place] == pytest.approx(seen[name][place].value), (name, place)
            checked += 1
    assert checked > 150


def test_the_deal_on_paper_is_what_the_formulas_come_to(made: Written) -> None:
    sheet = Sheet(made.book, "Now or as is")
    rows = [*now_or_as_is_rows(made.deal), *loan_rows(made.deal)]
    forms = {"usd": money_words, "rate": "{:.1%}".format, "times": "{:.2f}".format}
    checked = 0
    for row in rows:
        found = [c.row for c in sheet.cells["A"] if c.value == row.words]
        if not found:
            continue
        figures = [sheet[f"{letter}{found[0]}"] for letter in "BC"]
        assert figures == pytest.approx([row.as_is, row.work_first])
        cells = " ".join(forms[row.unit](f) for f in figures).replace("-", "−")
        assert f"{row.words} {cells}" in made.text
        checked += 1
    assert checked >= 6


CHANGES: dict[str, dict[str, float]] = {
    "B2": {"price": 61_000.0},
    "B4": {"loan_rate_percent": 9.25},
    "B5": {"loan_years": 2.5},  # ends within a year that the home is kept
    "B8": {"vacancy": 0.11},
    "B11": {"rent": 777.0},
    "B12": {"rent_growth_percent": 3.5},
    "B13": {"reserve_percent": 6.0},
    "B16": {"cap_rate": 0.095},
    "B17": {"target_return": 0.07},
}


@pytest.mark.parametrize("place", CHANGES)
def test_a_changed_cell_changes_the_workbook_as_it_would_the_library(place: str) -> None:
    name = "large limits, a loan that ends soon"
    made, case = written(name), CASES[name]
    ((what, value),) = CHANGES[place].items()
    sheet = Sheet(made.book, "Now or as is")
    sheet.cells[place].value = value / 100 if what.endswith("_percent") else value
    settings, given, rent = case.settings, case.given, made.rent_usd
    result = made.result
    if what in Settings.model_fields:
        settings = settings.model_copy(update={what: value})
    elif what in MoneyInput.model_fields:
        given = given.model_copy(update={what: value})
    elif what == "rent":
        rent = value
    else:
        listing = result.listing.model_copy(update={"list_price_usd": value})
        result = result.model_copy(update={"listing": listing})
    changed = deal_of(result, rent, settings, given).compare
    for letter, way in (("B", changed.as_is), ("C", changed.now)):
        worth = sheet[f"{letter}{sheet.row('Worth today, at your target return')}"]
        assert worth == pytest.approx(way.npv_usd, rel=1e-9)
        first = sheet.row("End of year 0")
        flows = sheet.several(letter, first, first + len(way.flows_usd) - 1)
        assert flows == pytest.approx(way.flows_usd)
    assert changed.as_is.npv_usd != pytest.approx(made.deal.compare.as_is.npv_usd)
