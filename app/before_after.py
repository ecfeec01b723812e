"""Photos of finished work, each beside a photo from before."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.components import before_after
from app.figures import day, plain
from app.own_photos import (
    empty_box,
    keep_photos,
    photo_files,
    photo_problems,
    take_off,
    taken_files,
)
from app.pictures import paired_photos, when_changed
from app.shared import change, tell
from scorer.rooms import RoomKind
from scorer.workspace import Screened
from scorer.workspace.pairs import Pair, words_of
from scorer.workspace.taking import Shown


def before_and_after(item: Screened, pairs: Sequence[Pair]) -> None:
    """A form for photos of finished work, and each of them beside one from before."""
    _form(item)
    for pair in pairs:
        _pair(item, pair)


def _form(item: Screened) -> None:
    rooms = [r.name for r in item.result.rooms if r.kind is not RoomKind.WHOLE_HOME]
    shows = {(name, ""): f"{name.capitalize()}: the whole room" for name in rooms}
    shows |= {
        (o.room, o.upgrade): f"{o.room.capitalize()}: {o.label}"
        for o in item.result.scope.options
        if o.room in rooms
    }
    key = f"after_{item.home.id}"

    def keep() -> None:
        what = st.session_state[f"{key}_what"]
        if what is None:
            tell("Choose what the photos show first.", kind="warning")
            return
        note = st.session_state[f"{key}_note"]
        room, upgrade = what
        taken = taken_files(key, Shown(room, "after", upgrade=upgrade, note=note))
        if keep_photos(item, taken, room):
            empty_box(key)
            st.session_state[f"{key}_note"] = ""

    photo_problems()
    with st.form(f"{key}_form", border=False):
        st.selectbox(
            "What do the photos show?",
            sorted(shows, key=lambda place: (rooms.index(place[0]), place[1])),
            index=None,
            format_func=shows.__getitem__,
            placeholder="A room, or a piece of work in it",
            key=f"{key}_what",
        )
        photo_files("Photos of the finished work", key)
        st.text_input("Note", key=f"{key}_note", max_chars=2_000)
        st.form_submit_button("Keep the photos", on_click=keep)


def _pair(item: Screened, pair: Pair) -> None:
    after, before = pair.after, pair.before
    with st.container(border=True, key=f"pair_{after.id}"):
        st.markdown(plain(f"**{words_of(after)}**"))
        words = [after.note, day(after.taken_at) if after.taken_at else ""]
        st.caption(plain(" · ".join(word for word in words if word)))
        pictures = None if before is None else _pictures(pair)
        if before is None:
            st.info("This home has no photo from before to put beside it.")
        elif pictures is None:
            st.warning("One of the two photos is gone or damaged.")
        elif st.toggle("Slide between the two", key=f"slide_on_{after.id}"):
            before_after(*pictures, ("Before", "After"), key=f"slide_pair_{after.id}")
        else:
            one, two = st.container(key=f"sides_{after.id}").columns(2, gap="small")
            one.image(pictures[0], caption="Before", alt=f"Before: {after.room}", width="stretch")
            two.image(pictures[1], caption="After", alt=f"After: {after.room}", width="stretch")
        names = [shot.name for shot in pair.choices]
        if before is not None:
            st.selectbox(
                "Photo from before" + (" (best guess)" if pair.guessed else ""),
                names,
                index=names.index(before.name),
                key=f"before_{after.id}_{item.home.version}",
                on_change=_choose,
                args=(item, pair),
            )
        st.button("Take it off", key=f"off_{after.id}", on_click=take_off, args=(item, after))


def _pictures(pair: Pair) -> tuple[bytes, bytes] | None:
    if pair.before is None:
        return None
    changed = when_changed(pair.after.path), when_changed(pair.before.path)
    return paired_photos(pair.after.path, pair.before.path, changed)


def _choose(item: Screened, pair: Pair) -> None:
    name = st.session_state[f"before_{pair.after.id}_{item.home.version}"]
    change(
        item.home.id,
        f"{name} stands beside the photo of the finished work.",
        lambda store, home, version: store.change_photo(home, version, pair.after.id, before=name),
        undo=lambda store, home, version: store.change_photo(
            home, version, pair.after.id, before=pair.after.before
        ),
    )
