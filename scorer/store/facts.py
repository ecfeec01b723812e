"""Facts of a home that the user typed; they outrank its listing, also one brought in again."""

from __future__ import annotations

import json
from collections.abc import Mapping

from pydantic import ValidationError

from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.store.changing import ChangingStore

FACTS: dict[str, str] = {
    "list_price_usd": "Asking price",
    "monthly_rent_usd": "Present rent",
    "annual_tax_usd": "Yearly tax",
    "bedrooms": "Bedrooms",
    "bathrooms": "Bathrooms",
    "living_area_sqft": "Living area",
    "year_built": "Year built",
    "units": "Units",
}
"""Fields of a listing that the user may type, and what they are called."""


class FactsStore(ChangingStore):
    """The facts of the listing stay beside those that were typed."""

    def save_facts(
        self, home_id: int, version: int, facts: Mapping[str, float | int | None]
    ) -> None:
        """Keep facts by their field's name; None is unknown, also where the listing tells.

        Only what differs from the listing is kept as typed: the rest follows the listing when it
        is brought in again.

        Raises
        ------
        InputError
            If a fact can't be one; nothing is kept then.
        """
        with self._change(home_id, version) as connection:
            listing, typed = connection.execute(
                "select listing, facts from home where id = ?", (home_id,)
            ).fetchone()
            given = Listing.model_validate_json(listing)
            wanted = json.loads(typed) | dict(facts)
            kept = {name: value for name, value in wanted.items() if value != getattr(given, name)}
            _check(given, kept)
            connection.execute(
                "update home set facts = ? where id = ?", (json.dumps(kept), home_id)
            )


def with_facts(listing: Listing, facts: Mapping[str, float | int | None]) -> Listing:
    """The listing with the user's facts, as they are kept, in place of its own."""
    return listing.model_copy(update=dict(facts)) if facts else listing


def _check(listing: Listing, facts: Mapping[str, float | int | None]) -> None:
    try:
        Listing.model_validate(listing.model_dump() | dict(facts))
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0])
        raise InputError(
            f"{FACTS.get(name, name)} {first['input']} can't be right; type another figure, or "
            "leave the field empty."
        ) from error
