"""One line of an upgrade in one room: take-off times price book."""

from __future__ import annotations

from collections.abc import Iterable

from scorer.records import Range
from scorer.rooms import Room
from scorer.settings import Settings
from scorer.upgrades.option import Line
from scorer.upgrades.price_rows import PriceRow
from scorer.upgrades.pricebook import PriceBook, hourly_usd, price_level
from scorer.upgrades.spread import product
from scorer.upgrades.takeoff import measure, unit_of
from scorer.upgrades.takeoff_materials import Piece, needed, whole_packs
from scorer.upgrades.upgrade import Upgrade, UpgradeLine

NOTHING = Range.exactly(0.0)

USUAL_TILE = "wall_tile"
"""Grout without a tile in the same upgrade is for this row's tile."""


def price_lines(
    upgrade: Upgrade,
    room: Room,
    conditions: Iterable[str],
    price_book: PriceBook,
    settings: Settings,
) -> tuple[Line, ...]:
    """The upgrade's lines in a room, with quantity, packs, cost and hours.

    Parameters
    ----------
    conditions
        What was found in the room; decides on lines that count only then.
    price_book, settings
        Prices; place, price year and the value of an own hour.

    Raises
    ------
    InputError
        If the price book lacks a row, or a row does not cover what is measured.
    """
    present = set(conditions)
    counted = [x for x in upgrade.lines if x.only_if is None or x.only_if in present]
    tile = tile_of(counted, price_book)
    return tuple(_line(line, upgrade, room, tile, price_book, settings) for line in counted)


def tile_of(lines: Iterable[UpgradeLine], price_book: PriceBook) -> Piece | None:
    """Tile that the grout of these lines fills round."""
    for line in lines:
        tile = price_book.row(line.item).tile
        if tile is not None:
            return tile
    usual = price_book.rows.get(USUAL_TILE)
    return usual.tile if usual is not None else None


def _line(
    line: UpgradeLine,
    upgrade: Upgrade,
    room: Room,
    tile: Piece | None,
    price_book: PriceBook,
    settings: Settings,
) -> Line:
    row = price_book.row(line.item)
    quantity = measure(line.measure, room).scaled(line.times)
    if row.kind == "labour":
        return _labour(row, quantity, upgrade, price_book, settings)
    pack_usd = row.pack_usd.scaled(price_level(settings))
    if row.kind == "allowance":
        return Line(
            item=row.id,
            label=row.label,
            kind="allowance",
            unit=row.unit,
            quantity=quantity,
            cost_usd=product(pack_usd, quantity),
            hours=NOTHING,
            trade=row.trade,
        )
    covers = row.covers_of(unit_of(line.measure), tile)
    amount = needed(quantity, covers, row.waste_percent)
    buy = whole_packs(amount.typical, row.pack_size)
    return Line(
        item=row.id,
        label=row.label,
        kind="material",
        unit=row.unit,
        quantity=amount,
        buy=buy,
        pack=row.pack,
        pack_size=row.pack_size,
        pack_usd=pack_usd,
        left_over=max(0.0, buy * row.pack_size - amount.typical),
        cost_usd=product(pack_usd, packs_paid(amount, row)),
        hours=NOTHING,
    )


def packs_paid(amount: Range, row: PriceRow) -> Range:
    """Packs that a room pays for: whole ones, or its share of a pack that other rooms use too."""
    if row.packs == "shared":
        return amount.scaled(1.0 / row.pack_size)
    return packs_of(amount, row.pack_size)


def packs_of(amount: Range, pack_size: float) -> Range:
    """Whole packs that hold an amount [pack]."""
    return Range(
        low=whole_packs(amount.low, pack_size),
        typical=whole_packs(amount.typical, pack_size),
        high=whole_packs(amount.high, pack_size),
    )


def _labour(
    row: PriceRow, quantity: Range, upgrade: Upgrade, price_book: PriceBook, settings: Settings
) -> Line:
    worker = price_book.worker(row.trade, upgrade.own_trade)
    pace = price_book.wages[row.trade].own_pace if worker == "own" else Range.exactly(1.0)
    hours = product(row.hours, quantity, pace)
    return Line(
        item=row.id,
        label=row.label,
        kind="labour",
        unit=row.unit,
        quantity=quantity,
        cost_usd=product(hours, hourly_usd(price_book, worker, settings)),
        hours=hours,
        trade=worker,
    )
