"""Plan against actual: what finished work took, what the home let for, and what that teaches."""

from __future__ import annotations

import streamlit as st

from app.before_after import before_and_after
from app.figures import day, day_form, money, number, percent, plain, today
from app.look import figure_table
from app.shared import change, tell, workspace
from scorer.errors import InputError
from scorer.money.lettings import Letting
from scorer.workspace import Screened
from scorer.workspace.actuals import (
    Done,
    account,
    finished_job,
    learnt,
    letting_of,
    planned_rise,
    rent_learnt,
)
from scorer.workspace.basis import LEARNING_OFF, RENT_LEARNING_OFF
from scorer.workspace.pairs import pairs_of

# Two figures of a form, and two photos, stand side by side on a phone too.
NARROW = """<style>@media (max-width: 640px) {
:is(.st-key-job_figures, .st-key-let_figures, div[class*="st-key-sides_"])
[data-testid="stColumn"] { min-width: 44% !important; flex: 1 1 44% !important; } }</style>"""


def actuals(item: Screened) -> None:
    """Four folded sections, in the order in which a job goes on."""
    st.html(NARROW)
    st.subheader("Plan against actual", anchor=False)
    with st.expander("Work that is done: what did it really take?"):
        _log(item)
        _logged(item)
    pairs = pairs_of(workspace(), item)
    with st.expander("Before and after, in photos"):
        before_and_after(item, pairs)
    with st.expander("The rent it was let for"):
        _rent(item)
    with st.expander("What the next estimate learns from it"):
        _learning()


# Work -------------------------------------------------------------------------------------------


def _log(item: Screened) -> None:
    chosen = {o.id: f"{o.room.capitalize()}: {o.label}" for o in item.result.scope.options}
    key = f"job_{item.home.id}"

    def keep() -> None:
        option = st.session_state[f"{key}_what"]
        spent, hours = st.session_state[f"{key}_spent"], st.session_state[f"{key}_hours"]
        if option is None:
            tell("Choose the work that is done first.", kind="warning")
            return
        try:
            job = finished_job(workspace(), item, option, spent, hours, today())
        except InputError as error:
            tell(str(error), kind="warning")
            return
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
        st.selectbox(
            "Work that is done",
            list(chosen),
            index=None,
            format_func=chosen.__getitem__,
            placeholder="Choose from the work of this home",
            key=f"{key}_what",
        )
        one, two = st.container(key="job_figures").columns(2)
        one.number_input("Money spent, $", 0.0, 1e6, None, 10.0, "%.0f", key=f"{key}_spent")
        two.number_input("Hours it took", 0.0, 5_000.0, None, 0.5, "%.1f", key=f"{key}_hours")
        st.form_submit_button("Log it", on_click=keep)


def _logged(item: Screened) -> None:
    kept = account(workspace(), item)
    for done in kept.done:
        _done(item, done)
    if len(kept.done) > 1:
        st.markdown(
            plain(
                f"All of it: **{money(kept.actual_cash_usd)}** spent, "
                f"{money(kept.planned_cash_usd)} planned; **{number(kept.actual_hours, 1)} h** "
                f"taken, {number(kept.planned_hours, 1)} h planned."
            )
        )
    if kept.done:
        st.caption("The plan is that of the price book alone, before your own jobs correct it.")


def _done(item: Screened, done: Done) -> None:
    job, words = done.job, []
    if job.actual_cash_usd is not None:
        plan = "" if job.planned_cash_usd is None else f", {money(job.planned_cash_usd)} planned"
        words.append(f"**{money(job.actual_cash_usd)}** spent{plan}")
    if job.actual_hours is not None:
        plan = "" if job.planned_hours is None else f", {number(job.planned_hours, 1)} h planned"
        words.append(f"**{number(job.actual_hours, 1)} h** taken{plan}")
    with st.container(border=True, key=f"done_{done.id}"):
        st.markdown(plain(f"{done.label}  \n{'; '.join(words)}"))
        if job.finished_on:
            st.caption(day(job.finished_on))
        st.button("Take it out", key=f"out_job_{done.id}", on_click=_take_out, args=(item, done))


def _take_out(item: Screened, done: Done) -> None:
    change(
        item.home.id,
        f"{done.label}: taken out.",
        lambda store, home, version: store.remove_job(home, version, done.id),
        undo=lambda store, home, version: store.restore_job(home, version, done.id),
    )


# Rent -------------------------------------------------------------------------------------------


def _rent(item: Screened) -> None:
    key = f"let_{item.home.id}"
    known = item.home.listing.monthly_rent_usd

    def keep() -> None:
        values = {f: st.session_state[f"{key}_{f}"] for f in ("rent", "before", "day", "note")}
        try:
            letting = letting_of(
                workspace(), item, values["rent"], values["before"], values["day"], values["note"]
            )
        except InputError as error:
            tell(str(error), kind="warning")
            return
        added: list[int] = []
        kept = change(
            item.home.id,
            "Rent logged; the next estimate uses it.",
            lambda store, home, version: added.append(store.add_letting(home, version, letting)),
            undo=lambda store, home, version: store.remove_letting(home, version, added[-1]),
        )
        if kept:
            st.session_state[f"{key}_rent"] = None
            st.session_state[f"{key}_note"] = ""

    for row, letting in workspace().store.lettings(item.home.id):
        _let(item, row, letting)
    with st.form(key, border=False):
        one, two, three = st.container(key="let_figures").columns(3)
        one.number_input("Rent a month now, $", 0.0, 1e6, None, 10.0, "%.0f", key=f"{key}_rent")
        two.number_input(
            "Rent a month before, $",
            0.0,
            1e6,
            known,
            10.0,
            "%.0f",
            key=f"{key}_before",
            help="As the home was. Leave it empty if you don't know: the estimate is taken then, "
            "and what came counts for less.",
        )
        three.date_input("Let from", today(), key=f"{key}_day", format=day_form())
        st.text_input(
            "Terms that differ",
            key=f"{key}_note",
            max_chars=2_000,
            placeholder="Furnished, bills included, a longer lease …",
        )
        st.form_submit_button("Log the rent", on_click=keep)
    rise = planned_rise(workspace(), item)
    basis = "of the work you logged" if rise.from_logged_work else "of the scope above"
    st.caption(plain(f"Planned rise {basis}: {money(rise.usd)} a month."))


def _let(item: Screened, row: int, letting: Letting) -> None:
    when = f" from {day(letting.let_on)}" if letting.let_on else ""
    sure = "" if letting.before_sd == 0 else " (estimated)"
    words = (
        f"Let for **{money(letting.rent_usd)}** a month{when}; before it was "
        f"{money(letting.rent_before_usd)}{sure}. Planned rise: "
        f"{money(letting.planned_lift_usd)}."
    )
    with st.container(border=True, key=f"letting_{row}"):
        st.markdown(plain(words))
        if letting.note:
            st.caption(plain(letting.note))
        st.button("Take it out", key=f"out_let_{row}", on_click=_take_out_rent, args=(item, row))


def _take_out_rent(item: Screened, row: int) -> None:
    change(
        item.home.id,
        "The rent was taken out.",
        lambda store, home, version: store.remove_letting(home, version, row),
        undo=lambda store, home, version: store.restore_letting(home, version, row),
    )


# Learning ---------------------------------------------------------------------------------------


def _learning() -> None:
    store = workspace().store
    st.toggle(
        "Finished work corrects money and hours",
        not store.flag(LEARNING_OFF),
        key="learning_on",
        on_change=_switch,
        args=("learning_on", LEARNING_OFF),
    )
    rows = [
        (
            f"{row.subject.capitalize()}: {row.name[0].lower()}{row.name[1:]}",
            f"× {number(row.correction.factor, 2)}",
            number(row.correction.jobs),
            percent(row.correction.weight),
        )
        for row in learnt(workspace())
    ]
    if rows:
        st.html(figure_table(("Estimates of", "Factor", "Jobs", "Weight"), rows))
        st.caption(
            "Above 1: it took more than the price book says. The weight is how much your own jobs "
            "count; the price book has the rest."
        )
    else:
        st.caption("No finished work is logged yet: money and hours follow the price book.")
    st.toggle(
        "Rents that came correct the rent rises",
        not store.flag(RENT_LEARNING_OFF),
        key="rent_learning_on",
        on_change=_switch,
        args=("rent_learning_on", RENT_LEARNING_OFF),
    )
    found = rent_learnt(workspace())
    if not found.lettings:
        st.caption("No rent is logged yet: rent rises follow the catalogue.")
        return
    row = (
        "Rent rises of all work",
        f"× {number(found.factor, 2)}",
        number(found.lettings),
        percent(found.weight),
    )
    st.html(figure_table(("Estimates of", "Factor", "Rents", "Weight"), [row]))
    st.caption(
        "Above 1: more came than was planned; below 1: less. One rent says little, since rents of "
        "like homes differ by several percent anyway; so it counts by its weight, and the "
        "catalogue has the rest."
    )


def _switch(key: str, flag: str) -> None:
    use = st.session_state[key]
    workspace().store.save_flag(flag, not use)
    tell("The next estimate uses it." if use else "The next estimate leaves it out.")
