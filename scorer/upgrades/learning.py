"""Let what the work really cost correct the next estimate.

A correction is a factor on the price book's figures, estimated as a shrunken mean of logarithms
[1]_: with few jobs it stays near 1, with many it follows the user's own experience.

References
----------
.. [1] B. Efron and C. Morris, "Stein's Estimation Rule and Its Competitors: An Empirical Bayes
   Approach", Journal of the American Statistical Association 68 (1973), 117–130: shrinkage of means
   toward a common value by ``n / (n + k)``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from math import exp, log
from typing import Annotated

from pydantic import Field

from scorer.records import Probability, Record
from scorer.upgrades.option import Line, Option, sums_of

PRIOR_JOBS = 3.0
"""Jobs that the price book's own word counts for: the ratio of the scatter of single jobs to the
scatter between users, both as variances of the logarithm (common practice, no source)."""

MOST_FACTOR = 4.0
"""One job is never believed to be off by more than this factor; beyond it is likely a slip."""

Amount = Annotated[float, Field(gt=0, le=1e7)]


class FinishedJob(Record):
    """One piece of work that is done, planned against actual.

    Attributes
    ----------
    upgrade, room
        Catalogue id, and the room it was done in (empty where it was not kept).
    trade
        Who did it (``own``, ``plumber`` …).
    planned_cash_usd, actual_cash_usd
        Money spent, own labour left out [$]; None where there was none or it was not kept.
    planned_hours, actual_hours
        Hours of work [h]; None where they were not kept.
    finished_on
        ISO 8601 date.
    """

    upgrade: str
    room: str = ""
    trade: str = "own"
    planned_cash_usd: Amount | None = None
    actual_cash_usd: Amount | None = None
    planned_hours: Amount | None = None
    actual_hours: Amount | None = None
    finished_on: str = ""


class Correction(Record):
    """A factor, how many jobs stand behind it, and their share in it.

    ``weight`` is :math:`n / (n + k)`; the price book has the rest [0–1].
    """

    factor: float
    jobs: int
    weight: Probability = 0.0


class Corrections(Record):
    """Factors on cash and hours, by trade and, on top of the trade's, by upgrade."""

    cash_by_trade: dict[str, Correction] = {}
    cash_by_upgrade: dict[str, Correction] = {}
    hours_by_trade: dict[str, Correction] = {}
    hours_by_upgrade: dict[str, Correction] = {}


def learn(jobs: Iterable[FinishedJob], prior_jobs: float = PRIOR_JOBS) -> Corrections:
    """Corrections from finished jobs.

    For a trade with jobs :math:`i = 1 … n` the factor is

    .. math:: \\exp\\left(\\frac{1}{n + k} \\sum_i \\ln\\frac{actual_i}{planned_i}\\right)

    with :math:`k` the prior's weight; an upgrade's factor is the same over what its trade's factor
    left unexplained (reference 1 of the module). Without jobs every factor is 1.
    """
    jobs = tuple(jobs)
    cash = [(job, _log_ratio(job.actual_cash_usd, job.planned_cash_usd)) for job in jobs]
    hours = [(job, _log_ratio(job.actual_hours, job.planned_hours)) for job in jobs]
    cash_trade, cash_upgrade = _two_levels(cash, prior_jobs)
    hours_trade, hours_upgrade = _two_levels(hours, prior_jobs)
    return Corrections(
        cash_by_trade=cash_trade,
        cash_by_upgrade=cash_upgrade,
        hours_by_trade=hours_trade,
        hours_by_upgrade=hours_upgrade,
    )


def correct(option: Option, corrections: Corrections) -> Option:
    """The same option with its lines corrected and its sums made anew.

    Hours follow the factors on hours; the cost of own labour follows its hours; materials, with the
    price of their packs, and hired labour follow the factors on cash.
    """
    if not option.lines:
        return option
    lines = tuple(_corrected(line, option.upgrade, corrections) for line in option.lines)
    return option.model_copy(update={"lines": lines, **sums_of(lines)._asdict()})


def _corrected(line: Line, upgrade: str, corrections: Corrections) -> Line:
    hours = _factor(corrections.hours_by_trade, corrections.hours_by_upgrade, line, upgrade)
    cash = _factor(corrections.cash_by_trade, corrections.cash_by_upgrade, line, upgrade)
    cost = hours if line.is_own_labour else cash
    return line.model_copy(
        update={
            "cost_usd": line.cost_usd.scaled(cost),
            "pack_usd": line.pack_usd.scaled(cost),
            "hours": line.hours.scaled(hours),
        }
    )


def _factor(
    by_trade: dict[str, Correction], by_upgrade: dict[str, Correction], line: Line, upgrade: str
) -> float:
    none = Correction(factor=1.0, jobs=0)
    return by_trade.get(line.trade, none).factor * by_upgrade.get(upgrade, none).factor


def _log_ratio(actual: float | None, planned: float | None) -> float | None:
    """Logarithm of actual over planned, within what is believed; None where one was not kept."""
    if actual is None or planned is None:
        return None
    most = log(MOST_FACTOR)
    return max(-most, min(most, log(actual / planned)))


def _two_levels(
    logs: Sequence[tuple[FinishedJob, float | None]], prior_jobs: float
) -> tuple[dict[str, Correction], dict[str, Correction]]:
    """Corrections by trade, and by upgrade of what those leave."""
    known = [(job, value) for job, value in logs if value is not None]
    trades = _shrunken([(job.trade, value) for job, value in known], prior_jobs)
    left = [(job.upgrade, value - log(trades[job.trade].factor)) for job, value in known]
    return trades, _shrunken(left, prior_jobs)


def _shrunken(logs: Sequence[tuple[str, float]], prior_jobs: float) -> dict[str, Correction]:
    groups: dict[str, list[float]] = defaultdict(list)
    for name, value in logs:
        groups[name].append(value)
    return {
        name: Correction(
            factor=exp(sum(values) / (len(values) + prior_jobs)),
            jobs=len(values),
            weight=len(values) / (len(values) + prior_jobs),
        )
        for name, values in groups.items()
    }
