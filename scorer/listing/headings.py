"""Plain names of columns, beside those of the RESO Data Dictionary, and columns that come near one.

Case, blanks, punctuation and a unit in brackets don't matter: ``Sq. Ft.`` is ``sq ft``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NamedTuple

from scorer.listing.values import one_line, plain


class Heading(NamedTuple):
    """The field that a plain name stands for, and the unit that it implies: (field, lookup)."""

    field: str
    implies: tuple[str, str] | None = None


_Names = Mapping[str | tuple[str, str, str], str]

_HOME: _Names = {
    "ListingId": "id, home, home id, home name, home folder, folder, listing, listing number, mls, "
    "mls id, mls no, mls number",
    "UnparsedAddress": "address, full address, property address, street address",
    "ListPrice": "price, asking, asking price, list price, listing price, price usd, price dollars",
    "BedroomsTotal": "bed, beds, bedroom, bedrooms, br, brs, bd, bdrm, bdrms, total beds, "
    "number of beds, number of bedrooms, no of bedrooms, total bedrooms",
    "BathroomsTotalInteger": "bath, baths, bathroom, bathrooms, ba, bathrm, bathrms, "
    "total baths, number of baths, number of bathrooms, no of bathrooms, total bathrooms, "
    "bathrooms total, bathrooms total decimal",
    "BathroomsFull": "full bath, full baths, full bathrooms, baths full",
    "BathroomsHalf": "half bath, half baths, half bathrooms, baths half",
    "NumberOfUnitsTotal": "units, number of units, no of units, total units, dwellings",
    "LivingArea": "area, size, sq ft, sq feet, square feet, square footage, sf, "
    "living area, living space, floor area, area sq ft, size sq ft, living area sq ft, home size, "
    "house size",
    ("LivingArea", "LivingAreaUnits", "SquareMeters"): "m2, sqm, sq m, square meters, "
    "square metres, area m2, area sqm, area sq m, size m2, size sqm, living area m2, "
    "living area sqm, floor area m2",
    "YearBuilt": "year, built, built in, year of construction, construction year, yr built, yr blt",
    "TaxAnnualAmount": "tax, taxes, property tax, property taxes, annual tax, annual taxes, "
    "yearly tax, yearly taxes, tax per year, taxes per year, tax yr, taxes yr, real estate tax, "
    "real estate taxes",
    "LeaseAmount": "rent, rents, monthly rent, rent per month, rent month, rent mo, rent monthly, "
    "current rent, present rent, rent now, actual rent, lease",
    ("LeaseAmount", "LeaseAmountFrequency", "Annually"): "annual rent, yearly rent, rent per year, "
    "rent year, rent yr, rent annual, rent annually, rent yearly",
    ("LeaseAmount", "LeaseAmountFrequency", "Weekly"): "weekly rent, rent per week, rent week, "
    "rent wk, rent weekly",
    "LeaseAmountFrequency": "rent frequency, rent period, rent paid, lease frequency",
    "TotalActualRent": "total rent, total rents, total monthly rent",
    "PublicRemarks": "remarks, description, listing description, public remarks",
}
_ROOM: _Names = {
    "RoomType": "room, room name, type",
    "RoomLength": "length, length ft, room length ft",
    "RoomWidth": "width, width ft, room width ft",
    "RoomArea": "area, area sq ft, sq ft, square feet, floor area",
    "RoomDimensions": "dimensions, size, room size",
    "CeilingHeight": "height, height ft, ceiling, room height",
    "RoomLengthWidthUnits": "units, unit, length units",
    "RoomAreaUnits": "area units, area unit",
}
_MEDIA: _Names = {
    "MediaURL": "file, file name, photo, photo file, picture, image",
    "ImageOf": "room, shows",
    "Order": "photo order, sequence",
    "ShortDescription": "caption, description",
}
_OTHERS = (
    "BathroomsOneQuarter BathroomsThreeQuarter LivingAreaUnits ListingKey StreetNumber StreetName "
    "StreetSuffix UnitNumber City StateOrProvince Media PropertyRooms Rooms Photos"
)
_MEDIA_OTHERS = "MediaCategory MediaAlteration"
_LOOK_ALIKE = """
ListPriceLow ListPriceHigh BathroomsPartial BedroomsPossible YearBuiltSource YearBuiltDetails
YearBuiltEffective LivingAreaSource PrivateRemarks PropertyType OriginalListPrice ClosePrice
ListingURL ListingKeyNumeric ListingTerms ListingDate StreetDirPrefix StreetNumberNumeric
StreetSuffixModifier LotSizeArea LotSizeUnits TaxAnnualAmountPerLivingAreaUnit TaxYear
MediaKey MediaType RoomKey RoomLevel RoomFeatures UnitTypeType
Basement Country Date Lot Notes Rented Renter Renters State Unit
"""
"""RESO fields and usual columns that look like one of ours but are another thing."""


@lru_cache(maxsize=1)
def _no_mistake() -> frozenset[str]:
    return frozenset(map(plain, _LOOK_ALIKE.split()))


@lru_cache(maxsize=4)
def headings(kind: str) -> dict[str, Heading]:
    """Plain names of ``home``, ``room`` or ``media`` rows; keys and fields are :func:`plain`."""
    names = {"home": _HOME, "room": _ROOM, "media": _MEDIA}[kind]
    found = {}
    for field, words in names.items():
        to = (
            Heading(plain(field))
            if isinstance(field, str)
            else (Heading(plain(field[0]), (plain(field[1]), field[2])))
        )
        found.update({plain(word): to for word in words.split(",")})
    return found


@lru_cache(maxsize=4)
def _known(kind: str) -> dict[str, str]:
    """Every name that is read, as it is shown; the RESO name outranks a plain one."""
    names = {"home": _HOME, "room": _ROOM, "media": _MEDIA}[kind]
    known = {}
    for field, words in names.items():
        known.update({plain(word): word.strip().title() for word in words.split(",")})
        own = field if isinstance(field, str) else field[0]
        known[plain(own)] = own
    others = {"home": _OTHERS, "room": "", "media": _MEDIA_OTHERS}[kind]
    return known | {plain(name): name for name in others.split()}


def heading_problems(
    kind: str, names: Iterable[str], shown: str, *, all_unknown: bool = False
) -> list[str]:
    """One sentence for each column that comes near a known one.

    Parameters
    ----------
    kind
        ``home``, ``room`` or ``media``.
    names
        The columns, or the fields of a JSON or TOML file, as they are written.
    shown
        The file, or the list inside it, in sentences.
    all_unknown
        Also say where none of them is known.
    """
    written = list(dict.fromkeys(names))
    what = "column" if ".csv" in shown.lower() else "field"
    near = near_misses(kind, written)
    sentences = [
        f"{shown}: the {what} {one_line(name)} is not known and was not used; did you mean {known}?"
        for name, known in near
    ]
    keys = {plain(name) for name in written}
    if kind == "home":
        sentences += [
            f"{shown}: the {what} {one_line(name)} holds two figures and was not used; give Beds "
            f"and Baths a {what} each."
            for name in written
            if re.fullmatch(r"(bed|bd|br)(s|rooms?)?(and)?(bath|ba)(s|rooms?)?", plain(name))
        ]
    if all_unknown and keys and not near and keys.isdisjoint(_known(kind)):
        how = "the first row names the fields" if what == "column" else "name the fields"
        sentences.append(
            f"{shown}: none of its {'headings' if what == 'column' else 'fields'} is known, so "
            f"nothing of it was used; {how}, like Price, Beds, Baths, Sq Ft, Rent, Address."
        )
    return sentences


def near_misses(kind: str, columns: Iterable[str]) -> list[tuple[str, str]]:
    """Columns that are not known but differ from a known name by a slip: (column, known name)."""
    found = []
    for column in dict.fromkeys(columns):
        near = _near(kind, plain(column)) if len(column) <= 60 else None
        if near is not None:
            found.append((column, near))
    return found


@lru_cache(maxsize=10_000)
def _near(kind: str, key: str) -> str | None:
    from difflib import get_close_matches

    known = _known(kind)
    if len(key) < 4 or key in known or key in _no_mistake():
        return None
    names = [name for name in known if len(name) > 3]
    close = get_close_matches(key, names, 1, 0.8 if len(key) < 9 else 0.84)
    # A whole word more or less is no slip of the pen: YearBuiltSource is not YearBuilt.
    if not close or abs(len(close[0]) - len(key)) > 2:
        return None
    return known[close[0]]
