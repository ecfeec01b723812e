"""What a home's rent rests on: the user's comparable rents, and how much is still assumed."""

from __future__ import annotations

import streamlit as st

from app.figures import local, money, money_range, number, percent, plain
from app.shared import workspace
from app.table import Column, Row, table
from scorer.money.rent_evidence import AdjustedComp, EffectEvidence, RentEvidence
from scorer.records import Range
from scorer.workspace import Screened

RENTS = (
    Column("home", "Home"),
    Column("rent", "Rent you collected", "title"),
    Column("moved", "The same for this home", "figure"),
    Column("by", "Moved by", "figure"),
    Column("note", "Note", "note", minor=True),
)
EFFECTS = (
    Column("label", "What differs", "title"),
    Column("assumed", "Assumed", "figure"),
    Column("now", "With your rents", "figure"),
    Column("share", "From your rents", "figure"),
    Column("source", "Source of what is assumed", "note", minor=True),
)

LEAST_SHARE = 0.005
"""Below this, the user's rents say nothing of an effect [0–1]."""


def rents(item: Screened) -> None:
    """Present rent, ceiling, the comparable rents moved to this home, and what they taught."""
    found = workspace().evidence(item.result)
    with st.expander("What the rent rests on"):
        st.write(plain(_words(found)))
        if not found.comps:
            return
        moved = _moved(found)
        empty = {c for c in ("home", "note") if not any(row.cells[c] for row in moved)}
        columns = tuple(column for column in RENTS if column.id not in empty)
        table("Rents that you collected", columns, moved, "rents_moved", lambda edits: None)
        learnt = [effect for effect in found.effects if effect.from_data >= LEAST_SHARE]
        if learnt:
            rows = [_effect(effect) for effect in learnt]
            table("What differences do", EFFECTS, rows, "rent_effects", lambda edits: None)
        others = [e.label.lower() for e in found.effects if e.from_data < LEAST_SHARE]
        st.caption(
            "In percent of the rent: middle (low to high). What is assumed gives way as your rents "
            "grow in number." + (f" They say nothing yet of {', '.join(others)}." if others else "")
        )


def _words(found: RentEvidence) -> str:
    words = [
        local(found.sentence),
        f"Rent as it is: {money_range(found.present_rent_usd)} a month.",
    ]
    if not found.comps:
        words.append(
            "Collect rents of comparable homes and type them on the page Shortlist: three are "
            "enough for a ceiling, and every one counts."
        )
        return " ".join(words)
    words.append(
        f"Your {number(len(found.comps))} rents say {money_range(found.market_rent_usd)}; "
        f"{percent(found.from_data)} of what was uncertain about it is settled by them."
    )
    if found.ceiling_usd is not None:
        words.append(
            f"Moved to this home's size and date, nine in ten of them stay below "
            f"{money(found.ceiling_usd)}: no work is counted to bring more."
        )
    return " ".join(words)


def _moved(found: RentEvidence) -> list[Row]:
    """Rents by how little they were moved."""

    named = workspace().comp_words()
    if len(named) != len(found.comps):  # another tab added one since
        named = (("", ""),) * len(found.comps)

    def row(at: int, label: str, note: str, comp: AdjustedComp) -> Row:
        rent = money(comp.rent_usd_month)
        cells: dict[str, object] = {
            "home": label or None,
            "rent": rent,
            "moved": money(comp.adjusted_usd_month),
            "by": percent(comp.adjustment),
            "note": note or None,
        }
        return Row(str(at), label or rent, cells)

    nearest = sorted(zip(named, found.comps, strict=True), key=lambda pair: pair[1].adjustment)
    return [row(at, *words, comp) for at, (words, comp) in enumerate(nearest)]


def _effect(effect: EffectEvidence) -> Row:
    each = effect.unit.removeprefix("percent of rent").strip()
    cells: dict[str, object] = {
        "label": f"{effect.label}, {each}" if each else effect.label,
        "assumed": _percents(effect.prior_percent),
        "now": _percents(effect.percent),
        "share": percent(effect.from_data),
        "source": effect.source,
    }
    return Row(effect.id, effect.label, cells)


def _percents(figure: Range) -> str:
    low, middle, high = (number(p, 1) for p in (figure.low, figure.typical, figure.high))
    return f"{middle}% ({low} to {high})"
