"""A rough guess of the rent where neither a lease nor comparable rents tell it."""

from __future__ import annotations

import numpy as np

from scorer.listing.listing import Listing
from scorer.records import Range

PRICE_SHARE = Range(low=0.0045, typical=0.0075, high=0.0115)
"""Monthly rent over price [1/month]; the trade's rule of 1 % is folklore, the middle lies below it:
common practice, no source."""
AREA_RENT = Range(low=0.8, typical=1.35, high=2.4)
"""Monthly rent per square foot [$/sq ft month], older small homes in the US, from memory."""
ROOM_RENT_BASE_USD, ROOM_RENT_USD = 650.0, 325.0
"""Monthly rent of a dwelling without a bedroom and of each bedroom more [$/month], from memory."""
ROOM_RENT_SPREAD = Range(low=0.62, typical=1.0, high=1.6)
NOTHING_KNOWN = Range(low=750.0, typical=1_350.0, high=2_400.0)
"""Monthly rent where no fact is known [$/month]; US median gross rent about $1,400, from memory."""


def guess_rent(listing: Listing) -> Range:
    """Rent of the whole home from price, area and bedrooms alone [$/month]: a wide range.

    The mean of the logarithms of what each known fact gives, with the mean of their spreads: the
    guesses err together, so more of them do not make the range narrower.
    """
    guesses = []
    if listing.list_price_usd:
        guesses.append(PRICE_SHARE.scaled(listing.list_price_usd))
    if listing.living_area_sqft:
        guesses.append(AREA_RENT.scaled(listing.living_area_sqft))
    if listing.bedrooms is not None:
        rooms = ROOM_RENT_BASE_USD * max(1, listing.units or 1) + ROOM_RENT_USD * listing.bedrooms
        guesses.append(ROOM_RENT_SPREAD.scaled(rooms))
    if not guesses:
        return NOTHING_KNOWN

    def mean(name: str) -> float:
        return float(np.exp(np.mean([np.log(getattr(g, name)) for g in guesses])))

    return Range(low=mean("low"), typical=mean("typical"), high=mean("high"))


def facts_used(listing: Listing) -> str:
    """The facts that :func:`guess_rent` has, in words."""
    facts = [
        name
        for name, value in (
            ("price", listing.list_price_usd),
            ("area", listing.living_area_sqft),
            ("bedrooms", listing.bedrooms),
        )
        if value
    ]
    return " and ".join(facts) if facts else "the country's usual rent"
