"""Reports of one home, written when they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import streamlit as st

from app.pictures import photo
from app.shared import workspace
from scorer.report import home_report_pdf, home_workbook, to_csv, to_json
from scorer.shortlist.result import HomeResult
from scorer.workspace import Screened
from scorer.workspace.home_money import money_of
from scorer.workspace.pairs import pairs_of, printed_pairs
from scorer.workspace.taking import viewing_pictures

PHOTO_WIDTH = 900
EXCEL = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def exports(item: Screened) -> None:
    """A button for each kind of file."""
    result, name = item.result, item.result.home
    space = workspace()
    money = money_of(space, item)

    def ranked() -> list[HomeResult]:
        """With its place among the others, which a file of figures names."""
        return [i.result for i in space.screen_all() if i.home.id == item.home.id] or [result]

    def pdf() -> bytes:
        taken = viewing_pictures(item.home)
        pairs = printed_pairs(pairs_of(space, item))
        limits = space.store.settings()
        now = datetime.now(UTC)
        return home_report_pdf(result, _photos(item), now, money, taken, pairs, limits)

    files: tuple[tuple[str, Callable[[], bytes | str], str, str], ...] = (
        ("Report to print (PDF)", pdf, "pdf", "application/pdf"),
        ("Workbook (Excel)", lambda: home_workbook(result, money), "xlsx", EXCEL),
        ("Figures (CSV)", lambda: to_csv(ranked()), "csv", "text/csv"),
        ("Everything (JSON)", lambda: to_json(ranked()), "json", "application/json"),
    )
    st.subheader("Reports to hand on", anchor=False)
    with st.container(horizontal=True):
        for label, write, ending, kind in files:
            st.download_button(
                label, write, f"{name}.{ending}", kind, key=f"save_{ending}", on_click="ignore"
            )


def _photos(item: Screened) -> dict[str, bytes]:
    """Photos by name, small and without metadata; those that can't be read are left out."""
    small = {p.name: photo(p.path, PHOTO_WIDTH) for p in item.home.listing.photos}
    return {name: picture for name, picture in small.items() if picture}
