"""What a home's rent rests on, on the page: as it was screened with, and shared out."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.money.rent_evidence import rent_evidence
from scorer.store import Store
from scorer.workspace import Workspace
from tests.app.test_pages import button, opened, rows_of, words
from tests.app.test_pages_after import page_of

RENTS = (
    "rent_usd_month,beds,baths,condition,features\n"
    "1500,1,1,updated,kitchen_updated;fresh_paint\n"
    "1450,1,1,updated,kitchen_updated\n"
    "1200,2,1,dated,\n"
    "1150,1,1,dated,parking\n"
)


@pytest.fixture
def space(data: Path) -> Workspace:
    return Workspace(Store(data / "homes.sqlite"))


def test_the_rent_shown_is_the_one_that_the_home_was_screened_with(space: Workspace):
    space.save_comps(RENTS, "mine.csv")
    item = next(i for i in space.screen_all() if i.result.listing.monthly_rent_usd is None)
    found = space.evidence(item.result)
    assert found.ceiling_usd is not None
    left = found.ceiling_usd - found.present_rent_usd.typical
    assert item.result.scope.lift_ceiling_usd == pytest.approx(max(0.0, left), abs=1e-9)
    # The prior matters: without the catalogue's effects the rent would be another.
    plain = rent_evidence(item.result.listing, space.comps())
    assert plain.present_rent_usd.typical != pytest.approx(found.present_rent_usd.typical)


def test_without_rents_the_page_says_what_is_assumed(data: Path):
    at = page_of("scope", 2)
    assert "Rent as it is:" in words(at)
    assert "Collect rents of comparable homes" in words(at)


def test_the_page_shows_each_rent_moved_to_the_home_and_what_they_taught(
    data: Path, space: Workspace
):
    space.save_comps(RENTS, "mine.csv")
    at = page_of("scope", 2)
    assert "Your 4 rents say" in words(at)
    assert "The best of them would be" in words(at)
    moved = rows_of(at, "Rents that you collected")
    assert {row["cells"]["rent"] for row in moved.values()} == {
        "$1,500", "$1,450", "$1,200", "$1,150",
    }  # fmt: skip
    effects = rows_of(at, "What differences do")
    kitchen = effects["kitchen_updated"]["cells"]
    assert kitchen["assumed"] != kitchen["now"]
    assert "laundry" not in effects  # none of the rents says whether it has one
    assert "laundry in the home" in words(at)


def test_rents_come_in_from_a_csv_and_a_wrong_one_gets_a_sentence(data: Path, space: Workspace):
    at = opened("shortlist")
    for text, count in (("rent\n900\n", 0), (RENTS, 4)):
        at.file_uploader(key="comps_file").set_value([("mine.csv", text.encode(), "text/csv")])
        at.run()
        button(at, "Use these rents").click().run()
        assert any("rent_usd_month is missing" in e.value for e in at.error) == (count == 0)
        assert len(space.comps()) == count
    assert "4 rents are in use." in words(at)
    button(at, "Undo").click().run()
    assert space.comps() == ()
