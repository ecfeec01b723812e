"""Scope of work: limits as controls, the chosen work to overrule, holds, calendar, exports."""

from __future__ import annotations

from datetime import UTC, datetime

import altair as alt
import pandas as pd
import streamlit as st

from app.shared import ESTIMATE, facts_line, home_in_hand, photo, saved, say, workspace
from scorer.report import home_report_pdf, home_workbook
from scorer.report.bars import range_words
from scorer.report.contract import to_json
from scorer.report.table import money_words, payback_words
from scorer.scope.plan import Scope
from scorer.settings import Settings
from scorer.store import StoredHome
from scorer.upgrades.learning import FinishedJob, learn
from scorer.upgrades.option import Option
from scorer.workspace import LEARNING_OFF, Screened, budgets_of

AIMS = {
    "net_gain": "Most gain over the holding time",
    "rent_lift": "Most rent",
    "return": "Best return on the money",
}
DECISIONS = {"": "Program decides", "must": "Do it", "must_not": "Leave out"}

say()
st.title("Scope of work")
item = home_in_hand()


def _controls(settings: Settings) -> Settings:
    with st.container(border=True):
        one, two, three, four = st.columns(4)
        changed = {
            "budget_usd": one.number_input(
                "Budget, $", 0.0, 1e6, settings.budget_usd, 500.0, format="%.0f"
            ),
            "weeks": two.number_input("Weeks, at most", 1.0, 104.0, settings.weeks, 1.0),
            "hours_per_week": three.number_input(
                "Own hours a week", 1.0, 120.0, settings.hours_per_week, 1.0
            ),
            "helpers": four.number_input("Helpers", 0, 20, settings.helpers, 1),
            "aim": one.selectbox(
                "Aim", list(AIMS), list(AIMS).index(settings.aim), format_func=AIMS.__getitem__
            ),
            "own_hour_usd": two.number_input(
                "Own hour is worth, $",
                0.0,
                500.0,
                settings.own_hour_usd,
                1.0,
                help="What an hour of your own work is worth to you; zero is allowed.",
            ),
            "holding_years": three.number_input(
                "Years you keep it", 1.0, 50.0, settings.holding_years, 1.0
            ),
            "payback_limit_months": four.number_input(
                "Pay back within, months", 1.0, 360.0, settings.payback_limit_months, 6.0
            ),
        }
    new = settings.model_copy(update=changed)
    if new != settings:
        workspace().store.save_settings(new)
    return new


def _numbers(item: Screened) -> None:
    outcome, scope = item.result.outcome, item.result.scope
    one, two, three, four = st.columns(4)
    one.metric("Cost of the work", money_words(outcome.cost_usd.p50))
    one.caption(range_words(outcome.cost_usd))
    two.metric("Rent lift a month", money_words(outcome.rent_lift_month_usd.p50))
    two.caption(range_words(outcome.rent_lift_month_usd))
    three.metric("Pays back in", payback_words(outcome.payback_months))
    three.caption(f"{outcome.payback_within_limit:.0%} chance within your limit")
    four.metric("Time", f"{scope.weeks.typical:.1f} weeks")
    four.caption(f"{scope.hours.low:.0f} to {scope.hours.high:.0f} hours of work")
    pay = outcome.most_to_pay_usd
    gain = range_words(outcome.net_gain_usd)
    st.markdown(
        f"Net gain over the time you keep it: **{gain}**. Rent lost during the work: "
        f"**{money_words(outcome.lost_rent_usd)}**. Most to pay for your target return: "
        f"**{money_words(pay) if pay is not None else 'not known without the rent'}**."
    )


def _holds(scope: Scope) -> None:
    for hold in scope.holds:
        allowance = hold.allowance_usd
        st.warning(
            f"**First: {hold.label}** ({hold.room}). Who must look: {hold.who}. Allowance "
            f"{money_words(allowance.low)} to {money_words(allowance.high)}. {hold.caution}"
        )


def _table(item: Screened) -> None:
    home, result = item.home, item.result
    chosen = {option.id for option in result.scope.options}
    decided = dict.fromkeys(home.must, "must") | dict.fromkeys(home.must_not, "must_not")
    ordered: list[Option] = [
        *result.scope.options,
        *(o for o in result.options if o.id not in chosen),
    ]
    if not ordered:
        st.info("Nothing was found that work would lift. Tag what you see in the walk-through.")
        return
    left_out = {item.option: item.reason for item in result.scope.left_out}
    frame = pd.DataFrame(
        {
            "In": [o.id in chosen for o in ordered],
            "Room": [o.room.capitalize() for o in ordered],
            "Work": [o.label for o in ordered],
            "Cost": [
                f"{money_words(o.cost_usd.low)} to {money_words(o.cost_usd.high)}" for o in ordered
            ],
            "Hours": [o.hours.typical for o in ordered],
            "Rent a month": [o.rent_month_usd.typical for o in ordered],
            "Your say": [DECISIONS[decided.get(o.id, "")] for o in ordered],
            "Why not": [left_out.get(o.id, "") for o in ordered],
        }
    )
    key = f"say_{home.id}_{home.version}"
    edited = st.data_editor(
        frame,
        key=key,
        hide_index=True,
        width="stretch",
        disabled=[c for c in frame.columns if c != "Your say"],
        column_config={
            "In": st.column_config.CheckboxColumn("In", width="small"),
            "Hours": st.column_config.NumberColumn("Hours", format="%.1f h"),
            "Rent a month": st.column_config.NumberColumn("Rent a month", format="$%.0f"),
            "Your say": st.column_config.SelectboxColumn(
                "Your say", options=list(DECISIONS.values()), required=True
            ),
        },
    )
    for at, option in enumerate(ordered):
        if edited["Your say"].iloc[at] != frame["Your say"].iloc[at]:
            word = next(k for k, v in DECISIONS.items() if v == edited["Your say"].iloc[at])
            workspace().store.save_choice(home.id, home.version, option.id, word or None)  # type: ignore[arg-type]
            saved(f"{option.label}: {DECISIONS[word].lower()}")


def _frontier(item: Screened, settings: Settings) -> None:
    with st.expander("What would more money buy?"):
        view = budgets_of(item, settings)
        points = view.points
        frame = pd.DataFrame(
            {
                "Budget, $": [p.budget_usd for p in points],
                "Rent lift a month, $": [p.choice.lift_usd for p in points],
            }
        )
        line = (
            alt.Chart(frame)
            .mark_line(point=True, interpolate="step-after")
            .encode(x="Budget, $:Q", y="Rent lift a month, $:Q", tooltip=list(frame.columns))
        )
        st.altair_chart(line, width="stretch")
        more = view.more
        if more.added:
            names = "; ".join(view.labels[i] for i in more.added)
            st.write(
                f"{money_words(more.extra_usd)} more would add {names}, and raise the rent lift by "
                f"{money_words(more.lift_gain_usd)} a month."
            )
        else:
            st.write(f"{money_words(more.extra_usd)} more would buy nothing that is worth it.")


def _lists(scope: Scope) -> None:
    if scope.purchases:
        with st.expander("Shopping list"):
            st.dataframe(
                pd.DataFrame(
                    {
                        "Material": [p.label for p in scope.purchases],
                        "Needed": [f"{p.quantity:,.1f} {p.unit}" for p in scope.purchases],
                        "Buy": [f"{p.buy} × {p.pack}" for p in scope.purchases],
                        "Left over": [f"{p.left_over:,.1f} {p.unit}" for p in scope.purchases],
                        "Cost, $": [p.cost_usd.typical for p in scope.purchases],
                    }
                ),
                hide_index=True,
                width="stretch",
                column_config={"Cost, $": st.column_config.NumberColumn(format="$%.0f")},
            )
    if scope.calendar:
        with st.expander("Calendar"):
            frame = pd.DataFrame(
                {
                    "Work": [f"{t.room}: {t.label}" for t in scope.calendar],
                    "From": [t.start_day for t in scope.calendar],
                    "To": [t.end_day for t in scope.calendar],
                    "Hours": [t.hours for t in scope.calendar],
                }
            )
            bars = (
                alt.Chart(frame)
                .mark_bar(height=14)
                .encode(
                    x=alt.X("From:Q", title="Day"),
                    x2="To:Q",
                    y=alt.Y("Work:N", sort=None, title=None, axis=alt.Axis(labelLimit=320)),
                    tooltip=list(frame.columns),
                )
            )
            st.altair_chart(bars, width="stretch")
    keeps = [
        f"{k.room}: {k.label}"
        + (f", saves about {money_words(k.saves_usd)}" if k.saves_usd else "")
        for k in scope.keeps
    ]
    if keeps:
        with st.expander("Keep what is sound"):
            st.markdown("\n".join(f"- {line}" for line in keeps))
    cautions = dict.fromkeys(c for o in scope.options for c in o.cautions)
    if cautions:
        with st.expander("Cautions", expanded=True):
            st.markdown("\n".join(f"- {caution}" for caution in cautions))
            st.caption("Local codes and licensed people have the last word.")


def _exports(item: Screened) -> None:
    result, now = item.result, datetime.now(UTC)
    if not st.toggle("Write reports", help="PDF, Excel and JSON of this home"):
        return
    pictures = {p.name: photo(p.path, 900) for p in item.home.listing.photos}
    pdf = home_report_pdf(result, {n: j for n, j in pictures.items() if j}, now)
    one, two, three = st.columns(3)
    one.download_button("Report as PDF", pdf, f"{result.home}.pdf", "application/pdf")
    two.download_button(
        "Workbook for Excel",
        home_workbook(result),
        f"{result.home}.xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    )
    three.download_button(
        "Data as JSON", to_json([result]), f"{result.home}.json", "application/json"
    )


def _actuals(home: StoredHome, options: tuple[Option, ...]) -> None:
    with st.expander("Plan against actual: what did it really take?"):
        space = workspace()
        by_label = {f"{o.room}: {o.label}": o for o in options}
        with st.form(f"job_{home.id}", border=False, clear_on_submit=True):
            label = st.selectbox("Work that is done", list(by_label), index=None)
            one, two = st.columns(2)
            spent = one.number_input("Money spent, $", 0.0, 1e6, None, 10.0)
            hours = two.number_input("Hours it took", 0.0, 5_000.0, None, 0.5)
            if st.form_submit_button("Log it") and label and (spent or hours):
                option = by_label[label]
                job = FinishedJob(
                    upgrade=option.upgrade,
                    planned_cash_usd=option.cash_usd.typical or None,
                    actual_cash_usd=spent or None,
                    planned_hours=option.hours.typical or None,
                    actual_hours=hours or None,
                    finished_on=datetime.now(UTC).date().isoformat(),
                )
                space.store.add_job(home.id, home.version, job)
                saved("Logged; the next estimate uses it")
        jobs = space.jobs()
        use = st.toggle(
            "Let finished work correct the estimates", not space.store.flag(LEARNING_OFF)
        )
        if use == space.store.flag(LEARNING_OFF):
            space.store.save_flag(LEARNING_OFF, not use)
            saved("Estimates follow your own jobs" if use else "Estimates follow the price book")
        found = learn(jobs)
        rows = [
            {"For": name, "What": what, "Factor": c.factor, "Jobs": c.jobs}
            for what, group in (
                ("money, by trade", found.cash_by_trade),
                ("money, by work", found.cash_by_upgrade),
                ("hours, by trade", found.hours_by_trade),
                ("hours, by work", found.hours_by_upgrade),
            )
            for name, c in group.items()
        ]
        if rows:
            st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch")
        else:
            st.write("No finished work yet.")


if item is not None:
    st.caption(facts_line(item))
    settings = workspace().store.settings()
    changed = _controls(settings)
    if changed != settings:
        st.rerun()
    _numbers(item)
    _holds(item.result.scope)
    for sentence in item.result.scope.notes:
        st.info(sentence)
    _table(item)
    _frontier(item, settings)
    _lists(item.result.scope)
    _actuals(item.home, item.result.scope.options)
    _exports(item)
    st.caption(
        f"{ESTIMATE} Published evidence for what paint or flooring adds to rent is thin, so the "
        "ranges are wide."
    )
