"""Rows of the price book and of the wages, read from and written to CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from scorer.conditions.data_file import (
    AnyRecord,
    Identifier,
    checked,
    guarded_text,
    read_text,
    unguarded_text,
)
from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.upgrades.takeoff_materials import Piece, grout_sqft_per_lb

Dollars = Annotated[float, Field(ge=0, le=1e6)]
Hours = Annotated[float, Field(ge=0, le=1e4)]
Source = Annotated[str, Field(min_length=3, max_length=400)]
Date = Annotated[str, Field(pattern=r"^\d{4}(-\d{2}(-\d{2})?)?$")]

BY_TILE = "by tile"
"""Coverage that the size of the tile decides (grout)."""


class PriceRow(Record):
    """One row of the price book.

    Attributes
    ----------
    kind
        ``material`` has a price a pack, ``labour`` hours a unit, ``allowance`` a lump with a wide
        range.
    trade
        Who does it, a row of the wages; blank for materials.
    unit
        What is counted: ``gal``, ``sq ft``, ``each`` …; of labour, what the hours are for.
    pack, pack_size
        What is bought, in plain words, and how much is in it [unit].
    covers
        What one unit does: ``"350/400/400 sq ft"`` (low/typical/high), several set apart by ``|``,
        ``"by tile"`` for grout; blank where the unit itself is measured.
    waste_percent
        Cut off and broken [%].
    packs
        ``whole``: what is left of a pack is of no use elsewhere, so a room pays for whole packs.
        ``shared``: paint, cleaner; the rest serves the next room, so a room pays for its share,
        and the shopping list rounds up once for the home.
    low_usd, typical_usd, high_usd
        A pack's or lump's price [$].
    hours_low, hours_typical, hours_high
        Labour of a trade's worker [h/unit].
    piece
        Of tile: ``"3x6x0.28 joint 0.0625"`` [in].
    source, date
        Where the figures come from, and as of when.
    """

    id: Identifier
    label: Annotated[str, Field(min_length=2, max_length=120)]
    kind: Literal["material", "labour", "allowance"]
    trade: str = ""
    unit: Annotated[str, Field(min_length=1, max_length=20)]
    pack: str = ""
    pack_size: Annotated[float, Field(gt=0, le=1e5)] = 1.0
    covers: str = ""
    waste_percent: Annotated[float, Field(ge=0, le=100)] = 0.0
    packs: Literal["whole", "shared"] = "whole"
    low_usd: Dollars = 0.0
    typical_usd: Dollars = 0.0
    high_usd: Dollars = 0.0
    hours_low: Hours = 0.0
    hours_typical: Hours = 0.0
    hours_high: Hours = 0.0
    piece: str = ""
    source: Source
    date: Date

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        if not self.low_usd <= self.typical_usd <= self.high_usd:
            raise ValueError("low_usd, typical_usd and high_usd must rise")
        if not self.hours_low <= self.hours_typical <= self.hours_high:
            raise ValueError("hours_low, hours_typical and hours_high must rise")
        if self.kind == "labour" and (not self.trade or self.hours_high == 0 or self.high_usd > 0):
            raise ValueError("labour needs a trade and hours, and has no price")
        if self.kind != "labour" and self.hours_high > 0:
            raise ValueError("only labour has hours")
        if self.kind == "allowance" and not self.trade:
            raise ValueError("an allowance needs a trade")
        if self.kind == "material" and (self.trade or not self.pack):
            raise ValueError("material needs a pack and has no trade")
        if self.covers and self.covers != BY_TILE:
            _coverage(self.covers)
        if self.piece:
            _piece(self.piece)
        return self

    @property
    def pack_usd(self) -> Range:
        """Price of one pack or lump [$]."""
        return Range(low=self.low_usd, typical=self.typical_usd, high=self.high_usd)

    @property
    def hours(self) -> Range:
        """Of a trade's worker [h/unit]."""
        return Range(low=self.hours_low, typical=self.hours_typical, high=self.hours_high)

    @property
    def tile(self) -> Piece | None:
        """Size of one piece; None where it is no tile."""
        return _piece(self.piece) if self.piece else None

    def covers_of(self, measure_unit: str, tile: Piece | None = None) -> Range:
        """What one unit of the item does of a measure.

        Parameters
        ----------
        measure_unit
            ``sq ft``, ``ft`` or ``each``.
        tile
            Tile that the grout is for.

        Returns
        -------
        Range
            [measure_unit/unit]

        Raises
        ------
        InputError
            If the row does not say what it covers in that unit.
        """
        if self.covers == BY_TILE and measure_unit == "sq ft" and tile is not None:
            return Range.exactly(grout_sqft_per_lb(tile))
        if self.covers and self.covers != BY_TILE:
            known = _coverage(self.covers)
            if measure_unit in known:
                return known[measure_unit]
        elif self.unit == measure_unit:
            return Range.exactly(1.0)
        raise InputError(
            f"Price book, row {self.id}, field covers: does not say how many {measure_unit} one "
            f"{self.unit} does; add it."
        )


class Wage(Record):
    """What an hour of a trade costs when hired, and whether an able owner may do it.

    Attributes
    ----------
    own_possible
        Set it to ``no`` to hire a trade that you could be yourself.
    low_usd_per_hour, typical_usd_per_hour, high_usd_per_hour
        Billing rate, not the worker's wage [$/h].
    own_pace_low, own_pace_typical, own_pace_high
        Owner's hours over a trade's for the same work [1].
    """

    trade: Identifier
    own_possible: bool
    low_usd_per_hour: Dollars
    typical_usd_per_hour: Dollars
    high_usd_per_hour: Dollars
    own_pace_low: Annotated[float, Field(gt=0, le=10)] = 1.0
    own_pace_typical: Annotated[float, Field(gt=0, le=10)] = 1.0
    own_pace_high: Annotated[float, Field(gt=0, le=10)] = 1.0
    source: Source
    date: Date

    @field_validator("own_possible", mode="before")
    @classmethod
    def _yes_or_no(cls, value: object) -> object:
        return {"yes": True, "no": False}.get(value, value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low_usd_per_hour <= self.typical_usd_per_hour <= self.high_usd_per_hour:
            raise ValueError("low, typical and high_usd_per_hour must rise")
        if not self.own_pace_low <= self.own_pace_typical <= self.own_pace_high:
            raise ValueError("own_pace_low, typical and high must rise")
        return self

    @property
    def rate_usd_per_hour(self) -> Range:
        """Billing rate [$/h]."""
        return Range(
            low=self.low_usd_per_hour,
            typical=self.typical_usd_per_hour,
            high=self.high_usd_per_hour,
        )

    @property
    def own_pace(self) -> Range:
        """Owner's hours over a trade's [1]."""
        return Range(low=self.own_pace_low, typical=self.own_pace_typical, high=self.own_pace_high)


def read_price_rows(
    source: Path | str, base: Mapping[str, PriceRow] | None = None, *, name: str = ""
) -> tuple[PriceRow, ...]:
    """Rows of a price book, the user's or the package's.

    Parameters
    ----------
    source
        A file, or its text.
    base
        Rows that fill what the user's rows leave blank: a row with an id, a price and nothing else
        changes the price alone. Without it every field that has no default must be there.
    name
        Name of the file for errors, where ``source`` is text.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    return _read(PriceRow, "id", source, base or {}, name)


def read_wages(
    source: Path | str, base: Mapping[str, Wage] | None = None, *, name: str = ""
) -> tuple[Wage, ...]:
    """Wages by trade, as :func:`read_price_rows` reads prices."""
    return _read(Wage, "trade", source, base or {}, name)


def price_rows_csv(rows: Iterable[PriceRow]) -> str:
    """CSV text that :func:`read_price_rows` reads back unchanged."""
    return _csv(PriceRow, rows)


def wages_csv(wages: Iterable[Wage]) -> str:
    """CSV text that :func:`read_wages` reads back unchanged."""
    return _csv(Wage, wages)


def _csv(model: type[Record], rows: Iterable[Record]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, tuple(model.model_fields), lineterminator="\n")
    writer.writeheader()
    writer.writerows({k: _cell(v) for k, v in row.model_dump().items()} for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return guarded_text(value)
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _read(
    model: type[AnyRecord],
    key: str,
    source: Path | str,
    base: Mapping[str, AnyRecord],
    name: str,
) -> tuple[AnyRecord, ...]:
    text = read_text(source) if isinstance(source, Path) else source
    name = name or (source.name if isinstance(source, Path) else "price book")
    table = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    header = [cell.strip() for cell in next(table, [])]
    _check_header(header, key, model, name)
    found: dict[str, AnyRecord] = {}
    for cells in table:
        if not any(cell.strip() for cell in cells):
            continue
        place = header.index(key)
        named = cells[place].strip() if place < len(cells) else ""
        where = f"{name}, row {named or table.line_num}"
        if len(cells) != len(header):
            raise InputError(
                f"{where}, field {header[min(len(cells), len(header)) - 1]}: {len(cells)} cells "
                f"where {len(header)} are needed; put text that holds a comma in double quotes."
            )
        given = {
            n: unguarded_text(c.strip()) for n, c in zip(header, cells, strict=True) if c.strip()
        }
        identifier = given.get(key, "")
        old = base[identifier].model_dump() if identifier in base else {}
        values: dict[str, Any] = {**old, **given}
        row = checked(model, values, where)
        if identifier in found:
            raise InputError(f"{where}, field {key}: stands there twice; take one out.")
        found[identifier] = row
    return tuple(found.values())


def _check_header(header: Sequence[str], key: str, model: type[Record], name: str) -> None:
    if key not in header:
        raise InputError(f"{name}, row 1, field {key}: the column is missing; add it.")
    for place, column in enumerate(header):
        if column not in model.model_fields:
            raise InputError(f"{name}, row 1, field {column}: unknown column; take it out.")
        if column in header[:place]:
            raise InputError(f"{name}, row 1, field {column}: stands there twice; take one out.")


@cache
def _coverage(cell: str) -> dict[str, Range]:
    """``"600/675/675 ft|9 each"`` as a range by unit."""
    found = {}
    for part in cell.split("|"):
        figures, _, unit = part.strip().partition(" ")
        try:
            numbers = [float(figure) for figure in figures.split("/")]
            low, typical, high = numbers if len(numbers) == 3 else numbers * 3
            covers = Range(low=low, typical=typical, high=high)
        except ValueError:
            covers = Range.exactly(0.0)
        if covers.low <= 0 or unit not in {"sq ft", "ft", "each"}:
            raise ValueError(f'covers must read like "350/400/400 sq ft" or "8 each", not {cell!r}')
        found[unit] = covers
    return found


@cache
def _piece(cell: str) -> Piece:
    """``"3x6x0.28 joint 0.0625"`` as a piece [in]."""
    size, _, joint = cell.partition(" joint ")
    try:
        length, width, thickness = (float(side) for side in size.split("x"))
        piece = Piece(
            length_in=length, width_in=width, thickness_in=thickness, joint_in=float(joint or 0)
        )
    except ValueError:
        raise ValueError(f'piece must read like "3x6x0.28 joint 0.0625", not {cell!r}') from None
    if min(length, width, thickness) <= 0 or piece.joint_in < 0:
        raise ValueError(f"the sides of a piece must be above zero: {cell!r}")
    return piece


def trade_name(trade: str) -> str:
    """A trade of the price book in words: ``tile setter``."""
    return "heating and cooling" if trade == "hvac" else trade.replace("_", " ")
