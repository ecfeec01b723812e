"""Price book: what materials and hours cost, with the user's own rows over the package's."""

from __future__ import annotations

from datetime import date

import pandas as pd
import streamlit as st

from app.shared import attempt, tell, workspace
from app.wages import price_levels, wage_table
from scorer.conditions.data_file import checked
from scorer.errors import InputError
from scorer.upgrades.price_rows import PriceRow, price_rows_csv, read_price_rows
from scorer.upgrades.pricebook import load_price_book

EDITABLE = (
    "low_usd", "typical_usd", "high_usd", "hours_low", "hours_typical", "hours_high",
    "waste_percent", "source",
)  # fmt: skip
KINDS = {"Material": "material", "Labor": "labour", "Allowance": "allowance"}


def _keep(key: str, rows: list[PriceRow]) -> None:
    edits = st.session_state[key]["edited_rows"]

    def write() -> None:
        changed = {
            rows[int(at)].id: _changed(rows[int(at)], cells).model_dump_json()
            for at, cells in edits.items()
        }
        workspace().store.save_price_rows(changed)

    attempt("Kept as your own price; all estimates follow it.", write)
    st.session_state["price_edits"] = st.session_state.get("price_edits", 0) + 1


def _changed(row: PriceRow, cells: dict[str, object]) -> PriceRow:
    """The row with the cells that were typed; its source is the user unless one was typed too."""
    given = {name: value for name, value in cells.items() if value is not None}
    mine = {"source": "own price", "date": date.today().isoformat()}
    return checked(PriceRow, {**row.model_dump(), **mine, **given}, row.label)


def _table(rows: list[PriceRow], own: set[str]) -> None:
    frame = pd.DataFrame([row.model_dump() for row in rows])
    frame.insert(0, "own", [row.id in own for row in rows])
    order = ["own", "label", "unit", "pack", *EDITABLE, "trade", "date"]
    number = st.column_config.NumberColumn
    key = f"prices_{st.session_state.get('price_edits', 0)}"
    st.data_editor(
        frame,
        key=key,
        on_change=_keep,
        args=(key, rows),
        hide_index=True,
        width="stretch",
        height=min(560, 38 + 35 * len(rows)),
        column_order=order,
        disabled=[c for c in frame.columns if c not in EDITABLE],
        column_config={
            "own": st.column_config.CheckboxColumn("Mine", width="small"),
            "label": st.column_config.TextColumn("What", width="medium"),
            "unit": "Unit",
            "pack": "Pack",
            "low_usd": number("Low", format="$%.2f", min_value=0.0),
            "typical_usd": number("Typical", format="$%.2f", min_value=0.0),
            "high_usd": number("High", format="$%.2f", min_value=0.0),
            "hours_low": number("Hours, low", min_value=0.0),
            "hours_typical": number("Hours, typical", min_value=0.0),
            "hours_high": number("Hours, high", min_value=0.0),
            "waste_percent": number("Waste, %", min_value=0.0, max_value=100.0),
            "source": st.column_config.TextColumn("Source", width="large"),
            "trade": "Trade",
            "date": "As of",
        },
    )
    st.caption("Low and high are meant as the 10th and 90th percentile. Double-click to change.")


def _back_to_package(own: dict[str, str]) -> None:
    workspace().store.save_price_rows(dict.fromkeys(own))
    st.session_state["taken_back"] = own
    st.session_state["price_edits"] = st.session_state.get("price_edits", 0) + 1
    tell("Your own rows are taken out.")


def _bring_back() -> None:
    workspace().store.save_price_rows(st.session_state.pop("taken_back"))
    tell("Your own rows are back.")


def _bring_in(content: bytes, name: str) -> None:
    try:
        text = content.decode("utf-8-sig")
        rows = read_price_rows(text, base=load_price_book().rows, name=name)
        load_price_book().with_rows(rows)
    except UnicodeDecodeError:
        tell(f"{name} is not UTF-8 text; save it as CSV UTF-8.", kind="error")
    except InputError as error:
        tell(str(error), kind="error")
    else:
        workspace().store.save_price_rows({row.id: row.model_dump_json() for row in rows})
        st.session_state["price_edits"] = st.session_state.get("price_edits", 0) + 1
        tell(f"{len(rows)} rows are in use.")


st.title("Price book")
st.write(
    "Every estimate is a quantity times one of these rows. Change a figure and it is kept as your "
    "own; the package’s figure stays beneath it."
)
price_levels()
space = workspace()
book, own = space.price_book(), space.store.price_rows()
words = st.text_input("Find", placeholder="paint, floor, faucet …", key="price_words").lower()
kind = st.segmented_control(
    "Show", ["All", *KINDS, "My own"], default="All", required=True, key="price_kind"
)
found = [
    row
    for row in book.rows.values()
    if words in row.label.lower() or words in row.id
    if kind == "All" or (kind == "My own" and row.id in own) or row.kind == KINDS.get(kind or "")
]
if found:
    _table(found, set(own))
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
            f"Go back to the package’s prices ({len(own)} rows)",
            on_click=_back_to_package,
            args=(dict(own),),
        )
    elif "taken_back" in st.session_state:
        st.button("Undo: bring my rows back", on_click=_bring_back)
with two:
    upload = st.file_uploader(
        "Bring in rows from a CSV",
        type=["csv"],
        help="The columns of the saved file; id and the figures that you change are enough.",
    )
    if upload is not None:
        st.button(
            "Use these rows", type="primary", on_click=_bring_in,
            args=(upload.getvalue(), upload.name),
        )  # fmt: skip
