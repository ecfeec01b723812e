"""Which of the ranked homes to show, and in which order."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from scorer.records import Record
from scorer.shortlist.result import HomeResult


class Filters(Record):
    """Limits that a home must keep to be shown; None is no limit.

    A home whose price or number of bedrooms is not known passes: unknown is no reason to lose it.
    ``least_payback_chance`` is in percent [0–100].
    """

    most_price_usd: float | None = None
    least_bedrooms: int | None = None
    most_cost_usd: float | None = None
    least_payback_chance: float | None = None
    show_aside: bool = False


def _most_to_pay_over_price(result: HomeResult) -> float:
    pay, price = result.outcome.most_to_pay_usd, result.listing.list_price_usd
    return -(pay - price) if pay is not None and price is not None else float("inf")


SORTS: dict[str, Callable[[HomeResult], float]] = {
    "What the money may earn": lambda r: float(r.rank or 0),
    "Checklist score, highest first": lambda r: -r.score,
    "Cost, lowest first": lambda r: r.outcome.cost_usd.p50,
    "Rent rise, highest first": lambda r: -r.outcome.rent_lift_month_usd.p50,
    "Chance of payback, highest first": lambda r: -r.outcome.payback_within_limit,
    "Asking price, lowest first": lambda r: r.listing.list_price_usd or float("inf"),
    "Most to pay over asking price, highest first": _most_to_pay_over_price,
}
"""Ways to sort, by the words for them; smaller keys first."""


def choose_homes(
    results: Iterable[HomeResult], filters: Filters, sort: str
) -> tuple[HomeResult, ...]:
    """The homes that pass, sorted; ties keep the ranking."""
    passing = [r for r in results if _passes(r, filters)]
    return tuple(sorted(passing, key=lambda r: (SORTS[sort](r), r.rank or 0)))


def _passes(result: HomeResult, filters: Filters) -> bool:
    facts, outcome = result.listing, result.outcome
    price, bedrooms = facts.list_price_usd, facts.bedrooms
    if filters.most_price_usd is not None and price is not None and price > filters.most_price_usd:
        return False
    least = filters.least_bedrooms
    if least is not None and bedrooms is not None and bedrooms < least:
        return False
    if filters.most_cost_usd is not None and outcome.cost_usd.p50 > filters.most_cost_usd:
        return False
    chance = filters.least_payback_chance
    return chance is None or 100.0 * outcome.payback_within_limit >= chance
