"""Comparable rents that the user collected: typed one by one, or brought in from a CSV."""

from __future__ import annotations

from functools import partial

import streamlit as st

from app.bounds import bounds
from app.figures import day, day_form, money, number, plain, today
from app.own_figures import from_csv
from app.shared import PutBack, attempt, mistakes_told, tell, workspace
from app.table import Column, Edit, Row, table
from scorer.money.comps import NOT_A_FEATURE, Comp, load_rent_effects
from scorer.workspace.own_rents import OwnRent, own_rent

CONDITIONS = {"dated": "Dated", "average": "Average", "updated": "Updated"}
UNKNOWN = (("", "Not known"), *CONDITIONS.items())
FORM = ("label", "rent_usd_month", "date", "beds", "baths", "area_sqft", "condition")
_number = partial(Column, kind="number", editable=True)
COLUMNS = (
    Column("label", "Address or name", "text", True, most=200),
    Column("in_use", "Counts", "check", True),
    _number("rent_usd_month", "Rent a month, $", least=1, most=1e6),
    _number("beds", "Beds", least=0, most=50),
    _number("baths", "Baths", least=0, most=50),
    _number("area_sqft", "Area, sq ft", least=1, most=1e6),
    Column("condition", "Condition", "choice", True, options=UNKNOWN, minor=True),
    Column("date", "As of", minor=True),
    Column("note", "Note", "text", True, most=2_000, minor=True),
)


def collected_rents() -> None:
    """A form for one rent, those typed so far, and a box for a CSV of many."""
    space = workspace()
    count = len(space.comps())
    with st.expander(
        f"Rents of comparable homes that you collected: {number(count)}", key="comparable_rents"
    ):
        st.write(
            "What do homes like these let for nearby? From advertisements, neighbors or a manager. "
            "Every rent replaces a part of the guess; three or more also cap what work may add."
        )
        _form()
        _typed()
        _of_file()
        from_csv(
            "Or bring in many from a CSV",
            _keep_file,
            key="comps",
            rows=("rent", "rents"),
            hint="A column Rent (of a month), and if you have them Beds, Baths, Sq Ft, Date, "
            "Condition (dated, average, updated), features, Address and Note. It takes the place "
            "of the last file; what you typed here stays.",
        )
    for sentence in st.session_state.pop("comps_problems", ()):
        st.warning(sentence)


# Typed one by one --------------------------------------------------------------------------------


def _features() -> dict[str, str]:
    """What a home may have that moves its rent, by id."""
    return {e.id: e.label for e in load_rent_effects() if e.id not in NOT_A_FEATURE}


def _form() -> None:
    def keep() -> None:
        values = {name: st.session_state[f"rent_{name}"] for name in FORM}
        values["note"] = st.session_state["rent_note"]
        ticked = st.session_state["rent_features"]
        values["features"] = tuple(ticked) if ticked else None
        with mistakes_told():
            rent = own_rent(values)
            back = workspace().add_own_rent(rent)
            amount = money(rent.comp.rent_usd_month)
            tell(
                f"{rent.label or 'The rent'}: {amount} a month is kept, and all homes follow it.",
                undo=lambda: workspace().put_own_rents_back(back),
            )
            for name in ("rent_usd_month", "beds", "baths", "area_sqft", "condition"):
                st.session_state[f"rent_{name}"] = None
            st.session_state["rent_label"] = st.session_state["rent_note"] = ""
            st.session_state["rent_features"] = []

    with st.form("rent_form", border=True):
        st.markdown("**Add a rent**")
        rows = st.container(key="rent_figures")
        one, two, three, four = rows.columns([2, 1, 1, 1])
        one.text_input(
            "Address or name", key="rent_label", max_chars=200, placeholder="8 Elm Street, upstairs"
        )
        figure = partial(_figure, record=Comp)
        figure(two, "rent_usd_month", "Rent a month, $", step=25.0)
        three.date_input("As of", today(), key="rent_date", format=day_form())
        four.selectbox(
            "Condition", list(CONDITIONS), index=None, format_func=CONDITIONS.__getitem__,
            key="rent_condition", placeholder="Not known",
        )  # fmt: skip
        one, two, three, four = rows.columns([1, 1, 1, 2])
        figure(one, "beds", "Bedrooms", step=1.0)
        figure(two, "baths", "Bathrooms", step=0.5)
        figure(three, "area_sqft", "Living area, sq ft", step=50.0)
        names = _features()
        four.multiselect(
            "What it has", list(names), format_func=names.__getitem__, key="rent_features",
            placeholder="Not known",
            help="Once you choose one, what you leave out counts as not there; choose none if you "
            "don't know.",
        )  # fmt: skip
        st.text_input(
            "Note", key="rent_note", max_chars=2_000, placeholder="Where you have it from"
        )
        st.form_submit_button("Add this rent", on_click=keep)
        st.caption("Only the rent is needed; the more you know of the home, the more it counts.")


def _figure(place, name: str, label: str, *, record: type[Comp], step: float) -> None:  # type: ignore[no-untyped-def]
    place.number_input(label, key=f"rent_{name}", **bounds(record, name, step=step))


def _typed() -> None:
    rents = workspace().own_rents()
    if not rents:
        return
    rows = [Row(i, _name(rent), _cells(rent)) for i, rent in rents.items()]
    table("Rents that you typed", COLUMNS, rows, "rents_typed", lambda edits: _change(rents, edits))
    st.caption("Untick a rent that should not count any more; it stays here.")


def _name(rent: OwnRent) -> str:
    return rent.label or money(rent.comp.rent_usd_month)


def _cells(rent: OwnRent) -> dict[str, object]:
    comp = rent.comp
    unknown: dict[str, object] = dict.fromkeys(("beds", "baths", "area_sqft", "condition"), "")
    known = {name: value for name in unknown if (value := getattr(comp, name)) is not None}
    return unknown | known | {
        "label": rent.label,
        "in_use": rent.in_use,
        "rent_usd_month": comp.rent_usd_month,
        "date": None if comp.date is None else day(comp.date),
        "note": rent.note,
    }  # fmt: skip


def _change(rents: dict[str, OwnRent], edits: list[Edit]) -> None:
    with mistakes_told():
        changed: dict[str, OwnRent] = {}
        for edit in edits:
            rent = changed.get(edit.row, rents[edit.row])
            value = None if edit.column == "condition" and edit.value == "" else edit.value
            changed[edit.row] = rent.changed({edit.column: value})
        back = workspace().change_own_rents(changed)
        what = ", ".join(_name(rent) for rent in changed.values())
        tell(
            f"{what}: kept, and all homes follow it.",
            undo=lambda: workspace().put_own_rents_back(back),
        )


# From a file -------------------------------------------------------------------------------------


def _of_file() -> None:
    count = len(workspace().comps_of_file())
    if count:
        rents = "rent comes" if count == 1 else "rents come"
        with st.container(horizontal=True, vertical_alignment="center"):
            st.markdown(plain(f"{number(count)} {rents} from your CSV."), width="content")
            st.button("Take them out", key="comps_out", on_click=_take_file_out, type="tertiary")


def _take_file_out() -> None:
    space = workspace()
    before = space.comps_text()
    attempt(
        "The rents of the file are taken out.",
        lambda: space.put_comps_back(None),
        undo=lambda: space.put_comps_back(before),
    )


def _keep_file(text: str, name: str) -> tuple[int, PutBack]:
    space = workspace()
    before = space.comps_text()
    count, problems = space.save_comps(text, name)
    st.session_state["comps_problems"] = problems[:20]
    return count, lambda: space.put_comps_back(before)
