"""From options to a scope of work."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from scorer.conditions.finding import Finding
from scorer.listing.listing import Listing
from scorer.records import Range
from scorer.rooms import Room
from scorer.scope.calendar import make_calendar
from scorer.scope.choose import Choice, choose
from scorer.scope.explain import explain_left_out
from scorer.scope.holds import find_holds, holds_of_scope
from scorer.scope.keeps import find_keeps
from scorer.scope.labour import own_hours, spare_hours
from scorer.scope.lift import joint_lift
from scorer.scope.order import in_order
from scorer.scope.plan import Scope
from scorer.scope.purchases import merge_purchases
from scorer.scope.worth import due_allowances
from scorer.settings import Settings
from scorer.upgrades.option import Option


def plan_scope(
    options: Sequence[Option],
    findings: Sequence[Finding],
    rooms: Sequence[Room],
    listing: Listing,
    settings: Settings,
    *,
    must: Collection[str] = (),
    must_not: Collection[str] = (),
    rent_ceiling: float | None = None,
    monthly_rent: Range | None = None,
) -> Scope:
    """The scope of work that serves the user's aim best, in order of work.

    Nothing is refused: what cannot be had is said in ``notes``, and the rest goes on.

    Parameters
    ----------
    options
        Everything that could be done in the home.
    must, must_not
        Option ids that the user wants in or out.
    rent_ceiling
        The most rent that the best comparable homes support [$/month]; needs the present rent.
    monthly_rent
        Present rent [$/month]; the listing's if None.
    """
    rent = _present_rent(monthly_rent, listing)
    ceiling = lift_ceiling(rent_ceiling, rent)
    holds = find_holds(findings, options, rooms, listing)
    choice = choose(
        options,
        holds,
        settings,
        must=must,
        must_not=must_not,
        monthly_rent_usd=rent or 0.0,
        lift_ceiling_usd=ceiling,
    )
    chosen = [o for o in options if o.id in choice.options]
    scope_holds = holds_of_scope(holds, chosen)
    ordered = in_order(chosen, scope_holds)
    calendar = make_calendar(ordered, scope_holds, settings)
    nothing = Range.exactly(0.0)
    notes = _notes(options, choice, settings, must, calendar.weeks)
    allowances = due_allowances(holds, choice.options)
    if allowances > settings.budget_usd:
        notes.append(
            f"What must be put right first may cost about ${allowances:,.0f}, more than the "
            f"budget of ${settings.budget_usd:,.0f}."
        )
    if rent_ceiling is not None and rent is None:
        notes.append("The comps' ceiling is not used: the present rent is not known.")
    return Scope(
        options=ordered,
        holds=scope_holds,
        keeps=find_keeps(findings, options, chosen),
        left_out=explain_left_out(
            options,
            choice,
            holds,
            settings,
            must_not=must_not,
            monthly_rent_usd=rent or 0.0,
            lift_ceiling_usd=ceiling,
        ),
        purchases=tuple(merge_purchases(ordered)),
        calendar=calendar.tasks,
        cost_usd=sum((o.cost_usd for o in ordered), nothing),
        cash_usd=sum((o.cash_usd for o in ordered), nothing),
        hours=sum((o.hours for o in ordered), nothing),
        rent_month_usd=joint_lift(ordered, ceiling),
        weeks=calendar.weeks,
        lift_ceiling_usd=ceiling,
        notes=tuple(notes),
    )


def lift_ceiling(rent_ceiling: float | None, present_rent: float | None) -> float | None:
    """Most that the rent can rise [$/month]; None where the ceiling or the rent is not known."""
    if rent_ceiling is None or present_rent is None:
        return None
    return max(0.0, rent_ceiling - present_rent)


def _present_rent(monthly_rent: Range | None, listing: Listing) -> float | None:
    return monthly_rent.typical if monthly_rent is not None else listing.monthly_rent_usd


def _notes(
    options: Sequence[Option],
    choice: Choice,
    settings: Settings,
    must: Collection[str],
    weeks: Range,
) -> list[str]:
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
        money = sum(o.cash_usd.typical for o in options if o.required)
        hours = sum(own_hours(o).typical for o in options if o.required)
        names = ", ".join(dict.fromkeys(f"{o.label} ({o.room})" for o in missing))
        notes.append(
            "The home should not be let without this, and it does not fit the limits or was ruled "
            f"out: {names}. All required work takes about ${money:,.0f} and {hours:,.0f} h of your "
            f"own; the limits are ${settings.budget_usd:,.0f} and {spare_hours(settings):,.0f} h."
        )
    if weeks.typical > settings.weeks:
        notes.append(
            f"The hours fit, but with drying and waiting the work takes about {weeks.typical:.1f} "
            f"weeks, more than your {settings.weeks:g}."
        )
    return notes
