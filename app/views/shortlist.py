"""Shortlist: homes side by side."""

from __future__ import annotations

import streamlit as st

from app.shared import ESTIMATE, facts_line, photo, saved, say, screened, title_of, workspace
from scorer.report.bars import range_bar_svg, range_words
from scorer.report.table import money_words, payback_words
from scorer.rooms import RoomKind
from scorer.screening import rooms_of
from scorer.workspace import Screened, chance_first_beats_second

MOST = 4
ROOMS = (RoomKind.FRONT, RoomKind.KITCHEN, RoomKind.BATHROOM, RoomKind.BEDROOM)

say()
st.title("Shortlist")
homes = screened()
kept = [item for item in homes if item.home.mark == "keep"]
if not homes:
    st.info("No home is here yet. Add one on the page Homes.")
elif not kept:
    st.info("No home is kept yet, so the first three are shown. Press Keep on the page Homes.")
rows = (kept or list(homes[:3]))[:MOST]
if len(kept) > MOST:
    st.caption(f"The first {MOST} of {len(kept)} kept homes.")


def _room_photo(item: Screened, kind: RoomKind) -> str | None:
    """First photo of a kind of room."""
    plan = rooms_of(item.home.listing, item.result.readings, item.home.tags)
    kinds = {room.name: room.kind for room in plan.rooms}
    for shot in item.home.listing.photos:
        if kinds.get(plan.photo_rooms.get(shot.name, "")) == kind:
            return shot.path
    return None


def _column(item: Screened, first: Screened, most_cost: float, most_lift: float) -> None:
    result, outcome = item.result, item.result.outcome
    st.subheader(title_of(item), anchor=False)
    st.caption(facts_line(item))
    st.html(
        f'<p class="figure"><b>Cost of the work</b><br>{range_words(outcome.cost_usd)}</p>'
        + range_bar_svg(outcome.cost_usd, most_cost, "Cost of the work")
        + f'<p class="figure"><b>Rent lift a month</b><br>'
        f"{range_words(outcome.rent_lift_month_usd)}</p>"
        + range_bar_svg(outcome.rent_lift_month_usd, most_lift, "Rent lift a month")
    )
    pay = outcome.most_to_pay_usd
    lines = [
        f"**Rank** {result.rank}, checklist score {result.score:.0f} of 100",
        f"**Net gain** {range_words(outcome.net_gain_usd)}",
        f"**Pays back in** {payback_words(outcome.payback_months)}",
        f"**Most to pay** {money_words(pay) if pay is not None else 'not known'}",
        f"**Weeks of work** {result.scope.weeks.typical:.1f}",
    ]
    if item is not first:
        chance = chance_first_beats_second(result, first.result, workspace().store.settings())
        lines.append(f"**Chance that it earns more than {title_of(first)}** {chance:.0%}")
    st.markdown("  \n".join(lines))
    for hold in result.scope.holds:
        st.warning(f"Stops work: {hold.label} ({hold.room})")
    with st.form(f"short_note_{item.home.id}", border=False):
        note = st.text_area("Note", item.home.note, key=f"short_text_{item.home.id}")
        if st.form_submit_button("Keep the note"):
            workspace().store.save_note(item.home.id, item.home.version, note)
            saved("Note kept")
    decisions = workspace().store.decisions(item.home.id)
    if decisions:
        with st.expander("Decisions"):
            for time, sentence in decisions:
                st.write(f"{time[:10]}: {sentence}")


if rows:
    most_cost = max(item.result.outcome.cost_usd.p90 for item in rows)
    most_lift = max(item.result.outcome.rent_lift_month_usd.p90 for item in rows)
    for column, item in zip(st.columns(len(rows)), rows, strict=True):
        with column:
            _column(item, rows[0], most_cost, most_lift)
    for kind in ROOMS:
        st.markdown(f"**{kind.label}**")
        for column, item in zip(st.columns(len(rows)), rows, strict=True):
            path = _room_photo(item, kind)
            picture = photo(path) if path else None
            if picture:
                column.image(picture, alt=f"{title_of(item)}: {kind.label}", width="stretch")
            else:
                column.caption("Not shown")
    st.caption(ESTIMATE)
