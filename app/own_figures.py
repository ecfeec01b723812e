"""Rows of figures that the user may replace by own ones, typed or brought in from a CSV."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

import streamlit as st

from app.figures import number, today
from app.shared import PutBack, mistakes_told, tell
from app.table import Column, Edit, Row, table
from scorer.records import Record
from scorer.upgrades.own_figures import with_own_figure

AnyRow = TypeVar("AnyRow", bound=Record)


def figures(
    label: str,
    rows: Mapping[str, AnyRow],
    names: Mapping[str, str],
    columns: Sequence[Column],
    cells: Callable[[AnyRow], dict[str, object]],
    key: str,
    save: Callable[[Iterable[AnyRow]], PutBack],
) -> None:
    """Draw the rows; what is typed is dated, marked as the user's own, and kept.

    Parameters
    ----------
    rows, names
        The rows by id, and what each is called.
    cells
        What a row shows; a cell that is None can't be changed.
    save
        Keeps the rows that changed; returns what puts the former ones back.
    """

    def keep(edits: list[Edit]) -> None:
        changed: dict[str, AnyRow] = {}
        with mistakes_told():
            for edit in edits:
                row = changed.get(edit.row, rows[edit.row])
                changed[edit.row] = with_own_figure(
                    row, edit.column, edit.value, names[edit.row], today()
                )
            back = save(changed.values())
            what = ", ".join(names[name] for name in changed)
            tell(f"{what}: kept as your own figure; all estimates follow it.", undo=back)

    drawn = [Row(id=i, name=names[i], cells=cells(row)) for i, row in rows.items()]
    table(label, columns, drawn, key, keep)


def from_csv(
    label: str,
    keep: Callable[[str, str], tuple[int, PutBack]],
    *,
    key: str,
    rows: tuple[str, str] = ("row", "rows"),
    hint: str | None = None,
) -> None:
    """Box for a CSV of rows.

    Parameters
    ----------
    keep
        Checks and keeps the rows of a file, given its text and name; returns how many there are,
        and what puts back those that they took the place of.
    rows
        What one and several are called.
    """
    upload = st.file_uploader(label, type=["csv"], help=hint, key=f"{key}_file")
    if upload is not None:
        st.button(
            f"Use these {rows[1]}", type="primary", key=f"{key}_use", on_click=_bring_in,
            args=(keep, upload.getvalue(), upload.name, rows),
        )  # fmt: skip


def _bring_in(
    keep: Callable[[str, str], tuple[int, PutBack]],
    content: bytes,
    name: str,
    rows: tuple[str, str],
) -> None:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        tell(f"{name} is not UTF-8 text; save it as CSV UTF-8.", kind="error")
        return
    with mistakes_told():
        count, back = keep(text, name)
        one = count == 1
        what = f"{number(count)} {rows[0] if one else rows[1]}"
        tell(f"{what} {'is' if one else 'are'} in use.", undo=back)
