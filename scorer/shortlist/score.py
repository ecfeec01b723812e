"""The checklist score: how much of the lift that cheap work could bring is still open."""

from __future__ import annotations

from collections.abc import Iterable
from math import prod

from scorer.rooms import Room
from scorer.upgrades.option import Family, Option
from scorer.upgrades.upgrade import Upgrade

PAYING_FAMILIES: tuple[Family, ...] = ("kitchen", "paint", "bathroom", "flooring")
"""The kinds of work that pay most on a rental (common practice, no source)."""

STRONG_CANDIDATE_FAMILIES = 3
"""A home that shows this many of the four is a strong candidate (common practice, no source)."""

OPEN_SHARE = 0.15
"""A family counts as shown from this share of its attainable lift on (common practice)."""

SHOWN_CERTAINTY = 0.5
"""A finding less certain than this does not make a family count as shown (common practice)."""

OUTSIDE_WEIGHT = 0.5
"""Weight of the outside against the four that pay most (common practice, no source)."""


def open_shares(
    options: Iterable[Option], rooms: Iterable[Room], catalogue: Iterable[Upgrade]
) -> dict[Family, float]:
    """Share of each family's attainable lift that is still open in a home.

    For family :math:`f` with the options of room and ladder :math:`k`

    .. math:: s_f = 1 - \\prod_k \\left(1 - \\max_{o \\in k} c_o r_o / R_f\\right)

    where :math:`c_o` is the certainty that the condition behind option :math:`o` is there, and
    :math:`r_o` its typical rent effect; :math:`R_f` is the largest typical rent effect that the
    catalogue has for the family in the kinds of room that this home has. Of the rungs of one ladder
    only the best counts. The form is our own (no source): it rises with every finding, never passes
    1, and gives the second dark bedroom less weight than the first.

    Parameters
    ----------
    options
        What could be done in the home.
    rooms
        All rooms of the home, also those without a finding.
    catalogue
        All upgrades.

    Returns
    -------
    dict
        Share [0–1] of every family that is attainable in these rooms.
    """
    upgrades = {upgrade.id: upgrade for upgrade in catalogue}
    kinds = {room.kind for room in rooms}
    attainable: dict[Family, float] = {}
    for upgrade in upgrades.values():
        if kinds.intersection(upgrade.rooms):
            best = max(attainable.get(upgrade.family, 0.0), upgrade.rent_percent.typical)
            attainable[upgrade.family] = best
    still_open: dict[Family, dict[tuple[str, str], float]] = {f: {} for f in attainable}
    for option in options:
        family, most = option.family, attainable.get(option.family, 0.0)
        if most <= 0.0 or option.upgrade not in upgrades:
            continue
        lift = max(0.0, option.certainty * upgrades[option.upgrade].rent_percent.typical)
        place = (option.room, option.ladder)
        still_open[family][place] = max(still_open[family].get(place, 0.0), min(1.0, lift / most))
    return {
        family: 1.0 - prod(1.0 - share for share in still_open[family].values())
        for family, most in attainable.items()
        if most > 0.0
    }


def checklist_score(
    options: Iterable[Option], rooms: Iterable[Room], catalogue: Iterable[Upgrade]
) -> float:
    """Share of the attainable lift that is still open, weighed by certainty [0–100].

    The mean of :func:`open_shares` over kitchen, paint, bathroom, flooring (weight 1 each) and the
    outside (weight 0.5), as far as the home has rooms for them. A home already done up scores low.
    Adding a finding that can be put right never lowers the score, and putting one right never
    raises it, since the weights and the attainable lift depend on the rooms alone.
    """
    shares = open_shares(options, rooms, catalogue)
    weights: dict[Family, float] = dict.fromkeys(PAYING_FAMILIES, 1.0)
    weights["outside"] = OUTSIDE_WEIGHT
    total = sum(weights[family] for family in shares if family in weights)
    if total == 0.0:
        return 0.0
    return 100.0 * sum(weights.get(f, 0.0) * share for f, share in shares.items()) / total


def families_shown(
    options: Iterable[Option], rooms: Iterable[Room], catalogue: Iterable[Upgrade]
) -> tuple[Family, ...]:
    """Those of the four that pay most of which enough is likely open, in their usual order."""
    likely = [option for option in options if option.certainty >= SHOWN_CERTAINTY]
    shares = open_shares(likely, rooms, catalogue)
    return tuple(f for f in PAYING_FAMILIES if shares.get(f, 0.0) >= OPEN_SHARE)
