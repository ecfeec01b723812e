"""What several upgrades earn together: less than the sum of what each would earn alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from scorer.records import Range
from scorer.upgrades.option import Option

SHARE_OF_FURTHER = 0.6
"""In one room the best upgrade counts in full and every other one at this share of what it would
earn alone [0–1]. Our own assumption, no published source: a tenant pays for a room that looks
right, and most of that comes with the first thing done there."""


def room_lift(lifts: Iterable[float]) -> float:
    """Rent lift of one room when all of its upgrades are done.

    .. math:: L = s \\sum_i l_i + (1 - s) \\max_i l_i

    with :math:`s` = :data:`SHARE_OF_FURTHER`. One upgrade earns its own lift, two earn less than
    their sum, and a further one never lowers the lift. The form stays linear in a 0–1 program.

    Parameters
    ----------
    lifts
        What each upgrade would earn alone [$/month], not negative.
    """
    values = list(lifts)
    if not values:
        return 0.0
    return SHARE_OF_FURTHER * sum(values) + (1.0 - SHARE_OF_FURTHER) * max(0.0, *values)


def home_lift(lifts_by_room: Mapping[str, Iterable[float]], ceiling_usd: float | None) -> float:
    """Rent lift of all rooms together [$/month], no higher than the ceiling."""
    total = sum(room_lift(lifts) for lifts in lifts_by_room.values())
    return total if ceiling_usd is None else min(total, max(0.0, ceiling_usd))


def joint_lift(options: Iterable[Option], ceiling_usd: float | None = None) -> Range:
    """Rent lift when all ``options`` are done [$/month].

    Parameters
    ----------
    ceiling_usd
        Most that the rent can rise [$/month]; None: no such limit is known.
    """
    chosen = list(options)

    def at(figure: str) -> float:
        rooms: dict[str, list[float]] = {}
        for option in chosen:
            rooms.setdefault(option.room, []).append(getattr(option.rent_month_usd, figure))
        return home_lift(rooms, ceiling_usd)

    return Range(low=at("low"), typical=at("typical"), high=at("high"))
