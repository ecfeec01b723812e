"""Loan, taxes, and work now against letting as it is: shown where a landlord would look."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from app.figures import MONTHS, money, number, plain, rate
from app.look import figure_table
from app.shared import attempt, grouped, workspace
from scorer.money.deal_rows import (
    AS_IS,
    WORK_FIRST,
    DealRow,
    loan_rows,
    now_or_as_is_rows,
    written,
)
from scorer.money.home_money import LOAN_WORDS, NOT_ADVICE, TAX_WORDS, HomeMoney, MoneyInput
from scorer.settings import as_percent, from_percent
from scorer.workspace import Screened
from scorer.workspace.home_money import (
    money_input,
    money_of,
    price_to_pay,
    save_money_input,
    save_price_to_pay,
)

SHOWN_YEARS = 8
RATES = (
    ("vacancy", "Vacancy, % of the rent", "Rent lost to empty weeks and bad debt."),
    (
        "cap_rate",
        "Cap rate, %",
        "Yearly income after running costs, over what a home sells for: it turns rent into an "
        "estimated value. Sales of small rentals near you tell it.",
    ),
    (
        "target_return",
        "Target return, % a year",
        "What your money must earn: the most to pay for a home follows from it.",
    ),
)
UNKNOWN = "The price that you would pay is not known: give it above."


def money_sections(item: Screened) -> None:
    """Four folded sections, each with its caution."""
    space = workspace()
    st.subheader("The deal", anchor=False)
    with st.expander("What you would pay, and what is assumed"):
        _assumptions(item, money_input(space))
    found = money_of(space, item)
    with st.expander("Do the work now, or let it as it is?"):
        if found is None:
            st.info(UNKNOWN)
        else:
            _now_or_as_is(found)
    with st.expander("If you borrow"):
        if found is None:
            st.info(UNKNOWN)
        else:
            _loan(found)
    with st.expander("Taxes: what is written off, year by year"):
        if found is None:
            st.info(UNKNOWN)
        else:
            _taxes(found)


def _assumptions(item: Screened, given: MoneyInput) -> None:
    key = f"price_{item.home.id}"

    def keep_price() -> None:
        price = st.session_state[key]
        attempt("Price kept.", lambda: save_price_to_pay(workspace(), item, price))
        st.session_state[key] = price_to_pay(workspace(), item)

    def keep(name: str) -> None:
        value = st.session_state[f"money_{name}"]
        if value is not None:
            changed = MoneyInput.model_validate(given.model_dump() | {name: value})
            attempt("Kept.", lambda: save_money_input(workspace(), changed))

    def ask(
        place: DeltaGenerator, label: str, name: str, most: float, step: float, least: float = 0.0
    ) -> None:
        value = float(getattr(given, name))
        key = f"money_{name}"
        place.number_input(
            label, least, most, value, step, "%g", key=key, on_change=keep, args=(name,)
        )

    st.session_state.setdefault(key, price_to_pay(workspace(), item))
    st.number_input(
        "Price that you would pay, $",
        0.0,
        1e9,
        None,
        1_000.0,
        "%.0f",
        key=key,
        on_change=keep_price,
        help="Empty it to go back to the asking price.",
    )
    grouped(st.container(), st.session_state[key], "price")
    rows = st.container(key="assumed")
    one, two, three, four = rows.columns(4)
    ask(one, "Borrowed, % of the price", "loan_percent", 100.0, 5.0)
    ask(two, "Interest, % a year", "loan_rate_percent", 50.0, 0.25)
    ask(three, "Years to pay it back", "loan_years", 50.0, 5.0, least=1.0)
    ask(four, "Cost of buying, %", "closing_percent", 50.0, 0.5)
    one, two, three, four = rows.columns(4)
    ask(one, "Cost of selling, %", "selling_percent", 50.0, 0.5)
    ask(two, "Rent grows by, % a year", "rent_growth_percent", 50.0, 0.5)
    ask(three, "Land, % of the price", "land_percent", 100.0, 5.0)
    four.selectbox(
        "Ready to let in",
        list(range(1, 13)),
        given.month - 1,
        format_func=MONTHS.__getitem__,
        key="money_month",
        on_change=keep,
        args=("month",),
    )
    _rates(rows)
    st.caption(
        "These hold for all homes, the price for this one; vacancy, cap rate and target return "
        "also move the figures at the top of the page and the ranking. The usual figures are "
        "common practice, no source; a tax bill often tells the land’s share."
    )


def _rates(place: DeltaGenerator) -> None:
    """Limits are the library's: what can't be kept gets its sentence, and the field what holds."""
    settings = workspace().store.settings()

    def keep(name: str) -> None:
        percent = st.session_state[f"rate_{name}"]
        if percent is not None:
            attempt(
                "Kept.",
                lambda: workspace().store.change_settings({name: from_percent(name, percent)}),
            )

    columns = place.columns(4)
    for column, (name, label, hint) in zip(columns, RATES, strict=False):
        key = f"rate_{name}"
        st.session_state[key] = as_percent(settings, name)  # also where another tab wrote it
        column.number_input(
            label, step=0.5, format="%g", key=key, on_change=keep, args=(name,), help=hint
        )


def _now_or_as_is(found: HomeMoney) -> None:
    gain, even = found.compare.gain_usd, found.compare.even_after_years
    when = (
        f" The higher rent has paid the work back by the end of year {even}."
        if even is not None
        else f" The higher rent alone does not pay the work back within {number(found.years)} years"
        + ("; the higher price at the sale makes up for it." if gain > 0 else ".")
    )
    st.markdown(
        plain(f"**{found.verdict}.** The difference is {money(abs(gain))} in today’s money.{when}")
    )
    _table(now_or_as_is_rows(found))
    st.caption(
        f"Middle figures over {number(found.years)} years, loan and selling included: "
        f"{rate(found.vacancy)} of the rent lost to empty weeks, running costs "
        f"{rate(found.operating_share)} of the rent, value at a cap rate of "
        f"{rate(found.cap_rate)}, target return {rate(found.target_return)}. {NOT_ADVICE}"
    )


def _loan(found: HomeMoney) -> None:
    rows = loan_rows(found)
    if not rows:
        st.info("Nothing is borrowed by your assumptions above.")
        return
    _table(rows)
    st.caption(f"{LOAN_WORDS} {NOT_ADVICE}")


def _table(rows: Sequence[DealRow]) -> None:
    cells = written(rows, money, rate, lambda ratio: number(ratio, 2))
    st.html(figure_table(("", AS_IS, WORK_FIRST), cells))


def _taxes(found: HomeMoney) -> None:
    rows = [
        (number(y.year), money(y.building_usd), money(y.five_year_usd), money(y.total_usd))
        for y in found.timetable[:SHOWN_YEARS]
    ]
    st.html(figure_table(("Year", "Building and work", "Appliances, carpet", "Together"), rows))
    st.caption(
        plain(
            f"Written off in all: building and work {money(found.building_usd)}, appliances and "
            f"carpet {money(found.five_year_usd)}. The workbook has all years. {TAX_WORDS} A small "
            f"landlord may perhaps deduct up to {money(found.repair_limit_usd)} a year of repairs "
            f"and improvements at once (Treasury Regulation 1.263(a)-3(h)). {NOT_ADVICE}"
        )
    )
