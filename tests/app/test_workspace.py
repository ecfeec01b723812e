"""The workspace behind the page: read once, screened anew only where something changed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.rooms import Room, RoomKind
from scorer.settings import Settings
from scorer.store import Store
from scorer.workspace import Workspace
from tests.homes import make_home


@pytest.fixture
def space(data: Path) -> Workspace:
    return Workspace(Store(data / "homes.sqlite"))


def test_a_second_start_reads_no_photo_and_screens_no_home(
    space: Workspace, monkeypatch: pytest.MonkeyPatch
):
    first = space.screen_all()

    def never(*_: object, **__: object) -> None:
        raise AssertionError("screened again")

    monkeypatch.setattr("scorer.workspace.workspace.screen_home", never)
    assert not space.reader.start(space.store.homes())
    again = Workspace(Store(space.store.path)).screen_all()
    assert [i.result for i in again] == [i.result for i in first]


def test_only_the_home_that_changed_is_screened_anew(space: Workspace):
    before = {i.home.id: i.result.scope for i in space.screen_all()}
    space.store.add_tags(1, 1, [Tag(room="kitchen", condition="odor")])
    after = {i.home.id: i.result.scope for i in space.screen_all()}
    assert [home for home in before if after[home] is not before[home]] == [1]


def test_settings_reach_every_home_and_come_back_the_same(space: Workspace):
    before = [i.result for i in space.screen_all()]
    space.store.change_settings({"budget_usd": 200})
    small = [i.result for i in space.screen_all()]
    assert all(r.scope.cash_usd.typical <= 200 for r in small)
    space.store.change_settings(Settings().model_dump())
    assert [i.result for i in space.screen_all()] == before


def test_the_size_of_one_room_changes_no_number_of_rooms(space: Workspace):
    item = next(i for i in space.screen_all() if i.home.id == 1)
    names = [room.name for room in item.result.rooms]
    kitchen = Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=20, width_ft=15, height_ft=9)
    space.store.save_room(1, 1, kitchen)
    after = next(i for i in space.screen_all() if i.home.id == 1)
    assert [room.name for room in after.result.rooms] == names
    assert next(r for r in after.result.rooms if r.name == "kitchen") == kitchen


def test_stopping_keeps_what_was_read(space: Workspace, tmp_path: Path):
    make_home(tmp_path / "new" / "9 ash way", seed=9)
    space.import_folder(tmp_path / "new")
    home = next(h for h in space.store.homes() if h.listing.home == "9 ash way")
    waiting = len(space.shelf.waiting([home])[0][1])
    assert waiting == 4
    assert space.reader.start([home])
    space.reader.stop()
    assert space.reader.wait(60)
    left = space.shelf.waiting([home])
    assert len(left[0][1]) == waiting - 1
    assert "9 ash way" not in [i.home.listing.home for i in space.screen_all()]
    space.read_all()
    assert "9 ash way" in [i.home.listing.home for i in space.screen_all()]


def test_a_photo_that_is_gone_leaves_a_sentence_and_the_home_stays(
    space: Workspace, homes: Path, tmp_path: Path
):
    folder = tmp_path / "own"
    shutil.copytree(homes / "7 mill lane", folder / "8 mill lane")
    space.import_folder(folder)
    space.read_all()
    (folder / "8 mill lane" / "kitchen.jpg").unlink()
    item = next(i for i in space.screen_all() if i.home.listing.home == "8 mill lane")
    assert any("kitchen.jpg" in sentence for sentence in item.result.errors)


def test_a_photo_that_was_replaced_is_read_again(space: Workspace, homes: Path, tmp_path: Path):
    folder = tmp_path / "own"
    shutil.copytree(homes / "7 mill lane", folder / "8 mill lane")
    space.import_folder(folder)
    space.read_all()
    shutil.copy(homes / "1 oak street" / "kitchen.jpg", folder / "8 mill lane" / "kitchen.jpg")
    item = next(i for i in space.screen_all() if i.home.listing.home == "8 mill lane")
    kitchen = next(r for r in item.result.readings if r.file == "kitchen.jpg")
    assert kitchen.wall is not None
    assert kitchen.wall.tone == "dark"


def test_the_users_rents_are_used_and_wrong_ones_get_a_sentence(space: Workspace):
    with pytest.raises(InputError, match="rent_usd_month"):
        space.save_comps("beds\n2\n", "mine.csv")
    count, problems = space.save_comps("rent_usd_month,beds\n900,1\n950,1\nmuch,1\n", "mine.csv")
    assert count == 2
    assert "row 4" in problems[0]
    assert len(space.comps()) == 2


def test_own_wages_are_kept_and_every_home_follows_them(space: Workspace):
    before = {i.home.id: i.result.options for i in space.screen_all()}
    wage = space.price_book().wages["painter"]
    hired = wage.model_copy(update={"own_possible": False, "source": "own figure"})
    space.save_wages([hired])
    again = Workspace(Store(space.store.path))
    assert not again.price_book().wages["painter"].own_possible
    after = {i.home.id: i.result.options for i in again.screen_all()}
    assert after != before
    trades = {line.trade for options in after.values() for o in options for line in o.lines}
    assert "painter" in trades
    again.drop_wages()
    assert {i.home.id: i.result.options for i in again.screen_all()} == before


def test_a_table_that_names_a_home_of_another_folder_leaves_its_photos(
    space: Workspace, tmp_path: Path
):
    before = space.store.home(1)
    name = before.listing.home
    make_home(tmp_path / "later" / "9 new street", seed=9)
    table = f"ListingId,Price\n{name},77000\n9 new street,80000\n"
    (tmp_path / "later" / "listings.csv").write_text(table, encoding="utf-8")
    done = space.import_folder(tmp_path / "later")
    after = space.store.home(1)
    assert after.listing.photos == before.listing.photos
    assert after.listing.photos
    assert (after.folder, after.source) == (before.folder, before.source)
    assert after.listing.list_price_usd == 77_000
    assert not [s for s in done.problems if "unseen" in s]
    assert len(done.ids) == 2


def test_photos_that_were_taken_out_of_a_homes_own_folder_go(space: Workspace, tmp_path: Path):
    folder = tmp_path / "mine"
    make_home(folder / "9 new street", seed=9)
    (folder / "listings.csv").write_text("ListingId,Price\n9 new street,80000\n", encoding="utf-8")
    space.import_folder(folder)
    shutil.rmtree(folder / "9 new street")
    (home_id,) = space.import_folder(folder).ids
    assert space.store.home(home_id).listing.photos == ()
