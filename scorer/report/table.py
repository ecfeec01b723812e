"""Screened homes as lines of text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from scorer.listing.values import one_line
from scorer.records import Quantiles, Range
from scorer.scope.plan import Task
from scorer.screening.packed import PackedHomes
from scorer.shortlist.result import HomeResult

MOST_WORK = 8
LONGEST_PAYBACK_MONTHS = 360
"""Beyond 30 years a payback is none [months]."""
NOT_AN_APPRAISAL = "Estimates from photos and facts, not appraisals: see each home before you buy."
_LOW_AND_HIGH = "Of ten outcomes, one lies below the low figure and one above the high one."


def ranked_table(results: Sequence[HomeResult], width: int = 100) -> str:
    """Rank, home, score, cost, rent rise and payback of each home, with its three reasons."""
    longest = max([len(name) for name in _names(results)] + [4])
    room = max(4, min(longest, width - 66))
    head = (
        f"{'Rank':>4}  {'Home':<{room}}  {'Score':>5}  {'Cost, low to high':>17}  "
        f"{'Rent rise a month':>18}  {'Payback':>10}"
    )
    lines = [head, "-" * len(head)]
    for result in results:
        outcome = result.outcome
        lines.append(
            f"{result.rank or '–':>4}  {_cut(result.home, room):<{room}}  {result.score:>5.0f}  "
            f"{_span(outcome.cost_usd):>17}  {_lift(outcome.rent_lift_month_usd):>18}  "
            f"{payback_words(outcome.payback_months):>10}"
        )
        for reason in result.reasons:
            lines += textwrap.wrap(
                reason, width - 8, initial_indent="      - ", subsequent_indent="        "
            )
    lines += ["", NOT_AN_APPRAISAL, _LOW_AND_HIGH]
    return "\n".join(lines)


def _names(results: Sequence[HomeResult]) -> Sequence[str]:
    """Of all homes; packed ones needn't be unpacked for that."""
    return results.names if isinstance(results, PackedHomes) else [r.home for r in results]


def side_by_side(results: Sequence[HomeResult], width: int = 100) -> str:
    """Homes in columns, what is compared in rows."""
    column = max(14, (width - 22) // max(1, len(results)) - 2)
    rows: list[tuple[str, list[str]]] = [
        ("Home", [one_line(result.home) for result in results]),
        ("Rank", [str(result.rank or "–") for result in results]),
        ("Asking price", [_dollars(result.listing.list_price_usd) for result in results]),
        ("Present rent", [_dollars(result.listing.monthly_rent_usd) for result in results]),
        ("Checklist score", [f"{result.score:.0f}" for result in results]),
        ("Cost, low to high", [_span(result.outcome.cost_usd) for result in results]),
        ("Rent rise a month", [_lift(result.outcome.rent_lift_month_usd) for result in results]),
        ("Payback", [payback_words(result.outcome.payback_months) for result in results]),
        ("Return on cost", [_share(result.outcome.return_on_cost) for result in results]),
        ("Net gain, low–high", [_span(result.outcome.net_gain_usd) for result in results]),
        ("Most to pay", [_most_to_pay(result) for result in results]),
        ("Hours", [_range(result.scope.hours) for result in results]),
        ("Weeks", [_range(result.scope.weeks, 1) for result in results]),
        ("Work", [_work(result) for result in results]),
        ("Look first", ["; ".join(h.label for h in result.scope.holds) for result in results]),
        ("Not seen", [", ".join(r.name for r in result.rooms_not_seen) for result in results]),
        ("Why", [" ".join(result.reasons) for result in results]),
    ]
    lines = []
    for name, cells in rows:
        wrapped = [textwrap.wrap(cell or "–", column) or ["–"] for cell in cells]
        for number in range(max(len(cell) for cell in wrapped)):
            parts = [cell[number] if number < len(cell) else "" for cell in wrapped]
            label = name if number == 0 else ""
            line = f"{label:<20}  " + "  ".join(f"{part:<{column}}" for part in parts)
            lines.append(line.rstrip())
    lines += ["", NOT_AN_APPRAISAL, _LOW_AND_HIGH]
    return "\n".join(lines)


def days_of(task: Task) -> tuple[int, int]:
    """First and last day of a task, counted from 1."""
    first = round(task.start_day) + 1
    return first, max(round(task.end_day), first)


def payback_words(figure: Quantiles | None) -> str:
    """Payback in words; beyond 30 years is never."""
    if figure is None or figure.p50 > LONGEST_PAYBACK_MONTHS:
        return "never"
    return f"{figure.p50:.0f} months"


def _cut(text: str, width: int) -> str:
    text = one_line(text)
    return text if len(text) <= width else text[: width - 1] + "…"


def money_words(value: float) -> str:
    return f"−${-value:,.0f}" if round(value) < 0 else f"${value:,.0f}"


def _dollars(value: float | None) -> str:
    return "not known" if value is None else money_words(value)


def _span(figure: Quantiles) -> str:
    return f"{money_words(figure.p10)}–{money_words(figure.p90)}"


def _lift(figure: Quantiles) -> str:
    return f"{money_words(figure.p50)} ({money_words(figure.p10)}–{money_words(figure.p90)})"


def _work(result: HomeResult) -> str:
    options = result.scope.options
    more = f"; and {len(options) - MOST_WORK} more" if len(options) > MOST_WORK else ""
    return "; ".join(f"{option.room}: {option.label}" for option in options[:MOST_WORK]) + more


def _most_to_pay(result: HomeResult) -> str:
    words = _dollars(result.outcome.most_to_pay_usd)
    guessed = result.outcome.most_to_pay_usd and result.listing.monthly_rent_usd is None
    return f"{words} (rent guessed)" if guessed else words


def _share(figure: Quantiles | None) -> str:
    return "–" if figure is None else f"{figure.p50:.0%} a year"


def _range(figure: Range, digits: int = 0) -> str:
    return f"{figure.typical:.{digits}f} ({figure.low:.{digits}f}–{figure.high:.{digits}f})"
