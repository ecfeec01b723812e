"""Why an option was left out, in plain words."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from scorer.scope.choose import Choice
from scorer.scope.labour import spare_hours
from scorer.scope.plan import Hold, LeftOut
from scorer.scope.worth import (
    AS_IS,
    Present,
    SetWorth,
    due_allowances,
    expected_allowance,
    months_of_lift,
    set_worth,
)
from scorer.settings import Settings
from scorer.upgrades.option import Option

ROUNDING_USD = 0.005


def explain_left_out(
    options: Sequence[Option],
    choice: Choice,
    holds: Sequence[Hold],
    settings: Settings,
    *,
    must_not: Collection[str] = (),
    present: Present = AS_IS,
) -> tuple[LeftOut, ...]:
    """One row per option that was not chosen, with the first reason that holds.

    The reasons, in this order: the user ruled it out; a rung of the same ladder or an excluding
    option is done instead; something it needs is not done; it is worth less than it costs, alone or
    beside what is chosen; it needs more money or time than there is; others earn more with both.
    """
    chosen = [o for o in options if o.id in choice.options]
    return tuple(
        LeftOut(
            option=option.id,
            label=option.label,
            reason=_reason(
                option,
                options,
                chosen,
                choice,
                settings,
                must_not,
                _Worths(option, chosen, holds, settings, present),
            ),
        )
        for option in options
        if option.id not in choice.options
    )


class _Worths:
    """What the option is worth alone, and on top of what is chosen."""

    def __init__(
        self,
        option: Option,
        chosen: Sequence[Option],
        holds: Sequence[Hold],
        settings: Settings,
        present: Present,
    ) -> None:
        def worth(these: Sequence[Option]) -> SetWorth:
            return set_worth(these, holds, settings, present)

        taken = {o.id for o in chosen}
        new = [
            hold
            for hold in holds
            if due_allowances([hold], taken | {option.id}) > due_allowances([hold], taken)
        ]
        self.held = " and ".join(hold.label for hold in new)
        self.held_usd = sum(expected_allowance(hold) for hold in new)
        self.nothing, self.alone = worth(()), worth((option,))
        self.now, self.then = worth(chosen), worth((*chosen, option))


def _reason(
    option: Option,
    options: Sequence[Option],
    chosen: Sequence[Option],
    choice: Choice,
    settings: Settings,
    must_not: Collection[str],
    worths: _Worths,
) -> str:
    if option.id in must_not:
        return "You ruled it out."
    by_id = {o.id: o for o in options}
    clash = _clash(option, by_id, chosen)
    if clash is not None:
        return clash
    taken = {o.id for o in chosen}
    missing = [by_id[need].label for need in option.needs if need not in taken]
    money = worths.then.cash_usd - worths.now.cash_usd
    alone = worths.alone.cash_usd - worths.nothing.cash_usd
    if alone > settings.budget_usd + ROUNDING_USD:
        return f"It costs about ${alone:,.0f}, more than the whole budget."
    if worths.then.value - worths.now.value <= 0 and not missing:
        return _not_worth_it(worths, settings)
    if missing:
        return f"It needs “{missing[0]}”, and both together are not worth it or do not fit."
    money_left = settings.budget_usd - choice.cash_usd
    hours_left = spare_hours(settings) - choice.own_hours
    hours = worths.then.own_hours - worths.now.own_hours
    short = []
    if money > money_left + ROUNDING_USD:
        short.append(f"about ${money:,.0f} and ${max(0.0, money_left):,.0f} of the budget is left")
    if hours > hours_left + 1e-6:
        short.append(f"about {hours:,.0f} h and {max(0.0, hours_left):,.0f} h of your time is left")
    if short:
        return f"It takes {'; '.join(short)}; what is chosen earns more with it."
    return "Other work earns more in its place."


def _clash(option: Option, on_offer: Collection[str], chosen: Sequence[Option]) -> str | None:
    """What among other work rules an option out; None if nothing does."""
    for other in chosen:
        if (other.room, other.ladder) == (option.room, option.ladder):
            return f"“{other.label}” does this job here."
    if any(need not in on_offer for need in option.needs):
        return "It needs other work first that is not on offer in this home."
    for other in chosen:
        if other.id in option.excludes or option.id in other.excludes:
            return f"It makes no sense together with “{other.label}”."
    return None


def _not_worth_it(worths: _Worths, settings: Settings) -> str:
    lift = worths.then.lift_usd - worths.now.lift_usd
    if settings.aim == "return":
        return "It would lower the return on the money: the rest earns more for each dollar."
    if settings.aim == "rent_lift":
        return "It adds nothing to the rent."
    earned = months_of_lift(settings) * lift
    spent = earned - (worths.then.value - worths.now.value)
    years = f"{settings.holding_years:g} years"
    money = f"over {years} it may bring about ${earned:,.0f} and take about ${spent:,.0f}"
    if worths.held:
        money += f", ${worths.held_usd:,.0f} of it for “{worths.held}”"
    if worths.alone.value - worths.nothing.value > 0:
        return f"Beside what is chosen it adds little: {money}."
    return f"{money[:1].upper()}{money[1:]}."
