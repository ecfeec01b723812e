"""Plan against actual: what finished work took, and how the next estimate uses it."""

from __future__ import annotations

from datetime import UTC, datetime

import pandas as pd
import streamlit as st

from app.shared import change, tell, workspace
from scorer.upgrades.learning import Correction, FinishedJob, learn
from scorer.upgrades.option import Option
from scorer.workspace import Screened
from scorer.workspace.workspace import LEARNING_OFF


def actuals(item: Screened) -> None:
    """Log what work took, and show the corrections that come of it."""
    with st.expander("Plan against actual: what did it really take?"):
        _log(item)
        off = workspace().store.flag(LEARNING_OFF)
        st.toggle(
            "Let finished work correct the estimates",
            not off,
            key="learning_on",
            on_change=_switch,
        )
        rows = _corrections()
        if rows:
            st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch")
            st.caption(
                "A factor above 1: it took more than planned. With few jobs it stays near 1."
            )
        else:
            st.caption("No finished work yet: estimates follow the price book.")


def _log(item: Screened) -> None:
    options = {f"{o.room.capitalize()}: {o.label}": o for o in item.result.scope.options}
    key = f"job_{item.home.id}"

    def keep() -> None:
        label = st.session_state[f"{key}_what"]
        spent, hours = st.session_state[f"{key}_spent"], st.session_state[f"{key}_hours"]
        if label is None or not (spent or hours):
            tell("Choose the work, and give the money or the hours it took.", kind="warning")
            return
        job = _job(options[label], spent, hours)
        kept = change(
            item.home.id,
            "Logged; the next estimate uses it.",
            lambda store, home, version: store.add_job(home, version, job),
            undo=lambda store, home, version: store.undo_last_job(home, version),
        )
        if kept:
            for field in ("what", "spent", "hours"):
                st.session_state[f"{key}_{field}"] = None

    with st.form(key, border=False):
        st.selectbox("Work that is done", list(options), index=None, key=f"{key}_what")
        one, two = st.columns(2)
        one.number_input("Money spent, $", 0.0, 1e6, None, 10.0, "%.0f", key=f"{key}_spent")
        two.number_input("Hours it took", 0.0, 5_000.0, None, 0.5, "%.1f", key=f"{key}_hours")
        st.form_submit_button("Log it", on_click=keep)


def _job(option: Option, spent: float | None, hours: float | None) -> FinishedJob:
    trades = [line.trade for line in option.lines if line.kind == "labour"]
    return FinishedJob(
        upgrade=option.upgrade,
        trade=trades[0] if trades else "own",
        planned_cash_usd=option.cash_usd.typical or None,
        actual_cash_usd=spent or None,
        planned_hours=option.hours.typical or None,
        actual_hours=hours or None,
        finished_on=datetime.now(UTC).date().isoformat(),
    )


def _switch() -> None:
    use = st.session_state["learning_on"]
    workspace().store.save_flag(LEARNING_OFF, not use)
    tell("Estimates follow your own jobs." if use else "Estimates follow the price book.")


def _corrections() -> list[dict[str, object]]:
    found = learn(workspace().jobs())
    groups: tuple[tuple[str, dict[str, Correction]], ...] = (
        ("money, by trade", found.cash_by_trade),
        ("money, by kind of work", found.cash_by_upgrade),
        ("hours, by trade", found.hours_by_trade),
        ("hours, by kind of work", found.hours_by_upgrade),
    )
    return [
        {"For": name.replace("_", " "), "What": what, "Factor": round(c.factor, 2), "Jobs": c.jobs}
        for what, group in groups
        for name, c in group.items()
    ]
