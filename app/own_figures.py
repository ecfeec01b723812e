"""Rows of figures that the user may replace by own ones: what prices and wages have in common."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

from app.figures import today
from app.shared import attempt
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
    save: Callable[[Iterable[AnyRow]], None],
) -> None:
    """Draw the rows; what is typed is dated, marked as the user's own, and kept.

    Parameters
    ----------
    rows, names
        The rows by id, and what each is called.
    cells
        What a row shows; a cell that is None can't be changed.
    save
        Keeps the rows that changed.
    """

    def keep(edits: list[Edit]) -> None:
        def write() -> None:
            changed: dict[str, AnyRow] = {}
            for edit in edits:
                row = changed.get(edit.row, rows[edit.row])
                changed[edit.row] = with_own_figure(
                    row, edit.column, edit.value, names[edit.row], today()
                )
            save(changed.values())

        attempt("Kept as your own figure; all estimates follow it.", write)

    drawn = [Row(id=i, name=names[i], cells=cells(row)) for i, row in rows.items()]
    table(label, columns, drawn, key, keep)
