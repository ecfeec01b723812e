"""Homes: ranked, with three reasons, cost and rent as bars, and a way to add your own."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.adding import adding
from app.figures import months, number, plain
from app.look import badge, money_bar, quiet, reasons_list
from app.pictures import photo
from app.plain_words import not_used
from app.shared import (
    ESTIMATE,
    change,
    facts_line,
    grouped,
    open_walk_through,
    screened,
    title_of,
    workspace,
)
from scorer.report import to_csv
from scorer.shortlist.filters import SORTS, Filters, choose_homes
from scorer.store import Mark
from scorer.workspace import Screened

A_PAGE = 20
WORDS: dict[Mark, str] = {"keep": "kept", "aside": "set aside", "": "neither kept nor set aside"}


def _filters() -> tuple[Filters, str]:
    with st.expander("Filter and sort"):
        one, two, _ = st.columns([1, 1, 2], vertical_alignment="bottom")
        sort = one.selectbox("Sort by", list(SORTS), persist_state="session", key="f_sort")
        show_aside = two.checkbox("Show homes set aside", persist_state="session", key="f_aside")
        one, two, three, four = st.columns(4)
        price = one.number_input(
            "Asking price up to, $", 0, None, None, 5_000, persist_state="session", key="f_price"
        )
        grouped(one, price, "price")
        beds = two.number_input(
            "Bedrooms, at least", 0, 20, None, 1, persist_state="session", key="f_beds"
        )
        cost = three.number_input(
            "Work costs up to, $", 0, None, None, 500, persist_state="session", key="f_cost"
        )
        grouped(three, cost, "cost")
        chance = four.number_input(
            "Chance of payback, at least %",
            0,
            100,
            None,
            5,
            persist_state="session",
            key="f_chance",
            help="Chance that the higher rent pays the work back within your own limit, which you "
            "set on the page Scope of work.",
        )
        filters = Filters(
            most_price_usd=price,
            least_bedrooms=beds,
            most_cost_usd=cost,
            least_payback_chance=chance,
            show_aside=show_aside,
        )
    return filters, sort


def _set_mark(item: Screened, mark: Mark) -> None:
    before = item.home.mark
    change(
        item.home.id,
        f"{title_of(item)}: {WORDS[mark]}.",
        lambda store, home, version: store.save_mark(home, version, mark),
        undo=lambda store, home, version: store.save_mark(home, version, before),
    )


def _remove(item: Screened) -> None:
    change(
        item.home.id,
        f"{title_of(item)} is off the list.",
        lambda store, home, version: store.remove_home(home, version),
        undo=lambda store, home, version: store.restore_home(home),
    )


def _keys(rows: Sequence[Screened]) -> int:
    """Buttons that the keyboard reaches too; the number of the home in hand."""
    now: int = min(st.session_state.get("now", 0), len(rows) - 1)
    item = rows[now]

    def step(by: int) -> None:
        st.session_state["now"] = min(max(now + by, 0), len(rows) - 1)
        st.session_state["moved"] = True

    with st.container(horizontal=True, vertical_alignment="center", key="keys"):
        st.button("Previous", shortcut="P", on_click=step, args=(-1,), disabled=now == 0)
        last = now == len(rows) - 1
        st.button("Next", shortcut="N", on_click=step, args=(1,), disabled=last)
        keep: Mark = "" if item.home.mark == "keep" else "keep"
        aside: Mark = "" if item.home.mark == "aside" else "aside"
        st.button(
            "Keep" if keep else "Don’t keep", shortcut="K", on_click=_set_mark, args=(item, keep)
        )
        st.button(
            "Set aside" if aside else "Bring back",
            shortcut="S",
            on_click=_set_mark,
            args=(item, aside),
        )
        if st.button("Open", shortcut="O", type="primary"):
            open_walk_through(item.home.id)
        st.caption(f"In hand: {title_of(item)}", width="content")
    return now


def _card(item: Screened, in_hand: bool, most_cost: float, most_lift: float) -> None:
    result, home = item.result, item.home
    with st.container(border=True, key=f"home_{'now' if in_hand else 'card'}_{home.id}"):
        left, middle, right = st.columns([1.1, 1.9, 1.3], gap="medium")
        with left.container(key=f"lead_{home.id}"):
            picture = next((j for p in home.listing.photos if (j := photo(p.path))), None)
            if picture is not None:
                st.image(picture, alt=f"Photo of {title_of(item)}", width="stretch")
            else:
                st.info("No photo of this home could be read: everything in it is unseen.")
        with middle:
            st.subheader(f"{result.rank}. {title_of(item)}", anchor=False)
            st.html(quiet(facts_line(item)) + reasons_list(result.reasons) + _badges(item))
        with right:
            outcome = result.outcome
            nothing = not result.scope.options
            st.html(
                money_bar("Cost of the work", outcome.cost_usd, most_cost, "cost")
                + money_bar("Rent rise a month", outcome.rent_lift_month_usd, most_lift, "rent")
                + quiet(
                    f"{'Nothing to pay back' if nothing else _pays_back(item)} · checklist score "
                    f"{number(result.score)} of 100"
                )
            )
            with st.container(horizontal=True):
                if st.button("Open", key=f"open_{home.id}", type="primary"):
                    open_walk_through(item.home.id)
                kept, aside = home.mark == "keep", home.mark == "aside"
                st.button(
                    "Kept" if kept else "Keep",
                    key=f"keep_{home.id}",
                    on_click=_set_mark,
                    args=(item, "" if kept else "keep"),
                    icon=":material/check:" if kept else None,
                )
                st.button(
                    "Bring back" if aside else "Set aside",
                    key=f"aside_{home.id}",
                    on_click=_set_mark,
                    args=(item, "" if aside else "aside"),
                )
                st.button(
                    "Take off",
                    key=f"remove_{home.id}",
                    on_click=_remove,
                    args=(item,),
                    type="tertiary",
                    help="Take this home off the list. Its tags and notes are kept, and you can "
                    "bring it back.",
                )


def _pays_back(item: Screened) -> str:
    words = months(item.result.outcome.payback_months)
    return "May never pay back" if words == "never" else f"Pays back in {words}"


def _badges(item: Screened) -> str:
    result = item.result
    reasons = " ".join(result.reasons)
    unsaid = [h for h in result.scope.holds if h.label not in reasons]
    holds = [badge(f"Look first: {h.label} ({h.room})", "stop") for h in unsaid[:2]]
    more = len(unsaid) - len(holds)
    if more > 0:
        holds.append(badge(f"and {more} more to look at first", "stop"))
    rooms = [room.name for room in result.rooms_not_seen]
    unseen = quiet(f"Not in the photos: {', '.join(rooms)}") if rooms else ""
    errors = quiet(not_used(len(result.errors))) if result.errors else ""
    return "".join(holds) + unseen + errors


def _hold_on_to_problems() -> None:
    """The page is drawn anew when the photos are read, long before a sentence is."""
    told = st.session_state.pop("import_problems", None)
    if told is not None:
        st.session_state["not_brought_in"] = list(told)


def _not_brought_in() -> None:
    """What could not be used of the files that came last, until the user has seen it."""
    told = st.session_state.get("not_brought_in", ())
    if not told:
        return
    with st.container(key="not_brought_in_box"):
        for sentence in told:
            st.warning(plain(sentence))
        if st.button("I have read this"):
            del st.session_state["not_brought_in"]
            st.rerun()


def _taken_off() -> None:
    removed = workspace().store.removed_homes()
    if not removed:
        return
    with st.expander(f"Taken off the list: {len(removed)}"):
        for home_id, name in removed:
            st.button(
                f"Bring back {name}",
                key=f"restore_{home_id}",
                on_click=workspace().store.restore_home,
                args=(home_id,),
            )


def _list(homes: Sequence[Screened]) -> None:
    filters, sort = _filters()
    by_name = {item.home.listing.home: item for item in homes}
    rows = [by_name[r.home] for r in choose_homes([i.result for i in homes], filters, sort)]
    if not filters.show_aside:
        rows = [item for item in rows if item.home.mark != "aside"]
    if not rows:
        st.info("No home passes the filter. Widen it above, or show the homes that you set aside.")
        return
    now = _keys(rows)
    pages = -(-len(rows) // A_PAGE)
    moved = st.session_state.pop("moved", False)
    if pages > 1:
        if moved:
            st.session_state["list_page"] = now // A_PAGE + 1
        place = st.pagination(pages, key="list_page")
    else:
        place = 1
    cost = max(item.result.outcome.cost_usd.p90 for item in homes)
    lift = max(item.result.outcome.rent_lift_month_usd.p90 for item in homes)
    first = (place - 1) * A_PAGE
    for at, item in enumerate(rows[first : first + A_PAGE], start=first):
        _card(item, at == now, cost, lift)
    if moved:
        st.html(
            "<script>document.querySelector('[class*=st-key-home_now_]')"
            "?.scrollIntoView({block: 'center'})</script>",
            unsafe_allow_javascript=True,
        )
    st.caption(
        f"{ESTIMATE} Of ten outcomes, eight lie within a bar; the mark is the middle. All homes "
        "share one scale. The reasons price work as if it were surely needed; the bars weigh how "
        "sure that is, and allow for what no photo shows. The checklist score is the share of the "
        "usual improvements that is still open: low where a home has been done up already."
    )
    st.download_button(
        "Save the list as CSV", to_csv([i.result for i in homes]), "homes.csv", "text/csv"
    )


st.title("Which homes would cheap work lift?", anchor=False)
st.write(
    "Ranked by what the money may earn. Photos suggest; you decide at the viewing. The homes that "
    "are here at first are invented, to try things out."
    if any(home.source == "demo" for home in workspace().store.homes())
    else "Ranked by what the money may earn. Photos suggest; you decide at the viewing."
)
_hold_on_to_problems()
adding()
_not_brought_in()
found = screened()
if found:
    _list(found)
elif workspace().reader.running:
    for _ in range(3):
        st.skeleton(height=180)
else:
    st.info("No home is here yet. Add one above: a folder, a zip, or the photos of one home.")
_taken_off()
