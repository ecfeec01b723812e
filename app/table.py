"""A table whose cells can be changed in place, on a desk or on a phone: a component of our own.

The browser's own fields are used, so that every cell has a label and the keyboard reaches it. Edits
are numbered and sent until they were taken in, so that quick typing loses none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

import streamlit as st

HERE = Path(__file__).parent
Kind = Literal["title", "note", "line", "text", "figure", "number", "choice", "check"]


@dataclass(frozen=True)
class Column:
    """A column.

    Attributes
    ----------
    kind
        ``title`` names the row, ``note`` is a sentence, ``figure`` stands to the right, ``line``
        has a line of its own on a phone; ``number``, ``choice``, ``check`` and ``text`` can be
        changed if ``editable``.
    least, most
        Bounds of a number; ``most`` is the longest text.
    options
        Values and labels of a choice.
    minor
        On a phone it is shown only when asked for.
    """

    id: str
    label: str
    kind: Kind = "text"
    editable: bool = False
    least: float | None = None
    most: float | None = None
    options: tuple[tuple[str, str], ...] = ()
    minor: bool = False
    hint: str = ""


@dataclass(frozen=True)
class Row:
    """A row; a cell that is None stays empty. ``name`` is read out with each field."""

    id: str
    name: str
    cells: dict[str, object]
    group: str = ""
    sum: bool = False


@dataclass(frozen=True)
class Group:
    """Rows below a heading that folds them; ``folded`` says how a phone shows them at first."""

    id: str
    label: str
    folded: bool = False


@dataclass(frozen=True)
class Edit:
    """A cell that the user changed."""

    row: str
    column: str
    value: Any


@cache
def _component() -> Any:
    return st.components.v2.component(
        "table_of_fields",
        html='<div class="sheet"></div>',
        css=(HERE / "table.css").read_text(encoding="utf-8"),
        js=(HERE / "table.js").read_text(encoding="utf-8"),
    )


def table(
    label: str,
    columns: Sequence[Column],
    rows: Sequence[Row],
    key: str,
    on_edit: Callable[[list[Edit]], None],
    groups: Sequence[Group] = (),
) -> None:
    """Draw a table.

    Parameters
    ----------
    label
        Read out as the table's name.
    key
        Unique on the page; the same from run to run.
    on_edit
        Called with the edits in their order, before the next run.
    """
    seen = f"{key}_seen"

    def changed() -> None:
        sent = st.session_state[key]["edits"] or []
        fresh = new_edits(sent, st.session_state.get(seen, 0))
        if fresh:
            st.session_state[seen] = max(int(edit["serial"]) for edit in sent)
            on_edit(fresh)

    data = {
        "label": label,
        "columns": [asdict(c) for c in columns],
        "rows": [asdict(r) for r in rows],
        "groups": [asdict(g) for g in groups],
        "seen": st.session_state.get(seen, 0),
    }
    _component()(key=key, data=data, default={"edits": None}, on_edits_change=changed)


def new_edits(sent: Sequence[dict[str, Any]], seen: int) -> list[Edit]:
    """Edits numbered above ``seen``, in their order; of one cell the last one holds."""
    kept: dict[tuple[str, str], Edit] = {}
    for edit in sorted(sent, key=lambda edit: int(edit["serial"])):
        if int(edit["serial"]) > seen:
            kept[edit["row"], edit["column"]] = Edit(edit["row"], edit["column"], edit["value"])
    return list(kept.values())
