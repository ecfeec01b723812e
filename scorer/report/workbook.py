"""One home as an Excel workbook whose sums are live formulas."""

from __future__ import annotations

import io
from typing import Any

import xlsxwriter

from scorer.conditions.checklist import load_conditions
from scorer.money.home_money import HomeMoney
from scorer.records import Quantiles, Range
from scorer.report.deal import deal_sheets
from scorer.report.spreadsheet import safe_cell
from scorer.report.table import NEVER, NOT_AN_APPRAISAL, NOTHING, payback_of
from scorer.shortlist.result import HomeResult
from scorer.upgrades.price_rows import trade_name

Row = tuple[object, ...]


def home_workbook(result: HomeResult, deal: HomeMoney | None = None) -> bytes:
    """Write the workbook: summary, findings, scope, take-off, shopping list, calendar, unknowns.

    The sums of the scope and of the take-off are formulas over their rows, so that a changed row
    changes the total. With ``deal`` come two sheets of formulas: work now against letting as it is,
    with the loan, and depreciation. Text that a user typed can't become a formula.
    """
    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        book.set_properties({"title": result.listing.address or result.home})
        style = {
            "head": book.add_format({"bold": True, "bg_color": "#E8EFE9", "bottom": 1}),
            "money": book.add_format({"num_format": "$#,##0;-$#,##0"}),
            "number": book.add_format({"num_format": "#,##0.00"}),
            "whole": book.add_format({"num_format": "0"}),
            "percent": book.add_format({"num_format": "0.0%"}),
            "share": book.add_format({"num_format": "0.000%"}),
            "text": book.add_format({"text_wrap": True, "valign": "top"}),
        }
        _summary(book, style, result)
        _scope(book, style, result)
        _take_off(book, style, result)
        if deal is not None:
            deal_sheets(book, style, deal)
        conditions = load_conditions()
        _sheet(
            book,
            style,
            "Findings",
            ("Room", "Condition", "Severity", "Certainty", "Rejected", "Evidence"),
            [
                (
                    f.room,
                    conditions[f.condition].label if f.condition in conditions else f.condition,
                    f.severity,
                    f.certainty,
                    "yes" if f.rejected else "",
                    "; ".join(f"{e.photo or ''} {e.figure}".strip() for e in f.evidence),
                )
                for f in result.findings
            ],
        )
        _sheet(
            book,
            style,
            "Shopping list",
            (
                "Material",
                "Needed",
                "Unit",
                "Buy",
                "Pack",
                "Left over",
                "Low $",
                "Typical $",
                "High $",
            ),
            [
                (p.label, p.quantity, p.unit, p.buy, p.pack, p.left_over, *_three(p.cost_usd))
                for p in result.scope.purchases
            ],
        )
        _sheet(
            book,
            style,
            "Calendar",
            ("Start day", "End day", "Room", "Work", "Hours"),
            [(t.start_day, t.end_day, t.room, t.label, t.hours) for t in result.scope.calendar],
        )
        _sheet(
            book,
            style,
            "Not known",
            ("What", "Sentence"),
            [
                *(("unseen", u.sentence) for u in result.unseen),
                *(("fact", s) for s in result.missing_facts),
                *(("error", s) for s in result.errors),
            ],
        )
    return buffer.getvalue()


def _three(figure: Range) -> tuple[float, float, float]:
    return figure.low, figure.typical, figure.high


def _write(sheet: Any, row: int, column: int, value: object, form: Any = None) -> None:
    if isinstance(value, bool | int | float):
        sheet.write_number(row, column, value, form)
    else:
        sheet.write_string(row, column, safe_cell(value), form)


def _sheet(book: Any, style: Any, name: str, head: Row, rows: list[Row]) -> Any:
    sheet = book.add_worksheet(name)
    for column, title in enumerate(head):
        sheet.write_string(0, column, str(title), style["head"])
        money = str(title).endswith("$")
        widest = max([len(str(title)), *(len(str(r[column])) for r in rows)], default=10)
        sheet.set_column(column, column, min(max(widest, 8), 60), style["money"] if money else None)
    for at, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            money = str(head[column]).endswith("$")
            form = style["money"] if money else style["text"] if isinstance(value, str) else None
            _write(sheet, at, column, value, form)
    sheet.freeze_panes(1, 0)
    return sheet


def _scope(book: Any, style: Any, result: HomeResult) -> None:
    head = (
        "Room",
        "Work, in order",
        "Low $",
        "Typical $",
        "High $",
        "Hours, low",
        "Hours, typical",
        "Hours, high",
        "Rent a month, low $",
        "Rent a month, typical $",
        "Rent a month, high $",
    )
    rows: list[Row] = [
        (
            o.room,
            o.label,
            *_three(o.cost_usd),
            *_three(o.hours),
            *_three(o.rent_month_usd),
        )
        for o in result.scope.options
    ]
    sheet = _sheet(book, style, "Scope", head, rows)
    last = len(rows)
    if not rows:
        return
    _write(sheet, last + 1, 1, "Sum of the rows", style["head"])
    scope = result.scope
    sums = (*_three(scope.cost_usd), *_three(scope.hours))
    for column, value in enumerate(sums, start=2):
        letter = chr(ord("A") + column)
        formula = f"=SUM({letter}2:{letter}{last + 1})"
        sheet.write_formula(
            last + 1, column, formula, style["money" if column < 5 else "number"], value
        )
    _write(sheet, last + 2, 1, "Rent rise of all together: less than the sum, rooms overlap")
    for column, value in enumerate(_three(scope.rent_month_usd), start=8):
        _write(sheet, last + 2, column, value, style["money"])


def _take_off(book: Any, style: Any, result: HomeResult) -> None:
    head = (
        "Room",
        "Work",
        "Item",
        "Kind",
        "Quantity",
        "Unit",
        "Hours",
        "Trade",
        "Low $",
        "Typical $",
        "High $",
    )
    rows: list[Row] = [
        (
            o.room,
            o.label,
            line.label,
            line.kind,
            line.quantity.typical,
            line.unit,
            line.hours.typical,
            trade_name(line.trade),
            *_three(line.cost_usd),
        )
        for o in result.scope.options
        for line in o.lines
    ]
    sheet = _sheet(book, style, "Take-off", head, rows)
    if rows:
        _write(sheet, len(rows) + 1, 2, "Sum of the lines", style["head"])
        for column, letter in ((8, "I"), (9, "J"), (10, "K")):
            value = sum(float(str(row[column])) for row in rows)
            sheet.write_formula(
                len(rows) + 1,
                column,
                f"=SUM({letter}2:{letter}{len(rows) + 1})",
                style["money"],
                value,
            )


def _summary(book: Any, style: Any, result: HomeResult) -> None:
    outcome = result.outcome
    payback = payback_of(result)
    told = payback in {NEVER, NOTHING}  # no figures where the printed report has none
    figures: tuple[tuple[str, str, Quantiles | None], ...] = (
        ("Cost, $", "money", outcome.cost_usd),
        ("Rent rise a month, $", "money", outcome.rent_lift_month_usd),
        ("Payback, months", "whole", None if told else outcome.payback_months),
        ("Return on cost a year", "percent", outcome.return_on_cost),
        ("Value created, $", "money", outcome.value_created_usd),
        ("Net gain over the time you keep it, $", "money", outcome.net_gain_usd),
    )
    without = {"Payback, months": payback}
    most = outcome.most_to_pay_usd
    note = "rent guessed" if most and result.listing.monthly_rent_usd is None else ""
    rows: list[tuple[str, Row]] = [
        ("text", ("Home", result.home, "", "")),
        ("text", ("Address", result.listing.address, "", "")),
        ("whole", ("Checklist score, 0 to 100", "", round(result.score, 1), "")),
        *(
            (form, (name, f.p10, f.p50, f.p90) if f else (name, "", without.get(name, NOTHING), ""))
            for name, form, f in figures
        ),
        ("money", ("Rent lost during the work, $", "", outcome.lost_rent_usd, "")),
        ("percent", ("Chance that it pays back in time", "", outcome.payback_within_limit, "")),
        (
            "money",
            (
                "Most to pay for the target return, $",
                "",
                "not known" if most is None else most,
                note,
            ),
        ),
        *(
            ("text", (f"Reason {at}", reason, "", ""))
            for at, reason in enumerate(result.reasons, start=1)
        ),
        ("text", ("Note", NOT_AN_APPRAISAL, "", "")),
    ]
    head = ("Figure", "1 in 10 below", "Middle", "1 in 10 above")
    sheet = _sheet(book, style, "Summary", head, [row for _, row in rows])
    for at, (form, row) in enumerate(rows, start=1):
        for column, value in enumerate(row):
            if isinstance(value, int | float):
                _write(sheet, at, column, value, style[form])
