"""The viewing sheet: taken along, filled in without a network, and brought back."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from app.figures import day
from app.pictures import photo
from app.shared import see, take_back, tell, workspace
from scorer.conditions.checklist import load_conditions
from scorer.conditions.findings import open_questions
from scorer.errors import InputError
from scorer.sheet import read_answers, viewing_sheet_html, viewing_sheet_pdf
from scorer.store import Store
from scorer.workspace import Screened


def take_along(item: Screened) -> None:
    """Write the sheet for the phone or on paper, and read the answers back."""
    with st.expander("Take the sheet along to the viewing, and bring its answers back"):
        st.write(
            "The sheet works on a phone without a network. It keeps answers as you type and photos "
            "as you take them, and saves all to one file, which you bring back here."
        )
        if st.toggle("Write the sheet", key=f"sheet_{item.home.id}"):
            _write(item)
        key = f"answers_{item.home.id}_{st.session_state.get('answers_done', 0)}"
        brought = st.file_uploader("Answers file from the sheet", type=["json"], key=key)
        if brought is not None:
            st.button(
                "Bring the answers in",
                type="primary",
                on_click=_bring,
                args=(item, brought.getvalue(), brought.name),
            )
        _way_back(item)
    for sentence in st.session_state.pop("conflicts", ()):
        st.warning(sentence)


def _write(item: Screened) -> None:
    home, result, now = item.home.listing, item.result, datetime.now(UTC)
    kinds = {room.name: room.kind for room in result.rooms}
    questions = open_questions(result.findings, kinds)
    paths = {p.name: p.path for p in home.photos}
    pictures = {}
    for name, room in workspace().rooms(item).photo_rooms.items():
        picture = photo(paths[name], 480)
        if picture and room not in pictures:
            pictures[room] = picture
    html = viewing_sheet_html(home.home, questions, result.rooms, now, home.address, pictures)
    pdf = viewing_sheet_pdf(home.home, questions, result.rooms, now, home.address)
    with st.container(horizontal=True):
        st.download_button("Sheet for the phone", html, f"{home.home}.html", "text/html")
        st.download_button("Sheet on paper (PDF)", pdf, f"{home.home}.pdf", "application/pdf")


def _way_back(item: Screened) -> None:
    brought = workspace().store.last_answers(item.home.id)
    if brought is None:
        return
    st.button(
        "Take the last answers back",
        key=f"answers_back_{item.home.id}",
        on_click=take_back,
        args=(item.home.id, _undo),
    )
    st.caption(
        f"They were brought in on {day(brought.brought_at)}. Only what they brought is taken back; "
        "what was changed since stays. Bring the file in again to have them back."
    )


def _undo(store: Store, home_id: int, _: int) -> str:
    return store.take_answers_back(home_id)


def _bring(item: Screened, content: bytes, name: str) -> None:
    labels = {c.id: c.label for c in load_conditions().values()}
    store = workspace().store
    before = store.last_answers(item.home.id)
    try:
        brought = workspace().import_answers(item.home, read_answers(content, name))
    except InputError as error:
        tell(str(error), kind="error")
        return
    st.session_state["conflicts"] = [
        *(
            f"{c.room.capitalize()}, {labels.get(c.condition, c.condition).lower()}: two answers "
            "differ; the newer one holds and the other is kept."
            for c in brought.conflicts
        ),
        *(f"{sentence} All else is in." for sentence in brought.problems),
    ]
    see(store.home(item.home.id))
    st.session_state["answers_done"] = st.session_state.get("answers_done", 0) + 1
    fresh = store.last_answers(item.home.id) != before
    tell("The answers are in.", undo=(item.home.id, _undo) if fresh else None)
