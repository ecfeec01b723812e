"""Screened homes as lines of text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from scorer.listing.values import one_line
from scorer.records import Quantiles, Range
from scorer.scope.plan import Task
from scorer.settings import Settings
from scorer.shortlist.reasons import look_first
from scorer.shortlist.result import HomeResult

INDENT = 6
"""Columns before a home's name and in front of what belongs to it."""
LABEL_WIDTH, LEAST_COLUMN = 20, 18
"""Columns for what is compared, and the least for each home beside it."""
MOST_WORK = 8
LONGEST_PAYBACK_MONTHS = 360
"""Beyond 30 years a payback is none [months]."""
NEVER, NOTHING = "never", "–"
"""Payback that does not come, and payback where nothing is spent."""
NOT_AN_APPRAISAL = "Estimates from photos and facts, not appraisals: see each home before you buy."
_LOW_AND_HIGH = "Of ten outcomes, one lies below the low figure and one above the high one."


def ranked_table(
    results: Iterable[HomeResult],
    width: int = 100,
    settings: Settings | None = None,
    comps: int = 0,
) -> str:
    """Rank, net gain, cost, rent rise and payback of each home, with its three reasons.

    Nothing is cut: columns that have no room beside the others go to a second line, and a long name
    goes over several.

    Parameters
    ----------
    settings, comps
        What the homes were weighed by (usual settings if None), and how many comparable rents;
        said at the end.
    """
    settings = settings or Settings()
    rows = [["Rank", "Home", *_heads(settings)]]
    notes: list[list[str]] = [[]]
    guessed = False
    for result in results:
        rows.append([f"{result.rank or '–':>4}", one_line(result.home), *_cells(result, settings)])
        notes.append([*result.reasons, *_first_and_unseen(result), *_not_given(result)])
        guessed |= result.listing.monthly_rent_usd is None
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    widths[1] = min(widths[1], width - INDENT)
    lines: list[str] = []
    for row, said in zip(rows, notes, strict=True):
        lines += _in_columns(row, widths, width)
        if row is rows[0]:
            lines.append("-" * max(map(len, lines)))
        for note in said:
            lines += textwrap.wrap(
                note, width - 8, initial_indent="      - ", subsequent_indent="        "
            )
    return "\n".join([*lines, "", *_footer(settings, comps, guessed, width)])


def _heads(settings: Settings) -> list[str]:
    """Columns after rank and name."""
    earns = "Return on cost" if settings.aim == "return" else "Net gain"
    return [earns, "Cost", "Rent rise a month", "Payback", "Score"]


def _cells(result: HomeResult, settings: Settings) -> list[str]:
    outcome = result.outcome
    earns = _with_span(outcome.net_gain_usd)
    if settings.aim == "return":
        earns = _share(outcome.return_on_cost)
    return [
        earns,
        _with_span(outcome.cost_usd),
        _with_span(outcome.rent_lift_month_usd),
        payback_of(result),
        f"{result.score:.0f}",
    ]


def _in_columns(row: Sequence[str], widths: Sequence[int], width: int) -> list[str]:
    """Cells in columns, over as many lines as the width asks for."""
    name, *more = textwrap.wrap(row[1], widths[1]) or [""]
    lines, filled = [], f"{row[0]:<{INDENT}}{name}"
    for part in more:
        lines.append(filled)
        filled = " " * INDENT + part
    used = INDENT + widths[1]
    for cell, wide in zip(row[2:], widths[2:], strict=True):
        if used + 2 + wide <= width:
            filled = f"{filled:<{used}}  {cell}"
            used += 2 + wide
        else:
            lines.append(filled)
            filled, used = " " * INDENT + cell, INDENT + wide
    return [line.rstrip() for line in (*lines, filled)]


def _first_and_unseen(result: HomeResult) -> list[str]:
    """What stops the work and which rooms no photo shows, where no reason has said it."""
    holds = [words for words in look_first(result.scope.holds) if not _said(words, result)]
    rooms = [room.name for room in result.rooms_not_seen]
    told = [f"Look first: {'; '.join(holds)}."] if holds else []
    return told + ([f"Not seen: {', '.join(rooms)}."] if rooms else [])


def _said(words: str, result: HomeResult) -> bool:
    return any(words in reason for reason in result.reasons)


def _not_given(result: HomeResult) -> list[str]:
    """Facts that the listing lacks in one sentence, and sentences about others that look wrong."""
    names: list[str] = []
    others: list[str] = []
    for sentence in result.missing_facts:
        name, missing, _ = sentence.partition(" is missing: ")
        (names if missing else others).append(name.removeprefix("The "))
    guess = " The rent is guessed." if result.listing.monthly_rent_usd is None else ""
    return [*([f"Not given: {', '.join(names)}.{guess}"] if names else []), *others]


def _footer(settings: Settings, comps: int, guessed: bool, width: int) -> list[str]:
    sentences = [ranked_by(settings), limits_words(settings)]
    if guessed:
        own = f" and your {_count(comps, 'comparable rent')}" if comps else ""
        more = "" if comps else "; comparable rents of yours (--comps) narrow it"
        sentences.append(f"A guessed rent rests on what is known of the home{own}{more}.")
    sentences += [NOT_AN_APPRAISAL, _LOW_AND_HIGH]
    return [line for sentence in sentences for line in textwrap.wrap(sentence, width)]


def ranked_by(settings: Settings) -> str:
    """What homes are ranked by, in a sentence."""
    return f"Ranked by the middle figure of {aim_words(settings)}."


def aim_words(settings: Settings) -> str:
    """What the work is chosen for, inside a sentence."""
    return {
        "net_gain": f"net gain over {_count(settings.holding_years, 'year')}",
        "rent_lift": "rent rise a month",
        "return": "yearly return on cost",
    }[settings.aim]


def limits_words(settings: Settings) -> str:
    """The user's limits, in a sentence."""
    helpers = settings.helpers
    team = f"each from you and {_count(helpers, 'helper')}" if helpers else "from you"
    return (
        f"Limits: {money_words(settings.budget_usd)} a home, {_count(settings.weeks, 'week')} "
        f"without a tenant, {_count(settings.hours_per_week, 'hour')} a week {team}; an hour of "
        f"yours counts ${settings.own_hour_usd:,g}."
    )


def _count(number: float, unit: str) -> str:
    return f"{number:,g} {unit}" + ("" if number == 1 else "s")


def side_by_side(
    results: Sequence[HomeResult],
    width: int = 100,
    settings: Settings | None = None,
    comps: int = 0,
) -> str:
    """Homes in columns, what is compared in rows; the rest as for :func:`ranked_table`.

    More homes than have room beside each other come below, in further blocks.
    """
    room = max(1, (width - LABEL_WIDTH) // (LEAST_COLUMN + 2))
    lines: list[str] = []
    for first in range(0, len(results), room):
        block = results[first : first + room]
        lines += [*_block(block, (width - LABEL_WIDTH) // len(block) - 2), ""]
    guessed = any(result.listing.monthly_rent_usd is None for result in results)
    lines += _footer(settings or Settings(), comps, guessed, width)
    return "\n".join(lines)


def _block(results: Sequence[HomeResult], column: int) -> list[str]:
    rows: list[tuple[str, list[str]]] = [
        ("Home", [one_line(result.home) for result in results]),
        ("Rank", [str(result.rank or "–") for result in results]),
        ("Asking price", [_dollars(result.listing.list_price_usd) for result in results]),
        ("Present rent", [_present_rent(result) for result in results]),
        ("Checklist score", [f"{result.score:.0f}" for result in results]),
        ("Cost", [_with_span(result.outcome.cost_usd) for result in results]),
        (
            "Rent rise a month",
            [_with_span(result.outcome.rent_lift_month_usd) for result in results],
        ),
        ("Payback", [payback_of(result) for result in results]),
        ("Return on cost", [_share(result.outcome.return_on_cost) for result in results]),
        ("Net gain", [_with_span(result.outcome.net_gain_usd) for result in results]),
        ("Most to pay", [most_to_pay_words(result) for result in results]),
        ("Hours", [_range(result.scope.hours) for result in results]),
        ("Weeks", [_range(result.scope.weeks, 1) for result in results]),
        ("Work", [_work(result) for result in results]),
        ("Look first", ["; ".join(look_first(result.scope.holds)) for result in results]),
        ("Not seen", [", ".join(r.name for r in result.rooms_not_seen) for result in results]),
        ("Why", [" ".join(result.reasons) for result in results]),
        ("Facts", [" ".join(_not_given(result)) for result in results]),
    ]
    lines = []
    for name, cells in rows:
        wrapped = [textwrap.wrap(cell or "–", column) or ["–"] for cell in cells]
        for number in range(max(len(cell) for cell in wrapped)):
            parts = [cell[number] if number < len(cell) else "" for cell in wrapped]
            label = name if number == 0 else ""
            line = f"{label:<{LABEL_WIDTH}}" + "  ".join(f"{part:<{column}}" for part in parts)
            lines.append(line.rstrip())
    return lines


def days_of(task: Task) -> tuple[int, int]:
    """First and last day of a task, counted from 1."""
    first = round(task.start_day) + 1
    return first, max(round(task.end_day), first)


def payback_words(figure: Quantiles | None) -> str:
    """Payback in words; beyond 30 years is never."""
    if figure is None or figure.p50 > LONGEST_PAYBACK_MONTHS:
        return NEVER
    return f"{figure.p50:.0f} months"


def payback_of(result: HomeResult) -> str:
    """A home's payback in words; a dash where no work is chosen, so that nothing is to pay back."""
    return payback_words(result.outcome.payback_months) if result.scope.options else NOTHING


def most_to_pay_words(result: HomeResult) -> str:
    """The most to pay, and whether it rests on a guessed rent."""
    words = _dollars(result.outcome.most_to_pay_usd)
    guessed = result.outcome.most_to_pay_usd and result.listing.monthly_rent_usd is None
    return f"{words} (rent guessed)" if guessed else words


def hours_words(hours: Range) -> str:
    """Hours from low to high; less than one is told in tenths, and a few minutes never as none."""
    low, high = _hours(hours.low), _hours(hours.high)
    return low if low == high else f"{low} to {high}"


def _hours(value: float) -> str:
    if 0 < value < 0.95:
        return "under 0.1" if value < 0.05 else f"{value:.1f}"
    return f"{value:,.0f}"


def money_words(value: float) -> str:
    return f"−${-value:,.0f}" if round(value) < 0 else f"${value:,.0f}"


def _dollars(value: float | None) -> str:
    return "not known" if value is None else money_words(value)


def _present_rent(result: HomeResult) -> str:
    rent = result.listing.monthly_rent_usd
    return "not given, guessed" if rent is None else money_words(rent)


def _span(figure: Quantiles) -> str:
    low, high = money_words(figure.p10), money_words(figure.p90)
    return low if low == high else f"{low} to {high}"


def _with_span(figure: Quantiles) -> str:
    span, middle = _span(figure), money_words(figure.p50)
    return middle if span == middle else f"{middle} ({span})"


def _work(result: HomeResult) -> str:
    options = result.scope.options
    more = f"; and {len(options) - MOST_WORK} more" if len(options) > MOST_WORK else ""
    return "; ".join(f"{option.room}: {option.label}" for option in options[:MOST_WORK]) + more


def _share(figure: Quantiles | None) -> str:
    return "–" if figure is None else f"{figure.p50:.0%} a year"


def _range(figure: Range, digits: int = 0) -> str:
    return f"{figure.typical:.{digits}f} ({figure.low:.{digits}f} to {figure.high:.{digits}f})"
