"""What an option, and a set of options, is worth under the user's aim."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from scorer.scope.labour import WEEKS_PER_MONTH, own_hours, spare_hours_per_week
from scorer.scope.lift import home_lift
from scorer.scope.plan import Hold
from scorer.settings import Settings
from scorer.upgrades.option import Option

RESALE_SHARE = 0.6
"""Share of the cost of work that the sale price gives back while the work is new [0–1]. Average of
all projects in the yearly Cost vs. Value reports (Remodeling magazine): 64.3 % in 2017, 56.7 % in
2018."""


def lasting_share(option: Option, holding_years: float) -> float:
    """Share of the cost that the holding time uses up [1].

    What wears out sooner is paid for again, pro rata: washed walls that last 2 years cost two and a
    half times in 5. What outlasts the holding time gives back :data:`RESALE_SHARE` of the unused
    part of its cost when the home is sold, or is worth that to the owner who keeps it.
    """
    used = holding_years / option.durability_years
    return used if used >= 1.0 else 1.0 - RESALE_SHARE * (1.0 - used)


@dataclass(frozen=True)
class Present:
    """The home as it is now.

    Attributes
    ----------
    rent_month_usd
        Present rent, lost while the work lasts [$/month]; zero if not known.
    lift_ceiling_usd
        Most that the rent can rise whatever is done [$/month]; None: no limit is known.
    price_usd
        Asked or paid [$]; zero if not known.
    """

    rent_month_usd: float = 0.0
    lift_ceiling_usd: float | None = None
    price_usd: float = 0.0


AS_IS = Present()


def months_let(settings: Settings) -> float:
    """Months of a year whose rent reaches the owner, vacancy off [months/year]."""
    return 12.0 * (1.0 - settings.vacancy)


def months_of_lift(settings: Settings) -> float:
    """Months of rent lift that reach the owner over the holding time, vacancy off [months]."""
    return 12.0 * settings.holding_years * (1.0 - settings.vacancy)


def always_due(hold: Hold) -> bool:
    """Whether it must be put right whatever is chosen, and no option on offer does it."""
    return not hold.only_if_disturbed and not hold.cleared_by


@dataclass(frozen=True)
class Worth:
    """Figures of one option at their typical values, weighed by the certainty of its cause.

    If the condition behind an option is not there, neither its cost nor its lift comes about, so
    both count times its certainty; the budget and the hours must hold it in full all the same.

    Attributes
    ----------
    lift_usd
        Expected lift if this alone is done [$/month].
    cost_usd
        Expected cost, own labour at its value [$]; ``lasting_cost_usd``: the part that the holding
        time uses up (:func:`lasting_share`).
    lost_rent_usd
        Expected rent lost while the owner works on it [$].
    cash_usd, own_hours
        What it takes from the budget [$] and from the owner's time [h].
    """

    lift_usd: float
    cost_usd: float
    lasting_cost_usd: float
    lost_rent_usd: float
    cash_usd: float
    own_hours: float


def worth_of(option: Option, settings: Settings, present: Present) -> Worth:
    """One option's figures for choosing; see :class:`Worth`."""
    hours = own_hours(option).typical
    rent_per_hour = present.rent_month_usd / WEEKS_PER_MONTH / spare_hours_per_week(settings)
    cost = option.certainty * option.cost_usd.typical
    return Worth(
        lift_usd=option.certainty * max(0.0, option.rent_month_usd.typical),
        cost_usd=cost,
        lasting_cost_usd=cost * lasting_share(option, settings.holding_years),
        lost_rent_usd=option.certainty * hours * rent_per_hour,
        cash_usd=option.cash_usd.typical,
        own_hours=hours,
    )


def expected_allowance(hold: Hold) -> float:
    """Typical allowance times the probability that it is there [$]."""
    return hold.probability * hold.allowance_usd.typical


def due_allowances(holds: Iterable[Hold], chosen: Collection[str]) -> float:
    """Expected allowances that fall due when these options are done [$]."""
    return sum(
        expected_allowance(hold)
        for hold in holds
        if always_due(hold)
        or (
            any(identifier in chosen for identifier in hold.stops)
            and not any(identifier in chosen for identifier in hold.cleared_by)
        )
    )


@dataclass(frozen=True)
class SetWorth:
    """What a set of options is worth: the aim's value, and the parts it is made of.

    Attributes
    ----------
    value
        Net gain [$], rent lift [$/month] or return [1/year] (:func:`return_base`), as the aim says.
    lift_usd
        Expected lift together [$/month].
    cost_usd
        Expected cost and allowances [$].
    cash_usd, own_hours
        Taken from budget, allowances included [$], and time [h].
    """

    value: float
    lift_usd: float
    cost_usd: float
    cash_usd: float
    own_hours: float


def return_base(settings: Settings, present: Present) -> tuple[float, float]:
    """Yearly rent, vacancy off, and price that the return starts from [$/year], [$].

    Where price and rent are known, the return is the whole rent over price and work together: work
    is worth doing that earns more on its cost than the home does on its price. Where either is not
    known it is the lift over the cost of the work, which the one cheapest job often makes largest.
    """
    if present.price_usd <= 0 or present.rent_month_usd <= 0:
        return 0.0, 0.0
    return months_let(settings) * present.rent_month_usd, present.price_usd


LEAST_COST_USD = 1.0
"""A return divides by no less than this [$]."""

COST_WEIGHT = 1e-6
"""Under the aim of rent lift, cost breaks ties at this weight [1/month]."""


def set_worth(
    chosen: Sequence[Option],
    holds: Sequence[Hold],
    settings: Settings,
    present: Present = AS_IS,
) -> SetWorth:
    """Value of a set of options under the aim in ``settings``."""
    rooms: dict[str, list[float]] = {}
    figures = [worth_of(option, settings, present) for option in chosen]
    for option, worth in zip(chosen, figures, strict=True):
        rooms.setdefault(option.room, []).append(worth.lift_usd)
    lift = home_lift(rooms, present.lift_ceiling_usd)
    allowances = due_allowances(holds, {option.id for option in chosen})
    cost = sum(w.cost_usd for w in figures) + allowances
    if settings.aim == "net_gain":
        spent = sum(w.lasting_cost_usd + w.lost_rent_usd for w in figures) + allowances
        value = months_of_lift(settings) * lift - spent
    elif settings.aim == "rent_lift":
        value = lift - COST_WEIGHT * cost
    else:
        income, outlay = return_base(settings, present)
        yearly = income + months_let(settings) * lift
        value = yearly / max(outlay + cost, LEAST_COST_USD)
    return SetWorth(
        value=value,
        lift_usd=lift,
        cost_usd=cost,
        cash_usd=sum(w.cash_usd for w in figures) + allowances,
        own_hours=sum(w.own_hours for w in figures),
    )
