"""What every page shares: the open workspace, the home in hand, photos, and the look."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable
from pathlib import Path

import streamlit as st

from scorer.errors import InputError
from scorer.photos import overlay, repaint, thumbnail_jpeg
from scorer.store import Store
from scorer.workspace import Screened, Workspace

LOG = logging.getLogger(__name__)
FOLDER_VARIABLE = "VALUE_ADD_FOLDER"
ESTIMATE = "Estimates from photos, facts and your tags. Not an appraisal."

CSS = """
<style>
.block-container { max-width: 76rem; padding-top: 4.2rem; }
.stApp { font-variant-numeric: tabular-nums; }
h1 { font-size: 1.9rem !important; padding-bottom: 0 !important; }
h2 { font-size: 1.35rem !important; } h3 { font-size: 1.1rem !important; }
div[data-testid="stMetricValue"] { font-size: 1.5rem; }
.reason { margin: 0 0 .25rem 0; padding-left: .9rem; text-indent: -.9rem; }
.figure { margin: .45rem 0 .1rem 0; font-size: .92rem; }
.figure b { font-weight: 600; }
.badge { display: inline-block; border: 1px solid currentColor; border-radius: .8rem;
  padding: 0 .6rem; font-size: .85rem; margin: 0 .3rem .3rem 0; }
button[kind] { min-height: 2.75rem; }
@media (max-width: 640px) { .block-container { padding: 3.8rem .9rem 2rem .9rem; } }
</style>
"""


def style() -> None:
    """The few rules that the theme can't express."""
    st.html(CSS)


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
        st.error(
            "Something went wrong on this page. What you typed is kept. Reload the page; if it "
            "happens again, the program's own window shows what went wrong."
        )


@st.cache_resource(show_spinner=False)
def workspace() -> Workspace:
    """The workspace of this process, with the demo homes on the first run."""
    space = Workspace(Store())
    space.import_demo_once()
    folder = os.environ.get(FOLDER_VARIABLE)
    if folder:
        space.import_folder(Path(folder))
    return space


def screened() -> tuple[Screened, ...]:
    """All homes, ranked; shows progress while photos are read for the first time."""
    bar = st.empty()

    def on_photo(done: int, total: int) -> None:
        bar.progress(done / total, f"Reading photo {done} of {total}")

    homes = workspace().screen_all(on_photo)
    bar.empty()
    return homes


def home_in_hand() -> Screened | None:
    """The home that was opened last, chosen in a box at the top of the page."""
    homes = screened()
    if not homes:
        st.info("No home is here yet. Add one on the page Homes.")
        return None
    names = [s.home.listing.home for s in homes]
    asked = st.query_params.get("home")
    if asked in names and "home" not in st.session_state:
        st.session_state["home"] = asked
    if st.session_state.get("home") not in names:
        st.session_state["home"] = names[0]
    titles = {s.home.listing.home: title_of(s) for s in homes}
    st.session_state["home_box"] = st.session_state["home"]
    st.selectbox("Home", names, format_func=titles.__getitem__, key="home_box", on_change=_take)
    return next(s for s in homes if s.home.listing.home == st.session_state["home"])


def _take() -> None:
    st.session_state["home"] = st.session_state["home_box"]


def title_of(item: Screened) -> str:
    """Address, or the home's name."""
    return item.home.listing.address or item.home.listing.home


def facts_line(item: Screened) -> str:
    """The facts in one line; what is missing is left out."""
    facts = item.home.listing
    found = [
        (facts.list_price_usd, "${:,.0f}"),
        (facts.bedrooms, "{} bed"),
        (facts.bathrooms, "{} bath"),
        (facts.units, "{} unit(s)"),
        (facts.living_area_sqft, "{:,.0f} sq ft"),
        (facts.year_built, "built {}"),
        (facts.monthly_rent_usd, "rent now ${:,.0f}"),
    ]
    words = [form.format(value) for value, form in found if value is not None]
    return " · ".join(words) or "No facts given"


@st.cache_data(show_spinner=False, max_entries=2_000)
def small_photo(path: str, changed: float, width: int = 640) -> bytes | None:
    """A photo as a small upright JPEG without metadata; None if it can't be read."""
    try:
        return thumbnail_jpeg(path, width)
    except (InputError, OSError):
        return None


def photo(path: str, width: int = 640) -> bytes | None:
    """As :func:`small_photo`, made anew when the file changed."""
    try:
        return small_photo(path, Path(path).stat().st_mtime, width)
    except OSError:
        return None


@st.cache_data(show_spinner=False, max_entries=300)
def explained_photo(path: str, changed: float, subject: str) -> tuple[bytes, str] | None:
    """A photo with a region outlined and its figure, as (JPEG, caption)."""
    import cv2

    try:
        explained = overlay(path, subject)
    except InputError:
        return None
    ok, jpeg = cv2.imencode(".jpg", cv2.cvtColor(explained.rgb, cv2.COLOR_RGB2BGR))
    return (jpeg.tobytes(), explained.caption) if ok else None


@st.cache_data(show_spinner="Painting the walls", max_entries=60)
def repainted_photo(path: str, changed: float, paint_hex: str) -> tuple[bytes, bytes]:
    """The room before and after, as JPEGs.

    Raises
    ------
    InputError
        If no wall is seen in it.
    """
    import cv2

    pair = repaint(path, paint_hex)
    before, after = (
        cv2.imencode(".jpg", cv2.cvtColor(image, cv2.COLOR_RGB2BGR))[1].tobytes()
        for image in (pair.before, pair.after)
    )
    return before, after


def saved(message: str) -> None:
    """Say that something was kept, then show the page anew."""
    st.session_state["said"] = message
    st.rerun()


def say() -> None:
    """What was said before the page was shown anew."""
    if message := st.session_state.pop("said", None):
        st.toast(message)
