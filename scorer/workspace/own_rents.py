"""Comparable rents that the user typed one by one, beside those of a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, ValidationError

from scorer.errors import InputError
from scorer.money.comps import Comp
from scorer.records import Record

WORDS = {
    "rent_usd_month": "Rent a month",
    "beds": "Bedrooms",
    "baths": "Bathrooms",
    "area_sqft": "Living area",
    "date": "Date",
    "condition": "Condition",
    "features": "What it has",
    "label": "Address or name",
    "note": "Note",
}
"""Fields of a typed rent, and what a person calls them."""


class OwnRent(Record):
    """A comparable home's rent, and what it was called.

    Attributes
    ----------
    comp
        The rent and what is known of the home.
    label, note
        The user's words; nothing is worked out from them.
    in_use
        Whether it counts; what was typed stays either way.
    """

    comp: Comp
    label: Annotated[str, Field(max_length=200)] = ""
    note: Annotated[str, Field(max_length=2_000)] = ""
    in_use: bool = True

    def changed(self, values: Mapping[str, object]) -> OwnRent:
        """With other values, by the fields' names of this record and of its comp.

        Raises
        ------
        InputError
            If a value can't be one of its field.
        """
        return _checked(self.model_dump(), values)


def own_rent(values: Mapping[str, object]) -> OwnRent:
    """A rent as it was typed; what is None is not known.

    Raises
    ------
    InputError
        If the rent is missing, or a value can't be one of its field.
    """
    if not values.get("rent_usd_month"):
        raise InputError("Type the rent a month of the comparable home first.")
    return _checked({"comp": {}}, values)


def _checked(record: dict[str, object], values: Mapping[str, object]) -> OwnRent:
    comp: dict[str, object] = dict(record["comp"])  # type: ignore[call-overload]
    for name, value in values.items():
        (record if name in OwnRent.model_fields else comp)[name] = value
    try:
        return OwnRent.model_validate(record | {"comp": comp})
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][-1])
        raise InputError(
            f"{WORDS.get(name, name)} {first['input']} can't be right; type another, or leave it "
            "empty if you don't know it."
        ) from error
