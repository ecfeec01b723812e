"""Walk-through: room by room, confirm or reject what photos suggest, tag conditions, sizes."""

from __future__ import annotations

import streamlit as st

from app.components import before_after
from app.facts import facts
from app.figures import plain
from app.findings import found_here, tag_form
from app.look import quiet
from app.own_photos import add_photos, photo_problems, show_photos
from app.pictures import explained_photo, photo, repainted_photo, when_changed
from app.plain_words import fact_words
from app.shared import ESTIMATE, change, facts_line, home_in_hand, steady, title_of, workspace
from app.take_along import take_along
from app.typed import note_field
from scorer.conditions.findings import open_questions
from scorer.errors import InputError
from scorer.photos.palette import light_neutrals
from scorer.rooms import Room, RoomKind
from scorer.screening.rooms import RoomPlan
from scorer.workspace import Screened
from scorer.workspace.taking import viewing_photos

SUBJECTS = {
    "As it is": None,
    "Walls": "wall",
    "Floor": "floor",
    "Cabinets": "cabinets",
    "Windows": "windows",
    "Photo light": "exposure",
    "Room light": "light",
}
SIZES = (
    ("length_ft", "Length, ft", 1.0, 200.0),
    ("width_ft", "Width, ft", 1.0, 200.0),
    ("height_ft", "Height, ft", 4.5, 30.0),
)


def _look_first(item: Screened) -> None:
    """What would stop the work, and what would change the decision, before the rooms."""
    for hold in item.result.scope.holds:
        st.warning(
            f"**{hold.label}** ({hold.room}). Who must look: {hold.who}. {hold.caution}",
            icon=":material/front_hand:",
        )
    by_question: dict[str, list[str]] = {}
    for look in workspace().what_to_ask(item.result):
        by_question.setdefault(f"**{look.label}.** {look.question}", []).append(look.room)
    if by_question:
        with st.expander("Ask and look first: what would change the decision most", expanded=True):
            lines = [
                f"{words} *{', '.join(rooms)}*" for words, rooms in list(by_question.items())[:5]
            ]
            st.markdown("\n".join(f"{n}. {line}" for n, line in enumerate(lines, start=1)))


def _photos(item: Screened, room: Room, names: list[str]) -> None:
    paths = {p.name: p.path for p in item.home.photos_to_read()}
    if not names:
        st.info("No photo shows this room. Look at it first at the viewing.")
        return
    subject = SUBJECTS[
        st.pills(
            "Show on the photos",
            list(SUBJECTS),
            default="As it is",
            key=f"subject_{item.home.id}_{room.name}",
            help="Outlines where in the photo a figure was measured, and prints the figure.",
        )
        or "As it is"
    ]
    notes = {photo.name: photo.note for photo in item.home.taken}
    for name in names:
        changed = when_changed(paths[name])
        picture = None
        if subject and changed is not None:
            picture = explained_photo(paths[name], changed, subject)
        picture = picture or photo(paths[name], 900)
        if picture is None:
            st.warning(f"{name} could not be read.")
            continue
        words = plain(f"{name}: {notes[name]}") if notes.get(name) else name
        st.image(picture, caption=words, alt=f"Photo of the {room.name}", width="stretch")
        trust = next((r.trust for r in item.result.readings if r.file == name), None)
        if trust and trust.reasons:
            st.caption(f"Trust this photo less: {'; '.join(trust.reasons)}.")


def _own_photos(item: Screened, room: Room) -> None:
    """Photos of the room from the viewing; those of a condition stand beside it as well."""
    here = list(viewing_photos(item.home, room.name))
    if room.kind is RoomKind.WHOLE_HOME:  # rooms that the home has no more lose no photo
        known = {r.name for r in item.result.rooms}
        here += [p for p in item.home.taken if p.stage == "viewing" and p.room not in known]
    with st.expander("Your own photos", icon=":material/photo_camera:"):
        photo_problems()
        show_photos(item, here, "room")
        add_photos(
            item,
            f"room_{item.home.id}_{room.name}",
            f"Photos of the {room.name}",
            room=room.name,
            read=room.kind is not RoomKind.WHOLE_HOME,
        )
        st.caption(
            "For one condition, add the photo beside it. Photos stay on this machine; what you "
            "hand on carries no place and no camera. A backup holds no photos."
        )


def _repaint(item: Screened, room: Room, names: list[str]) -> None:
    paths = {p.name: p.path for p in item.home.photos_to_read()}
    key = f"{item.home.id}_{room.name}"
    with st.expander("How would it look in a light neutral?"):
        name = st.selectbox("Photo", names, key=f"repaint_photo_{key}")
        paints = {p.label: p.hex for p in light_neutrals()}
        paint = st.selectbox(
            "Wall colour",
            list(paints),
            key=f"repaint_paint_{key}",
            help="LRV is the light reflectance value: the share of the light that comes back from "
            "the wall, 0 (black) to 100 (white).",
        )
        if st.toggle("Show it", key=f"repaint_{key}"):
            try:
                changed = when_changed(paths[name]) or 0
                before, after = repainted_photo(paths[name], changed, paints[paint])
            except InputError as error:
                st.info(str(error))
                return
            before_after(before, after, ("Now", paint), key=f"slide_{key}")
            st.caption("A preview on this photo, not a promise of how the paint will look.")


def _sizes(item: Screened, room: Room) -> None:
    key = f"{item.home.id}_{room.name}"
    # What is kept is part of the key, so that a size that is undone is shown as it was.
    keys = {field: f"{field}_{key}_{getattr(room, field)}" for field, *_ in SIZES}

    def keep() -> None:
        sizes = {field: st.session_state[keys[field]] for field, *_ in SIZES}
        change(
            item.home.id,
            f"Size of the {room.name} kept.",
            lambda store, home, version: store.save_room(
                home, version, room.model_copy(update=sizes)
            ),
            undo=lambda store, home, version: store.save_room(home, version, room),
        )

    with st.form(f"size_{key}", border=True):
        st.markdown("**Size, wall to wall**")
        columns = st.container(key=f"sizes_{key}".replace(" ", "_")).columns(3)
        for column, (field, label, least, most) in zip(columns, SIZES, strict=True):
            column.number_input(
                label, least, most, getattr(room, field), 0.5, "%.1f", key=keys[field]
            )
        st.form_submit_button("Keep the size", on_click=keep)


def _questions(item: Screened, room: Room) -> None:
    findings = [f for f in item.result.findings if f.room == room.name]
    kinds = {room.name: room.kind}
    asked = [q for q in open_questions(findings, kinds) if q.room == room.name and not q.known]
    if not asked:
        return
    with st.expander(f"Still to look at in this room: {len(asked)}"):
        st.markdown("\n".join(f"- **{q.label}.** {q.question}" for q in asked))


def _room(item: Screened, room: Room, names: list[str]) -> None:
    left, right = st.columns([1, 1], gap="medium")
    whole = room.kind is RoomKind.WHOLE_HOME
    with left:
        if not whole:
            with steady():
                _photos(item, room, names)
            if names and room.kind not in {RoomKind.FRONT, RoomKind.DECK}:
                _repaint(item, room, names)
        else:
            st.html(quiet("What belongs to no one room: smells, systems, the whole building."))
        _own_photos(item, room)
        with steady():
            _questions(item, room)
        if not whole:
            _sizes(item, room)
    with right:
        with steady():
            found_here(item, room)
        tag_form(item, room)


def _unplaced(item: Screened, rooms: list[str], plan: RoomPlan) -> None:
    """Photos whose room nobody could tell, or contradicts their name, and a box to say it."""
    taken = plan.photo_rooms
    lost = [p for p in item.home.listing.photos if p.name not in taken or p.name in plan.in_doubt]
    if not lost:
        return
    with st.expander(f"Photos whose room is in doubt: {len(lost)}", expanded=True):
        for column, shot in zip(st.columns(4) * (1 + len(lost) // 4), lost, strict=False):
            with column:
                if picture := photo(shot.path, 400):
                    st.image(picture, alt=shot.name, width="stretch")
                key = f"place_{item.home.id}_{shot.name}"
                st.selectbox(
                    f"Which room is {shot.name}?",
                    rooms,
                    index=None,
                    key=key,
                    placeholder=f"taken as {taken[shot.name]}" if shot.name in taken else None,
                    on_change=_place,
                    args=(item, shot.name, key),
                )


def _place(item: Screened, name: str, key: str) -> None:
    room = st.session_state[key]
    if room:
        change(
            item.home.id,
            f"{name} shows the {room}.",
            lambda store, home, version: store.save_photo_room(home, version, name, room),
            undo=lambda store, home, version: store.save_photo_room(home, version, name, None),
        )


def _unknown(item: Screened) -> None:
    result = item.result
    told = [*(u.sentence for u in result.unseen), *result.missing_facts, *result.errors]
    sentences = [fact_words(sentence) for sentence in told]
    if sentences:
        with st.expander(f"What is not known, and what could not be used: {len(sentences)}"):
            st.markdown("\n".join(f"- {sentence}" for sentence in sentences))


st.title("Walk-through", anchor=False)
item = home_in_hand()
if item is not None:
    st.html(quiet(facts_line(item)))
    facts(item)
    with steady():
        _look_first(item)
    rooms = {room.name: room for room in item.result.rooms}
    if workspace().read_taken(item.home):
        st.rerun()  # shows how far the reading is, and the room anew when it is done
    plan = workspace().rooms(item)
    with steady():
        _unplaced(item, [name for name in rooms if name != "whole home"], plan)
    found = dict.fromkeys(rooms, 0)
    for finding in item.result.findings:
        waits = not finding.by_person and not finding.rejected
        found[finding.room] = found.get(finding.room, 0) + waits
    chosen = st.pills(
        "Room (and how much in it waits for your yes or no)",
        list(rooms),
        default=next(iter(rooms)),
        required=True,
        format_func=lambda name: (
            f"{name.capitalize()} · {found[name]}" if found[name] else name.capitalize()
        ),
        key=f"room_{item.home.id}",
    )
    shown = [name for name, where in plan.photo_rooms.items() if where == chosen]
    _room(item, rooms[chosen or next(iter(rooms))], shown)
    take_along(item)
    with steady():
        _unknown(item)
    note_field(item.home, "Note on this home", f"note_{item.home.id}")
    st.page_link(
        "views/scope.py",
        label="Next: the scope of work for this home",
        query_params={"home": str(item.home.id)},
    )
    st.caption(f"{title_of(item)}. {ESTIMATE}")
