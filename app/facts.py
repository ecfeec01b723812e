"""The facts of a home, typed where no listing brought them."""

from __future__ import annotations

from typing import NamedTuple

import streamlit as st

from app.bounds import bounds
from app.shared import change, grouped
from scorer.listing.listing import Listing
from scorer.store import FACTS
from scorer.workspace import Screened


class Fact(NamedTuple):
    """A field of the form; the record has its bounds."""

    name: str
    unit: str
    step: float
    hint: str = ""


FIELDS = (
    Fact("list_price_usd", ", $", 1_000.0),
    Fact("monthly_rent_usd", " a month, $", 25.0, "Of the whole home, as it is let now."),
    Fact("annual_tax_usd", ", $", 100.0, "Property tax for a year."),
    Fact("year_built", "", 1),
    Fact("bedrooms", "", 1),
    Fact("bathrooms", "", 1),
    Fact("living_area_sqft", ", sq ft", 50.0),
    Fact("units", "", 1, "How many homes the house holds: 2 for a duplex."),
)


def facts(item: Screened) -> None:
    """Asking price, rent, size and age; open where nothing is known yet."""
    listing = item.home.listing
    known = {field.name: getattr(listing, field.name) for field in FIELDS}
    given = sum(value is not None for value in known.values())
    # What is kept is part of the key, so that an undone fact is shown as it was.
    keys = {name: f"fact_{name}_{item.home.id}_{value}" for name, value in known.items()}

    def keep() -> None:
        typed = {name: st.session_state[key] for name, key in keys.items()}
        change(
            item.home.id,
            "The facts are kept, and all figures follow them.",
            lambda store, home, version: store.save_facts(home, version, typed),
            undo=lambda store, home, version: store.save_facts(home, version, known),
        )

    words = f"Price, rent, rooms and size: {given} of {len(FIELDS)} known"
    with st.expander(words, expanded=not given, key=f"facts_of_{item.home.id}"):
        with st.form(f"facts_{item.home.id}", border=False):
            rows = st.container(key="facts")
            for first in (0, 4):
                places = rows.columns(4)
                for place, field in zip(places, FIELDS[first : first + 4], strict=True):
                    place.number_input(
                        FACTS[field.name] + field.unit, key=keys[field.name],
                        help=field.hint or None,
                        **bounds(Listing, field.name, known[field.name], field.step),
                    )  # fmt: skip
                    if field.name == "list_price_usd":
                        grouped(place, known[field.name], "asking")
            st.form_submit_button("Keep the facts", on_click=keep)
        st.caption(
            "What you know is enough. These outrank the listing, also when it is brought in again; "
            "an empty field is unknown, and the ranges are wider for it."
        )
