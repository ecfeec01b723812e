"""Walk-through: room by room, confirm or reject what photos suggest, tag conditions, sizes."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import streamlit as st

from app.shared import (
    explained_photo,
    facts_line,
    home_in_hand,
    photo,
    repainted_photo,
    saved,
    say,
    workspace,
)
from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding
from scorer.conditions.findings import open_questions
from scorer.errors import InputError
from scorer.photos.palette import light_neutrals
from scorer.rooms import Room
from scorer.screening import rooms_of
from scorer.sheet import read_answers, viewing_sheet_html, viewing_sheet_pdf
from scorer.workspace import Screened, tag_now, what_to_ask

SUBJECTS = {
    "As it is": None,
    "Walls": "wall",
    "Floor": "floor",
    "Cabinets": "cabinets",
    "Windows": "windows",
    "Exposure": "exposure",
    "Room light": "light",
}
GRADES = {1: "Slight", 2: "Plain", 3: "Severe"}

say()
st.title("Walk-through")
item = home_in_hand()


def _tag(
    item: Screened, room: str, condition: str, present: bool, severity: int, note: str = ""
) -> None:
    tag = tag_now(room, condition, present=present, severity=severity, note=note)
    workspace().store.add_tags(item.home.id, item.home.version, [tag])
    saved("Kept")


def _finding(item: Screened, finding: Finding) -> None:
    condition = load_conditions()[finding.condition]
    person = any(e.source == "person" for e in finding.evidence)
    key = f"{item.home.id}_{finding.room}_{finding.condition}"
    with st.container(border=True):
        words, buttons = st.columns([2.2, 1])
        grade = "sound" if finding.severity == 0 else GRADES[finding.severity].lower()
        state = "you said so" if person else f"{finding.certainty:.0%} sure from the photos"
        if finding.rejected:
            state = "you said: not so"
        words.markdown(f"**{condition.label}** · {grade} · {state}")
        for evidence in finding.evidence:
            if text := " ".join(part for part in (evidence.photo, evidence.figure) if part):
                words.caption(text)
        yes, no = buttons.columns(2)
        if not finding.rejected and not person:
            if yes.button("It is so", key=f"yes_{key}", width="stretch"):
                _tag(item, finding.room, finding.condition, True, finding.severity)
            if no.button("Not so", key=f"no_{key}", width="stretch"):
                _tag(item, finding.room, finding.condition, False, finding.severity)
        elif finding.rejected:
            if yes.button("It is so", key=f"yes_{key}", width="stretch"):
                _tag(item, finding.room, finding.condition, True, max(finding.severity, 1))
        elif no.button("Not so", key=f"no_{key}", width="stretch"):
            _tag(item, finding.room, finding.condition, False, finding.severity)


def _photos(item: Screened, names: list[str]) -> None:
    paths = {p.name: p.path for p in item.home.listing.photos}
    if not names:
        st.info("No photo shows this room. Look at it first at the viewing.")
        return
    subject = SUBJECTS[
        st.segmented_control(
            "Show on the photos",
            list(SUBJECTS),
            default="As it is",
            key=f"subject_{item.home.id}_{names[0]}",
            help="Outlines where a figure was measured, with the figure.",
        )
        or "As it is"
    ]
    columns = st.columns(min(2, len(names)))
    for at, name in enumerate(names):
        path = paths[name]
        with columns[at % len(columns)]:
            changed = Path(path).stat().st_mtime if Path(path).exists() else 0.0
            explained = explained_photo(path, changed, subject) if subject else None
            picture = explained[0] if explained else photo(path, 900)
            if picture:
                st.image(picture, caption=name, alt=f"Photo {name}", width="stretch")
            else:
                st.warning(f"{name} could not be read.")


def _repaint(item: Screened, names: list[str]) -> None:
    paths = {p.name: p.path for p in item.home.listing.photos}
    with st.expander("How would it look in a light neutral?"):
        name = st.selectbox("Photo", names, key=f"repaint_photo_{item.home.id}_{names[0]}")
        paints = {p.label: p.hex for p in light_neutrals()}
        paint = st.selectbox(
            "Wall color",
            list(paints),
            key=f"repaint_paint_{item.home.id}_{names[0]}",
            help="LRV is the light reflectance value: how much light comes back, 0 to 100.",
        )
        if st.button("Show it", key=f"repaint_{item.home.id}_{names[0]}"):
            try:
                path = paths[name]
                before, after = repainted_photo(path, Path(path).stat().st_mtime, paints[paint])
            except (InputError, OSError) as error:
                st.info(str(error))
                return
            left, right = st.columns(2)
            left.image(before, caption="Now", alt="The room now", width="stretch")
            right.image(after, caption=paint, alt=f"The room in {paint}", width="stretch")
            st.caption("A preview on this photo, not a promise of the paint's look.")


def _checklist(item: Screened, room: Room, tagged: set[str]) -> None:
    options = {
        c.id: c
        for c in load_conditions().values()
        if room.kind in c.room_kinds and c.polarity != "note"
    }
    with st.form(f"tag_{item.home.id}_{room.name}", border=True, clear_on_submit=True):
        st.markdown("**Tag what you see**")
        chosen = st.selectbox(
            "Condition",
            list(options),
            format_func=lambda c: options[c].label + (" (tagged)" if c in tagged else ""),
            index=None,
            placeholder="Choose, or type to search",
        )
        grade = st.radio(
            "How bad",
            list(GRADES),
            format_func=GRADES.__getitem__,
            index=1,
            horizontal=True,
            help="Ignored for what is sound, such as sound cabinets.",
        )
        note = st.text_input("Note")
        if st.form_submit_button("Keep this tag", type="primary") and chosen:
            sound = options[chosen].polarity == "sound"
            _tag(item, room.name, chosen, True, 0 if sound else grade, note)


def _sizes(item: Screened, room: Room) -> None:
    with st.form(f"size_{item.home.id}_{room.name}", border=True):
        st.markdown("**Size of this room, in feet**")
        columns = st.columns(3)
        sizes = {}
        for column, (field, label, least, most) in zip(
            columns,
            (
                ("length_ft", "Length", 1.0, 200.0),
                ("width_ft", "Width", 1.0, 200.0),
                ("height_ft", "Height", 5.0, 30.0),
            ),
            strict=True,
        ):
            sizes[field] = column.number_input(
                label, least, most, getattr(room, field), 0.5, format="%.1f"
            )
        if st.form_submit_button("Keep the size"):
            workspace().store.save_room(
                item.home.id, item.home.version, room.model_copy(update=sizes)
            )
            saved("Size kept")


def _room(item: Screened, room: Room, photo_rooms: dict[str, str]) -> None:
    names = [name for name, where in photo_rooms.items() if where == room.name]
    if room.kind.value != "whole_home":
        _photos(item, names)
    here = [f for f in item.result.findings if f.room == room.name]
    here.sort(key=lambda f: (f.rejected, -f.severity))
    st.markdown("**What was found**" if here else "Nothing was found here so far.")
    for finding in here:
        _finding(item, finding)
    left, right = st.columns(2)
    with left:
        _checklist(item, room, {f.condition for f in here if not f.rejected})
    with right:
        _sizes(item, room)
    kinds = {room.name: room.kind}
    questions = [q for q in open_questions(here, kinds) if q.room == room.name and not q.known]
    with st.expander(f"Still to look at here: {len(questions)}"):
        for question in questions[:30]:
            st.markdown(f"**{question.label}**: {question.question}")
    if names:
        _repaint(item, names)


def _take_along(item: Screened) -> None:
    home, now = item.home.listing, datetime.now(UTC)
    kinds = {room.name: room.kind for room in item.result.rooms}
    questions = open_questions(item.result.findings, kinds)
    with st.expander("Take the sheet along, and bring its answers back"):
        st.write(
            "The sheet works on a phone without a network. It keeps answers as you type and saves "
            "them to a small file, which you bring back here."
        )
        html = viewing_sheet_html(home.home, questions, item.result.rooms, now, home.address)
        pdf = viewing_sheet_pdf(home.home, questions, item.result.rooms, now, home.address)
        one, two = st.columns(2)
        one.download_button("Sheet for the phone", html, f"{home.home}.html", "text/html")
        two.download_button("Sheet on paper", pdf, f"{home.home}.pdf", "application/pdf")
        brought = st.file_uploader("Answers file from the sheet", type=["json"])
        if brought is not None and st.button("Bring the answers in", type="primary"):
            conflicts = workspace().import_answers(
                item.home, read_answers(brought.getvalue(), brought.name)
            )
            st.session_state["conflicts"] = [
                f"{c.room}, {c.condition.replace('_', ' ')}: two answers differ; the newer holds."
                for c in conflicts
            ]
            saved("Answers are in")
    for sentence in st.session_state.pop("conflicts", ()):
        st.warning(sentence)


if item is not None:
    result = item.result
    st.caption(facts_line(item))
    for hold in result.scope.holds:
        st.warning(f"**{hold.label}** ({hold.room}). Who must look: {hold.who}. {hold.caution}")
    looks = what_to_ask(result, workspace().store.settings())
    if looks:
        with st.expander("Look at these first: what would change the decision most", expanded=True):
            for look in looks[:5]:
                st.markdown(f"**{look.room}**: {look.question}")
    _take_along(item)
    rooms = {room.name: room for room in result.rooms}
    photo_rooms = rooms_of(item.home.listing, result.readings, item.home.tags).photo_rooms
    order = st.pills(
        "Room",
        list(rooms),
        default=next(iter(rooms)),
        format_func=str.capitalize,
        key=f"room_{item.home.id}",
    )
    if order:
        _room(item, rooms[order], photo_rooms)
    for sentence in (*(u.sentence for u in result.unseen), *result.missing_facts, *result.errors):
        st.caption(sentence)
    with st.form(f"note_{item.home.id}", border=False):
        note = st.text_area("Note on this home", item.home.note)
        if st.form_submit_button("Keep the note"):
            workspace().store.save_note(item.home.id, item.home.version, note)
            saved("Note kept")
    undo, off = st.columns(2)
    if item.home.tags and undo.button("Undo the last tag"):
        workspace().store.undo_last_tag(item.home.id, item.home.version)
        saved("The last tag is undone")
    if off.button("Take this home off the list"):
        workspace().store.remove_home(item.home.id, item.home.version)
        st.session_state.pop("home", None)
        saved("Taken off; bring it back on the page Homes")
