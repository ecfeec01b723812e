"""Screened homes as CSV that a spreadsheet can open without running anything."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from scorer.conditions.data_file import guarded_text
from scorer.records import Quantiles
from scorer.shortlist.result import HomeResult

COLUMNS = (
    "rank", "home", "address", "list_price_usd", "score", "cost_p10_usd", "cost_p50_usd",
    "cost_p90_usd", "rent_lift_p10_usd_month", "rent_lift_p50_usd_month", "rent_lift_p90_usd_month",
    "payback_p50_months", "return_on_cost_p50", "net_gain_p50_usd", "most_to_pay_usd", "hours",
    "weeks", "reason_1", "reason_2", "reason_3", "upgrades", "holds", "unseen", "missing_facts",
    "errors",
)  # fmt: skip


def safe_cell(value: object) -> str:
    """A cell as text that no spreadsheet takes for a formula; see :func:`guarded_text`.

    Numbers stay numbers, also negative ones.
    """
    if value is None:
        return ""
    if isinstance(value, int | float):
        return str(value)
    return guarded_text(str(value).replace("\0", ""))


def to_csv(results: Iterable[HomeResult]) -> str:
    """One row a home, with the byte order mark that spreadsheets look for."""
    return "".join(csv_parts(results))


def csv_parts(results: Iterable[HomeResult]) -> Iterator[str]:
    """As :func:`to_csv` row by row, so that thousands of homes need no memory."""
    yield "\ufeff" + _line(COLUMNS)
    for result in results:
        yield _line([safe_cell(cell) for cell in _row(result)])


def _line(cells: Iterable[str]) -> str:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue()


def _row(result: HomeResult) -> list[object]:
    outcome, scope = result.outcome, result.scope
    reasons = [*result.reasons, "", "", ""][:3]
    return [
        result.rank,
        result.home,
        result.listing.address,
        result.listing.list_price_usd,
        round(result.score, 1),
        *_three(outcome.cost_usd),
        *_three(outcome.rent_lift_month_usd),
        _middle(outcome.payback_months, 1),
        _middle(outcome.return_on_cost, 3),
        _middle(outcome.net_gain_usd, 0),
        None if outcome.most_to_pay_usd is None else round(outcome.most_to_pay_usd),
        round(scope.hours.typical, 1),
        round(scope.weeks.typical, 1),
        *reasons,
        "; ".join(f"{option.room}: {option.label}" for option in scope.options),
        "; ".join(f"{hold.room}: {hold.label}" for hold in scope.holds),
        "; ".join(item.sentence for item in result.unseen),
        "; ".join(result.missing_facts),
        "; ".join(result.errors),
    ]


def _three(figure: Quantiles) -> list[object]:
    return [round(figure.p10), round(figure.p50), round(figure.p90)]


def _middle(figure: Quantiles | None, digits: int) -> object:
    return None if figure is None else round(figure.p50, digits)
