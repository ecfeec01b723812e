"""Which facts a listing lacks, and what that costs in certainty."""

from __future__ import annotations

from scorer.listing.listing import Listing

_COSTS = (
    ("list_price_usd", "ListPrice", "The asking price", "it can't be set against the home's worth"),
    (
        "monthly_rent_usd",
        "LeaseAmount",
        "The present rent",
        "rent rise and the most to pay rest on a rough guess of the rent, so both range wider",
    ),
    (
        "living_area_sqft",
        "LivingArea",
        "The living area",
        "paint and floor quantities use usual room sizes, so costs range wider",
    ),
    (
        "bedrooms",
        "BedroomsTotal",
        "The number of bedrooms",
        "bedrooms without a photo can't be counted as unseen",
    ),
    (
        "bathrooms",
        "BathroomsTotalInteger",
        "The number of bathrooms",
        "bathrooms without a photo can't be counted as unseen",
    ),
    (
        "year_built",
        "YearBuilt",
        "The year built",
        "treat old paint as if it may hold lead (homes built before 1978) until it is known",
    ),
    (
        "annual_tax_usd",
        "TaxAnnualAmount",
        "The yearly tax",
        "what the home earns after costs is less sure",
    ),
)


def missing_facts(listing: Listing) -> tuple[str, ...]:
    """One sentence for each fact that is missing and matters, in order of weight."""
    sentences = [
        f"{name} ({field}) is missing: {cost}."
        for fact, field, name, cost in _COSTS
        if getattr(listing, fact) is None
    ]
    price, rent = listing.list_price_usd, listing.monthly_rent_usd
    if price and rent and rent > 0.1 * price:
        sentences.append(
            f"The rent of ${rent:,.0f} a month is more than a tenth of the asking price of "
            f"${price:,.0f}: check that it is not a yearly figure."
        )
    return tuple(sentences)
