"""Scope of work: limits as controls, the chosen work to overrule, holds, calendar, exports."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from app.after import actuals
from app.look import days, quiet
from app.pictures import photo
from app.shared import ESTIMATE, attempt, change, facts_line, home_in_hand, workspace
from scorer.report import home_report_pdf, home_workbook
from scorer.report.bars import range_words
from scorer.report.contract import to_json
from scorer.report.table import money_words, payback_words
from scorer.scope.plan import Scope
from scorer.settings import Settings
from scorer.store import Choice
from scorer.upgrades.option import Option
from scorer.workspace import Screened

AIMS = {
    "net_gain": "Most gain over the time you keep it",
    "rent_lift": "Highest rent",
    "return": "Best return on the money",
}
PROGRAM_DECIDES = "Program decides"
DECISIONS: dict[str, Choice | None] = {
    PROGRAM_DECIDES: None,
    "Do it": "must",
    "Leave out": "must_not",
}
FIELDS = (
    "budget_usd", "weeks", "hours_per_week", "helpers", "aim", "own_hour_usd", "holding_years",
    "payback_limit_months",
)  # fmt: skip


def _keep_settings() -> None:
    store = workspace().store
    values = {name: st.session_state[f"set_{name}"] for name in FIELDS}
    if any(value is None for value in values.values()):
        return
    new = store.settings().model_copy(update=values)
    attempt("Limits kept.", lambda: store.save_settings(Settings.model_validate(new.model_dump())))


def _controls(settings: Settings) -> None:
    def number(column, label: str, name: str, low: float, high: float, step: float, **more) -> None:  # type: ignore[no-untyped-def]
        column.number_input(
            label,
            low,
            high,
            getattr(settings, name),
            step,
            key=f"set_{name}",
            on_change=_keep_settings,
            **more,
        )

    with st.container(border=True, key="limits"):
        one, two, three, four = st.columns(4)
        number(one, "Budget, $", "budget_usd", 0.0, 1e6, 500.0, format="%.0f")
        number(two, "Weeks without a tenant, at most", "weeks", 0.5, 104.0, 1.0, format="%.1f")
        number(three, "Your hours a week", "hours_per_week", 0.5, 120.0, 1.0, format="%.1f")
        number(four, "Helpers", "helpers", 0, 20, 1)
        one.selectbox(
            "Aim",
            list(AIMS),
            list(AIMS).index(settings.aim),
            format_func=AIMS.__getitem__,
            key="set_aim",
            on_change=_keep_settings,
        )
        number(
            two, "Your hour is worth, $", "own_hour_usd", 0.0, 500.0, 1.0, format="%.0f",
            help="What an hour of your own work is worth to you; zero is allowed.",
        )  # fmt: skip
        number(three, "Years you keep it", "holding_years", 0.5, 50.0, 1.0, format="%.1f")
        number(
            four, "Pay back within, months", "payback_limit_months", 1.0, 360.0, 6.0, format="%.0f"
        )
    st.caption("These limits hold for all homes, and the ranking follows them.")


def _numbers(item: Screened) -> None:
    outcome, scope = item.result.outcome, item.result.scope
    one, two, three, four = st.container(key="numbers").columns(4)
    one.metric("Cost of the work", money_words(outcome.cost_usd.p50))
    one.caption(range_words(outcome.cost_usd))
    two.metric("Rent rise a month", money_words(outcome.rent_lift_month_usd.p50))
    two.caption(range_words(outcome.rent_lift_month_usd))
    three.metric("Pays back in", payback_words(outcome.payback_months) if scope.options else "–")
    three.caption(f"{outcome.payback_within_limit:.0%} chance within your limit")
    four.metric("Time", f"{scope.weeks.typical:.1f} weeks")
    four.caption(f"{scope.hours.low:.0f} to {scope.hours.high:.0f} hours of work")
    pay = outcome.most_to_pay_usd
    st.markdown(
        f"Net gain over the time you keep it: **{_dollars(range_words(outcome.net_gain_usd))}**. "
        f"Rent lost during the work: **{_dollars(money_words(outcome.lost_rent_usd))}**. Most to "
        "pay for the home and still earn your target return: "
        f"**{_dollars(money_words(pay)) if pay is not None else 'not known without the rent'}**."
    )


def _dollars(words: str) -> str:
    """Dollar signs that are not taken for formulas."""
    return words.replace("$", "\\$")


def _holds(scope: Scope) -> None:
    if scope.holds:
        st.subheader("First, before anything covers it", anchor=False)
    for hold in scope.holds:
        allowance = hold.allowance_usd
        st.warning(
            f"**{hold.label}** ({hold.room}). Who must look: {hold.who}. Allowance "
            f"{_dollars(money_words(allowance.low))} to {_dollars(money_words(allowance.high))}. "
            f"{hold.caution}",
            icon=":material/front_hand:",
        )
    for note in scope.notes:
        st.warning(_dollars(note))


def _table(item: Screened) -> None:
    home, result = item.home, item.result
    chosen = {option.id for option in result.scope.options}
    decided = dict.fromkeys(home.must, "Do it") | dict.fromkeys(home.must_not, "Leave out")
    ordered: list[Option] = [
        *result.scope.options,
        *(o for o in result.options if o.id not in chosen),
    ]
    st.subheader("The work", anchor=False)
    if not ordered:
        st.info("Nothing was found that work would lift. Tag what you see in the walk-through.")
        return
    left_out = {item.option: item.reason for item in result.scope.left_out}
    frame = pd.DataFrame(
        {
            "In": [o.id in chosen for o in ordered],
            "Your say": [decided.get(o.id, PROGRAM_DECIDES) for o in ordered],
            "Room": [o.room.capitalize() for o in ordered],
            "Work": [o.label for o in ordered],
            "Cost": [
                f"{money_words(o.cost_usd.low)} to {money_words(o.cost_usd.high)}" for o in ordered
            ],
            "Hours": [o.hours.typical for o in ordered],
            "Rent a month": [o.rent_month_usd.typical for o in ordered],
            "Why not": [left_out.get(o.id, "") for o in ordered],
        }
    )
    key = f"say_{home.id}_{home.version}"

    def keep() -> None:
        edits = st.session_state[key]["edited_rows"]
        choices = {
            ordered[int(row)].id: DECISIONS[cells["Your say"]]
            for row, cells in edits.items()
            if cells.get("Your say") in DECISIONS
        }
        before: dict[str, Choice | None] = {
            o: "must" if o in home.must else "must_not" if o in home.must_not else None
            for o in choices
        }
        change(
            home.id,
            "Your say is kept, and the rest of the scope follows it.",
            lambda store, home_id, version: store.save_choices(home_id, version, choices),
            undo=lambda store, home_id, version: store.save_choices(home_id, version, before),
        )

    st.data_editor(
        frame,
        key=key,
        on_change=keep,
        hide_index=True,
        width="stretch",
        height="content",
        disabled=[c for c in frame.columns if c != "Your say"],
        column_config={
            "In": st.column_config.CheckboxColumn("In", width="small"),
            "Hours": st.column_config.NumberColumn("Hours", format="%.1f h"),
            "Rent a month": st.column_config.NumberColumn("Rent a month", format="$%.0f"),
            "Your say": st.column_config.SelectboxColumn(
                "Your say",
                options=list(DECISIONS),
                required=True,
                help="Double-click to overrule the program.",
            ),
            "Why not": st.column_config.TextColumn("Why not", width="large"),
        },
    )


def _more_money(item: Screened) -> None:
    with st.expander("What would more money, or less, buy?"):
        if not st.toggle("Draw it", key="draw_budgets"):
            return
        import altair as alt

        view = workspace().budgets(item)
        frame = pd.DataFrame(
            {
                "Budget, $": [p.budget_usd for p in view.points],
                "Rent rise a month, $": [p.choice.lift_usd for p in view.points],
            }
        )
        line = (
            alt.Chart(frame)
            .mark_line(point=True, interpolate="step-after")
            .encode(x="Budget, $:Q", y="Rent rise a month, $:Q", tooltip=list(frame.columns))
            .properties(height=260)
        )
        st.altair_chart(line, width="stretch")
        more = view.more
        extra = _dollars(money_words(more.extra_usd))
        if more.added:
            names = "; ".join(view.labels[i] for i in more.added)
            lift = _dollars(money_words(more.lift_gain_usd))
            st.write(f"{extra} more would add {names}, and raise the rent by {lift} a month.")
        else:
            st.write(f"{extra} more would buy nothing that is worth it.")


def _lists(scope: Scope) -> None:
    if scope.purchases:
        with st.expander(f"Shopping list: {len(scope.purchases)} things"):
            frame = pd.DataFrame(
                {
                    "Material": [p.label for p in scope.purchases],
                    "Buy": [f"{p.buy} × {p.pack}" for p in scope.purchases],
                    "Needed": [f"{p.quantity:,.1f} {p.unit}" for p in scope.purchases],
                    "Left over": [f"{p.left_over:,.1f} {p.unit}" for p in scope.purchases],
                    "Cost": [p.cost_usd.typical for p in scope.purchases],
                }
            )
            dollars = st.column_config.NumberColumn("Cost", format="$%.0f")
            st.dataframe(frame, hide_index=True, width="stretch", column_config={"Cost": dollars})
    if scope.calendar:
        with st.expander("Calendar, in days from the start", expanded=True):
            st.html(days(scope.calendar))
    keeps = [
        f"{k.room.capitalize()}: {k.label}"
        + (f", saves about {_dollars(money_words(k.saves_usd))}" if k.saves_usd else "")
        for k in scope.keeps
    ]
    if keeps:
        with st.expander(f"Keep what is sound: {len(keeps)}"):
            st.markdown("\n".join(f"- {line}" for line in keeps))
    cautions = dict.fromkeys(c for o in scope.options for c in o.cautions)
    if cautions:
        with st.expander("Cautions", expanded=True, icon=":material/health_and_safety:"):
            st.markdown("\n".join(f"- {caution}" for caution in cautions))
            st.caption("Local codes and licensed people have the last word.")


def _exports(item: Screened) -> None:
    with st.expander("Reports: PDF, Excel, JSON"):
        if not st.toggle("Write the reports", key="write_reports"):
            return
        from datetime import UTC, datetime

        result = item.result
        pictures = {p.name: photo(p.path, 900) for p in item.home.listing.photos}
        found = {name: jpeg for name, jpeg in pictures.items() if jpeg}
        pdf = home_report_pdf(result, found, datetime.now(UTC))
        excel = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
        name = result.home
        with st.container(horizontal=True):
            st.download_button("Report as PDF", pdf, f"{name}.pdf", "application/pdf")
            st.download_button("Workbook for Excel", home_workbook(result), f"{name}.xlsx", excel)
            st.download_button(
                "Data as JSON", to_json([result]), f"{name}.json", "application/json"
            )


st.title("Scope of work")
item = home_in_hand()
if item is not None:
    st.html(quiet(facts_line(item)))
    _controls(workspace().store.settings())
    _numbers(item)
    _holds(item.result.scope)
    _table(item)
    _more_money(item)
    _lists(item.result.scope)
    actuals(item)
    _exports(item)
    st.page_link("views/shortlist.py", label="Next: put homes side by side")
    st.caption(
        f"{ESTIMATE} Published evidence for what paint or flooring adds to rent is thin, so the "
        "ranges are wide."
    )
