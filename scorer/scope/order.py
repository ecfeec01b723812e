"""The order of work: safety first, wet before finish, paint before floor, and no hold skipped."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from scorer.scope.plan import Hold
from scorer.upgrades.option import Option


def waits_for(options: Sequence[Option], holds: Sequence[Hold]) -> dict[str, tuple[str, ...]]:
    """What each option waits for: ids of options and of holds, all of them in the scope.

    An option waits for what it names in ``after`` and, of what it ``needs``, for what has an
    earlier or equal stage; for every option of its own room with a smaller stage; for the holds
    that stop it, and so for the options that clear those.
    """
    by_id = {option.id: option for option in options}
    stage = _stages(options, holds)
    waiting: dict[str, tuple[str, ...]] = {}
    for option in options:
        own = stage[option.id]
        before = [i for i in option.after if i in by_id]
        before += [i for i in option.needs if i in by_id and stage[i] <= own]
        before += [o.id for o in options if o.room == option.room and stage[o.id] < own]
        before += _guards(option, holds)
        before += [i for i in _clearing(option, holds) if i in by_id]
        waiting[option.id] = tuple(dict.fromkeys(i for i in before if i != option.id))
    return waiting


def _stages(options: Sequence[Option], holds: Sequence[Hold]) -> dict[str, int]:
    """Stage of every option; what clears a hold comes no later than what the hold guards."""
    stage = {option.id: option.stage for option in options}
    for hold in holds:
        guarded = [stage[i] for i in hold.stops if i in stage and i not in hold.cleared_by]
        for identifier in hold.cleared_by:
            if identifier in stage and guarded:
                stage[identifier] = min(stage[identifier], *guarded)
    return stage


def _guards(option: Option, holds: Sequence[Hold]) -> list[str]:
    return [h.id for h in holds if option.id in h.stops and option.id not in h.cleared_by]


def _clearing(option: Option, holds: Sequence[Hold]) -> list[str]:
    guards = set(_guards(option, holds))
    return [i for h in holds if h.id in guards for i in h.cleared_by]


def in_order(options: Sequence[Option], holds: Sequence[Hold] = ()) -> tuple[Option, ...]:
    """The options in an order of work that keeps every wait.

    Among what may be done next the smallest stage goes first, over all rooms; then rooms in the
    order given. Waits that contradict each other are broken at the smallest stage, never refused;
    what clears a hold still comes before what the hold guards.
    """
    by_id = {option.id: option for option in options}
    waiting = {
        i: {before for before in ids if before in by_id}
        for i, ids in waits_for(options, holds).items()
    }
    rooms = {room: n for n, room in enumerate(dict.fromkeys(o.room for o in options))}
    stage = _stages(options, holds)
    clearing = {o.id: {i for i in _clearing(o, holds) if i in by_id} for o in options}
    place = {o.id: (stage[o.id], rooms[o.room], n, o.id) for n, o in enumerate(options)}
    done: list[str] = []
    left = set(by_id)
    ready = [place[i] for i in left if not waiting[i]]
    heapq.heapify(ready)
    while left:
        if ready:
            identifier = heapq.heappop(ready)[-1]
        else:
            guarded = {i for i in left if clearing[i] & left}
            identifier = min(place[i] for i in (left - guarded or left))[-1]
        if identifier not in left:
            continue
        done.append(identifier)
        left.remove(identifier)
        for other in left:
            if identifier in waiting[other]:
                waiting[other].discard(identifier)
                if not waiting[other]:
                    heapq.heappush(ready, place[other])
    return tuple(by_id[i] for i in done)
