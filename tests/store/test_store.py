"""The store: nothing typed is lost, and nothing is overwritten unseen."""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from pydantic import ValidationError

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.photos.reading import Reading
from scorer.rooms import Room, RoomKind
from scorer.settings import Settings
from scorer.store import Brought, StaleError, Store, data_folder
from scorer.store.schema import MIGRATIONS
from scorer.upgrades.learning import FinishedJob

TAG = Tag(room="kitchen", condition="dirty_trim", note="all round; drop table tag; --")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "data" / "homes.sqlite")


def test_everything_typed_is_there_after_reopening(store: Store):
    home = store.add_home(Listing(home="14-alder-court", list_price_usd=84_000))
    store.add_tags(home, 1, [TAG])
    store.save_room(home, 2, Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=11.5))
    store.save_choices(home, 3, {"kitchen: faucet": "must_not"})
    store.save_mark(home, 4, "keep")
    store.type_note(home, {""}, "ask about the roof")
    store.add_job(home, 5, FinishedJob(upgrade="faucet", planned_hours=2, actual_hours=3))
    store.change_settings({"budget_usd": 5_000})
    store.save_price_rows({"wall_paint": '{"typical_usd": 31}'})
    store.close()
    again = Store(store.path)
    got = again.home(home)
    assert got.tags == (TAG,)
    assert got.rooms[0].length_ft == 11.5
    assert got.must_not == ("kitchen: faucet",)
    assert (got.mark, got.note, got.version) == ("keep", "ask about the roof", 6)
    assert got.jobs[0].actual_hours == 3
    assert again.settings().budget_usd == 5_000
    assert again.price_rows() == {"wall_paint": '{"typical_usd": 31}'}
    assert [sentence for _, sentence in again.decisions(home)] == ["Kept"]
    assert again.problems() == ()


def test_two_tabs_cannot_overwrite_each_other(store: Store):
    home = store.add_home(Listing(home="a"))
    other = Store(store.path)
    seen = other.home(home)
    store.save_mark(home, 1, "keep")
    with pytest.raises(StaleError, match="another tab"):
        other.save_mark(home, seen.version, "aside")
    assert store.home(home).mark == "keep"
    other.save_mark(home, other.home(home).version, "aside")
    assert store.home(home).mark == "aside"


def test_a_note_that_is_typed_takes_the_place_of_what_was_there_only(store: Store):
    home = store.add_home(Listing(home="a"))
    assert store.type_note(home, {""}, "ask about the roof") == "ask about the roof"
    assert store.type_note(home, {"", "ask about the roof"}, "ask about it") == "ask about it"
    # Another window wrote meanwhile: both stay, and what holds both already is not doubled.
    assert store.type_note(home, {""}, "the furnace") == "ask about it\nthe furnace"
    assert store.type_note(home, {""}, "the furnace") == "ask about it\nthe furnace"
    longer = "ask about it\nthe furnace, too"
    assert store.type_note(home, {""}, longer) == longer
    assert store.type_note(home, {longer}, "") == ""
    assert store.home(home).version == 1  # it stops no other change
    with pytest.raises(InputError, match="not in the store"):
        store.type_note(99, {""}, "lost")


def test_what_a_sheet_brings_is_written_below_what_was_typed_meanwhile(store: Store):
    home = store.add_home(Listing(home="a"))
    store.type_note(home, {""}, "typed while the file was chosen")
    store.save_answers(home, 1, (), (), "from the sheet")
    assert store.home(home).note == "typed while the file was chosen\nfrom the sheet"
    store.save_answers(home, 2, [TAG], (), "from the sheet")
    assert store.home(home).note == "typed while the file was chosen\nfrom the sheet"


def test_every_table_is_strict_and_every_row_of_a_home_hangs_on_it(store: Store):
    ask = store._connection.execute
    assert ask("pragma journal_mode").fetchone() == ("wal",)
    assert ask("pragma foreign_keys").fetchone() == (1,)
    assert ask("pragma synchronous").fetchone() == (2,)  # full
    tables = [
        (name, strict)
        for _, name, kind, _, _, strict in ask("pragma table_list").fetchall()
        if kind == "table" and not name.startswith("sqlite_")
    ]
    assert len(tables) > 10
    assert [name for name, strict in tables if not strict] == []
    for name, _ in tables:
        columns = {row[1] for row in ask(f"pragma table_info({name})")}
        keys = {(row[3], row[2]) for row in ask(f"pragma foreign_key_list({name})")}
        assert ("home_id" in columns) == (("home_id", "home") in keys), name


def test_a_failed_change_leaves_nothing_behind(store: Store):
    home = store.add_home(Listing(home="a"))
    with pytest.raises(sqlite3.IntegrityError):
        store.save_choices(home, 1, {"x": "nonsense"})  # type: ignore[dict-item]
    assert store.home(home).version == 1


def test_importing_again_keeps_what_was_typed(store: Store):
    home = store.add_home(Listing(home="a"), [TAG])
    store.type_note(home, {""}, "mine")
    assert store.add_home(Listing(home="a", bedrooms=3), [TAG]) == home
    got = store.home(home)
    assert (got.listing.bedrooms, got.note, got.tags) == (3, "mine", (TAG,))


def test_an_import_that_brings_tags_is_noticed_by_an_open_tab(store: Store):
    home = store.add_home(Listing(home="a"))
    store.add_home(Listing(home="a"), [TAG])
    with pytest.raises(StaleError):
        store.save_mark(home, 1, "keep")
    version = store.home(home).version
    store.add_home(Listing(home="a"), [TAG])
    assert store.home(home).version == version  # the same again changes nothing


def test_an_import_of_several_homes_is_kept_whole_or_not_at_all(store: Store):
    def homes() -> Iterator[Brought]:
        yield Brought(Listing(home="a"), (TAG,))
        yield Brought(Listing(home="b"))
        raise InputError("the third home can't be read")

    with pytest.raises(InputError, match="third"):
        store.add_homes(homes())
    assert store.homes() == ()
    assert (
        len(store.add_homes([Brought(Listing(home="a"), (TAG,)), Brought(Listing(home="b"))])) == 2
    )


def test_what_a_sheet_brought_is_one_change(store: Store):
    home = store.add_home(Listing(home="a"))
    store.save_room(home, 1, Room(name="hall", kind=RoomKind.HALL, length_ft=9))
    kitchen = Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=11.5)
    with pytest.raises(StaleError):
        store.save_answers(home, 1, [TAG], [kitchen], "seen")
    assert store.home(home).tags == ()
    store.save_answers(home, 2, [TAG], [kitchen], "seen")
    got = store.home(home)
    assert (got.version, got.tags, got.note) == (3, (TAG,), "seen")
    assert [room.name for room in got.rooms] == ["hall", "kitchen"]


def test_a_store_that_another_program_holds_gets_a_sentence(
    store: Store, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("scorer.store.file.BUSY_MS", 50)
    home = store.add_home(Listing(home="a"))
    store.close()  # the next connection waits 50 ms only
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("begin immediate")
        with pytest.raises(InputError, match=r"can't be written \(database is locked\); nothing"):
            store.type_note(home, {""}, "mine")
        other.execute("rollback")
    store.type_note(home, {""}, "mine")
    assert store.home(home).note == "mine"


def test_a_full_disk_gets_a_sentence_and_costs_that_change_only(store: Store):
    home = store.add_home(Listing(home="a"))
    store.type_note(home, {""}, "before")
    pages = store._connection.execute("pragma page_count").fetchone()[0]
    store._connection.execute(f"pragma max_page_count = {pages}")
    with pytest.raises(InputError, match="full"):
        store.add_tags(home, 1, [TAG.model_copy(update={"note": "x" * 50_000})])
    store._connection.execute("pragma max_page_count = 100000")
    got = store.home(home)
    assert (got.version, got.note, got.tags) == (1, "before", ())
    store.type_note(home, {"before"}, "after")
    assert store.home(home).note == "after"
    assert store.problems() == ()


def test_removing_and_undoing(store: Store):
    home = store.add_home(Listing(home="a"), [TAG])
    assert store.undo_last_tag(home, 1) == TAG
    assert store.home(home).tags == ()
    assert store.undo_last_tag(home, 2) is None
    store.remove_home(home, 3)
    assert store.homes() == ()
    assert store.removed_homes() == ((home, "a"),)
    store.restore_home(home)
    assert [h.id for h in store.homes()] == [home]


def test_an_answer_is_taken_back_without_losing_the_others(store: Store):
    home = store.add_home(Listing(home="a"), [TAG])
    other = TAG.model_copy(update={"condition": "odor"})
    store.add_tags(home, 1, [other, TAG.model_copy(update={"severity": 3})])
    store.undo_tags(home, 2, TAG.room, TAG.condition)
    assert store.home(home).tags == (other,)
    with pytest.raises(StaleError):
        store.undo_tags(home, 2, other.room, other.condition)


def test_a_home_of_the_same_name_from_another_folder_is_another_home(store: Store):
    first = store.add_home(Listing(home="a"), folder="/one/a")
    second = store.add_home(Listing(home="a", bedrooms=2), folder="/two/a")
    assert first != second
    assert store.home(second).listing.home == "a (2)"
    assert store.add_home(Listing(home="a", bedrooms=3), folder="/two/a") == second
    assert store.home(second).listing.bedrooms == 3
    assert len(store.homes()) == 2


def test_the_demo_homes_go_and_come_back(store: Store):
    demo = store.add_home(Listing(home="a"), source="demo")
    own = store.add_home(Listing(home="b"))
    assert store.remove_demo() == (demo,)
    assert [home.id for home in store.homes()] == [own]
    store.restore_home(demo)
    assert [home.id for home in store.homes()] == [demo, own]


def test_a_result_is_kept_for_one_input_only(store: Store):
    home = store.add_home(Listing(home="a"))
    store.keep_result(home, "one", "{}")
    assert store.kept_result(home, "one") == "{}"
    store.keep_result(home, "two", "[]")
    assert store.kept_result(home, "one") is None
    store.keep_result(99, "one", "{}")
    assert store.kept_result(99, "one") is None


def test_a_tab_that_changes_one_limit_leaves_the_others_alone(store: Store):
    other = Store(store.path)
    store.change_settings({"budget_usd": 5_000})
    other.change_settings({"weeks": 3})
    assert store.settings() == Settings(budget_usd=5_000, weeks=3)
    with pytest.raises(ValidationError):
        store.change_settings({"budget_usd": 1, "weeks": -1})
    assert store.settings() == Settings(budget_usd=5_000, weeks=3)


def test_two_tabs_that_write_entries_of_one_value_keep_both(store: Store):
    def write(number: int) -> None:
        for at in range(10):
            store.change_value("wages", {f"{number} {at}": at})

    threads = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(store.value("wages")) == 40
    store.change_value("wages", {"0 0": None, "0 1": 7})
    assert "0 0" not in store.value("wages")
    assert (store.value("wages")["0 1"], len(store.value("wages"))) == (7, 39)


def test_a_setting_that_no_longer_holds_costs_only_itself(store: Store):
    store.save_value("settings", {"budget_usd": 4_000, "weeks": -1, "gone": True})
    assert store.settings() == Settings(budget_usd=4_000)


def test_a_store_of_the_first_version_is_brought_up_to_date(tmp_path: Path):
    path = tmp_path / "homes.sqlite"
    with sqlite3.connect(path) as old:
        old.executescript(MIGRATIONS[0])
        old.execute("pragma user_version = 1")
        listing = Listing(home="a").model_dump_json()
        old.execute("insert into home (name, listing, note) values ('a', ?, 'mine')", (listing,))
        old.execute("insert into tag (home_id, tag) values (1, ?)", (TAG.model_dump_json(),))
    store = Store(path)
    home = store.home(1)
    assert (home.note, home.tags, home.source) == ("mine", (TAG,), "own")
    assert store.problems() == ()
    store.save_photo_room(1, home.version, "a.jpg", "kitchen")
    assert store.home(1).photo_rooms == {"a.jpg": "kitchen"}


def test_readings_are_kept_by_content_and_algorithm(store: Store):
    reading = Reading(file="a.jpg", sharpness=12.0)
    store.save_reading("f00d", "1", reading)
    assert store.reading("f00d", "1") == reading
    assert store.reading("f00d", "2") is None


def test_many_threads_write_without_losing_anything(store: Store):
    home = store.add_home(Listing(home="a"))

    def write(number: int) -> None:
        for _ in range(10):
            while True:
                try:
                    store.add_tags(home, store.home(home).version, [TAG])
                    break
                except StaleError:
                    time.sleep(0.001)

    threads = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(store.home(home).tags) == 40


def test_a_store_of_a_later_program_is_left_alone(store: Store):
    store.close()
    with sqlite3.connect(store.path) as raw:
        raw.execute(f"pragma user_version = {len(MIGRATIONS) + 1}")
    with pytest.raises(InputError, match="later version"):
        Store(store.path)


def test_a_file_that_is_no_store_gets_a_sentence(tmp_path: Path):
    path = tmp_path / "homes.sqlite"
    path.write_bytes(b"not a database at all, " * 100)
    with pytest.raises(InputError, match=r"homes\.sqlite can't be opened as a store"):
        Store(path)
    assert path.read_bytes().startswith(b"not a database")


def test_a_backup_opens_as_a_store(store: Store, tmp_path: Path):
    home = store.add_home(Listing(home="a"), [TAG])
    store.backup(tmp_path / "copy.sqlite")
    assert Store(tmp_path / "copy.sqlite").home(home).tags == (TAG,)


def test_the_data_folder_can_be_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path))
    assert data_folder() == tmp_path
