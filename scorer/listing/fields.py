"""RESO Data Dictionary 2.0 fields turned into a home's facts."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from scorer.listing import quantities
from scorer.listing.headings import headings
from scorer.listing.quantities import (
    FEET_IN_A_METER,
    LEAST_AREA_SQFT,
    MOST_AREA_SQFT,
    PAYMENTS_PER_YEAR,
    SQUARE_FEET_IN_A_SQUARE_METER,
)
from scorer.listing.tables import MOST_ROWS, Row
from scorer.listing.values import WrongValue, as_count, as_text, is_missing, one_line, plain

_FACTS: dict[str, tuple[str, Callable[[Any], float | int]]] = {
    "listprice": ("list_price_usd", quantities.price),
    "bedroomstotal": (
        "bedrooms",
        lambda v: quantities.count(v, low=0, high=200, words=quantities.BEDS),
    ),
    "numberofunitstotal": (
        "units",
        lambda v: quantities.count(v, low=1, high=1000, words="units?|dwellings?|homes?"),
    ),
    "yearbuilt": ("year_built", quantities.year),
    "taxannualamount": ("annual_tax_usd", quantities.yearly_tax),
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
    """One row with its field names in any spelling, and the sentences about its wrong cells.

    ``kind`` (``home``, ``room``, ``media``) also lets plain names stand for fields; the field's own
    name outranks them, and a plain name that is not needed stays as it is.
    """

    def __init__(self, row: Row, kind: str = "") -> None:
        self.row = row
        self.place = row.place
        self.problems: list[str] = []
        self.names: dict[str, str] = {}
        self.values: dict[str, Any] = {}
        for name, value in row.values.items():
            key = plain(str(name))
            if key and (key not in self.values or is_missing(self.values[key])):
                self.names[key] = str(name)
                self.values[key] = value
        plain_names = headings(kind) if kind else {}
        for key in [key for key in self.values if key in plain_names]:
            to = plain_names[key]
            if to.field != key and is_missing(self.values.get(to.field)):
                self.names[to.field] = self.names.pop(key)
                self.values[to.field] = self.values.pop(key)
                if to.implies and is_missing(self.values.get(to.implies[0])):
                    self.names[to.implies[0]] = self.names[to.field]
                    self.values[to.implies[0]] = to.implies[1]

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
    extra = _bathrooms(cells, facts)
    used |= {"bathroomstotalinteger", "livingarea"}
    if not is_missing(cells.values.get("livingarea")):
        used.add("livingareaunits")
        factor = _factor(cells, "livingareaunits", _AREA_UNITS)
        area = cells.read("livingarea", _area(cells, factor, LEAST_AREA_SQFT, MOST_AREA_SQFT))
        if area is not None:
            facts["living_area_sqft"] = area
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
    _leave_out_swapped(cells, facts)
    facts["other"] = extra | {
        cells.names[key]: as_text(value)
        for key, value in cells.values.items()
        if key not in used and not is_missing(value)
    }
    return facts


_AREA_UNITS = {
    **dict.fromkeys(("squarefeet", "squarefoot", "sqft", "sf", "ft2"), 1.0),
    **dict.fromkeys(
        ("squaremeters", "squaremetres", "squaremeter", "sqm", "m2"), SQUARE_FEET_IN_A_SQUARE_METER
    ),
}
_LENGTH_UNITS = {
    **dict.fromkeys(("feet", "foot", "ft"), 1.0),
    **dict.fromkeys(("meters", "metres", "meter", "m"), FEET_IN_A_METER),
}


def _factor(cells: Cells, key: str, units: dict[str, float]) -> float | None:
    """Feet, or square feet, in the unit that a cell names; None where it names none."""
    unit = plain(cells.text(key))
    if unit and unit not in units:
        known, assumed = (
            ("SquareFeet, SquareMeters", "square feet is assumed")
            if units is _AREA_UNITS
            else ("Feet, Meters", "feet is assumed")
        )
        cells.wrong(key, f"is not a known unit ({known})", assumed)
    return units.get(unit)


def _area(
    cells: Cells, factor: float | None, low: float, high: float, units: str = "livingareaunits"
) -> Callable[[Any], float]:
    heading = cells.names.get(units, units)
    return lambda v: quantities.area(v, low=low, high=high, factor=factor, heading=heading)


def _bathrooms(cells: Cells, facts: dict[str, Any]) -> dict[str, str]:
    """Read bathrooms into ``facts``: the total, else the sum of the kinds.

    Returns
    -------
    dict
        The kinds that a total like 1.5 stands for, as RESO fields of their own.
    """
    total: quantities.Baths | None = cells.read("bathroomstotalinteger", quantities.baths)
    kinds: dict[str, int] = {}
    if total is None or total.part:
        read = {
            key: cells.read(key, lambda v: as_count(v, low=0, high=200))
            for key in _PARTS_OF_BATHROOMS
        }
        kinds = {key: number for key, number in read.items() if number is not None}
    if kinds:
        facts["bathrooms"] = min(sum(kinds.values()), 200)
    elif total is not None:
        facts["bathrooms"] = min(total.total, 200)
        if total.part:
            return {"BathroomsFull": str(total.full), total.part: "1"}
    return {}


_TIMES_TO_BE_SWAPPED = 5.0
_LEAST_USD_A_SQFT = 0.1


def _leave_out_swapped(cells: Cells, facts: dict[str, Any]) -> None:
    """Take out two figures that make sense only the other way round."""
    price, rent = facts.get("list_price_usd"), facts.get("monthly_rent_usd")
    tax, area = facts.get("annual_tax_usd"), facts.get("living_area_sqft")
    pairs = (
        ("monthly_rent_usd", "leaseamount", rent and price and rent > _TIMES_TO_BE_SWAPPED * price),
        ("annual_tax_usd", "taxannualamount", tax and price and tax > _TIMES_TO_BE_SWAPPED * price),
        ("living_area_sqft", "livingarea", area and price and price < _LEAST_USD_A_SQFT * area),
    )
    for fact, key, swapped in pairs:
        if swapped and {fact, "list_price_usd"} <= facts.keys():
            key = key if not is_missing(cells.values.get(key)) else "totalactualrent"
            one, other = (
                f"{cells.names.get(k, k)} “{one_line(cells.text(k))[:40]}”"
                for k in ("listprice", key)
            )
            cells.problems.append(
                f"{cells.place}: {one} and {other} look swapped; both were left out, put each "
                "under its own heading."
            )
            del facts[fact], facts["list_price_usd"]


def _monthly_rent(cells: Cells) -> float | None:
    """Rent of the whole home [$/month] from ``LeaseAmount``, else from ``TotalActualRent``."""
    key = "leaseamountfrequency"
    frequency = plain(cells.text(key))
    frequency = _USUAL_PERIODS.get(frequency, frequency)
    if frequency and frequency not in PAYMENTS_PER_YEAR:
        if not is_missing(cells.values.get("leaseamount")):
            cells.wrong(key, "makes no monthly rent (use Monthly, Weekly, Annually …)")
    else:
        heading = cells.names.get(key, key)
        amount: float | None = cells.read(
            "leaseamount", lambda v: quantities.monthly_rent(v, frequency, heading)
        )
        if amount is not None:
            return amount
    actual: float | None = cells.read("totalactualrent", quantities.monthly_rent)
    return actual


_USUAL_PERIODS = {
    "month": "monthly",
    "permonth": "monthly",
    "year": "annually",
    "peryear": "annually",
    "yearly": "annually",
    "annual": "annually",
    "week": "weekly",
    "perweek": "weekly",
}


_ROOM_FEET = (1.5, 200.0)


def _two(feet: Callable[[Any], float]) -> Callable[[Any], tuple[float, float]]:
    """A reader of two lengths in one cell, as in ``12 x 10``."""

    def read(value: Any) -> tuple[float, float]:
        sides = re.split(r"(?i)[x×]|\bby\b", as_text(value)[:80])
        if len(sides) != 2:
            raise WrongValue("is not a length and a width (write it like 12 x 10)")
        return feet(sides[0]), feet(sides[1])

    return read


def read_room(cells: Cells) -> dict[str, Any]:
    """Length, width, floor area and height of a ``PropertyRooms`` row, in feet and square feet."""
    units = "roomlengthwidthunits"
    to_feet = _factor(cells, units, _LENGTH_UNITS)

    def feet(low: float, high: float) -> Callable[[Any], float]:
        heading = cells.names.get(units, units)
        return lambda v: quantities.length(v, low=low, high=high, factor=to_feet, heading=heading)

    size: dict[str, Any] = {}
    for key, name in (("roomlength", "length_ft"), ("roomwidth", "width_ft")):
        value = cells.read(key, feet(*_ROOM_FEET))
        if value is not None:
            size[name] = value
    if not size and (both := cells.read("roomdimensions", _two(feet(*_ROOM_FEET)))):
        size["length_ft"], size["width_ft"] = both
    to_sqft = _factor(cells, "roomareaunits", _AREA_UNITS)
    area = cells.read("roomarea", _area(cells, to_sqft, 4, 20_000, "roomareaunits"))
    if area is not None:
        size["floor_area_sqft"] = area
    for key in ("roomheight", "ceilingheight"):
        height = cells.read(key, feet(4.5, 30))
        if height is not None:
            size["height_ft"] = height
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
