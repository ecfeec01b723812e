"""What every page shares: the open workspace, the home in hand, changes, and what went on."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from app.figures import money, number, plain
from app.look import CSS
from scorer.commands.page import FOLDER_VARIABLE
from scorer.errors import InputError
from scorer.store import StaleError, Store, StoredHome, data_folder
from scorer.workspace import Screened, Workspace

LOG = logging.getLogger(__name__)
ESTIMATE = (
    "Estimates from photos, facts and your tags. Not an appraisal: see a home before you buy."
)
SORRY = (
    "Something went wrong on this page. What you typed is kept. Reload the page; if it happens "
    "again, the window that the program was started from shows what went wrong."
)

TO_THE_TOP = (
    "<script>document.querySelector('[data-testid=\"stMain\"]')?.scrollTo({top: 0})</script>"
)

Change = Callable[[Store, int, int], object]
"""Writes one change of a home; takes the store, the home's id and the version seen."""

PutBack = Callable[[], object]
"""Undoes a change of what belongs to no one home."""


def style() -> None:
    """The few rules that the theme can't express."""
    st.html(f"<style>{CSS}</style>")


def page_row(pages: Sequence[st.Page], shown: st.Page) -> None:
    """The way from page to page: one row on a desk, two on a phone; a page opens at its top."""
    with st.container(horizontal=True, key="pages"):
        for page in pages:
            state = "now" if page.url_path == shown.url_path else "link"
            with st.container(width="content", key=f"page_{state}_{page.url_path or 'homes'}"):
                st.page_link(page)
    if st.session_state.get("page_shown", shown.url_path) != shown.url_path:
        st.html(TO_THE_TOP, unsafe_allow_javascript=True)
    st.session_state["page_shown"] = shown.url_path


def steady() -> DeltaGenerator:
    """A place for what may be there or not, so that what follows is not drawn anew.

    Streamlit tells parts of a page by their order: one part more in front takes the focus out of
    the field that is typed in.
    """
    return st.container()


def guarded(run: Callable[[], None]) -> None:
    """Run a page; a known mistake shows its sentence, anything else a plain apology and a log."""
    try:
        run()
    except InputError as error:
        st.error(str(error))
    except Exception as error:
        # Streamlit steers reruns and page switches with exceptions of its own.
        if type(error).__module__.startswith("streamlit"):
            raise
        LOG.exception("the page failed")
        st.error(SORRY)


@st.cache_resource(show_spinner=False)
def _workspace(folder: str) -> Workspace:
    space = Workspace(Store(Path(folder) / "homes.sqlite"))
    space.import_demo_once()
    given = os.environ.get(FOLDER_VARIABLE)
    if given:
        space.import_folder(Path(given))
    return space


def workspace() -> Workspace:
    """The workspace of this process, with the demo homes on the first run."""
    return _workspace(str(data_folder()))


# Changes ---------------------------------------------------------------------------------------


def change(home_id: int, words: str, write: Change, undo: Change | None = None) -> bool:
    """Write a change of a home that this window saw, say so, and offer to undo it.

    Meant for callbacks. A change made in another window since is never overwritten: the sentence
    says so, and the page shows the home's present state. True if it was written.
    """
    seen: dict[int, int] = st.session_state.setdefault("seen", {})
    try:
        write(workspace().store, home_id, seen.get(home_id, 0))
    except StaleError as error:
        meant = words.removesuffix(" Kept.").rstrip(".")
        tell(f"Not saved: “{meant}”. {error}", kind="warning")
    except InputError as error:
        tell(str(error), kind="error")
    else:
        seen[home_id] = seen.get(home_id, 0) + 1
        tell(words, undo=None if undo is None else (home_id, undo))
        return True
    return False


def attempt(words: str, write: Callable[[], object], undo: PutBack | None = None) -> None:
    """Do something that belongs to no one home, say so, and offer to undo it."""
    with mistakes_told():
        write()
        tell(words, undo=undo)


@contextmanager
def mistakes_told() -> Iterator[None]:
    """Tell a mistake in what the user gave; what follows it in the block is left out."""
    try:
        yield
    except InputError as error:
        tell(str(error), kind="error")


def tell(words: str, kind: str = "done", undo: tuple[int, Change] | PutBack | None = None) -> None:
    """Leave words for the top of the next run."""
    st.session_state["told"] = (words, kind, undo)


def tell_again() -> None:
    """Let what is told stay for another run, unless it goes away by itself."""
    words, kind, undo = st.session_state.get("shown", ("", "", None))
    if kind != "done" or undo is not None:
        st.session_state.setdefault("told", (words, kind, undo))


def message_bar() -> None:
    """What was done last, with a way back where there is one; it moves nothing on the page."""
    words, kind, undo = st.session_state.pop("told", ("", "", None))
    st.session_state["shown"] = words, kind, undo
    with st.container(key="said"):  # always there, so that what follows keeps its place
        if not words:
            return
        if kind in {"warning", "error"}:
            (st.warning if kind == "warning" else st.error)(plain(words))
        elif undo is None:
            st.toast(plain(words))
        else:
            back = partial(attempt, "Undone", undo) if callable(undo) else partial(take_back, *undo)
            with st.container(horizontal=True, vertical_alignment="center", key="undo_bar"):
                st.markdown(plain(words), width="content")
                st.button("Undo", key="undo", on_click=back)


def take_back(home_id: int, write: Change) -> None:
    """Take a change back; what it could not take back, it says in a sentence. For callbacks."""
    seen = st.session_state.setdefault("seen", {})
    store = workspace().store
    try:
        left = write(store, home_id, seen.get(home_id, 0))
        seen[home_id] = store.home(home_id).version
    except InputError as error:
        tell(f"Not undone. {error}", kind="warning")
    else:
        told = isinstance(left, str) and left
        tell(f"Undone. {left}" if told else "Undone", kind="warning" if told else "done")


def see(home: StoredHome) -> None:
    """Remember the version of a home that is shown."""
    st.session_state.setdefault("seen", {})[home.id] = home.version


def grouped(place: DeltaGenerator, usd: float | None, key: str) -> None:
    """The dollars of a field once more below it, with their groups of digits.

    A browser's field of numbers has none: 185000 is quickly taken for 18500.
    """
    if usd is not None:
        place.container(key=f"written_{key}").caption(plain(money(usd)))


# Homes -----------------------------------------------------------------------------------------


def screened() -> tuple[Screened, ...]:
    """Homes that are read, ranked; starts reading what waits, and shows how far it is."""
    space = workspace()
    homes = space.screen_all()
    waiting = len(space.store.homes()) - len(homes)
    if waiting and not (space.reader.running or space.reader.stopped or space.reader.failed):
        space.reader.start(space.store.homes())
    if space.reader.running:
        _reading(len(homes))
    elif waiting:
        _not_read(waiting)
    for item in homes:
        see(item.home)
    st.session_state["order"] = tuple(item.home.id for item in homes)
    return homes


@st.fragment(run_every=1.0)
def _reading(shown: int) -> None:
    """Progress of the reading; the list behind it is drawn anew when a home is done."""
    reader = workspace().reader
    progress = reader.progress
    if not reader.running:
        st.rerun()
    if progress is None:
        return
    drawn = st.session_state.setdefault("drawn_homes", -1)
    if progress.homes_done > max(drawn, 0):
        st.session_state["drawn_homes"] = progress.homes_done
        st.rerun()
    if progress.homes_done < drawn:
        st.session_state["drawn_homes"] = progress.homes_done
    left = progress.seconds_left
    time_left = "" if left is None else f", about {number(left)} s left"
    bar, stop = st.columns([5, 1], vertical_alignment="center")
    bar.progress(
        progress.photos_done / progress.photos_total,
        f"Reading photos for the first time: {progress.photos_done} of {progress.photos_total}"
        f"{time_left}. Homes appear as they are done.",
    )
    stop.button("Stop", key="stop_reading", on_click=reader.stop, width="stretch")


def _not_read(waiting: int) -> None:
    reader = workspace().reader
    words, button = st.columns([5, 1], vertical_alignment="center")
    homes = "1 home still has" if waiting == 1 else f"{waiting} homes still have"
    words.info(f"{homes} photos that were not read. {reader.failed}".strip())
    if button.button("Read them", type="primary", width="stretch"):
        reader.start(workspace().store.homes())
        st.rerun()


def home_in_hand() -> Screened | None:
    """The home that was opened last, chosen in a box at the top of the page.

    Homes stand as they were ranked last in this window. A change of limits moves the home in hand
    at once; the others follow when the list is opened, which takes longer the more there are.
    """
    space = workspace()
    homes = {home.id: home for home in space.store.homes()}
    order = [i for i in st.session_state.get("order", ()) if i in homes]
    if len(order) < len(homes) or space.reader.running:
        order = [item.home.id for item in screened()]
    if not order:
        if not space.reader.running:
            st.info("No home is here yet. Add one on the page Homes.")
        return None
    asked = st.query_params.get("home", "")
    if "home" not in st.session_state and asked.isdecimal() and int(asked) in order:
        st.session_state["home"] = int(asked)
    if st.session_state.get("home") not in order:
        st.session_state["home"] = order[0]
    st.session_state["home_box"] = st.session_state["home"]
    st.selectbox(
        "Home", order, format_func=lambda i: _title(homes[i]), key="home_box", on_change=_take
    )
    chosen = homes[st.session_state["home"]]
    st.query_params["home"] = str(chosen.id)
    see(chosen)
    return Screened(chosen, space.result(chosen))


def _take() -> None:
    st.session_state["home"] = st.session_state["home_box"]


def title_of(item: Screened) -> str:
    """Address, or the home's name; never a picture or link that the browser would fetch."""
    return _title(item.home)


def open_walk_through(home_id: int) -> None:
    """Go to a home's walk-through."""
    st.session_state["home"] = home_id
    st.switch_page("views/walk.py", query_params={"home": str(home_id)})


def _title(home: StoredHome) -> str:
    return (home.listing.address or home.listing.home).replace("](", "] (")


def facts_line(item: Screened) -> str:
    """The facts in one line; what is missing is left out."""
    facts = item.home.listing
    units = facts.units if facts.units and facts.units > 1 else None
    found: list[tuple[Any, str, Callable[[Any], str]]] = [
        (facts.list_price_usd, "asking {}", money),
        (facts.bedrooms, "{} bed", number),
        (facts.bathrooms, "{} bath", number),
        (units, "{} units", number),
        (facts.living_area_sqft, "{} sq ft", number),
        (facts.year_built, "built {}", str),
        (facts.monthly_rent_usd, "let for {} a month", money),
    ]
    words = [form.format(write(value)) for value, form, write in found if value is not None]
    return " · ".join(words) or "No facts given"


def most_to_pay(item: Screened) -> str:
    """The most to pay for the home, and whether it rests on a guessed rent."""
    most = item.result.outcome.most_to_pay_usd
    if most is None:
        return "not known without the rent"
    guess = " (rent guessed)" if item.home.listing.monthly_rent_usd is None else ""
    return f"{money(most)}{guess}"
