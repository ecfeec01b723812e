"""Homes: ranked, with three reasons, cost and rent as bars, and a way to add your own."""

from __future__ import annotations

import tempfile
from pathlib import Path

import streamlit as st

from app.shared import ESTIMATE, facts_line, photo, saved, say, screened, title_of, workspace
from scorer.errors import InputError
from scorer.listing.uploads import unpack_homes
from scorer.report import to_csv
from scorer.report.bars import range_bar_svg, range_words
from scorer.report.table import payback_words
from scorer.shortlist.filters import SORTS, Filters, choose_homes
from scorer.store import data_folder
from scorer.workspace import Screened

say()
st.title("Which homes would cheap work lift?")
st.write(
    "Ranked by what the money may earn. Each home shows its three reasons, what the work may cost, "
    "and what the rent may rise by. Photos suggest; you decide at the viewing."
)

with st.expander("Add your own homes"):
    st.write(
        "One folder for each home, with its photos and, if you have them, its facts "
        "(see README). Give the folder that holds them, or drop a zip of it."
    )
    with st.form("add_folder", border=False):
        folder = st.text_input("Folder on this computer", placeholder="/home/me/homes")
        by_folder = st.form_submit_button("Add the folder", type="primary")
    uploads = st.file_uploader(
        "Zip files, or the photos of one home",
        type=["zip", "jpg", "jpeg", "png", "webp", "heic"],
        accept_multiple_files=True,
    )
    name = st.text_input("Name of the home that these photos show", "my home")
    by_upload = st.button("Add the files", disabled=not uploads)


def _import(source: Path) -> None:
    done = workspace().import_folder(source)
    st.session_state["import_problems"] = done.problems
    saved(f"Added or brought up to date: {done.homes} home(s)")


if by_folder and folder:
    try:
        _import(Path(folder).expanduser())
    except InputError as error:
        st.error(str(error))
if by_upload and uploads:
    try:
        with tempfile.TemporaryDirectory() as scratch:
            files = [(upload.name, upload.getvalue()) for upload in uploads]
            _import(unpack_homes(files, name, data_folder() / "uploads", Path(scratch)))
    except InputError as error:
        st.error(str(error))
for sentence in st.session_state.pop("import_problems", ()):
    st.warning(sentence)

homes = screened()
with st.expander("Filter and sort"):
    first, second, third, fourth = st.columns(4)
    filters = Filters(
        most_price_usd=first.number_input("Asking price up to, $", 0, None, None, 5_000),
        least_bedrooms=second.number_input("Bedrooms, at least", 0, 20, None, 1),
        most_cost_usd=third.number_input("Work costs up to, $", 0, None, None, 500),
        least_payback_chance=fourth.number_input(
            "Chance of payback, at least %",
            0,
            100,
            None,
            5,
            help="Chance that the rent lift pays the work back within your own limit.",
        ),
        show_aside=first.checkbox("Show homes set aside"),
    )
    sort = second.selectbox("Sort by", list(SORTS))
shown = choose_homes([item.result for item in homes], filters, sort)
by_name = {item.home.listing.home: item for item in homes}
rows = [by_name[r.home] for r in shown]
if not filters.show_aside:
    rows = [item for item in rows if item.home.mark != "aside"]
if not homes:
    st.info("No home is here yet. Add a folder above.")
elif not rows:
    st.info("No home passes the filter. Widen it above.")


def _mark(item: Screened, mark: str, words: str) -> None:
    workspace().store.save_mark(item.home.id, item.home.version, mark)  # type: ignore[arg-type]
    saved(f"{title_of(item)}: {words}")


def _home(item: Screened, most_cost: float, most_lift: float) -> None:
    result, home = item.result, item.home
    key = f"home_{home.id}"
    with st.container(border=True, key=key):
        left, middle, right = st.columns([1.1, 1.9, 1.2], gap="medium")
        lead = next((p for p in home.listing.photos if photo(p.path)), None)
        with left:
            if lead is not None and (picture := photo(lead.path)):
                st.image(picture, alt=f"{title_of(item)}: {lead.name}", width="stretch")
            else:
                st.write("No photo of this home could be read.")
        with middle:
            st.subheader(f"{result.rank}. {title_of(item)}", anchor=False)
            st.caption(facts_line(item))
            for reason in result.reasons:
                st.html(f'<p class="reason">– {_escaped(reason)}</p>')
            for hold in result.scope.holds[:2]:
                st.html(f'<span class="badge">Stops work: {_escaped(hold.label)}</span>')
            if result.unseen:
                rooms = ", ".join(dict.fromkeys(u.room for u in result.unseen))
                st.caption(f"Not shown in the photos: {rooms}")
        with right:
            outcome = result.outcome
            st.html(
                f'<p class="figure"><b>Cost of the work</b><br>{range_words(outcome.cost_usd)}</p>'
                + range_bar_svg(outcome.cost_usd, most_cost, "Cost of the work")
                + f'<p class="figure"><b>Rent lift a month</b><br>'
                f"{range_words(outcome.rent_lift_month_usd)}</p>"
                + range_bar_svg(outcome.rent_lift_month_usd, most_lift, "Rent lift a month")
                + f'<p class="figure"><b>Pays back in</b> {payback_words(outcome.payback_months)}'
                f" · <b>checklist score</b> {result.score:.0f} of 100</p>"
            )
            one, two, three = st.columns(3)
            if one.button("Open", key=f"open_{home.id}", type="primary", width="stretch"):
                st.session_state["home"] = home.listing.home
                st.switch_page("views/walk.py")
            keep = "Kept" if home.mark == "keep" else "Keep"
            if two.button(keep, key=f"keep_{home.id}", width="stretch"):
                _mark(item, "" if home.mark == "keep" else "keep", "kept")
            aside = "Bring back" if home.mark == "aside" else "Set aside"
            if three.button(aside, key=f"aside_{home.id}", width="stretch"):
                _mark(item, "" if home.mark == "aside" else "aside", aside.lower())


def _escaped(text: str) -> str:
    from html import escape

    return escape(text)


most_cost = max((item.result.outcome.cost_usd.p90 for item in homes), default=1.0)
most_lift = max((item.result.outcome.rent_lift_month_usd.p90 for item in homes), default=1.0)
for item in rows:
    _home(item, most_cost, most_lift)

st.caption(ESTIMATE)
if homes:
    st.download_button(
        "Save the list as CSV",
        to_csv([item.result for item in homes]),
        "homes.csv",
        "text/csv",
    )
with st.expander("Homes taken off the list"):
    removed = workspace().store.removed_homes()
    if not removed:
        st.write("None.")
    for home_id, home_name in removed:
        if st.button(f"Bring back {home_name}", key=f"restore_{home_id}"):
            workspace().store.restore_home(home_id)
            saved(f"{home_name} is back on the list")
