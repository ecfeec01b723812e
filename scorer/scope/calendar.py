"""When each piece of work starts and ends, from spare hours a week, hired trades and drying.

The owner and helpers work as one team on one thing at a time, spread evenly over the days of the
week; a hired trade works on its own days. While something dries, or waits for somebody to look, the
team goes on with whatever else may be done (serial scheduling by order of work [1]_).

References
----------
.. [1] J. E. Kelley, "The critical-path method: resources planning and scheduling", in Industrial
   Scheduling, Prentice-Hall, 1963 (the serial and parallel schemes).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from scorer.records import Range
from scorer.scope.labour import hired_hours, own_hours, spare_hours_per_week
from scorer.scope.order import waits_for
from scorer.scope.plan import Hold, Task
from scorer.settings import Settings
from scorer.upgrades.option import Option

DAYS_PER_WEEK = 7.0
HOURS_PER_DAY = 24.0
LOOK_DAYS = 7.0
"""From the first day until somebody has looked at a hold and put it right [days]; common practice,
no source."""
TRADE_LEAD_DAYS = 7.0
"""From the first day until a hired trade can come [days]; common practice, no source."""
TRADE_HOURS_PER_WEEK = 40.0
"""One hired worker's week [h]."""

Figure = Literal["low", "typical", "high"]


class Calendar(NamedTuple):
    """Tasks at typical hours, by start, and how long it all takes [weeks]."""

    tasks: tuple[Task, ...]
    weeks: Range


def make_calendar(ordered: Sequence[Option], holds: Sequence[Hold], settings: Settings) -> Calendar:
    """Calendar of options in their order of work.

    Parameters
    ----------
    ordered
        As :func:`scorer.scope.order.in_order` gives them.
    holds
        Those of the scope (:func:`scorer.scope.holds.holds_of_scope`).

    Returns
    -------
    Calendar
        ``weeks`` low and high come from the low and high hours of everything at once.
    """
    if not ordered:
        return Calendar((), Range.exactly(0.0))
    tasks = _schedule(ordered, holds, settings, "typical")
    lengths = sorted(
        _last_day(_schedule(ordered, holds, settings, figure), ordered) / DAYS_PER_WEEK
        for figure in ("low", "high")
    )
    typical = _last_day(tasks, ordered) / DAYS_PER_WEEK
    weeks = Range(low=min(lengths[0], typical), typical=typical, high=max(lengths[1], typical))
    return Calendar(tuple(sorted(tasks, key=lambda t: (t.start_day, t.end_day))), weeks)


def _last_day(tasks: Sequence[Task], ordered: Sequence[Option]) -> float:
    drying = {option.id: option.drying_hours / HOURS_PER_DAY for option in ordered}
    return max(task.end_day + drying.get(task.option, 0.0) for task in tasks)


def _schedule(
    ordered: Sequence[Option], holds: Sequence[Hold], settings: Settings, figure: Figure
) -> list[Task]:
    waiting = waits_for(ordered, holds)
    stopping = [hold for hold in holds if hold.stops]
    looked: dict[str, float] = {
        hold.id: LOOK_DAYS for hold in stopping if not _cleared_here(hold, ordered)
    }
    free: dict[str, float] = dict(looked)  # day from which what waits for it may start
    tasks = [_look(hold, 0.0, LOOK_DAYS) for hold in stopping if hold.id in looked]
    cleared = {hold.id: hold for hold in stopping if hold.id not in looked}
    busy: dict[str, float] = {}
    left = list(ordered)
    while left:
        startable = [o for o in left if all(i in free for i in waiting[o.id])] or left[:1]
        starts = {
            o.id: max([_ready(o, busy), *(free[i] for i in waiting[o.id] if i in free)])
            for o in startable
        }
        option = min(startable, key=lambda o: starts[o.id])  # of equals, first in order of work
        start = starts[option.id]
        end = _work(option, start, busy, settings, figure)
        left.remove(option)
        free[option.id] = end + option.drying_hours / HOURS_PER_DAY
        tasks.append(
            Task(
                option=option.id,
                label=option.label,
                room=option.room,
                start_day=start,
                end_day=end,
                hours=option.hours.typical,
                waits_for=waiting[option.id],
            )
        )
        for hold in list(cleared.values()):
            if all(i in free for i in hold.cleared_by):
                day = max(free[i] for i in hold.cleared_by)
                free[hold.id] = day
                tasks.append(_look(hold, day, day))
                del cleared[hold.id]
    return tasks


def _cleared_here(hold: Hold, ordered: Sequence[Option]) -> bool:
    ids = {option.id for option in ordered}
    return any(i in ids for i in hold.cleared_by)


def _look(hold: Hold, start: float, end: float) -> Task:
    return Task(
        option=hold.id,
        kind="look",
        label=f"{hold.who}: {hold.label}",
        room=hold.room,
        start_day=start,
        end_day=end,
        hours=0.0,
        waits_for=hold.cleared_by,
    )


def _ready(option: Option, busy: dict[str, float]) -> float:
    """Day from which those who do it are free."""
    days = []
    if own_hours(option).typical > 0 or not hired_hours(option):
        days.append(busy.get("own", 0.0))
    days += [busy.get(trade, TRADE_LEAD_DAYS) for trade in hired_hours(option)]
    return max(days)


def _work(
    option: Option, start: float, busy: dict[str, float], settings: Settings, figure: Figure
) -> float:
    """Book the hours from ``start`` on, the trades after the owner's part; the day it ends."""
    end = start
    own: float = getattr(own_hours(option), figure)
    if own > 0 or not hired_hours(option):
        end += own / spare_hours_per_week(settings) * DAYS_PER_WEEK
        busy["own"] = end
    for trade, hours in hired_hours(option).items():
        end += getattr(hours, figure) / TRADE_HOURS_PER_WEEK * DAYS_PER_WEEK
        busy[trade] = end
    return end
