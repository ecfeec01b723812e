"""Screened homes as the documented JSON array (README, "Machine-readable output")."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding
from scorer.records import Quantiles
from scorer.shortlist.result import HomeResult
from scorer.upgrades.option import Option


def home_object(result: HomeResult) -> dict[str, Any]:
    """One home's result; what is not known is None, and no number is infinite or not a number."""
    outcome = result.outcome
    values: dict[str, Any] = {
        "home": result.home,
        "rank": result.rank,
        "score": round(result.score, 1),
        "cost": _quantiles(outcome.cost_usd),
        "rent_lift_month": _quantiles(outcome.rent_lift_month_usd),
        "payback_months": _quantiles(outcome.payback_months),
        "return_on_cost": _quantiles(outcome.return_on_cost),
        "net_gain": _quantiles(outcome.net_gain_usd),
        "value_created": _quantiles(outcome.value_created_usd),
        "most_to_pay": outcome.most_to_pay_usd,
        "reasons": list(result.reasons),
        "findings": [_finding(finding) for finding in result.findings],
        "upgrades": [_upgrade(option) for option in result.scope.options],
        "unseen": [item.model_dump(mode="json") for item in result.unseen],
        "holds": [hold.model_dump(mode="json") for hold in result.scope.holds],
        "missing_facts": list(result.missing_facts),
        "errors": list(result.errors),
    }
    finite: dict[str, Any] = _finite(values)
    return finite


def to_json(results: Iterable[HomeResult]) -> str:
    """The array of all homes, one home a line."""
    return "".join(json_parts(results))


def json_parts(results: Iterable[HomeResult], folder_errors: Sequence[str] = ()) -> Iterator[str]:
    """As :func:`to_json` piece by piece, so that thousands of homes need no memory.

    Parameters
    ----------
    folder_errors
        Sentences that belong to none of these homes. Where there are any, the first home's object
        has them under ``folder_errors``: the array has no other place for them.
    """
    yield "["
    for number, result in enumerate(results):
        values = home_object(result)
        if folder_errors and not number:
            values["folder_errors"] = list(folder_errors)
        yield (",\n " if number else "") + json.dumps(values, allow_nan=False)
    yield "]"


def _quantiles(figure: Quantiles | None) -> dict[str, float] | None:
    if figure is None:
        return None
    return {name: round(value, 4) for name, value in figure.model_dump().items()}


def _finding(finding: Finding) -> dict[str, Any]:
    condition = load_conditions().get(finding.condition)
    label = condition.label if condition else finding.condition.replace("_", " ")
    return {**finding.model_dump(mode="json"), "label": label}


def _upgrade(option: Option) -> dict[str, Any]:
    kept = {
        "id", "room", "upgrade", "label", "rung", "family", "certainty", "reasons", "cost_usd",
        "cash_usd", "hours", "rent_month_usd", "held_by", "required", "cautions",
    }  # fmt: skip
    return option.model_dump(mode="json", include=kept)


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _finite(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(inner) for inner in value]
    return value
