"""From options to a scope of work."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import ceil

from scorer.conditions.finding import Finding
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.records import Range, Record
from scorer.rooms import Room
from scorer.scope.calendar import make_calendar
from scorer.scope.choose import (
    Choice,
    FrontierPoint,
    MoreMoney,
    choose,
    frontier,
    what_more_buys,
)
from scorer.scope.explain import explain_left_out
from scorer.scope.holds import find_holds, holds_of_scope
from scorer.scope.keeps import find_keeps
from scorer.scope.labour import own_hours, spare_hours
from scorer.scope.lift import joint_lift
from scorer.scope.order import in_order
from scorer.scope.plan import Scope
from scorer.scope.purchases import merge_purchases
from scorer.scope.worth import Present, due_allowances
from scorer.settings import Settings
from scorer.upgrades.option import Option


@dataclass(frozen=True)
class ScopeInput:
    """What a scope is planned from: the home, what could be done in it, and what the user wants.

    Attributes
    ----------
    options
        Everything that could be done in the home.
    findings, rooms, listing
        What calls for it, where it would be done, and the facts.
    must, must_not
        Option ids that the user wants in or out.
    rent_ceiling_usd
        The most rent that the best comparable homes support [$/month]; needs the present rent.
    monthly_rent_usd
        Present rent [$/month]; the listing's if None.
    """

    options: Sequence[Option]
    findings: Sequence[Finding]
    rooms: Sequence[Room]
    listing: Listing
    must: Collection[str] = ()
    must_not: Collection[str] = ()
    rent_ceiling_usd: float | None = None
    monthly_rent_usd: Range | None = None

    @property
    def present_rent_usd(self) -> float | None:
        """Rent as it is now [$/month]; None if it is not known."""
        if self.monthly_rent_usd is not None:
            return self.monthly_rent_usd.typical
        return self.listing.monthly_rent_usd

    @property
    def lift_ceiling_usd(self) -> float | None:
        """Most that the rent can rise [$/month]; None where the ceiling or the rent is unknown."""
        if self.rent_ceiling_usd is None or self.present_rent_usd is None:
            return None
        return max(0.0, self.rent_ceiling_usd - self.present_rent_usd)

    @property
    def present(self) -> Present:
        """The home as it is now, for choosing."""
        return Present(
            rent_month_usd=self.present_rent_usd or 0.0,
            lift_ceiling_usd=self.lift_ceiling_usd,
            price_usd=self.listing.list_price_usd or 0.0,
        )


def plan_scope(given: ScopeInput, settings: Settings) -> Scope:
    """The scope of work that serves the user's aim best, in order of work.

    Nothing is refused: what cannot be had is said in ``notes``, and the rest goes on.
    """
    options, present = given.options, given.present
    holds = find_holds(given.findings, options, given.rooms, given.listing)
    choice = choose(
        options,
        holds,
        settings,
        must=given.must,
        must_not=given.must_not,
        present=present,
    )
    chosen = [o for o in options if o.id in choice.options]
    scope_holds = holds_of_scope(holds, chosen)
    ordered = in_order(chosen, scope_holds)
    calendar = make_calendar(ordered, scope_holds, settings)
    nothing = Range.exactly(0.0)
    notes = [
        *_notes(options, choice, settings, calendar.weeks),
        *_notes_on_money(due_allowances(holds, choice.options), settings, present),
    ]
    if given.rent_ceiling_usd is not None and given.present_rent_usd is None:
        notes.append("The comps' ceiling is not used: the present rent is not known.")
    return Scope(
        options=ordered,
        holds=scope_holds,
        keeps=find_keeps(given.findings, options, chosen),
        left_out=explain_left_out(
            options,
            choice,
            holds,
            settings,
            must_not=given.must_not,
            present=present,
        ),
        purchases=tuple(merge_purchases(ordered)),
        calendar=calendar.tasks,
        cost_usd=sum((o.cost_usd for o in ordered), nothing),
        cash_usd=sum((o.cash_usd for o in ordered), nothing),
        hours=sum((o.hours for o in ordered), nothing),
        rent_month_usd=joint_lift(ordered, present.lift_ceiling_usd),
        weeks=calendar.weeks,
        lift_ceiling_usd=present.lift_ceiling_usd,
        notes=tuple(notes),
    )


class BudgetView(Record):
    """What other budgets would buy: the frontier to draw, and one step up from the present budget.

    ``labels`` gives every option's label with its room, by id.
    """

    points: tuple[FrontierPoint, ...]
    more: MoreMoney
    labels: dict[str, str]


def view_budgets(
    given: ScopeInput, settings: Settings, *, step_usd: float = 500.0, most_points: int = 25
) -> BudgetView:
    """The best choice at budgets from nothing up to what all work together may take.

    Parameters
    ----------
    given, settings
        As for :func:`plan_scope`.
    step_usd
        One step more than the present budget, and the steps of the frontier [$]; these grow where
        more than ``most_points`` would be needed.
    most_points
        Budgets to look at, two at least.

    Raises
    ------
    InputError
        If the step is not above zero, or there would be fewer than two points.
    """
    if step_usd <= 0 or most_points < 2:
        raise InputError(
            f"step_usd, most_points: give a step above zero and at least two points "
            f"(given: {step_usd:g}, {most_points})."
        )
    options = given.options
    holds = find_holds(given.findings, options, given.rooms, given.listing)
    everything = sum(o.cash_usd.typical for o in options) + due_allowances(
        holds, {o.id for o in options}
    )
    most = max(settings.budget_usd + step_usd, min(everything, 4 * settings.budget_usd))
    step = step_usd * max(1, ceil(most / step_usd / (most_points - 1)))
    budgets = sorted({*(step * n for n in range(ceil(most / step) + 1)), settings.budget_usd})
    return BudgetView(
        points=frontier(
            options,
            holds,
            settings,
            budgets,
            must=given.must,
            must_not=given.must_not,
            present=given.present,
        ),
        more=what_more_buys(
            options,
            holds,
            settings,
            step_usd,
            must=given.must,
            must_not=given.must_not,
            present=given.present,
        ),
        labels={option.id: f"{option.label} ({option.room})" for option in options},
    )


def _notes(
    options: Sequence[Option],
    choice: Choice,
    settings: Settings,
    weeks: Range,
) -> list[str]:
    """What was asked for and does not fit the limits."""
    by_id = {option.id: option for option in options}
    notes = []
    for identifier in choice.must_left_out:
        option = by_id.get(identifier)
        if option is None:
            notes.append(f"Must-have “{identifier}” is not on offer in this home.")
        else:
            notes.append(
                f"Must-have “{option.label}” ({option.room}) does not fit: it clashes with other "
                "must-haves, or the budget or your hours do not hold it."
            )
    missing = [by_id[i] for i in choice.required_left_out]
    if missing:
        cheapest: dict[tuple[str, str], Option] = {}
        for one in sorted(options, key=lambda o: o.cash_usd.typical):
            if one.required:
                cheapest.setdefault((one.room, one.ladder), one)
        money = sum(o.cash_usd.typical for o in cheapest.values())
        hours = sum(own_hours(o).typical for o in cheapest.values())
        names = ", ".join(dict.fromkeys(f"{o.label} ({o.room})" for o in missing))
        notes.append(
            "The home should not be let without this, and it does not fit the limits or was ruled "
            f"out: {names}. All required work takes at least about ${money:,.0f} and "
            f"{hours:,.0f} h of your own; the limits are ${settings.budget_usd:,.0f} and "
            f"{spare_hours(settings):,.0f} h."
        )
    if weeks.typical > settings.weeks:
        notes.append(
            f"The hours fit, but with drying and waiting the work takes about {weeks.typical:.1f} "
            f"weeks, more than your {settings.weeks:g}."
        )
    return notes


def _notes_on_money(allowances_usd: float, settings: Settings, present: Present) -> list[str]:
    """What the money is short of, or not known by."""
    notes = []
    if allowances_usd > settings.budget_usd:
        notes.append(
            f"What must be put right first may cost about ${allowances_usd:,.0f}, more than the "
            f"budget of ${settings.budget_usd:,.0f}."
        )
    if settings.aim == "return" and not (present.price_usd and present.rent_month_usd):
        notes.append(
            "Price or present rent is not known, so the return is that of the work alone, which "
            "the cheapest jobs make largest; give both, or choose another aim."
        )
    return notes
