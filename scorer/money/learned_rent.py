"""The catalogue's rent effects as prior of the comps, and the comps' answer back in the options."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from scorer.listing.listing import Listing
from scorer.money.comps import Comp, RentEffect, load_rent_effects
from scorer.money.rent_evidence import EffectEvidence, RentEvidence, rent_evidence
from scorer.records import Range
from scorer.scope.lift import room_lift
from scorer.upgrades.option import Family, Option
from scorer.upgrades.upgrade import Upgrade

FAMILY_OF: dict[str, Family] = {
    "kitchen_updated": "kitchen",
    "bathroom_updated": "bathroom",
    "fresh_paint": "paint",
    "new_floor": "flooring",
}
"""Which family of upgrades a rent effect of the comps speaks of."""
MOST_FACTOR = 3.0
"""Comps may raise an effect to so many times the catalogue's at most; our own caution."""


def effects_from_catalogue(
    upgrades: Iterable[Upgrade], effects: Sequence[RentEffect] | None = None
) -> tuple[RentEffect, ...]:
    """Rent effects with the catalogue's own sums as priors for kitchen, bathroom, paint and floor.

    Of each ladder the best rung counts, and the ladders of a room together as
    :func:`scorer.scope.lift.room_lift` has it.
    """
    rows = tuple(effects) if effects is not None else load_rent_effects()
    catalogue = list(upgrades)
    found = []
    for effect in rows:
        family = FAMILY_OF.get(effect.id)
        percent = _family_percent(catalogue, family) if family else None
        if percent is None:
            found.append(effect)
        else:
            source = f"catalogue, best rung of every {family} ladder together"
            found.append(effect.model_copy(update={"percent": percent, "source": source}))
    return tuple(found)


def evidence_with_catalogue(
    listing: Listing, comps: Sequence[Comp], upgrades: Iterable[Upgrade]
) -> RentEvidence:
    """What is known of a home's rent; with comps, the catalogue's own effects are their prior."""
    effects = effects_from_catalogue(upgrades) if comps else None
    return rent_evidence(listing, comps, effects=effects)


def _family_percent(catalogue: Sequence[Upgrade], family: Family) -> Range | None:
    best: dict[str, Range] = {}
    for upgrade in catalogue:
        if upgrade.family == family and upgrade.rent_percent.high > 0:
            known = best.get(upgrade.ladder)
            if known is None or upgrade.rent_percent.typical > known.typical:
                best[upgrade.ladder] = upgrade.rent_percent
    if not best:
        return None
    return Range(
        low=room_lift(r.low for r in best.values()),
        typical=room_lift(r.typical for r in best.values()),
        high=room_lift(r.high for r in best.values()),
    )


def options_with_evidence(options: Sequence[Option], evidence: RentEvidence) -> tuple[Option, ...]:
    """Options whose rent effects have moved as far as the comps moved their family's effect.

    The typical rise is multiplied by posterior over prior (zero to :data:`MOST_FACTOR`), and the
    range around it narrows with the root of the variance that is left. Without comps nothing
    changes. Families that the comps don't speak of keep the catalogue's effect.
    """
    found = {FAMILY_OF[e.id]: e for e in evidence.effects if e.id in FAMILY_OF}
    if not evidence.comps:
        return tuple(options)
    return tuple(
        option.model_copy(
            update={"rent_month_usd": _moved(option.rent_month_usd, found[option.family])}
        )
        if option.family in found
        else option
        for option in options
    )


def _moved(rent: Range, effect: EffectEvidence) -> Range:
    before, after = effect.prior_percent.typical, effect.percent.typical
    factor = float(np.clip(after / before, 0.0, MOST_FACTOR)) if before > 0 else 1.0
    left = factor * float(np.sqrt(1.0 - effect.from_data))
    typical = factor * rent.typical
    return Range(
        low=max(min(0.0, rent.low), typical - left * (rent.typical - rent.low)),
        typical=typical,
        high=typical + left * (rent.high - rent.typical),
    )
