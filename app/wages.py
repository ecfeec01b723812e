"""What an hour costs, and how prices here and now compare with those of the book."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

import streamlit as st

from app.figures import day
from app.own_figures import figures, from_csv
from app.shared import PutBack, attempt, workspace
from app.table import Column
from scorer.upgrades.price_rows import Wage, read_wages, trade_name, wages_csv
from scorer.upgrades.pricebook import load_price_book

_number = partial(Column, kind="number", editable=True)
_rate = partial(_number, least=0.0, most=1e6)
_pace = partial(_number, least=0.1, most=10.0, minor=True)
COLUMNS = (
    Column("trade", "Trade", "title"),
    Column("own_possible", "You could do it", "check", True),
    _rate("low_usd_per_hour", "Low, $ an hour"),
    _rate("typical_usd_per_hour", "Typical, $ an hour"),
    _rate("high_usd_per_hour", "High, $ an hour"),
    _pace("own_pace_low", "Your pace, low"),
    _pace("own_pace_typical", "Your pace, typical"),
    _pace("own_pace_high", "Your pace, high"),
    Column("source", "Source", "text", True, most=400, minor=True),
    Column("date", "As of", minor=True),
)
LEVELS = {
    "location_factor": (
        "Prices here, against the book",
        "1 is the book’s level; 1.1 is a tenth dearer. Published location factors of federal cost "
        "guides run from about 0.9 to 1.15 over the states.",
    ),
    "price_factor": (
        "Prices now, against the book’s date",
        "1 is as of the book; 1.05 is five percent dearer since.",
    ),
}


def price_levels() -> None:
    """Two factors on all prices and hired hours."""
    settings = workspace().store.settings()
    columns = st.columns(len(LEVELS))
    for column, (name, (label, words)) in zip(columns, LEVELS.items(), strict=True):
        # What is kept is shown, also where another tab wrote it since.
        st.session_state[f"level_{name}"] = getattr(settings, name)
        column.number_input(
            label, 0.3, 4.0, step=0.05, key=f"level_{name}", help=words,
            on_change=_keep_level, args=(name,),
        )  # fmt: skip


def _keep_level(name: str) -> None:
    store, value = workspace().store, st.session_state[f"level_{name}"]
    if value is not None:
        attempt("Price level kept.", lambda: store.change_settings({name: value}))


def wage_table() -> None:
    """Hired hours by trade, and which of them you could do yourself."""
    with st.expander("What an hour costs, by trade"):
        st.write(
            "Untick what you would rather hire. Your pace says how many hours you take for one "
            "hour of the trade. Licensed work is always hired."
        )
        wages = workspace().price_book().wages
        names = {trade: trade_name(trade).capitalize() for trade in wages}
        figures("Wages", wages, names, COLUMNS, _cells, "wage_rows", _save)
        if workspace().own_wages():
            st.button("Go back to the program’s wages", on_click=_drop_wages)
        st.download_button(
            "Save the wages as CSV", wages_csv(wages.values()), "wages.csv", "text/csv"
        )
        from_csv(
            "Bring in wages from a CSV",
            _bring_in,
            key="wages",
            hint="The columns of the saved file; trade and the figures that you change are enough.",
        )


def _cells(wage: Wage) -> dict[str, object]:
    cells: dict[str, object] = wage.model_dump()
    cells["trade"] = trade_name(wage.trade).capitalize()
    return cells | {"date": wage.date if len(wage.date) < 10 else day(wage.date)}


def _save(wages: Iterable[Wage]) -> PutBack:
    space = workspace()
    before = space.save_wages(wages)
    return lambda: space.put_wages_back(before)


def _bring_in(text: str, name: str) -> tuple[int, PutBack]:
    wages = read_wages(text, base=load_price_book().wages, name=name)
    return len(wages), _save(wages)


def _drop_wages() -> None:
    space = workspace()
    own = space.own_wages()
    attempt(
        "Your own wages are taken out: the program’s are in use.",
        space.drop_wages,
        undo=lambda: space.put_wages_back(own),
    )
