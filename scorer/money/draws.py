"""Draw costs, rents and holds at random from their ranges, with shocks that hit all rows at once.

A range's low, typical and high are its 10th, 50th and 90th percentile. Between and beyond them a
figure is a two-piece (split) normal [1]_: the median in the middle, and a scale of its own on each
side, so that the three percentiles are met exactly. Where low is above zero the lower side is
log-normal, so that no draw is below zero; where low is zero, what would fall below is cut off.

Rows share shocks through a normal copula: of the variance of every row's normal score, a share
comes from one common score (one price level, one rent level), the rest is the row's own. Each row
keeps its percentiles; the sum is wider than with independent rows.

References
----------
.. [1] K. F. Wallis, "The two-piece normal, binormal, or double Gaussian distribution: its origin
   and rediscoveries", Statistical Science 29(1):106–112, 2014.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np
import numpy.typing as npt

from scorer.money.chances import load_unseen_kinds
from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.scope.labour import WEEKS_PER_MONTH
from scorer.scope.lift import SHARE_OF_FURTHER
from scorer.scope.plan import Hold, Scope
from scorer.scope.worth import lasting_share, months_of_lift
from scorer.settings import Settings
from scorer.upgrades.option import Option

Floats = npt.NDArray[np.float64]

DRAWS = 20_000
NORMAL_P90 = 1.2815515655446004
"""90th percentile of the standard normal distribution [1]."""
COMMON_PRICE_SHARE = 0.35
"""Share of the variance of every cost that is the price level of all work [0–1]. Our own
assumption, no published source."""
COMMON_RENT_SHARE = 0.5
"""Share of the variance of every rent effect that is the rent level of the place [0–1]. Our own
assumption, no published source."""


def split_quantile(ranges: Sequence[Range], score: Floats) -> Floats:
    """Figures at normal scores: 10th, 50th and 90th percentile are low, typical and high.

    Parameters
    ----------
    ranges
        One for each of the last axis of ``score``.
    score
        Standard normal scores, shape (draws, ranges).

    Returns
    -------
    numpy.ndarray
        As ``score``, in the unit of the ranges.
    """
    low, typical, high = (
        np.array([getattr(r, name) for r in ranges], dtype=np.float64)
        for name in ("low", "typical", "high")
    )
    logarithmic = low > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(logarithmic, np.log(typical) - np.log(low), 0.0) / NORMAL_P90
    below = np.minimum(score, 0.0)
    figures = np.maximum(score, 0.0)
    figures *= (high - typical) / NORMAL_P90
    if logarithmic.any():
        figures += np.where(logarithmic, typical, 0.0) * np.exp(below * ratio)
    if not logarithmic.all():
        figures += np.where(logarithmic, 0.0, typical + below * ((typical - low) / NORMAL_P90))
        np.maximum(figures, np.where(low < 0, -np.inf, 0.0), out=figures)
    return np.asarray(figures)


@dataclass(frozen=True)
class Draws:
    """What one scope may cost and earn, draw by draw; every array has one figure per draw.

    Attributes
    ----------
    cost_usd, lift_usd, rent_usd, weeks, lost_rent_usd, net_gain_usd
        As in :class:`scorer.money.outcome.Outcome`; rent is the present rent [$/month].
    price_level, rent_level
        Common normal scores [1]; homes drawn with the same seed share them draw by draw.
    option_cost, option_lift
        Per option, shape (draws, options): zero where its cause turned out not to be there.
    present
        Whether each option's cause is there, same shape.
    hold_cost, hold_present
        Allowance that fell due [$], and whether the hold is there, shape (draws, holds).
    unseen_cost
        What each room that nobody has seen turned out to hide [$], by its name.
    """

    scope: Scope
    cost_usd: Floats
    lift_usd: Floats
    rent_usd: Floats
    weeks: Floats
    lost_rent_usd: Floats
    net_gain_usd: Floats
    price_level: Floats
    rent_level: Floats
    option_cost: Floats
    option_lift: Floats
    present: npt.NDArray[np.bool_]
    hold_cost: Floats
    hold_present: npt.NDArray[np.bool_]
    unseen_cost: dict[str, Floats]


def draw_scope(
    scope: Scope,
    home: str,
    settings: Settings,
    monthly_rent: Range | None = None,
    draws: int = DRAWS,
    *,
    unseen: Mapping[str, RoomKind] | None = None,
) -> Draws:
    """Draw what a scope costs and earns.

    If the condition behind an option is not there, neither its cost nor its lift comes about;
    options of one room with the same causes share that chance. A hold's allowance falls due where
    the hold is there and, if it is harmless undisturbed, where work that disturbs it goes ahead.

    Parameters
    ----------
    home
        Name of the home: its own draws depend on it and on the seed, the common ones on the seed.
    monthly_rent
        Present rent [$/month], lost while the work lasts; None: not known, nothing is lost.
    unseen
        Rooms that nobody has seen, with their kind: each may hide trouble that must be paid for
        (``unseen_rooms.csv``), which widens the cost.
    """
    common = np.random.default_rng(np.random.SeedSequence(settings.seed))
    price, level = common.standard_normal((2, draws))
    own = np.random.default_rng(np.random.SeedSequence([settings.seed, crc32(home.encode())]))
    options = sorted(scope.options, key=lambda o: o.room)
    present = _causes(own, options, draws)
    cost = _rows(own, [o.cost_usd for o in options], price, COMMON_PRICE_SHARE)
    lift = _rows(own, [o.rent_month_usd for o in options], level, COMMON_RENT_SHARE)
    cost *= present
    lift *= present
    place = {option.id: i for i, option in enumerate(options)}
    hold_cost, hold_present = _holds(own, scope.holds, place, present, price)
    rent = np.zeros(draws)
    if monthly_rent is not None:
        rent = split_quantile([monthly_rent], level[:, np.newaxis])[:, 0]
    weeks = _weeks(own, scope.weeks, options, present)
    total_lift = _joint(lift, options)
    if scope.lift_ceiling_usd is not None:
        np.minimum(total_lift, max(0.0, scope.lift_ceiling_usd), out=total_lift)
    lost = rent * weeks / WEEKS_PER_MONTH
    times = np.array([lasting_share(o, settings.holding_years) for o in options])
    hidden = _hidden(own, unseen or {}, price)
    allowances = sum(hidden.values(), hold_cost.sum(axis=1))
    back = np.array([place[o.id] for o in scope.options], dtype=np.intp)
    return Draws(
        scope=scope,
        cost_usd=cost.sum(axis=1) + allowances,
        lift_usd=total_lift,
        rent_usd=rent,
        weeks=weeks,
        lost_rent_usd=lost,
        net_gain_usd=months_of_lift(settings) * total_lift - lost - cost @ times - allowances,
        price_level=price,
        rent_level=level,
        option_cost=cost[:, back],
        option_lift=lift[:, back],
        present=present[:, back],
        hold_cost=hold_cost,
        hold_present=hold_present,
        unseen_cost=hidden,
    )


def _rows(
    random: np.random.Generator, ranges: Sequence[Range], common: Floats, share: float
) -> Floats:
    """Figures of all rows, shape (draws, rows), with a common score in every row's own."""
    score = random.standard_normal((len(common), len(ranges)))
    score *= np.sqrt(1.0 - share)
    score += np.sqrt(share) * common[:, np.newaxis]
    return split_quantile(ranges, score) if ranges else score


def _holds(
    random: np.random.Generator,
    holds: Sequence[Hold],
    place: Mapping[str, int],
    work: npt.NDArray[np.bool_],
    price: Floats,
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Allowance that falls due [$], and whether the hold is there, shape (draws, holds).

    ``work`` says whether each option is done, by its place.
    """
    there = random.random((len(price), len(holds))) < [hold.probability for hold in holds]
    cost = _rows(random, [hold.allowance_usd for hold in holds], price, COMMON_PRICE_SHARE)
    for number, hold in enumerate(holds):
        if hold.only_if_disturbed:
            stopped = [place[option] for option in hold.stops if option in place]
            there[:, number] &= work[:, stopped].any(axis=1)
    cost *= there
    return cost, there


def _weeks(
    random: np.random.Generator,
    planned: Range,
    options: Sequence[Option],
    work: npt.NDArray[np.bool_],
) -> Floats:
    """Weeks that the work takes: less than planned by the hours of what turns out not to be due."""
    weeks = split_quantile([planned], random.standard_normal((len(work), 1)))[:, 0]
    hours = np.array([option.hours.typical for option in options])
    return weeks * (work @ hours) / hours.sum() if hours.sum() > 0 else weeks


def _hidden(
    random: np.random.Generator, unseen: Mapping[str, RoomKind], price: Floats
) -> dict[str, Floats]:
    """Trouble in rooms that nobody has seen [$], by room."""
    kinds = load_unseen_kinds()
    rows = [kinds[kind] for kind in unseen.values()]
    cost = _rows(random, [row.trouble_usd for row in rows], price, COMMON_PRICE_SHARE)
    cost *= random.random(cost.shape) < [row.chance_trouble for row in rows]
    return {room: cost[:, i] for i, room in enumerate(unseen)}


def cause_of(option: Option) -> tuple[str, tuple[str, ...]]:
    """What an option is for: options of one room with the same findings are due together or not."""
    return option.room, tuple(sorted(option.reasons))


def _causes(
    random: np.random.Generator, options: Sequence[Option], draws: int
) -> npt.NDArray[np.bool_]:
    """Whether each option's cause is there, shape (draws, options)."""
    present = np.ones((draws, len(options)), dtype=bool)
    chance: dict[tuple[str, tuple[str, ...]], Floats] = {}
    for i, option in enumerate(options):
        if option.certainty < 1.0:
            cause = cause_of(option)
            if cause not in chance:
                chance[cause] = random.random(draws)
            present[:, i] = chance[cause] < option.certainty
    return present


def _joint(lift: Floats, options: Sequence[Option]) -> Floats:
    """Lift of all options together, room by room (:func:`scorer.scope.lift.room_lift`)."""
    if not options:
        return np.zeros(len(lift))
    rooms = [option.room for option in options]  # sorted, so each room is one slice
    starts = [i for i, room in enumerate(rooms) if i == 0 or room != rooms[i - 1]]
    best = np.maximum(np.maximum.reduceat(lift, starts, axis=1), 0.0).sum(axis=1)
    total = lift.sum(axis=1)
    return np.asarray(SHARE_OF_FURTHER * total + (1.0 - SHARE_OF_FURTHER) * best)


def chance_better(a: Draws, b: Draws) -> float:
    """Chance that home A gains more than home B [0–1], ties counted half.

    Both must be drawn with the same seed and number of draws, so that the price level and the rent
    level are the same for both in every draw (common random numbers).
    """
    gain_a, gain_b = a.net_gain_usd, b.net_gain_usd
    return float(np.mean(gain_a > gain_b) + 0.5 * np.mean(gain_a == gain_b))
