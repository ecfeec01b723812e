"""A field whose text is kept while it is typed: a component of our own.

Streamlit's own fields send what was typed when they are left, and a tab that is closed or loaded
anew sends nothing. Here the text goes out at every pause, and until it was taken in the browser
keeps it too, so that it is there when the page is opened again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import streamlit as st

from app.shared import tell_again, workspace
from scorer.errors import InputError
from scorer.store import StoredHome

HERE = Path(__file__).parent
MOST = 20_000


class Typed(NamedTuple):
    """A text, and the one that stood in the field when it was begun."""

    text: str
    over: str


@cache
def _component() -> Any:
    return st.components.v2.component(
        "typed_text",
        html='<div class="typed"></div>',
        css=(HERE / "typed.css").read_text(encoding="utf-8"),
        js=(HERE / "typed.js").read_text(encoding="utf-8"),
    )


def typed_text(
    label: str,
    value: str,
    key: str,
    home: StoredHome,
    take: Callable[[Typed], bool],
    *,
    lines: int = 0,
    placeholder: str = "",
    problem: str = "",
) -> None:
    """Draw a field.

    Parameters
    ----------
    value
        The text as it is kept.
    key
        Unique on the page; the same from run to run.
    home
        Whose text it is: the browser's own copy goes by its name.
    take
        Keeps a text; False if it could not, and the browser then keeps it.
    lines
        Height of a field whose text is kept at every pause; 0 is one line, kept when it is left.
    problem
        Why the last text was not kept.
    """
    taken, failed = f"{key}_taken", f"{key}_failed"

    def changed() -> None:
        sent = st.session_state[key]["typed"]
        if not sent or sent["serial"] <= st.session_state.get(taken, 0):
            return
        if take(Typed(str(sent["text"])[:MOST], str(sent["over"])[:MOST])):
            st.session_state[taken] = int(sent["serial"])
        else:
            st.session_state[failed] = int(sent["serial"])

    whose = f"{workspace().store.path.resolve()}\n{home.listing.home}"
    data = {
        "label": label,
        "value": value,
        "draft": f"{label} {hashlib.sha256(whose.encode()).hexdigest()[:24]}",
        "taken": st.session_state.get(taken, 0),
        "failed": st.session_state.get(failed, 0),
        "lines": lines,
        "most": MOST,
        "placeholder": placeholder,
        "problem": problem,
    }
    _component()(key=key, data=data, default={"typed": None}, on_typed_change=changed)


def note_field(home: StoredHome, label: str, key: str) -> None:
    """The note on a home; what is typed in two windows at once stays, one below the other."""
    mine, problem = f"{key}_mine", f"{key}_problem"

    def take(typed: Typed) -> bool:
        # A text is often sent before the answer to the one before it has come back.
        over = {typed.over, st.session_state.get(mine, typed.over)}
        tell_again()  # the run that follows was not asked for with a click
        try:
            kept = workspace().store.type_note(home.id, over, typed.text)
        except InputError as error:
            st.session_state[problem] = f"Not kept. {error}"
            return False
        st.session_state[mine] = kept
        st.session_state.pop(problem, None)
        return True

    sentence = st.session_state.get(problem, "")
    typed_text(label, home.note, key, home, take, lines=4, problem=sentence)
