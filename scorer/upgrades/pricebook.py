"""What materials, hours and hired labour cost; the user's own rows outrank those of the package.

Examples
--------
>>> book = load_price_book()
>>> book.row("wall_paint").covers_of("sq ft").typical
400.0
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.settings import Settings
from scorer.upgrades.price_rows import PriceRow, Wage, read_price_rows, read_wages

__all__ = [
    "PRICE_FILE",
    "WAGE_FILE",
    "PriceBook",
    "PriceRow",
    "Wage",
    "load_price_book",
    "price_level",
]

DATA_FOLDER = Path(__file__).parent / "data"
PRICE_FILE = DATA_FOLDER / "price_book.csv"
WAGE_FILE = DATA_FOLDER / "wages.csv"

LICENSED_HELPER = "handyman"
"""Small tasks of this trade are done by the licensed trade where the whole work needs one."""


class PriceBook(Record):
    """Prices and wages at the base place and date; the settings' factors come on top when used.

    Attributes
    ----------
    rows
        By id.
    wages
        By trade.
    """

    rows: dict[str, PriceRow]
    wages: dict[str, Wage]

    def row(self, item: str) -> PriceRow:
        """One row.

        Raises
        ------
        InputError
            If there is none of that id.
        """
        if item not in self.rows:
            raise InputError(f"The price book has no row {item!r}; add it, or choose another id.")
        return self.rows[item]

    def with_rows(self, rows: Iterable[PriceRow]) -> PriceBook:
        """The same book with the user's rows in place of, or beside, those it has.

        Raises
        ------
        InputError
            If a row names a trade that has no wage.
        """
        own = {row.id: row for row in rows}
        for row in own.values():
            if row.trade and row.trade not in self.wages:
                raise InputError(
                    f"Price book, row {row.id}, field trade: no wage for {row.trade!r}; "
                    f"choose one of {', '.join(self.wages)}."
                )
        return self.model_copy(update={"rows": {**self.rows, **own}})

    def with_wages(self, wages: Iterable[Wage]) -> PriceBook:
        """The same book with the user's wages in place of, or beside, those it has."""
        return self.model_copy(
            update={"wages": {**self.wages, **{wage.trade: wage for wage in wages}}}
        )

    def worker(self, trade: str, licensed_trade: str = "own") -> str:
        """Who does a task: ``own`` where an able owner may, else the trade to hire.

        Parameters
        ----------
        trade
            The task's trade.
        licensed_trade
            The trade that the whole upgrade needs; ``own`` if none.
        """
        if licensed_trade in self.wages and trade in {licensed_trade, LICENSED_HELPER}:
            return licensed_trade
        return "own" if self.wages[trade].own_possible else trade


def price_level(settings: Settings) -> float:
    """Prices at the user's place and time over those of the book [1]."""
    return settings.location_factor * settings.price_factor


def hourly_usd(book: PriceBook, worker: str, settings: Settings) -> Range:
    """An hour's cost [$/h]: the user's own value for ``own``, else the billing rate there."""
    if worker == "own":
        return Range.exactly(settings.own_hour_usd)
    return book.wages[worker].rate_usd_per_hour.scaled(price_level(settings))


@cache
def load_price_book(price_file: Path = PRICE_FILE, wage_file: Path = WAGE_FILE) -> PriceBook:
    """The package's price book.

    The user's own comes on top: ``load_price_book().with_rows(read_price_rows(path, base=...))``.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    wages = {wage.trade: wage for wage in read_wages(wage_file)}
    return PriceBook(rows={}, wages=wages).with_rows(read_price_rows(price_file))
