"""The chosen options in order of work: what to do, what to buy, how long, and what must wait."""

from __future__ import annotations

from scorer.records import Range, Record
from scorer.upgrades.option import Option


class Hold(Record):
    """Something that must be looked at before the work over it may start.

    Attributes
    ----------
    id, room, label
        ``"<room>: <hold kind>"``, the room, and the sentence that says what is wrong.
    who
        Who must look (licensed plumber, certified lead-safe renovator …).
    stops
        Option ids that wait for it.
    allowance_usd
        What putting it right may cost [$], a wide range.
    caution, source
        The usual caution, and the standard or code behind it.
    """

    id: str
    room: str
    label: str
    who: str
    stops: tuple[str, ...]
    allowance_usd: Range
    caution: str
    source: str


class Keep(Record):
    """A sound thing that the scope keeps, and what keeping it saves [$]."""

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
    """One option in the calendar; days count from the first day of work [days]."""

    option: str
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
