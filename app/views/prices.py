"""Price book: what materials and hours cost, with the user's own rows over the package's."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from app.shared import saved, say, workspace
from scorer.errors import InputError
from scorer.upgrades.price_rows import PriceRow, price_rows_csv, read_price_rows
from scorer.upgrades.pricebook import load_price_book

EDITABLE = (
    "low_usd",
    "typical_usd",
    "high_usd",
    "hours_low",
    "hours_typical",
    "hours_high",
    "waste_percent",
    "source",
)

say()
st.title("Price book")
st.write(
    "Every estimate is a take-off times these rows. Change a figure and it is kept as your own; "
    "the package's figure stays beneath it."
)
space = workspace()
book, own = space.price_book(), space.store.price_rows()
words = st.text_input("Find", placeholder="paint, floor, faucet …").lower()
kind = st.segmented_control(
    "Show", ["All", "Material", "Labor", "Allowance", "My own"], default="All"
)
kinds = {"Material": "material", "Labor": "labour", "Allowance": "allowance"}
rows = [
    row
    for row in book.rows.values()
    if words in row.label.lower() or words in row.id
    if kind in (None, "All") or (kind == "My own" and row.id in own) or row.kind == kinds.get(kind)
]
frame = pd.DataFrame([row.model_dump() for row in rows])
if frame.empty:
    st.info("No row matches. Clear the search.")
else:
    frame.insert(0, "own", [row.id in own for row in rows])
    order = ["own", "label", "unit", "pack", *(c for c in EDITABLE if c in frame), "trade", "date"]
    edited = st.data_editor(
        frame,
        key=f"prices_{len(own)}_{words}_{kind}",
        hide_index=True,
        width="stretch",
        column_order=[c for c in order if c in frame],
        disabled=[c for c in frame.columns if c not in EDITABLE],
        column_config={
            "own": st.column_config.CheckboxColumn("Mine", width="small"),
            "label": st.column_config.TextColumn("What", width="medium"),
            "low_usd": st.column_config.NumberColumn("Low, $", format="$%.2f"),
            "typical_usd": st.column_config.NumberColumn("Typical, $", format="$%.2f"),
            "high_usd": st.column_config.NumberColumn("High, $", format="$%.2f"),
            "hours_low": st.column_config.NumberColumn("Hours, low"),
            "hours_typical": st.column_config.NumberColumn("Hours, typical"),
            "hours_high": st.column_config.NumberColumn("Hours, high"),
            "waste_percent": st.column_config.NumberColumn("Waste, %"),
        },
    )
    for at, row in enumerate(rows):
        changes = {
            c: edited[c].iloc[at]
            for c in EDITABLE
            if c in frame
            and edited[c].iloc[at] != frame[c].iloc[at]
            and not pd.isna(edited[c].iloc[at])
        }
        if changes:
            plain = {k: v.item() if hasattr(v, "item") else v for k, v in changes.items()}
            try:
                mine = PriceRow.model_validate({**row.model_dump(), **plain})
            except ValueError as error:
                first = str(error).splitlines()
                st.error(f"{row.label}: {first[2] if len(first) > 2 else first[0]}".strip())
                continue
            space.store.save_price_row(row.id, mine.model_dump_json())
            saved(f"{row.label}: kept as your own price")

one, two = st.columns(2)
with one:
    st.download_button(
        "Save my rows as CSV",
        price_rows_csv([PriceRow.model_validate_json(text) for text in own.values()]),
        "my_prices.csv",
        "text/csv",
        disabled=not own,
    )
    if own and st.button("Go back to the package's prices"):
        st.session_state["taken_back"] = own
        for item in own:
            space.store.save_price_row(item, None)
        saved("Your own rows are gone; undo below")
    taken = st.session_state.get("taken_back")
    if taken and not own and st.button("Undo: bring my rows back"):
        for item, text in taken.items():
            space.store.save_price_row(item, text)
        saved("Your own rows are back")
with two:
    upload = st.file_uploader("Bring in rows from a CSV", type=["csv"])
    if upload is not None and st.button("Bring them in", type="primary"):
        try:
            text = upload.getvalue().decode("utf-8-sig")
            fresh = read_price_rows(text, load_price_book().rows, name=upload.name)
        except UnicodeDecodeError:
            st.error(f"{upload.name} is not UTF-8 text; save it as CSV UTF-8.")
        except InputError as error:
            st.error(str(error))
        else:
            for row in fresh:
                space.store.save_price_row(row.id, row.model_dump_json())
            saved(f"{len(fresh)} rows brought in")
