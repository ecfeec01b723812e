"""Why a piece of work is on the list, and what is to be bought, in words."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from app.figures import needed, packs
from app.look import days
from app.work_list import why
from scorer.scope.plan import Task
from scorer.store import Store
from scorer.workspace import Screened, Workspace, tag_now
from scorer.workspace.actuals import finished_job
from tests.app.test_pages import rows_of
from tests.app.test_pages_after import page_of


@pytest.fixture
def space(data: Path) -> Workspace:
    return Workspace(Store(data / "homes.sqlite"))


def home(space: Workspace, home_id: int) -> Screened:
    return next(i for i in space.screen_all() if i.home.id == home_id)


def test_all_work_says_what_was_found_and_by_whom(space: Workspace):
    first = home(space, 1)
    for option in first.result.options:
        assert why(option, first.result), f"{option.id} says no reason"
    painted = next(o for o in first.result.options if o.id == "kitchen: walls_paint_light")
    assert "% likely by the photos" in why(painted, first.result)
    tag = tag_now("kitchen", "dark_walls", present=True, severity=2)
    space.store.add_tags(1, first.home.version, [tag])
    tagged = home(space, 1).result
    painted = next(o for o in tagged.options if o.id == "kitchen: walls_paint_light")
    assert "Dark walls: you said so" in why(painted, tagged)


def test_work_that_other_work_rests_on_names_it(space: Workspace):
    first = home(space, 1)
    one, two, *_ = first.result.scope.options
    linked = two.model_copy(update={"needs": (one.id,)})
    scope = first.result.scope.model_copy(update={"options": (one, linked)})
    assert f"Needed for “{two.label}”" in why(one, first.result.model_copy(update={"scope": scope}))


def test_the_list_on_the_page_has_no_empty_reason(data: Path):
    rows = rows_of(page_of("scope"), "The work")
    assert all(row["cells"]["note"] for row in rows.values())


@pytest.mark.parametrize(
    ("count", "pack", "words"),
    [
        (1, "1 each", "1"),
        (4, "1 each", "4"),
        (1, "1 kit", "1 kit"),
        (2, "1 kit", "2 kits"),
        (1, "1 gal can", "1 gal can"),
        (3, "1 gal can", "3 × 1 gal can"),
        (1, "box of 24 sq ft", "1 × box of 24 sq ft"),
        (2, "12 ft board", "2 × 12 ft board"),
        (1, "12 ft board", "1 × 12 ft board"),
    ],
)
def test_what_is_bought_one_by_one_has_its_number_only(count: int, pack: str, words: str):
    assert packs(count, pack) == words


def test_things_that_are_counted_have_no_unit():
    assert needed(1.0, "each") == "1"
    assert needed(2.36, "gal") == "2.4 gal"


def test_a_look_by_others_shows_its_days_and_no_hours_of_ones_own():
    look = Task(
        option="x", room="hall", label="licensed plumber", kind="look",
        start_day=0.0, end_day=6.0, hours=0.0,
    )  # fmt: skip
    work = look.model_copy(update={"label": "paint", "kind": "work", "hours": 3.5})
    assert "day 1 to 6<" in days((look,))
    assert "day 1 to 6, 3.5 h<" in days((work,))


@pytest.mark.parametrize("chosen", [True, False])
def test_work_that_was_logged_is_said_to_be_done_and_not_to_be_worth_too_little(
    data: Path, chosen: bool
):
    space = Workspace(Store(data / "homes.sqlite"))
    first = home(space, 1)
    picked = {o.id for o in first.result.scope.options}
    option = next(o for o in first.result.options if (o.id in picked) == chosen)
    job = finished_job(space, first, option.id, 1.0 if chosen else 5_000.0, None, date(2026, 11, 2))
    space.store.add_job(1, first.home.version, job)
    row = rows_of(page_of("scope"), "The work")[option.id]
    assert row["cells"]["note"].startswith("Done on Nov 2, 2026.")
    assert row["group"] == ("in" if chosen else "done")
