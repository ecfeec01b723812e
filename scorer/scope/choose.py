"""Choose the options that make the user's aim largest within budget, hours and weeks.

The choice is the exact optimum of a mixed-integer linear program (:mod:`scorer.scope.program`).
Return, a ratio, is made largest by Dinkelbach's method [1]_: solve for lift less ``q`` times cost,
set ``q`` to the ratio found, and repeat until nothing is gained.

References
----------
.. [1] W. Dinkelbach, "On nonlinear fractional programming", Management Science 13(7):492–498, 1967.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence

import numpy as np

from scorer.records import Record
from scorer.scope.plan import Hold
from scorer.scope.program import Program, build_program
from scorer.scope.worth import (
    AS_IS,
    COST_WEIGHT,
    Present,
    SetWorth,
    months_let,
    months_of_lift,
    return_base,
    set_worth,
)
from scorer.settings import Settings
from scorer.upgrades.option import Option
from scorer.upgrades.upgrade import RUNG_ORDER

MOST_ROUNDS = 30
"""Dinkelbach's method converges faster than linearly; a handful of rounds is usual."""
MUST_WEIGHT = 1000.0
"""A must-have counts for more than all required work that it might push out."""


class Choice(Record):
    """The options chosen, and what stayed out though asked for.

    Attributes
    ----------
    options
        Ids, in the order given.
    value
        Under the aim: net gain [$], rent lift [$/month], or return [1/year]
        (:func:`scorer.scope.worth.return_base`).
    lift_usd, cost_usd
        Expected lift [$/month] and expected cost with allowances [$].
    cash_usd, own_hours
        Taken from the budget [$] and from the owner's and helpers' time [h].
    required_left_out
        Required options (ids) of which neither they nor a rung of their ladder that will do fit.
    must_left_out
        Must-haves (ids) that do not fit or are not on offer.
    """

    options: tuple[str, ...]
    value: float
    lift_usd: float
    cost_usd: float
    cash_usd: float
    own_hours: float
    required_left_out: tuple[str, ...] = ()
    must_left_out: tuple[str, ...] = ()


class MoreMoney(Record):
    """What a bigger budget would buy.

    Attributes
    ----------
    extra_usd
        Added to the budget [$].
    value_gain
        By how much the aim's value rises, in its own unit.
    lift_gain_usd
        By how much the lift rises [$/month].
    added, dropped
        Ids of options that come in and go out.
    """

    extra_usd: float
    value_gain: float
    lift_gain_usd: float
    added: tuple[str, ...]
    dropped: tuple[str, ...]


class FrontierPoint(Record):
    """The best choice at one budget [$]."""

    budget_usd: float
    choice: Choice


def choose(
    options: Sequence[Option],
    holds: Sequence[Hold],
    settings: Settings,
    *,
    must: Collection[str] = (),
    must_not: Collection[str] = (),
    present: Present = AS_IS,
) -> Choice:
    """The best set of options.

    Must-haves come first, then required work (of each ladder one required rung), then whatever
    makes the aim largest. What of the first two does not fit is named, and the rest goes on.

    Parameters
    ----------
    must, must_not
        Ids of options that the user wants in or out; out wins.
    present
        Present rent, ceiling of the lift, and price, as far as they are known.
    """
    program = build_program(
        options,
        holds,
        settings,
        barred=must_not,
        present=present,
    )
    musts = [i for i, o in enumerate(options) if o.id in must and o.id not in must_not]
    required = _required(options)

    def worth(ids: Collection[str]) -> SetWorth:
        chosen = [o for o in options if o.id in ids]
        return set_worth(chosen, holds, settings, present)

    in_ladders = [i for group in required for i in group]
    demands = [_count(musts, len(musts)), _count(in_ladders, len(required))]
    chosen = _best(program, settings, present, worth, demands)
    if chosen is None:
        demands = _most_demands(program, musts, in_ladders)
        chosen = _best(program, settings, present, worth, demands) or frozenset()
    figures = worth(chosen)
    return Choice(
        options=tuple(option.id for option in options if option.id in chosen),
        value=figures.value,
        lift_usd=figures.lift_usd,
        cost_usd=figures.cost_usd,
        cash_usd=figures.cash_usd,
        own_hours=figures.own_hours,
        required_left_out=tuple(
            options[i].id
            for group in required
            if not any(options[i].id in chosen for i in group)
            for i in group
            if options[i].required
        ),
        must_left_out=tuple(i for i in dict.fromkeys(must) if i not in chosen),
    )


def frontier(
    options: Sequence[Option],
    holds: Sequence[Hold],
    settings: Settings,
    budgets_usd: Iterable[float],
    *,
    must: Collection[str] = (),
    must_not: Collection[str] = (),
    present: Present = AS_IS,
) -> tuple[FrontierPoint, ...]:
    """The best choice at every budget [$], to draw what more money would earn."""
    return tuple(
        FrontierPoint(
            budget_usd=budget,
            choice=choose(
                options,
                holds,
                settings.model_copy(update={"budget_usd": budget}),
                must=must,
                must_not=must_not,
                present=present,
            ),
        )
        for budget in budgets_usd
    )


def what_more_buys(
    options: Sequence[Option],
    holds: Sequence[Hold],
    settings: Settings,
    extra_usd: float = 500.0,
    *,
    must: Collection[str] = (),
    must_not: Collection[str] = (),
    present: Present = AS_IS,
) -> MoreMoney:
    """What so much more budget [$] would buy."""
    now, then = frontier(
        options,
        holds,
        settings,
        (settings.budget_usd, settings.budget_usd + extra_usd),
        must=must,
        must_not=must_not,
        present=present,
    )
    before, after = now.choice, then.choice
    return MoreMoney(
        extra_usd=extra_usd,
        value_gain=after.value - before.value,
        lift_gain_usd=after.lift_usd - before.lift_usd,
        added=tuple(i for i in after.options if i not in before.options),
        dropped=tuple(i for i in before.options if i not in after.options),
    )


_Demand = tuple[dict[int, float], float]


def _count(columns: Sequence[int], least: float) -> _Demand:
    """Row that asks for so many of the columns."""
    return dict.fromkeys(columns, 1.0), least


def _required(options: Sequence[Option]) -> list[list[int]]:
    """Places of the required options, one group per ladder of a room: one rung of each will do.

    So does a dearer rung that is not required by itself but cures all that calls for them: a new
    toilet rocks no more than one that was set anew.
    """
    groups: dict[tuple[str, str], list[int]] = {}
    for i, option in enumerate(options):
        if option.required:
            groups.setdefault((option.room, option.ladder), []).append(i)
    for i, option in enumerate(options):
        group = groups.get((option.room, option.ladder), [])
        needed = [options[j] for j in group if options[j].required]
        if option.required or not needed:
            continue
        cures = {reason for one in needed for reason in one.reasons} <= set(option.reasons)
        if cures and all(_rung(one) < _rung(option) for one in needed):
            group.append(i)
    return list(groups.values())


def _rung(option: Option) -> int:
    return RUNG_ORDER.index(option.rung)


def _most_demands(program: Program, musts: Sequence[int], required: Sequence[int]) -> list[_Demand]:
    """As many must-haves as can be had together, then as much required work as still fits.

    At most one rung of a ladder is ever taken, so the options' own columns count the ladders.
    """
    gain = np.zeros(program.columns)
    gain[list(musts)] += MUST_WEIGHT
    gain[list(required)] += 1.0
    chosen = program.solve(gain) or frozenset()
    had = [i for i, option in enumerate(program.options) if option.id in chosen]
    return [_count(columns, len(set(columns) & set(had))) for columns in (musts, required)]


def _best(
    program: Program,
    settings: Settings,
    present: Present,
    worth: Callable[[Collection[str]], SetWorth],
    demands: Sequence[_Demand],
) -> frozenset[str] | None:
    rows = [(row, least) for row, least in demands if least > 0]
    if settings.aim == "net_gain":
        spent = program.lasting_cost + program.lost_rent
        return program.solve(months_of_lift(settings) * program.lift - spent, rows)
    if settings.aim == "rent_lift":
        return program.solve(program.lift - COST_WEIGHT * program.cost, rows)
    yearly = months_let(settings) * program.lift
    income, outlay = return_base(settings, present)
    start = income / outlay if outlay > 0 else 0.0
    best = program.solve(yearly - start * program.cost, rows)
    if best is None:
        return None
    ratio = worth(best).value
    for _ in range(MOST_ROUNDS):
        found = program.solve(yearly - ratio * program.cost, rows)
        if found is None or worth(found).value <= ratio * (1.0 + 1e-12):
            break
        best, ratio = found, worth(found).value
    return best
