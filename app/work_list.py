"""The chosen work and what was left out, each to be overruled."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from app.figures import day, local, money, money_span, number, percent
from app.shared import change
from app.table import Column, Edit, Group, Row, table
from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding
from scorer.shortlist.result import HomeResult
from scorer.store import Choice
from scorer.upgrades.learning import FinishedJob
from scorer.upgrades.option import Option
from scorer.upgrades.options import option_id
from scorer.workspace import Screened

SAYS: dict[str, Choice | None] = {"": None, "must": "must", "must_not": "must_not"}
LABELS = (("", "Program decides"), ("must", "Do it"), ("must_not", "Leave out"))
COLUMNS = (
    Column("say", "Your say", "choice", True, options=LABELS),
    Column("work", "Work", "title"),
    Column("room", "Room"),
    Column("cost", "Cost", "figure"),
    Column("hours", "Hours", "figure"),
    Column("rent", "Rent a month", "figure"),
    Column("note", "Why", "note"),
)


def work_list(item: Screened) -> None:
    """All work that there is a reason for; a say is kept at once, and the rest follows it."""
    result = item.result
    chosen = {option.id for option in result.scope.options}
    rest = [option for option in result.options if option.id not in chosen]
    st.subheader("The work", anchor=False)
    if not chosen and not rest:
        st.info("Nothing was found that work would lift. Tag what you see in the walk-through.")
        return
    reasons = {out.option: local(out.reason) for out in result.scope.left_out}
    said = dict.fromkeys(item.home.must, "must") | dict.fromkeys(item.home.must_not, "must_not")
    done = when_done(item.home.jobs)
    rows = [
        _row(o, said.get(o.id, ""), f"{done.get(o.id, '')}{why(o, result)}", "in")
        for o in result.scope.options
    ]
    if rows:
        rows.append(_sum(item))
    finished = [option for option in rest if option.id in done]
    rest = [option for option in rest if option.id not in done]
    rows += [_row(o, said.get(o.id, ""), done[o.id].strip(), "done") for o in finished]
    rows += [_row(o, said.get(o.id, ""), reasons.get(o.id, ""), "out") for o in rest]
    table(
        "The work",
        COLUMNS,
        rows,
        f"work_{item.home.id}",
        lambda edits: keep(item, edits),
        (
            Group("in", _counted(len(chosen - set(done)), len(chosen & set(done)))),
            *([Group("done", f"Done, not in the figures: {len(finished)}")] if finished else []),
            Group("out", f"Not to be done: {len(rest)}", folded=True),
        ),
    )


def _counted(to_do: int, done: int) -> str:
    return f"To be done: {to_do}" + (f"; done: {done}" if done else "")


def when_done(jobs: Iterable[FinishedJob]) -> dict[str, str]:
    """By option, that its work was logged as done, and when."""
    return {
        option_id(job.room, job.upgrade): (
            f"Done on {day(job.finished_on)}. " if job.finished_on else "Done. "
        )
        for job in jobs
    }


def _row(option: Option, say: str, why: str, group: str) -> Row:
    cells: dict[str, object] = {
        "say": say,
        "work": option.label,
        "room": option.room.capitalize(),
        "cost": money_span(option.cost_usd),
        "hours": f"{number(option.hours.typical, 1)} h",
        "rent": money(option.rent_month_usd.typical),
        "note": why,
    }
    return Row(option.id, f"{option.label}, {option.room}", cells, group)


def why(option: Option, result: HomeResult) -> str:
    """Why a piece of work is on the list: what it waits for, serves, and what was found there."""
    others = [o.label for o in result.scope.options if option.id in o.needs]
    stopped = any(option.id in hold.stops for hold in result.scope.holds)
    found = {f.condition: f for f in result.findings if f.room == option.room and not f.rejected}
    words = (
        "Needed before it may be let" if option.required else "",
        "Only after the look above" if stopped else "",
        f"Needed for “{others[0]}”" if others else "",
        *(_found(found[name]) for name in option.reasons if name in found),
    )
    return ". ".join(word for word in words if word)


def _found(finding: Finding) -> str:
    """A condition, and who says so."""
    label = load_conditions()[finding.condition].label
    sources = {evidence.source for evidence in finding.evidence}
    if "person" in sources:
        return f"{label}: you said so"
    if "photo" in sources:
        return f"{label}: {percent(finding.certainty)} likely by the photos"
    return f"{label}: {percent(finding.certainty)} likely by what the listing says"


def _sum(item: Screened) -> Row:
    scope = item.result.scope
    cells: dict[str, object] = {
        "say": None,
        "work": "All of this together",
        "cost": money_span(scope.cost_usd),
        "hours": f"{number(scope.hours.typical, 1)} h",
        "rent": money(scope.rent_month_usd.typical),
        "note": "If all of it is needed; the figures above weigh how sure that is, and allow for "
        "what no photo shows",
    }
    return Row("sum", "All together", cells, "in", sum=True)


def keep(item: Screened, edits: list[Edit]) -> None:
    """Keep what the user says of options, with a way back to what was said before."""
    known = {option.id for option in item.result.options}
    says = {edit.row: SAYS[edit.value] for edit in edits if edit.row in known}
    home = item.home
    before: dict[str, Choice | None] = {
        o: "must" if o in home.must else "must_not" if o in home.must_not else None for o in says
    }
    change(
        home.id,
        "Your say is kept, and the rest of the scope follows it.",
        lambda store, home_id, version: store.save_choices(home_id, version, says),
        undo=lambda store, home_id, version: store.save_choices(home_id, version, before),
    )
