"""Comparable rents that the user has collected.

A CSV file with a header; only the rent is needed in every row. Plain headings (``Rent``, ``Beds``,
``Baths``, ``Sq Ft``) and usual spellings (``$850/mo``, ``98 m²``) are read as in listing files::

    rent_usd_month,beds,baths,area_sqft,date,condition,features,address,note
    1150,2,1,820,2026-03-01,updated,kitchen_updated;parking,8 elm street,told by the neighbor
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from scorer.conditions.data_file import csv_rows, read_text
from scorer.errors import InputError
from scorer.listing import quantities
from scorer.listing.headings import headings
from scorer.listing.values import WrongValue, as_number, is_missing, one_line, plain
from scorer.records import Range, Record

CompCondition = Literal["dated", "average", "updated"]
COLUMNS = (
    "rent_usd_month",
    "beds",
    "baths",
    "area_sqft",
    "date",
    "condition",
    "features",
    "address",
    "note",
)
EFFECTS_FILE = Path(__file__).parent / "data" / "rent_effects.csv"
NOT_A_FEATURE = frozenset({"area", "bedrooms", "bathrooms", "condition", "months_ago"})
MOST_ROWS = 10_000


class Comp(Record):
    """One comparable home's rent; everything but the rent may be unknown (None).

    Attributes
    ----------
    rent_usd_month
        [$/month].
    beds, baths
        [count]; half a bath counts 0.5.
    area_sqft
        Living area [sq ft].
    date
        When it was let or advertised.
    condition
        ``dated``, ``average`` or ``updated``.
    features
        Ids of ``rent_effects.csv`` that it has; None: not known.
    address, note
        The user's words; nothing is worked out from them.
    """

    rent_usd_month: Annotated[float, Field(gt=0, le=1e6)]
    beds: Annotated[float, Field(ge=0, le=50)] | None = None
    baths: Annotated[float, Field(ge=0, le=50)] | None = None
    area_sqft: Annotated[float, Field(gt=0, le=1e6)] | None = None
    date: datetime.date | None = None
    condition: CompCondition | None = None
    features: tuple[str, ...] | None = None
    address: Annotated[str, Field(max_length=200)] = ""
    note: Annotated[str, Field(max_length=2_000)] = ""


class RentEffect(Record):
    """What one difference between homes does to the rent, before any comps are seen [%]."""

    id: str
    label: str
    unit: str
    percent: Range
    source: str


def load_rent_effects(path: Path = EFFECTS_FILE) -> tuple[RentEffect, ...]:
    """Effects on rent with their sources.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    names = ("low", "typical", "high")
    fields = ("id", "label", "unit", *(f"{name}_percent" for name in names), "source")
    effects = []
    for row in csv_rows(path, fields):
        try:
            percent = Range(**{name: float(row[f"{name}_percent"]) for name in names})
            if percent.low <= -100 or percent.low == percent.high:
                raise ValueError("low must be above -100, and high above low")
        except ValueError as error:
            reason = str(error).splitlines()[-1].strip()
            raise InputError(
                f"{path.name}, row {row['id']}, field low_percent: {reason}."
            ) from error
        if not row["source"] or not row["unit"]:
            raise InputError(f"{path.name}, row {row['id']}, field source: must not be empty.")
        effects.append(
            RentEffect(
                id=row["id"],
                label=row["label"],
                unit=row["unit"],
                percent=percent,
                source=row["source"],
            )
        )
    return tuple(effects)


def read_comps(path: Path) -> tuple[tuple[Comp, ...], tuple[str, ...]]:
    """Comps of a CSV file, and a sentence for everything that could not be used.

    Raises
    ------
    InputError
        If the file can't be read or has no column of rents.
    """
    return parse_comps(read_text(path), path.name)


def parse_comps(text: str, name: str = "comps") -> tuple[tuple[Comp, ...], tuple[str, ...]]:
    """Comps of CSV text; as :func:`read_comps`, ``name`` stands for the file in sentences."""
    text = text.removeprefix("\ufeff")
    first = next(iter(text.splitlines()), "")
    delimiter = max((",", ";", "\t"), key=first.count)
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    headings_given = next(lines, [])
    header = [_column(cell) for cell in headings_given]
    if "rent_usd_month" not in header:
        raise InputError(
            f"{name}, row 1: the column rent_usd_month is missing; the columns are "
            f"{', '.join(COLUMNS)}."
        )
    problems = [
        f"{name}, row 1: column {column} is not known and not used; the columns are "
        f"{', '.join(COLUMNS)}."
        for column in header
        if column not in COLUMNS
    ]
    for place, column in enumerate(header):
        if column in COLUMNS and column in header[:place]:
            problems.append(
                f"{name}, row 1: column {one_line(headings_given[place])} says {column} once more "
                "and was not used; keep one of the two."
            )
            header[place] = ""
    known = {effect.id for effect in load_rent_effects()} - NOT_A_FEATURE
    comps: list[Comp] = []
    for number, cells in enumerate(lines, start=2):
        if number > MOST_ROWS + 1:
            problems.append(f"{name}: only the first {MOST_ROWS:,} rows are used.")
            break
        if not any(cell.strip() for cell in cells):
            continue
        row = {c: v.strip() for c, v in zip(header, cells, strict=False) if c in COLUMNS}
        where = f"{name}, row {number}"
        comp = _comp(row, where, problems, known)
        if comp is not None:
            comps.append(comp)
    return tuple(comps), tuple(problems)


def _comp(row: dict[str, str], where: str, problems: list[str], known: set[str]) -> Comp | None:
    values: dict[str, object] = {}
    for column, read in _READ.items():
        if is_missing(row.get(column)):
            continue
        try:
            value = read(row[column])
        except WrongValue as reason:
            rest = "row is left out" if column == "rent_usd_month" else "rest of the row is used"
            problems.append(f"{where}, field {column}: “{row[column][:40]}” {reason}; the {rest}.")
            if column == "rent_usd_month":
                return None
            continue
        if value is not None:
            values[column] = value
    for column in ("date", "condition"):
        if row.get(column):
            values[column] = row[column].lower()
    values |= {column: one_line(row[column]) for column in ("address", "note") if row.get(column)}
    if "features" in row:
        words = [w.strip().lower().replace(" ", "_") for w in row["features"].split(";")]
        values["features"] = tuple(w for w in words if w in known)
        for word in words:
            if word and word not in known:
                problems.append(
                    f"{where}, field features: {word!r} is not known and not used; known are "
                    f"{', '.join(sorted(known))}."
                )
    while True:
        try:
            return Comp.model_validate(values)
        except ValidationError as error:
            field = str(error.errors()[0]["loc"][0])
        if field == "rent_usd_month" or field not in values:
            given = row.get(field, "")
            problems.append(
                f"{where}, field {field}: “{given}” is not a rent in dollars a month; "
                "the row is left out."
            )
            return None
        problems.append(
            f"{where}, field {field}: {row[field][:40]!r} cannot be used; {_HOW[field]}. "
            "The rest of the row is used."
        )
        del values[field]


def _column(heading: str) -> str:
    """One of :data:`COLUMNS` where a heading stands for it, else the heading."""
    word = heading.strip().lower()
    known = headings("home").get(plain(word))
    if word in COLUMNS or (known is not None and known.implies is not None):
        return word
    return _FIELDS.get(plain(word)) or _FIELDS.get(known.field if known else "", word)


_FIELDS = {
    "leaseamount": "rent_usd_month",
    "bedroomstotal": "beds",
    "bathroomstotalinteger": "baths",
    "livingarea": "area_sqft",
    "unparsedaddress": "address",
    "home": "address",
    "name": "address",
    "addressorname": "address",
    "publicremarks": "note",
    "notes": "note",
    "comment": "note",
    "comments": "note",
}


def _area(value: str) -> float:
    low, high = quantities.LEAST_AREA_SQFT, quantities.MOST_AREA_SQFT
    return quantities.area(value, low=low, high=high, factor=None, heading="area_sqft")


def _baths(value: str) -> float:
    if value.replace(".", "", 1).isdecimal():
        return as_number(value, low=0, high=50)
    found = quantities.baths(value)
    return found.full + (0.5 if found.part else 0.0)


_READ: dict[str, Callable[[str], float | None]] = {
    "rent_usd_month": quantities.monthly_rent,
    "beds": lambda value: quantities.count(value, low=0, high=50, words=quantities.BEDS),
    "baths": _baths,
    "area_sqft": _area,
}
_HOW = {
    "date": "write it like 2026-03-01",
    "condition": "say dated, average or updated",
    "address": "write 200 characters at most",
    "note": "write 2,000 characters at most",
}
