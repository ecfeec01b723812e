"""Scope of work: limits as controls, the chosen work to overrule, holds, calendar, exports."""

from __future__ import annotations

import streamlit as st

from app.after import actuals
from app.exports import exports
from app.figures import (
    amount,
    chart_label,
    local,
    money,
    money_range,
    money_span,
    months,
    needed,
    number,
    packs,
    percent,
    plain,
)
from app.holding import money_sections
from app.look import days, quiet
from app.rents import rents
from app.shared import (
    ESTIMATE,
    attempt,
    facts_line,
    grouped,
    home_in_hand,
    most_to_pay,
    steady,
    workspace,
)
from app.table import Column, Row, table
from app.work_list import work_list
from scorer.money.rent_evidence import THIN_EVIDENCE
from scorer.records import Quantiles
from scorer.scope.plan import Hold, Scope
from scorer.settings import Settings
from scorer.workspace import Screened

AIMS = {
    "net_gain": "Most gain",
    "rent_lift": "Highest rent",
    "return": "Best return",
}
EMPTY = "The longest that the home may stand without a tenant for the work."
PAID_OUT = "Money that you pay out. Your own hours are not in it: their limit is the weeks."
SHOPPING = (
    Column("what", "Material", "title"),
    Column("buy", "Buy"),
    Column("need", "Needed", "figure"),
    Column("left", "Left over", "figure"),
    Column("cost", "Cost", "figure"),
)


def _keep_setting(name: str) -> None:
    value = st.session_state[f"set_{name}"]
    if value is not None:
        attempt("Limits kept.", lambda: workspace().store.change_settings({name: value}))


def _controls(settings: Settings) -> None:
    def ask(column, label: str, name: str, low: float, high: float, step: float, **more) -> None:  # type: ignore[no-untyped-def]
        # What is kept is shown, also where another tab wrote it since.
        st.session_state[f"set_{name}"] = getattr(settings, name)
        column.number_input(
            label,
            low,
            high,
            step=step,
            key=f"set_{name}",
            on_change=_keep_setting,
            args=(name,),
            **more,
        )

    with st.container(border=True, key="limits"):
        one, two, three, four = st.columns(4)
        ask(one, "Budget, $", "budget_usd", 0.0, 1e6, 500.0, format="%.0f", help=PAID_OUT)
        grouped(one, settings.budget_usd, "budget")
        ask(two, "Most weeks empty", "weeks", 0.5, 104.0, 1.0, format="%.1f", help=EMPTY)
        ask(three, "Your hours a week", "hours_per_week", 0.5, 120.0, 1.0, format="%.1f")
        ask(four, "Helpers", "helpers", 0, 20, 1)
        one, two, three, four = st.columns(4)
        st.session_state["set_aim"] = settings.aim
        one.selectbox(
            "Aim",
            list(AIMS),
            format_func=AIMS.__getitem__,
            key="set_aim",
            on_change=_keep_setting,
            args=("aim",),
        )
        ask(
            two, "Your hour is worth, $", "own_hour_usd", 0.0, 500.0, 1.0, format="%.0f",
            help="What an hour of your own work is worth to you; zero is allowed.",
        )  # fmt: skip
        ask(three, "Years you keep it", "holding_years", 0.5, 50.0, 1.0, format="%.1f")
        ask(four, "Pay back within, months", "payback_limit_months", 1.0, 360.0, 6.0, format="%.0f")
    st.caption("These limits hold for all homes, and the ranking follows them.")


def _numbers(item: Screened) -> None:
    outcome, scope = item.result.outcome, item.result.scope
    one, two, three, four = st.container(key="numbers").columns(4)
    one.metric("Cost of the work", money(outcome.cost_usd.p50))
    one.caption(_between(outcome.cost_usd))
    two.metric("Rent rise a month", money(outcome.rent_lift_month_usd.p50))
    two.caption(_between(outcome.rent_lift_month_usd))
    three.metric("Pays back in", months(outcome.payback_months) if scope.options else "–")
    three.caption(f"{percent(outcome.payback_within_limit)} chance within your limit")
    four.metric("Time", f"{number(scope.weeks.typical, 1)} weeks")
    four.caption(f"{number(scope.hours.low)} to {number(scope.hours.high)} hours of work")
    if scope.options:
        settings = workspace().store.settings()
        own = "; the rest of its cost is your own hours" if settings.own_hour_usd else ""
        st.markdown(
            plain(
                f"Of your budget of **{money(settings.budget_usd)}** the work on the list takes "
                f"about **{money(scope.cash_usd.typical)}**{own}."
            )
        )
    st.markdown(
        plain(
            f"Net gain over the time you keep it: **{money_range(outcome.net_gain_usd)}**. Rent "
            f"lost during the work: **{money(outcome.lost_rent_usd)}**. Most to pay for the home "
            f"and still earn your target return: **{most_to_pay(item)}**."
        )
    )


def _between(figure: Quantiles) -> str:
    return plain(f"likely {money_span(figure)}")


def _holds(scope: Scope) -> None:
    if scope.holds:
        st.subheader("First, before anything covers it", anchor=False)
    for hold in scope.holds:
        st.warning(
            plain(
                f"**{hold.label}** ({hold.room}). Who must look: {hold.who}. "
                f"{_allowance(hold, scope)} {hold.caution}"
            ),
            icon=":material/front_hand:",
        )
    for note in scope.notes:
        st.warning(plain(local(note)))


def _allowance(hold: Hold, scope: Scope) -> str:
    """What is set aside for a hold, or the work that mends it and is priced by itself."""
    mends = [f"“{o.label}”" for o in scope.options if o.id in hold.cleared_by]
    if mends:
        return f"Its cost is that of {' and '.join(mends)} in the list below."
    return f"Allowance {money_span(hold.allowance_usd)}."


def _more_money(item: Screened) -> None:
    with st.expander("What would more money, or less, buy?"):
        if not st.toggle("Draw it", key="draw_budgets"):
            return
        import altair as alt
        import pandas as pd

        view = workspace().budgets(item)
        frame = pd.DataFrame(
            {
                "budget": [p.budget_usd for p in view.points],
                "lift": [p.choice.lift_usd for p in view.points],
                "Budget": [money(p.budget_usd) for p in view.points],
                "Rent rise a month": [money(p.choice.lift_usd) for p in view.points],
            }
        )
        axis = alt.Axis(format=",.0f", labelExpr=chart_label())
        line = (
            alt.Chart(frame)
            .mark_line(point=True, interpolate="step-after")
            .encode(
                x=alt.X("budget:Q", title="Budget, $", axis=axis),
                y=alt.Y("lift:Q", title="Rent rise a month, $", axis=axis),
                tooltip=["Budget", "Rent rise a month"],
            )
            .properties(height=260)
        )
        st.altair_chart(line, width="stretch")
        more = view.more
        extra = money(more.extra_usd)
        if more.added:
            names = "; ".join(view.labels[i] for i in more.added)
            lift = money(more.lift_gain_usd)
            st.write(plain(f"{extra} more would add {names}: {lift} more rent a month."))
        else:
            st.write(plain(f"{extra} more would buy nothing that is worth it."))


def _shopping(scope: Scope) -> None:
    if not scope.purchases:
        return
    rows = [
        Row(
            str(at),
            p.label,
            {
                "what": p.label,
                "buy": packs(p.buy, p.pack),
                "need": needed(p.quantity, p.unit),
                "left": needed(p.left_over, p.unit) if amount(p.left_over) != "–" else None,
                "cost": money(p.cost_usd.typical),
            },
        )
        for at, p in enumerate(scope.purchases)
    ]
    with st.expander(f"Shopping list: {len(rows)} things"):
        table("Shopping list", SHOPPING, rows, "shopping", lambda edits: None)


def _lists(scope: Scope) -> None:
    _shopping(scope)
    if scope.calendar:
        with st.expander("Calendar, in days from the start", expanded=True):
            st.html(days(scope.calendar))
    keeps = [
        f"{k.room.capitalize()}: {k.label}"
        + (f", saves about {money(k.saves_usd)}" if k.saves_usd else "")
        for k in scope.keeps
    ]
    if keeps:
        with st.expander(f"Keep what is sound: {len(keeps)}"):
            st.markdown(plain("\n".join(f"- {line}" for line in keeps)))
    cautions = dict.fromkeys(c for o in scope.options for c in o.cautions)
    if cautions:
        with st.expander("Cautions", expanded=True, icon=":material/health_and_safety:"):
            st.markdown("\n".join(f"- {caution}" for caution in cautions))
            st.caption("Local codes and licensed people have the last word.")


st.title("Scope of work", anchor=False)
item = home_in_hand()
if item is not None:
    st.html(quiet(facts_line(item)))
    _controls(workspace().store.settings())
    _numbers(item)
    with steady():
        _holds(item.result.scope)
    work_list(item)
    _more_money(item)
    rents(item)
    with steady():
        _lists(item.result.scope)
    actuals(item)
    money_sections(item)
    exports(item)
    st.page_link("views/shortlist.py", label="Next: put homes side by side")
    st.caption(f"{ESTIMATE} {THIN_EVIDENCE}")
