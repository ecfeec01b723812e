"""What a home's rent rests on, on the page: as it was screened with, and shared out."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from app.figures import today
from scorer.errors import InputError
from scorer.money.rent_evidence import rent_evidence
from scorer.store import Store
from scorer.workspace import Screened, Workspace
from scorer.workspace.own_rents import own_rent
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
    found = space.evidence(next(i for i in space.screen_all() if i.home.id == 2).result)
    assert found.ceiling_usd is not None
    assert found.ceiling_usd < max(1_500.0, *(c.adjusted_usd_month for c in found.comps))
    assert "nine in ten of them stay below" in words(at)  # it is not the best of them
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
    for text, count in (("price\n900\n", 0), (RENTS, 4)):
        at.file_uploader(key="comps_file").set_value([("mine.csv", text.encode(), "text/csv")])
        at.run()
        button(at, "Use these rents").click().run()
        assert any("rent_usd_month is missing" in e.value for e in at.error) == (count == 0)
        assert len(space.comps()) == count
    assert "4 rents are in use." in words(at)
    button(at, "Undo").click().run()
    assert space.comps() == ()


def test_addresses_and_notes_of_a_file_stand_beside_its_rents(data: Path, space: Workspace):
    space.save_comps("Rent,Address,Notes\n900,8 Elm Street,by the mill\n950,,\n", "mine.csv")
    moved = rows_of(page_of("scope", 2), "Rents that you collected")
    cells = [row["cells"] for row in moved.values()]
    assert {(c["rent"], c.get("home"), c.get("note")) for c in cells} == {
        ("$900", "8 Elm Street", "by the mill"),
        ("$950", None, None),
    }


def typed(at: AppTest, rent: float, **more: object) -> None:
    """Fill the form of one rent and send it."""
    at.number_input(key="rent_rent_usd_month").set_value(rent)
    for name, value in more.items():
        fields = {"label": at.text_input, "note": at.text_input, "condition": at.selectbox}
        fields.get(name, at.number_input)(key=f"rent_{name}").set_value(value)
    button(at, "Add this rent").click().run()
    assert not at.exception


def test_a_rent_typed_on_the_page_counts_and_is_undone(data: Path, space: Workspace):
    at = opened("shortlist")
    typed(
        at, 950.0, label="8 Elm Street", beds=2.0, baths=1.5, area_sqft=800.0,
        condition="updated", note="told by the neighbor",
    )  # fmt: skip
    (comp,) = space.comps()
    assert (comp.rent_usd_month, comp.beds, comp.baths, comp.area_sqft) == (950.0, 2.0, 1.5, 800.0)
    assert (comp.condition, comp.features, comp.date) == ("updated", None, today())
    (kept,) = space.own_rents().values()
    assert (kept.label, kept.note) == ("8 Elm Street", "told by the neighbor")
    assert "8 Elm Street: $950 a month is kept" in words(at).replace("\\", "")
    assert at.number_input(key="rent_rent_usd_month").value is None  # free for the next one
    assert at.text_input(key="rent_label").value == ""
    typed(at, 1_000.0)
    assert [c.rent_usd_month for c in space.comps()] == [950.0, 1_000.0]
    button(at, "Undo").click().run()
    assert [c.rent_usd_month for c in space.comps()] == [950.0]
    at = page_of("scope", 2)
    (row,) = rows_of(at, "Rents that you collected").values()
    assert row["cells"]["home"] == "8 Elm Street"


def test_a_rent_without_its_rent_gets_a_sentence_and_stays_in_the_form(
    data: Path, space: Workspace
):
    at = opened("shortlist")
    at.text_input(key="rent_label").set_value("8 Elm Street")
    button(at, "Add this rent").click().run()
    assert "Type the rent a month" in words(at)
    assert at.text_input(key="rent_label").value == "8 Elm Street"
    assert space.comps() == ()


def test_typed_rents_and_those_of_a_file_leave_each_other_alone(data: Path, space: Workspace):
    at = opened("shortlist")
    typed(at, 950.0)
    space.save_comps(RENTS, "mine.csv")
    assert len(space.comps()) == 5
    at.run()
    button(at, "Take them out").click().run()
    assert [c.rent_usd_month for c in space.comps()] == [950.0]
    button(at, "Undo").click().run()
    assert len(space.comps()) == 5


def test_a_typed_rent_moves_the_homes_figures(space: Workspace):
    """Without a rent of its own, a home's present rent is what the comparables say."""

    def home() -> Screened:
        return next(i for i in space.screen_all() if i.home.id == 2)

    before = home()
    guess = space.evidence(before.result).present_rent_usd.typical
    for rent in (2_000.0, 2_050.0, 2_100.0):
        space.add_own_rent(own_rent({"rent_usd_month": rent, "beds": 1}))
    after = home()
    assert space.evidence(after.result).present_rent_usd.typical > 1.2 * guess
    assert before.result != after.result, "the result of before was taken from the store"


def test_a_typed_rent_is_changed_unticked_and_put_back(space: Workspace):
    space.add_own_rent(own_rent({"rent_usd_month": 900.0, "label": "here"}))
    ((i, rent),) = space.own_rents().items()
    back = space.change_own_rents({i: rent.changed({"beds": 3.0, "note": "two floors"})})
    assert space.comps()[0].beds == 3.0
    assert space.own_rents()[i].note == "two floors"
    space.change_own_rents({i: rent.changed({"in_use": False})})
    assert space.comps() == ()
    assert space.comp_words() == ()
    space.put_own_rents_back(back)
    assert space.own_rents() == {i: rent}
    with pytest.raises(InputError, match="Bedrooms 99"):
        rent.changed({"beds": 99.0})
