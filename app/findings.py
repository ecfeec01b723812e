"""What was found in a room, with one click to confirm or reject, and a form to tag more."""

from __future__ import annotations

import streamlit as st

from app.own_photos import add_photos, empty_box, photo_files, show_photos, taken_files
from app.plain_words import evidence_words
from app.shared import change
from scorer.conditions.checklist import conditions_of, load_conditions
from scorer.conditions.finding import Evidence, Finding
from scorer.rooms import Room
from scorer.store import TakenPhoto
from scorer.workspace import Screened, tag_now
from scorer.workspace.taking import Shown, viewing_photos

GRADES = {1: "Slight", 2: "Plain", 3: "Severe"}
USUAL_GRADE = 2


def found_here(item: Screened, room: Room) -> None:
    """The findings of one room, open ones first."""
    here = [f for f in item.result.findings if f.room == room.name]
    here.sort(key=lambda f: (f.rejected, f.by_person, -f.severity, -f.certainty))
    st.markdown("**What the photos suggest, and what you said**")
    if not here:
        st.caption("Nothing so far. Tag what you see below.")
    for finding in here:
        _finding(item, finding)


def _finding(item: Screened, finding: Finding) -> None:
    condition = load_conditions()[finding.condition]
    key = f"{item.home.id}_{finding.room}_{finding.condition}"
    with st.container(border=True, key=f"finding_{key}".replace(" ", "_")):
        st.markdown(f"**{condition.label}** · {_state(finding)}")
        lines = [
            " ".join(part for part in (e.photo and f"{e.photo}:", _figure(e)) if part)
            for e in finding.evidence
        ]
        if any(lines):
            st.caption("  \n".join(line for line in lines if line))
        near = viewing_photos(item.home, finding.room, finding.condition)
        show_photos(item, near, "condition")
        with st.container(horizontal=True):
            if not finding.by_person or finding.rejected:
                st.button(
                    "It is so",
                    key=f"yes_{key}",
                    on_click=_answer,
                    args=(item, finding.room, finding.condition, True, _grade(finding)),
                )
            if not finding.rejected:
                st.button(
                    "Not so",
                    key=f"no_{key}",
                    on_click=_answer,
                    args=(item, finding.room, finding.condition, False, finding.severity),
                )
            if finding.by_person:
                st.button(
                    "Take my answer back",
                    key=f"back_{key}",
                    on_click=_take_back,
                    args=(item, finding),
                    type="tertiary",
                )
            if st.session_state.get("photo_for") != key:
                st.button(
                    "Add a photo", key=f"shoot_{key}", on_click=_shoot, args=(key,), type="tertiary"
                )
        if st.session_state.get("photo_for") == key:
            add_photos(
                item,
                f"condition_{key}",
                f"Photos: {condition.label.lower()}",
                room=finding.room,
                condition=finding.condition,
                read=False,
            )


def _figure(evidence: Evidence) -> str:
    """What was read or written down; a person's own words stay as they are."""
    return evidence.figure if evidence.source == "person" else evidence_words(evidence.figure)


def _shoot(key: str) -> None:
    st.session_state["photo_for"] = key


def _grade(finding: Finding) -> int:
    usual = load_conditions()[finding.condition].default_severity
    return finding.severity or usual


def _state(finding: Finding) -> str:
    if finding.rejected:
        return "not so, you said"
    polarity = load_conditions()[finding.condition].polarity
    grade = {"sound": "sound, worth keeping", "note": "a note"}.get(
        polarity, GRADES.get(finding.severity, "sound").lower()
    )
    if finding.by_person:
        return f"{grade}, you said"
    return f"{grade}, {finding.certainty:.0%} likely by the photos"


def _tag(
    item: Screened,
    room: str,
    condition: str,
    present: bool,
    severity: int,
    note: str = "",
    photos: tuple[TakenPhoto, ...] = (),
) -> bool:
    label = load_conditions()[condition].label
    tag = tag_now(room, condition, present=present, severity=severity, note=note)
    added: list[int] = []
    return change(
        item.home.id,
        f"{room.capitalize()}: {label.lower()}{'' if present else ', not so'}. Kept.",
        lambda store, home, version: added.extend(store.add_tags(home, version, [tag], photos)),
        undo=lambda store, home, version: store.undo_last_tag(home, version, added),
    )


def _answer(item: Screened, room: str, condition: str, present: bool, severity: int) -> None:
    _tag(item, room, condition, present, severity)


def _take_back(item: Screened, finding: Finding) -> None:
    before = [
        tag
        for tag in item.home.tags
        if (tag.room, tag.condition) == (finding.room, finding.condition)
    ]
    change(
        item.home.id,
        "Your answer is taken back; what the photos suggest holds again.",
        lambda store, home, version: store.undo_tags(
            home, version, finding.room, finding.condition
        ),
        undo=lambda store, home, version: store.add_tags(home, version, before),
    )


def tag_form(item: Screened, room: Room) -> None:
    """Tag any condition that the checklist has for this kind of room."""
    known = {c.id: c for c in conditions_of(room.kind) if c.polarity != "note"}
    key = f"{item.home.id}_{room.name}"

    def keep() -> None:
        chosen = st.session_state[f"condition_{key}"]
        if chosen is None:
            st.session_state["tag_hint"] = key
            return
        sound = known[chosen].polarity == "sound"
        grade = 0 if sound else st.session_state[f"grade_{key}"]
        note = st.session_state[f"tagnote_{key}"]
        taken = taken_files(f"tag_{key}", Shown(room.name, condition=chosen))
        if _tag(item, room.name, chosen, True, grade, note, taken.photos):
            st.session_state[f"condition_{key}"] = None
            st.session_state[f"tagnote_{key}"] = ""
            st.session_state[f"grade_{key}"] = USUAL_GRADE  # the last tag's grade says nothing
            empty_box(f"tag_{key}")

    with st.form(f"tag_{key}", border=True):
        st.markdown("**Tag what you see, smell or hear**")
        st.selectbox(
            "Condition",
            list(known),
            format_func=lambda c: known[c].label,
            index=None,
            key=f"condition_{key}",
            placeholder="Choose, or type to search",
        )
        st.segmented_control(
            "How bad",
            list(GRADES),
            format_func=GRADES.__getitem__,
            default=USUAL_GRADE,
            required=True,
            key=f"grade_{key}",
            help="Has no bearing on what is sound, such as sound cabinets.",
        )
        st.text_input("Note", key=f"tagnote_{key}", max_chars=2_000)
        photo_files("Photos of it", f"tag_{key}", "Kept beside the condition as evidence.")
        st.form_submit_button("Keep this tag", type="primary", on_click=keep)
        if st.session_state.pop("tag_hint", None) == key:
            st.caption("Choose a condition first.")
