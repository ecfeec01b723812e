"""What is known of a home before anybody has been there."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from scorer.records import Record
from scorer.rooms import Room, RoomKind

Dollars = Annotated[float, Field(ge=0, le=1e9)]


class Problem(Record):
    """One sentence about something given that could not be used; ``home`` is None for the batch."""

    home: str | None
    sentence: str


class PhotoFile(Record):
    """One photo of a home: where it is, and what the listing says that it shows.

    Attributes
    ----------
    path
        Full path of the file.
    name
        The name shown to a person, unique within the home.
    room_kind
        From the listing's ``ImageOf``, else from the file name; None if neither tells.
    kind_from
        Who says so: ``listing`` (its ``ImageOf``), ``name`` (the file's name, which may be wrong);
        empty where a person said it.
    room_name, room_number
        What the same source calls the room ("dining room"), and its number ("bedroom2").
    room
        The room's very name in the home, where a person took the photo and said so; then nothing
        else decides.
    caption
        The listing's ``ShortDescription``.
    """

    path: str
    name: str
    room_kind: RoomKind | None = None
    kind_from: Literal["", "listing", "name"] = ""
    room_name: str = ""
    room_number: Annotated[int, Field(ge=1, le=99)] | None = None
    room: str = ""
    caption: str = ""


class Listing(Record):
    """Facts of one home; every fact but its name may be missing (None).

    Attributes
    ----------
    home
        Unique name of the home (its folder's name, or the table's ``ListingId``).
    address
        ``UnparsedAddress``.
    list_price_usd
        ``ListPrice`` [$].
    bedrooms, bathrooms, units
        ``BedroomsTotal``, ``BathroomsTotalInteger``, ``NumberOfUnitsTotal`` [count].
    living_area_sqft
        ``LivingArea`` [sq ft], converted where ``LivingAreaUnits`` is SquareMeters.
    year_built
        ``YearBuilt``.
    annual_tax_usd
        ``TaxAnnualAmount`` [$/year].
    monthly_rent_usd
        Present rent of the whole home [$/month], from ``LeaseAmount`` with its frequency, else from
        ``TotalActualRent``.
    remarks
        ``PublicRemarks``.
    rooms
        Sizes of rooms that the listing gives.
    photos
        In the listing's order.
    other
        Every further column, as it was written.
    """

    home: str = Field(min_length=1, max_length=200)
    address: str = ""
    list_price_usd: Dollars | None = None
    bedrooms: Annotated[int, Field(ge=0, le=200)] | None = None
    bathrooms: Annotated[int, Field(ge=0, le=200)] | None = None
    units: Annotated[int, Field(ge=1, le=1000)] | None = None
    living_area_sqft: Annotated[float, Field(gt=0, le=1e6)] | None = None
    year_built: Annotated[int, Field(ge=1600, le=2100)] | None = None
    annual_tax_usd: Dollars | None = None
    monthly_rent_usd: Dollars | None = None
    remarks: str = ""
    rooms: tuple[Room, ...] = ()
    photos: tuple[PhotoFile, ...] = ()
    other: dict[str, str] = Field(default_factory=dict)
