"""Price book: what materials and hours cost, with the user's own rows over the package's."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

import streamlit as st

from app.figures import day
from app.own_figures import figures, from_csv
from app.shared import PutBack, attempt, workspace
from app.table import Column
from app.wages import price_levels, wage_table
from scorer.upgrades.price_rows import PriceRow, price_rows_csv, read_price_rows, trade_name
from scorer.upgrades.pricebook import load_price_book

KINDS = {"Material": "material", "Labor": "labour", "Allowance": "allowance"}
ROWS_A_PAGE = 25
_number = partial(Column, kind="number", editable=True, least=0.0, most=1e6)
COLUMNS = (
    Column("own", "Mine", "check"),
    Column("label", "What", "title"),
    Column("pack", "For", "line"),
    _number("low_usd", "Low, $"),
    _number("typical_usd", "Typical, $"),
    _number("high_usd", "High, $"),
    _number("hours_low", "Hours, low"),
    _number("hours_typical", "Hours, typical"),
    _number("hours_high", "Hours, high"),
    _number("waste_percent", "Waste, %", most=100.0, minor=True),
    Column("source", "Source", "text", True, most=400, minor=True),
    Column("trade", "Trade", minor=True),
    Column("date", "As of", minor=True),
)
MONEY = ("low_usd", "typical_usd", "high_usd")
HOURS = ("hours_low", "hours_typical", "hours_high")


def _cells(row: PriceRow) -> dict[str, object]:
    """What a row shows: material has prices and waste, labor hours, an allowance prices."""
    cells: dict[str, object] = {
        "own": True if row.id in own else None,
        "label": row.label,
        "pack": row.pack or f"1 {row.unit}",
        "source": row.source,
        "trade": trade_name(row.trade) or None,
        "date": row.date if len(row.date) < 10 else day(row.date),
    }
    cells |= {name: getattr(row, name) for name in (HOURS if row.kind == "labour" else MONEY)}
    return cells | ({"waste_percent": row.waste_percent} if row.kind == "material" else {})


def _columns(rows: list[PriceRow]) -> list[Column]:
    """Columns that none of the rows fills are left out."""
    filled = {name for row in rows for name, value in _cells(row).items() if value is not None}
    return [column for column in COLUMNS if column.id in filled]


def _save(rows: Iterable[PriceRow]) -> PutBack:
    store = workspace().store
    before = store.save_price_rows({row.id: row.model_dump_json() for row in rows})
    return lambda: store.save_price_rows(before)


def _table(rows: list[PriceRow]) -> None:
    pages = -(-len(rows) // ROWS_A_PAGE)
    place = st.pagination(pages, key=f"price_page_{len(rows)}") if pages > 1 else 1
    shown = rows[(place - 1) * ROWS_A_PAGE : place * ROWS_A_PAGE]
    figures(
        "Prices and hours",
        {row.id: row for row in shown},
        {row.id: row.label for row in shown},
        _columns(shown),
        _cells,
        "price_rows",
        _save,
    )
    st.caption("Of ten prices, one lies below the low figure and one above the high one.")


def _back_to_package(own: dict[str, str]) -> None:
    store = workspace().store
    attempt(
        "Your own rows are taken out: the program’s prices are in use.",
        lambda: store.save_price_rows(dict.fromkeys(own)),
        undo=lambda: store.save_price_rows(own),
    )


def _bring_in(text: str, name: str) -> tuple[int, PutBack]:
    book = load_price_book()
    rows = read_price_rows(text, base=book.rows, name=name)
    book.with_rows(rows)  # refuses what does not fit the rest of the book
    return len(rows), _save(rows)


st.title("Price book", anchor=False)
st.write(
    "Every estimate is a quantity times one of these rows. Change a figure and it is kept as your "
    "own; the program’s figure stays beneath it."
)
price_levels()
space = workspace()
book, own = space.price_book(), space.store.price_rows()
words = st.text_input("Find", placeholder="paint, floor, faucet …", key="price_words").lower()
kind = st.pills("Show", ["All", *KINDS, "My own"], default="All", required=True, key="price_kind")
found = [
    row
    for row in book.rows.values()
    if words in row.label.lower() or words in row.id
    if kind == "All" or (kind == "My own" and row.id in own) or row.kind == KINDS.get(kind or "")
]
if found:
    _table(found)
else:
    st.info("No row matches. Clear the search, or show all.")
wage_table()
one, two = st.columns(2, gap="large")
with one:
    with st.container(horizontal=True):
        mine = [row for row in book.rows.values() if row.id in own]
        st.download_button(
            "Save all rows as CSV", price_rows_csv(book.rows.values()), "prices.csv", "text/csv"
        )
        st.download_button(
            "Save my rows as CSV", price_rows_csv(mine), "my_prices.csv", "text/csv",
            disabled=not own,
        )  # fmt: skip
    if own:
        st.button(
            f"Go back to the program’s prices ({len(own)} {'row' if len(own) == 1 else 'rows'})",
            on_click=_back_to_package,
            args=(dict(own),),
        )
with two:
    from_csv(
        "Bring in rows from a CSV",
        _bring_in,
        key="prices",
        hint="The columns of the saved file; id and the figures that you change are enough.",
    )
