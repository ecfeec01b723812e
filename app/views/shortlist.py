"""Shortlist: homes side by side."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

import streamlit as st

from app.collected_rents import collected_rents
from app.figures import day, money, months, number, percent, plain
from app.look import badge, figure_lines, money_bar, quiet, side_by_side
from app.pictures import photo
from app.shared import (
    ESTIMATE,
    change,
    facts_line,
    most_to_pay,
    screened,
    title_of,
    workspace,
)
from app.typed import Typed, note_field, typed_text
from scorer.rooms import RoomKind
from scorer.workspace import Screened

MOST = 4
ROOMS = (
    RoomKind.FRONT, RoomKind.KITCHEN, RoomKind.BATHROOM, RoomKind.LIVING_ROOM, RoomKind.BEDROOM,
)  # fmt: skip


def _room_photo(item: Screened, kind: RoomKind) -> str | None:
    """First photo of a kind of room."""
    plan = workspace().rooms(item)
    kinds = {room.name: room.kind for room in plan.rooms}
    for shot in item.home.listing.photos:
        if kinds.get(plan.photo_rooms.get(shot.name, "")) == kind:
            return shot.path
    return None


class Scales(NamedTuple):
    """Ends of the scales that all homes share [$]."""

    cost: float
    lift: float
    gain: float
    loss: float


def _scales(rows: Sequence[Screened]) -> Scales:
    outcomes = [item.result.outcome for item in rows]
    return Scales(
        max(o.cost_usd.p90 for o in outcomes),
        max(o.rent_lift_month_usd.p90 for o in outcomes),
        max(0.0, *(o.net_gain_usd.p90 for o in outcomes)),
        min(0.0, *(o.net_gain_usd.p10 for o in outcomes)),
    )


def _figures(item: Screened, first: Screened, scales: Scales) -> list[str]:
    """One home's column, piece by piece; the pieces of all homes stand in rows."""
    result, outcome = item.result, item.result.outcome
    asking = item.home.listing.list_price_usd
    rows = [
        ("Place in the ranking", number(result.rank or 0)),
        ("Checklist score", f"{number(result.score)} of 100"),
        ("Pays back in", months(outcome.payback_months)),
        ("Asking price", money(asking) if asking is not None else "not known"),
        ("Most to pay", most_to_pay(item)),
        ("Weeks of work", number(result.scope.weeks.typical, 1)),
    ]
    if item is not first:
        chance = workspace().chance_better(result, first.result)
        rows.append((f"Chance that it gains more than {title_of(first)}", percent(chance)))
    else:
        rows.append(("The others are compared with it", ""))
    stops = "".join(badge(f"Look first: {h.label} ({h.room})", "stop") for h in result.scope.holds)
    return [
        f"<h3>{escape(title_of(item))}</h3>",
        quiet(facts_line(item)),
        money_bar("Cost of the work", outcome.cost_usd, scales.cost, "cost"),
        money_bar("Rent rise a month", outcome.rent_lift_month_usd, scales.lift, "rent"),
        money_bar("Net gain", outcome.net_gain_usd, scales.gain, "gain", scales.loss),
        *(figure_lines([row]) for row in rows),
        stops,
    ]


def _photos(rows: Sequence[Screened]) -> None:
    for kind in ROOMS:
        paths = [_room_photo(item, kind) for item in rows]
        if not any(paths):
            continue
        st.markdown(f"**{kind.label}**")
        columns = st.container(key=f"side_{kind.value}").columns(len(rows), gap="medium")
        for column, item, path in zip(columns, rows, paths, strict=True):
            picture = photo(path) if path else None
            if picture:
                column.image(
                    picture,
                    alt=f"{title_of(item)}: {kind.label}",
                    caption=title_of(item),
                    width="stretch",
                )
            else:
                column.caption(f"{title_of(item)}: not shown")


def _words(item: Screened) -> None:
    home, key = item.home, item.home.id

    def decide(typed: Typed) -> bool:
        return not typed.text.strip() or change(
            key,
            "Decision kept.",
            lambda store, home_id, version: store.add_decision(home_id, version, typed.text),
        )

    note_field(home, "Note", f"short_note_{key}")
    typed_text(
        "Decision, and why",
        "",
        f"decision_{key}",
        home,
        decide,
        placeholder="Offer up to …, because …",
    )
    for time, sentence in workspace().store.decisions(key)[::-1][:8]:
        st.caption(plain(f"{day(time)}: {sentence}"))


st.title("Shortlist", anchor=False)
homes = screened()
kept = [item for item in homes if item.home.mark == "keep"]
if not homes and not workspace().reader.running:
    st.info("No home is here yet. Add one on the page Homes.")
elif homes and not kept:
    st.info("You have kept no home yet, so the first three are shown. Press Keep on a home.")
everything = {item.home.id: item for item in homes}
chosen = st.multiselect(
    "Homes side by side",
    list(everything),
    default=[item.home.id for item in (kept or list(homes[:3]))[:MOST]],
    format_func=lambda i: title_of(everything[i]),
    max_selections=MOST,
    key=f"side_by_side_{'-'.join(str(i.home.id) for i in kept)}_{len(homes)}",
)
rows = [everything[i] for i in chosen]
if rows:
    scales = _scales(rows)
    st.html(side_by_side([_figures(item, rows[0], scales) for item in rows]))
    _photos(rows)
    for column, item in zip(st.columns(len(rows), gap="medium"), rows, strict=True):
        with column:
            st.markdown(f"**{title_of(item)}**")
            _words(item)
collected_rents()
st.caption(ESTIMATE)
