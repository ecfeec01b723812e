"""RESO Data Dictionary 2.0 fields turned into a home's facts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scorer.listing.tables import MOST_ROWS, Row
from scorer.listing.values import (
    WrongValue,
    as_count,
    as_number,
    as_text,
    is_missing,
    one_line,
    plain,
)

SQUARE_FEET_IN_A_SQUARE_METER = 10.763910
FEET_IN_A_METER = 3.280840

PAYMENTS_PER_YEAR = {
    "annually": 1.0,
    "semiannually": 2.0,
    "quarterly": 4.0,
    "bimonthly": 6.0,
    "monthly": 12.0,
    "semimonthly": 24.0,
    "biweekly": 26.0,
    "weekly": 52.0,
    "daily": 365.0,
}
"""``LeaseAmountFrequency`` lookups (RESO ``FeeFrequency``); OneTime and Seasonal make no rent."""


def _dollars(value: Any) -> float:
    return as_number(value, low=0, high=1e9, unit="$")


_FACTS: dict[str, tuple[str, Callable[[Any], float | int]]] = {
    "listprice": ("list_price_usd", _dollars),
    "bedroomstotal": ("bedrooms", lambda v: as_count(v, low=0, high=200)),
    "bathroomstotalinteger": ("bathrooms", lambda v: as_count(v, low=0, high=200)),
    "numberofunitstotal": ("units", lambda v: as_count(v, low=1, high=1000)),
    "livingarea": ("living_area_sqft", lambda v: as_number(v, low=1, high=1e6, unit="sq ft")),
    "yearbuilt": ("year_built", lambda v: as_count(v, low=1600, high=2100)),
    "taxannualamount": ("annual_tax_usd", _dollars),
}
_PARTS_OF_BATHROOMS = (
    "bathroomsfull",
    "bathroomshalf",
    "bathroomsonequarter",
    "bathroomsthreequarter",
)
_TEXTS = {"unparsedaddress": "address", "publicremarks": "remarks"}
_ADDRESS = ("streetnumber", "streetname", "streetsuffix", "unitnumber")
IDENTIFIERS = ("listingid", "listingkey")
NESTED = {"media", "propertyrooms", "rooms", "photos"}


class Cells:
    """One row with its field names in any spelling, and the sentences about its wrong cells."""

    def __init__(self, row: Row) -> None:
        self.place = row.place
        self.problems: list[str] = []
        self.names: dict[str, str] = {}
        self.values: dict[str, Any] = {}
        for name, value in row.values.items():
            key = plain(str(name))
            if key and (key not in self.values or is_missing(self.values[key])):
                self.names[key] = str(name)
                self.values[key] = value

    def text(self, key: str) -> str:
        """A cell as text; empty where it is missing."""
        value = self.values.get(key)
        return "" if is_missing(value) else as_text(value)

    def read(self, key: str, reader: Callable[[Any], Any]) -> Any:
        """A cell through a reader; None where it is missing or wrong (then with a sentence)."""
        value = self.values.get(key)
        if is_missing(value):
            return None
        try:
            return reader(value)
        except WrongValue as reason:
            self.wrong(key, str(reason))
            return None

    def wrong(self, key: str, reason: str, instead: str = "it was left out") -> None:
        """Keep the sentence that names file, row and field."""
        shown = one_line(as_text(self.values.get(key)))
        shown = shown if len(shown) <= 40 else shown[:37] + "…"
        self.problems.append(
            f"{self.place}: {self.names.get(key, key)} “{shown}” {reason}; {instead}."
        )


def identifier(cells: Cells) -> str:
    """``ListingId``, else ``ListingKey``; empty where neither is given."""
    return next((one_line(cells.text(key)) for key in IDENTIFIERS if cells.text(key)), "")


def read_facts(cells: Cells) -> dict[str, Any]:
    """Facts of one home by the names of :class:`scorer.listing.listing.Listing`.

    Facts that are missing or wrong are absent; wrong ones leave a sentence in ``cells.problems``.
    Every column that is not used is kept under ``other`` as it was written.
    """
    facts: dict[str, Any] = {}
    used = {*IDENTIFIERS, *NESTED}
    for key, (name, reader) in _FACTS.items():
        used.add(key)
        value = cells.read(key, reader)
        if value is not None:
            facts[name] = value
    if "bathrooms" not in facts:
        parts = [cells.read(k, lambda v: as_count(v, low=0, high=200)) for k in _PARTS_OF_BATHROOMS]
        known = [part for part in parts if part is not None]
        if known:
            facts["bathrooms"] = min(sum(known), 200)
    if "living_area_sqft" in facts:
        used.add("livingareaunits")
        factor = _area_factor(cells, "livingareaunits")
        facts["living_area_sqft"] = round(facts["living_area_sqft"] * factor, 1)
    for key, name in _TEXTS.items():
        used.add(key)
        if cells.text(key):
            facts[name] = cells.text(key)
    if "address" not in facts:
        street = " ".join(cells.text(key) for key in _ADDRESS if cells.text(key))
        place = [street, cells.text("city"), cells.text("stateorprovince")]
        if street:
            facts["address"] = ", ".join(part for part in place if part)
    rent = _monthly_rent(cells)
    used |= {"leaseamount", "totalactualrent", "leaseamountfrequency"}
    if rent is not None:
        facts["monthly_rent_usd"] = rent
    facts["other"] = {
        cells.names[key]: as_text(value)
        for key, value in cells.values.items()
        if key not in used and not is_missing(value)
    }
    return facts


def _area_factor(cells: Cells, key: str) -> float:
    unit = plain(cells.text(key))
    if unit in {"", "squarefeet", "sqft"}:
        return 1.0
    if unit in {"squaremeters", "squaremetres", "sqm", "m2"}:
        return SQUARE_FEET_IN_A_SQUARE_METER
    cells.wrong(key, "is not a known unit (SquareFeet, SquareMeters)", "square feet is assumed")
    return 1.0


def _length_factor(cells: Cells, key: str) -> float:
    unit = plain(cells.text(key))
    if unit in {"", "feet", "foot", "ft"}:
        return 1.0
    if unit in {"meters", "metres", "meter", "m"}:
        return FEET_IN_A_METER
    cells.wrong(key, "is not a known unit (Feet, Meters)", "feet is assumed")
    return 1.0


def _monthly_rent(cells: Cells) -> float | None:
    """Rent of the whole home [$/month].

    ``LeaseAmount`` without a frequency and ``TotalActualRent`` are read as monthly, as leases are
    quoted in the United States (common practice, no source).
    """
    amount: float | None = cells.read("leaseamount", _dollars)
    if amount is not None:
        frequency = plain(cells.text("leaseamountfrequency")) or "monthly"
        if frequency in PAYMENTS_PER_YEAR:
            return round(amount * PAYMENTS_PER_YEAR[frequency] / 12.0, 2)
        known = "Monthly, Weekly, Annually …"
        cells.wrong("leaseamountfrequency", f"makes no monthly rent (use {known})")
    actual: float | None = cells.read("totalactualrent", _dollars)
    return actual


def read_room(cells: Cells) -> dict[str, Any]:
    """Length, width, floor area and height of a ``PropertyRooms`` row, in feet and square feet."""
    to_feet = _length_factor(cells, "roomlengthwidthunits")

    def feet(value: Any) -> float:
        return as_number(value, low=1, high=200 / to_feet)

    size: dict[str, Any] = {}
    for key, name in (("roomlength", "length_ft"), ("roomwidth", "width_ft")):
        value = cells.read(key, feet)
        if value is not None:
            size[name] = round(value * to_feet, 2)
    to_sqft = _area_factor(cells, "roomareaunits")
    area = cells.read("roomarea", lambda v: as_number(v, low=1, high=20_000 / to_sqft))
    if area is not None:
        size["floor_area_sqft"] = round(area * to_sqft, 1)
    for key in ("roomheight", "ceilingheight"):
        height = cells.read(key, lambda v: as_number(v, low=4.5 / to_feet, high=30 / to_feet))
        if height is not None:
            size["height_ft"] = round(height * to_feet, 2)
    return size


def nested_rows(cells: Cells, keys: set[str]) -> list[Row]:
    """Rows of a list of objects inside a record, such as ``Media``."""
    rows = []
    for key, value in cells.values.items():
        if key in keys and isinstance(value, list):
            rows += [
                Row(f"{cells.place}, {cells.names[key]} {number}", item)
                for number, item in enumerate(value[:MOST_ROWS], 1)
                if isinstance(item, dict)
            ]
            if len(value) > MOST_ROWS:
                cells.problems.append(
                    f"{cells.place}: {cells.names[key]} has {len(value):,} rows, more than "
                    f"{MOST_ROWS:,}; those at the end were left out."
                )
    return rows
