"""Order homes by what the money may earn."""

from __future__ import annotations

from collections.abc import Iterable

from scorer.settings import Aim
from scorer.shortlist.result import HomeResult

RankKey = tuple[bool, float, float, str]


def rank_homes(results: Iterable[HomeResult], aim: Aim = "net_gain") -> tuple[HomeResult, ...]:
    """Rank homes by the middle (P50) of the user's aim; ties go to the higher checklist score.

    Parameters
    ----------
    results
        Screened homes, in any order.
    aim
        ``net_gain`` (over the holding time), ``rent_lift`` (a month) or ``return`` (yearly lift
        over cost; a home where nothing is worth doing earns none).

    Returns
    -------
    tuple of HomeResult
        Best first, with ``rank`` set from 1. Homes without a single photo that could be read come
        last: nothing was seen there.
    """

    ordered = sorted(results, key=lambda result: rank_key(result, aim))
    return tuple(r.model_copy(update={"rank": place}) for place, r in enumerate(ordered, start=1))


def rank_key(result: HomeResult, aim: Aim) -> RankKey:
    """What :func:`rank_homes` sorts by; the smallest is the best."""
    outcome = result.outcome
    if aim == "rent_lift":
        value = outcome.rent_lift_month_usd.p50
    elif aim == "return":
        value = outcome.return_on_cost.p50 if outcome.return_on_cost else 0.0
    else:
        value = outcome.net_gain_usd.p50
    told = any(e.source != "facts" for f in result.findings for e in f.evidence)
    seen = told or any(r.error is None for r in result.readings)
    return (not seen, -value, -result.score, result.home)
