"""Photos that the user brings: a form to add them, and the photos with what can be done to them."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.figures import day, plain
from app.pictures import photo
from app.shared import change, tell, workspace
from scorer.conditions.checklist import load_conditions
from scorer.store import TakenPhoto
from scorer.workspace import Screened
from scorer.workspace.taking import Shown, Taken, take_photos

# For pictures of any kind a phone offers its camera; desk browsers tell HEIC by its name only.
KINDS = ["image/*", ".heic", ".heif"]
MOST_MB = 80
SMALL_PX = 360
SMALL_WIDE = 148


# "Press Enter to submit" would lie over what is typed in a narrow field.
NO_HINT = """<style>@media (max-width: 640px) {
[data-testid="InputInstructions"] { display: none; } }</style>"""


def photo_files(label: str, key: str, hint: str = "") -> None:
    """A box for photos; on a phone it opens the camera or the album."""
    st.file_uploader(
        label,
        type=KINDS,
        accept_multiple_files=True,
        max_upload_size=MOST_MB,
        key=files_key(key),
        help=hint or None,
    )


def files_key(key: str) -> str:
    """Key of the box; a new one after each time that photos were kept empties it."""
    return f"files_{key}_{st.session_state.get(f'kept_{key}', 0)}"


def taken_files(key: str, shown: Shown) -> Taken:
    """The photos in the box, checked and written; what can't be used leaves a sentence."""
    files = [(f.name, f.getvalue()) for f in st.session_state.get(files_key(key)) or ()]
    taken = take_photos(workspace().store, files, shown)
    if taken.problems:
        st.session_state["photo_problems"] = taken.problems
    return taken


def empty_box(key: str) -> None:
    """Take the photos that were kept out of the box."""
    st.session_state[f"kept_{key}"] = st.session_state.get(f"kept_{key}", 0) + 1


def photo_problems() -> None:
    """Sentences about files that could not be used, once."""
    for sentence in st.session_state.pop("photo_problems", ()):
        st.warning(plain(sentence))


def add_photos(
    item: Screened, key: str, words: str, *, room: str, condition: str = "", read: bool
) -> None:
    """A form that adds photos of a room, or of a condition in it.

    Parameters
    ----------
    read
        Whether they are read like photos of the listing if the user leaves the switch as it is.
    """

    def keep() -> None:
        note = st.session_state[f"photo_note_{key}"]
        also = st.session_state[f"photo_read_{key}"]
        taken = taken_files(key, Shown(room, condition=condition, note=note, read=also))
        if keep_photos(item, taken, room):
            empty_box(key)
            st.session_state[f"photo_note_{key}"] = ""
            st.session_state.pop("photo_for", None)

    st.html(NO_HINT)
    with st.form(f"photos_{key}", border=False):
        photo_files(words, key)
        st.text_input("What they show", key=f"photo_note_{key}", max_chars=2_000)
        st.toggle(
            "Judge the room by them too",
            read,
            key=f"photo_read_{key}",
            help="They show the whole room, so walls, light and floor are read in them as in the "
            "listing's photos. Leave it off for a close-up: a stain says nothing about the walls.",
        )
        st.form_submit_button("Keep the photos", on_click=keep)


def keep_photos(item: Screened, taken: Taken, room: str) -> bool:
    """Keep photos of a home, with a way back; True if they were kept."""
    if not taken.photos:
        if not taken.problems:
            tell("Take or choose a photo first.", kind="warning")
        return False
    added: list[int] = []
    many = f"{len(taken.photos)} photos" if len(taken.photos) > 1 else "photo"
    kept = change(
        item.home.id,
        f"{room.capitalize()}: {many} kept.",
        lambda store, home, version: added.extend(store.add_photos(home, version, taken.photos)),
        undo=lambda store, home, version: store.remove_photos(home, version, added),
    )
    if kept:
        workspace().read_taken(workspace().store.home(item.home.id))
    return kept


def show_photos(item: Screened, photos: Sequence[TakenPhoto], place: str) -> None:
    """Small pictures side by side, each with its words and what can be done to it.

    Parameters
    ----------
    place
        ``room``, or ``condition`` where the pictures stand beside the one that they show.
    """
    if not photos:
        return
    with st.container(horizontal=True, gap="small"):
        for taken in photos:
            with st.container(width=SMALL_WIDE, key=f"own_{place}_{taken.id}"):
                _one(item, taken, place)


def _one(item: Screened, taken: TakenPhoto, place: str) -> None:
    known = load_conditions().get(taken.condition)
    what = known.label if known else taken.condition.replace("_", " ")
    picture = photo(taken.path, SMALL_PX)
    if picture is None:
        st.warning(f"The file of {taken.name} is gone or damaged.")
    else:
        st.image(picture, alt=f"Your photo of the {taken.room}: {what or 'the room'}")
    words = [
        what if place == "room" else "",
        taken.note,
        day(taken.taken_at) if taken.taken_at else "",
    ]
    st.caption(plain(" · ".join(word for word in words if word)))
    if place == "room":
        st.toggle(
            "Judge the room by it",
            taken.read,
            key=f"read_{taken.id}_{taken.read}",
            on_change=_read,
            args=(item, taken),
        )
    st.button("Take it off", key=f"off_{place}_{taken.id}", on_click=take_off, args=(item, taken))


def take_off(item: Screened, taken: TakenPhoto) -> None:
    """Take a photo off; its file stays, so that it can come back."""
    change(
        item.home.id,
        f"{taken.room.capitalize()}: a photo was taken off.",
        lambda store, home, version: store.remove_photos(home, version, [taken.id]),
        undo=lambda store, home, version: store.restore_photos(home, version, [taken.id]),
    )


def _read(item: Screened, taken: TakenPhoto) -> None:
    use = not taken.read
    done = change(
        item.home.id,
        "The photo counts for its room." if use else "The photo is evidence only.",
        lambda store, home, version: store.change_photo(home, version, taken.id, read=use),
        undo=lambda store, home, version: store.change_photo(
            home, version, taken.id, read=taken.read
        ),
    )
    if done and use:
        workspace().read_taken(workspace().store.home(item.home.id))
