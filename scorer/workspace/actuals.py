"""Plan against actual: what finished work took, what the home let for, and what both teach."""

from __future__ import annotations

from datetime import date
from math import log
from typing import Literal, NamedTuple

from scorer.errors import InputError
from scorer.money.draws import NORMAL_P90
from scorer.money.lettings import Letting, RentCorrection, learn_rent
from scorer.records import Range
from scorer.scope.lift import joint_lift
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.learning import Correction, FinishedJob, learn
from scorer.upgrades.option import Option
from scorer.upgrades.price_rows import trade_name
from scorer.workspace.workspace import Screened, Workspace

Subject = Literal["money", "hours"]


class Done(NamedTuple):
    """One finished job as it was logged, with its row's id and a name in plain words."""

    id: int
    label: str
    job: FinishedJob


class Account(NamedTuple):
    """Finished work of one home; sums leave out what was not kept.

    ``planned`` sums only what has an actual beside it, so that the two can be compared.
    """

    done: tuple[Done, ...]
    planned_cash_usd: float
    actual_cash_usd: float
    planned_hours: float
    actual_hours: float


class Learnt(NamedTuple):
    """A correction in words: of which figure, for which kind of work or trade."""

    subject: Subject
    name: str
    correction: Correction


class PlannedRise(NamedTuple):
    """What the work was expected to add to the rent [$/month], and whether any was logged."""

    usd: float
    from_logged_work: bool


def finished_job(
    space: Workspace,
    item: Screened,
    option_id: str,
    spent_usd: float | None,
    hours: float | None,
    today: date,
) -> FinishedJob:
    """What a piece of work took, beside what the price book alone had planned for it.

    Raises
    ------
    InputError
        If neither money nor hours are given, or the work is no longer on offer.
    """
    if not (spent_usd or hours):
        raise InputError("Give the money or the hours that the work took.")
    option = next((o for o in space.planned_options(item) if o.id == option_id), None)
    if option is None:
        raise InputError("This work is not on the list of this home any more; choose another.")
    trades = [line.trade for line in option.lines if line.kind == "labour"]
    return FinishedJob(
        upgrade=option.upgrade,
        room=option.room,
        trade=trades[0] if trades else "own",
        planned_cash_usd=option.cash_usd.typical or None,
        actual_cash_usd=spent_usd or None,
        planned_hours=option.hours.typical or None,
        actual_hours=hours or None,
        finished_on=today.isoformat(),
    )


def account(space: Workspace, item: Screened) -> Account:
    """Everything that was logged of one home's work."""
    done = tuple(Done(row, _work_label(job), job) for row, job in space.store.jobs_of(item.home.id))
    cash = [j for _, _, j in done if j.actual_cash_usd is not None]
    hours = [j for _, _, j in done if j.actual_hours is not None]
    return Account(
        done=done,
        planned_cash_usd=sum(j.planned_cash_usd or 0.0 for j in cash),
        actual_cash_usd=sum(j.actual_cash_usd or 0.0 for j in cash),
        planned_hours=sum(j.planned_hours or 0.0 for j in hours),
        actual_hours=sum(j.actual_hours or 0.0 for j in hours),
    )


def _work_label(job: FinishedJob) -> str:
    label = upgrade_label(job.upgrade)
    return f"{job.room.capitalize()}: {label}" if job.room else label


def upgrade_label(upgrade: str) -> str:
    """What the catalogue calls a piece of work."""
    known = (u.label for u in load_catalogue() if u.id == upgrade)
    return next(known, upgrade.replace("_", " "))


def planned_rise(space: Workspace, item: Screened) -> PlannedRise:
    """The rent rise that was planned, before any correction: of the work that was logged.

    Where none was logged it is that of the chosen scope.
    """
    logged = {(job.room, job.upgrade) for job in item.home.jobs}
    chosen = {option.id for option in item.result.scope.options}

    def is_done(option: Option) -> bool:
        return bool(logged & {(option.room, option.upgrade), ("", option.upgrade)})

    planned = space.planned_options(item)
    these = [o for o in planned if is_done(o)] or [o for o in planned if o.id in chosen]
    rise = joint_lift(these, item.result.scope.lift_ceiling_usd).typical
    return PlannedRise(rise, any(is_done(o) for o in these))


def letting_of(
    space: Workspace,
    item: Screened,
    rent_usd: float | None,
    rent_before_usd: float | None,
    let_on: date | None,
    note: str = "",
) -> Letting:
    """What a home was let for, beside what was planned.

    Parameters
    ----------
    rent_before_usd
        What it was let for before the work, if the user knows; None takes the present rent, with
        its uncertainty where it is an estimate.

    Raises
    ------
    InputError
        If the rent is missing, or there was no work that could have raised it.
    """
    if not rent_usd:
        raise InputError("Give the rent a month that the home was let for.")
    rise = planned_rise(space, item)
    if rise.usd <= 0:
        raise InputError(
            "No work that raises the rent is planned or logged for this home, so its rent teaches "
            "nothing about work. Log the work that was done first."
        )
    present = space.evidence(item.result).present_rent_usd
    before, spread = (rent_before_usd, 0.0) if rent_before_usd else (present.typical, _sd(present))
    return Letting(
        rent_before_usd=before,
        rent_usd=rent_usd,
        before_sd=spread,
        planned_lift_usd=rise.usd,
        let_on=let_on,
        note=note.strip()[:2_000],
    )


def _sd(rent: Range) -> float:
    """Spread of an estimated rent, as a share of it."""
    return log(rent.high / rent.low) / (2 * NORMAL_P90) if rent.low > 0 else 1.0


def learnt(space: Workspace) -> tuple[Learnt, ...]:
    """What finished work of all homes taught about money and hours, trades before kinds of work."""
    found = learn(space.jobs())
    rows: list[Learnt] = []
    groups: tuple[tuple[Subject, bool, dict[str, Correction]], ...] = (
        ("money", True, found.cash_by_trade),
        ("money", False, found.cash_by_upgrade),
        ("hours", True, found.hours_by_trade),
        ("hours", False, found.hours_by_upgrade),
    )
    for subject, by_trade, group in groups:
        for name, correction in group.items():
            rows.append(Learnt(subject, _named(name, by_trade), correction))
    return tuple(rows)


def _named(name: str, by_trade: bool) -> str:
    if not by_trade:
        return upgrade_label(name)
    return "all work you do yourself" if name == "own" else f"all {trade_name(name)} work"


def rent_learnt(space: Workspace) -> RentCorrection:
    """What the lettings of all homes taught about rent rises."""
    return learn_rent(space.lettings())
