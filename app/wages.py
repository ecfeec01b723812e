"""What an hour costs, and how prices here and now compare with those of the book."""

from __future__ import annotations

from datetime import date

import pandas as pd
import streamlit as st

from app.shared import attempt, workspace
from scorer.conditions.data_file import checked
from scorer.settings import Settings
from scorer.upgrades.pricebook import Wage

EDITABLE = (
    "own_possible", "low_usd_per_hour", "typical_usd_per_hour", "high_usd_per_hour",
    "own_pace_low", "own_pace_typical", "own_pace_high", "source",
)  # fmt: skip
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
        column.number_input(
            label, 0.3, 4.0, getattr(settings, name), 0.05, key=f"level_{name}", help=words,
            on_change=_keep_level, args=(name,),
        )  # fmt: skip


def _keep_level(name: str) -> None:
    store, value = workspace().store, st.session_state[f"level_{name}"]
    if value is not None:
        changed = store.settings().model_dump() | {name: value}
        attempt("Price level kept.", lambda: store.save_settings(Settings.model_validate(changed)))


def wage_table() -> None:
    """Hired hours by trade, and which of them you could do yourself."""
    with st.expander("What an hour costs, by trade"):
        st.write(
            "Untick what you would rather hire. Your pace says how many hours you take for one "
            "hour of the trade. Licensed work is always hired."
        )
        wages = list(workspace().price_book().wages.values())
        frame = pd.DataFrame([wage.model_dump() for wage in wages])
        number = st.column_config.NumberColumn
        key = f"wages_{st.session_state.get('wage_edits', 0)}"
        st.data_editor(
            frame,
            key=key,
            on_change=_keep_wages,
            args=(key, wages),
            hide_index=True,
            width="stretch",
            column_order=["trade", *EDITABLE, "date"],
            disabled=[c for c in frame.columns if c not in EDITABLE],
            column_config={
                "trade": "Trade",
                "own_possible": st.column_config.CheckboxColumn("You could do it"),
                "low_usd_per_hour": number("Low, an hour", format="$%.0f", min_value=0.0),
                "typical_usd_per_hour": number("Typical, an hour", format="$%.0f", min_value=0.0),
                "high_usd_per_hour": number("High, an hour", format="$%.0f", min_value=0.0),
                "own_pace_low": number("Your pace, low", min_value=0.1),
                "own_pace_typical": number("Your pace, typical", min_value=0.1),
                "own_pace_high": number("Your pace, high", min_value=0.1),
                "source": st.column_config.TextColumn("Source", width="large"),
                "date": "As of",
            },
        )
        if workspace().own_wages():
            st.button("Go back to the package’s wages", on_click=_drop_wages)


def _keep_wages(key: str, wages: list[Wage]) -> None:
    edits = st.session_state[key]["edited_rows"]

    def write() -> None:
        mine = {"source": "own figure", "date": date.today().isoformat()}
        workspace().save_wages(
            checked(
                Wage,
                {
                    **wages[int(at)].model_dump(),
                    **mine,
                    **{name: value for name, value in cells.items() if value is not None},
                },
                wages[int(at)].trade,
            )
            for at, cells in edits.items()
        )

    attempt("Kept as your own wage; all estimates follow it.", write)
    st.session_state["wage_edits"] = st.session_state.get("wage_edits", 0) + 1


def _drop_wages() -> None:
    attempt("The package’s wages are in use.", workspace().drop_wages)
    st.session_state["wage_edits"] = st.session_state.get("wage_edits", 0) + 1
