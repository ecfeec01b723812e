"""The chosen options in order of work: what to do, what to buy, how long, and what must wait."""

from __future__ import annotations

from typing import Literal

from scorer.records import Probability, Range, Record
from scorer.upgrades.option import Option


class Hold(Record):
    """Something that must be looked at before the work over it may start.

    Attributes
    ----------
    id, kind, room, label
        ``"<room>: <hold kind>"`` (of several of a kind in one room, the further ones with what
        they are about), the kind (a row of ``holds.csv``), the room, and the sentence that says
        what is wrong.
    who
        Who must look (licensed plumber, certified lead-safe renovator …).
    stops
        Option ids that wait for it.
    cleared_by
        Option ids that put it right; where one of them is chosen there is no allowance to pay.
    probability
        That it is there [0–1]: 1 where a person or a fact says so.
    only_if_disturbed
        It may stay as it is while no work disturbs it (old paint, old floor); otherwise it must be
        put right whatever is chosen.
    allowance_usd
        What putting it right may cost if it is there [$], a wide range; zero where the scope
        itself clears it.
    caution, source
        The usual caution, and the standard or code behind it.
    """

    id: str
    kind: str = ""
    room: str
    label: str
    who: str
    stops: tuple[str, ...]
    cleared_by: tuple[str, ...] = ()
    probability: Probability = 1.0
    only_if_disturbed: bool = False
    allowance_usd: Range
    caution: str
    source: str


class Keep(Record):
    """Something that the scope keeps: sound, or made good where it could be replaced.

    ``saves_usd`` is what making it good saves over replacing it [$]; None of what is sound.
    """

    room: str
    label: str
    saves_usd: float | None = None


class LeftOut(Record):
    """An option that was not chosen, and the reason in plain words."""

    option: str
    label: str
    reason: str


class Purchase(Record):
    """One row of the shopping list: whole packs over all rooms."""

    item: str
    label: str
    unit: str
    quantity: float
    buy: int
    pack: str
    left_over: float
    cost_usd: Range


class Task(Record):
    """One option, or one hold, in the calendar; days count from the first day of work [days].

    Attributes
    ----------
    option
        Id of the option or of the hold.
    kind
        ``work``, or ``look``: somebody looks at a hold and puts it right.
    end_day
        Hands off; drying comes after it.
    hours
        Labour, own and hired [h].
    waits_for
        Ids of the options and holds that must be done, and dry, before.
    """

    option: str
    kind: Literal["work", "look"] = "work"
    label: str
    room: str
    start_day: float
    end_day: float
    hours: float
    waits_for: tuple[str, ...] = ()


class Scope(Record):
    """Scope of work of one home.

    Attributes
    ----------
    options
        Chosen, in order of work.
    cost_usd, cash_usd, hours
        Sums over the options [$], [$], [h]; allowances of holds come on top.
    rent_month_usd
        Rent lift of all together: less than the sum of the single lifts [$/month].
    weeks
        From the first day of work to the last, drying included [weeks].
    lift_ceiling_usd
        Most that the rent can rise whatever is done [$/month]; None if no comps tell.
    notes
        Sentences about what could not be had: required work beyond the budget, a must-have that
        does not fit, a calendar that runs over.
    """

    options: tuple[Option, ...]
    holds: tuple[Hold, ...]
    keeps: tuple[Keep, ...]
    left_out: tuple[LeftOut, ...]
    purchases: tuple[Purchase, ...]
    calendar: tuple[Task, ...]
    cost_usd: Range
    cash_usd: Range
    hours: Range
    rent_month_usd: Range
    weeks: Range
    lift_ceiling_usd: float | None = None
    notes: tuple[str, ...] = ()
