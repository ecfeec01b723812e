"""Add one's own homes: a folder, a zip, or many photos."""

from __future__ import annotations

import tempfile
from pathlib import Path

import streamlit as st

from app.figures import number, plain
from app.shared import attempt, open_walk_through, steady, tell, workspace
from scorer.errors import InputError
from scorer.listing.uploads import unpack_homes
from scorer.store import data_folder

KINDS = ["zip", "jpg", "jpeg", "png", "webp", "heic", "heif", "json", "csv", "toml"]
MOST_TOLD = 20


def adding() -> None:
    """The box at the top of the list."""
    with steady():  # in front: the box below stays open, and is long on a phone
        _added()
    with st.expander("Add your own homes", icon=":material/add_home:"):
        left, right = st.columns(2, gap="large")
        with left:
            st.markdown("**Drop a zip, or the photos of one home**")
            files = st.file_uploader(
                "Zip, or photos",
                type=KINDS,
                accept_multiple_files=True,
                key=f"files_{st.session_state.get('uploads_done', 0)}",
                help="A zip with one folder for each home, or all photos of one home at once. "
                "JPEG, PNG, WebP and HEIC.",
            )
            single = [f.name for f in files if not f.name.lower().endswith(".zip")]
            if single:
                st.text_input(
                    "Address or name of the home that these photos show",
                    key="name_of_photos",
                    placeholder="12 Elm Street",
                )
            # Not disabled while the name is typed: a field is sent by the click that leaves it.
            st.button(
                "Add these files",
                type="primary",
                disabled=not files,
                on_click=_add_files,
                args=(files, bool(single)),
            )
        with right:
            st.markdown("**Or give a folder on this computer**")
            st.text_input(
                "Folder that holds one folder for each home",
                key="folder",
                placeholder="/home/me/homes",
            )
            st.button("Add the folder", on_click=_add_folder)
            st.caption(
                "Price, rent and size may lie beside the photos in a file (listing.json, .toml or "
                ".csv; see README), or you type them on the page Walk-through."
            )
        demo = [home for home in workspace().store.homes() if home.source == "demo"]
        if demo:
            st.button(
                f"Take the {len(demo)} invented homes off the list",
                on_click=_take_off_demo,
                type="tertiary",
                help="You can bring them back at the end of this page.",
            )


def _added() -> None:
    """The home that came last: in a long list it would have to be looked for."""
    here = {home.id: home for home in workspace().store.homes()}
    added = [here[i] for i in st.session_state.get("added", ()) if i in here]
    if len(added) != 1:
        return
    name = added[0].listing.address or added[0].listing.home
    with st.container(horizontal=True, vertical_alignment="center", key="added"):
        if st.button(f"Open {plain(name)}", type="primary"):
            del st.session_state["added"]
            open_walk_through(added[0].id)
        st.markdown("Go through its rooms, and type its price, rent and size.", width="stretch")


def _take_off_demo() -> None:
    store = workspace().store
    taken = store.remove_demo()

    def put_back() -> None:
        for home_id in taken:
            store.restore_home(home_id)

    tell("The invented homes are off the list.", undo=put_back)


def _import(folder: Path, told: tuple[str, ...] = ()) -> None:
    done = workspace().import_folder(folder)
    problems = [*told, *done.problems]
    more = len(problems) - MOST_TOLD
    rest = [f"And {number(more)} more like these; mend these first."] if more > 0 else []
    st.session_state["import_problems"] = [*problems[:MOST_TOLD], *rest]
    st.session_state["added"] = done.ids


def _add_folder() -> None:
    given = st.session_state.get("folder", "").strip()
    if given:
        attempt("Added. Photos are being read.", lambda: _import(Path(given).expanduser()))


def _add_files(files: list, to_be_named: bool) -> None:  # type: ignore[type-arg]
    name = st.session_state.get("name_of_photos", "").strip()

    def write() -> None:
        if to_be_named and not name:
            raise InputError(
                "Photos without a home: type the address or a name of the home that they show, "
                "then add them."
            )
        with tempfile.TemporaryDirectory() as scratch:
            content = [(file.name, file.getvalue()) for file in files]
            uploads = data_folder() / "uploads"
            folder, told = unpack_homes(content, name or "my home", uploads, Path(scratch))
            _import(folder, told)
        st.session_state["uploads_done"] = st.session_state.get("uploads_done", 0) + 1

    attempt("Added. Photos are being read.", write)
