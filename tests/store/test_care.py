"""Doctor, backup and restore: what is missing is told, and no way back loses what was saved."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scorer.commands import main
from scorer.listing import read_home
from scorer.photos.reading import Reading
from scorer.screening.cache import ReadingCache
from scorer.store import StaleError, Store
from scorer.store.care import store_path
from scorer.store.schema import MIGRATIONS
from tests.homes import make_home


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "data"
    monkeypatch.setenv("VALUE_ADD_DATA", str(folder))
    return folder


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home with four photos, saved."""
    folder = make_home(tmp_path / "homes" / "7 sample road")
    listing, _ = read_home(folder, name="7 sample road")
    with Store() as store:
        store.add_home(listing, folder=str(folder))
    return folder


def run(*arguments: object) -> Result:
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert "Traceback" not in result.output
    return result


def damage(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("pragma wal_checkpoint(truncate)")
    connection.close()
    data = bytearray(path.read_bytes())
    data[4096:] = b"\x55" * (len(data) - 4096)
    path.write_bytes(bytes(data))


def names(path: Path | None = None) -> list[str]:
    with Store(path) as store:
        return [found.listing.home for found in store.homes()]


def test_all_is_well_before_and_after_the_first_save(home: Path, data: Path) -> None:
    result = run("doctor")
    assert result.exit_code == 0
    assert "1 home." in result.stdout
    assert result.stdout.endswith("All well.\n")
    shutil.rmtree(data)
    result = run("doctor")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "nothing was saved yet" in result.stdout
    assert not data.exists()


def test_missing_photos_are_named(home: Path) -> None:
    (home / "kitchen.jpg").unlink()
    result = run("doctor")
    assert result.exit_code == 1
    assert result.stderr.count("\n") == 1
    assert "7 sample road: photos are gone" in result.stderr
    assert "kitchen.jpg; put them back" in result.stderr
    shutil.rmtree(home)
    assert "the folder" in run("doctor").stderr
    assert str(home) in run("doctor").stderr


def test_a_row_of_no_home_is_told(home: Path) -> None:
    with sqlite3.connect(store_path()) as connection:  # foreign keys are off by default
        connection.execute("insert into tag (home_id, tag) values (99, '{}')")
    connection.close()
    result = run("doctor")
    assert result.exit_code == 2
    assert "a row of tag belongs to no home; restore a backup" in result.stderr


def test_a_row_that_cannot_be_read_is_told(home: Path) -> None:
    with sqlite3.connect(store_path()) as connection:
        connection.execute("update home set listing = '{\"home\": 3}'")
    connection.close()
    result = run("doctor")
    assert result.exit_code == 1
    assert "7 sample road: what was saved of this home can't be read" in result.stderr


def test_a_damaged_store_is_told(home: Path) -> None:
    damage(store_path())
    result = run("doctor")
    assert result.exit_code == 2
    assert "restore a backup" in result.stderr
    assert "All well" not in result.stdout


def test_stale_readings_are_counted_and_taken_out(home: Path, tmp_path: Path) -> None:
    with Store() as store:
        store.save_reading("a", "0.old any", Reading(file="a"))
    with ReadingCache() as cache:
        key = cache.key(str(home / "kitchen.jpg"))
        assert key is not None
        cache.put(key, Reading(file="kitchen.jpg"))
        cache.put(key._replace(method="0.old any"), Reading(file="kitchen.jpg"))
    result = run("doctor")
    assert result.exit_code == 0
    assert result.stdout.count("--tidy") == 2
    assert "taken out" in run("doctor", "--tidy").stdout
    assert "version of the program" not in run("doctor").stdout
    with ReadingCache() as cache:
        assert cache.count() == 1


def test_backup_and_restore_bring_everything_back(home: Path, tmp_path: Path) -> None:
    copy = tmp_path / "away" / "copy.sqlite"
    assert run("backup", copy).exit_code == 0
    assert [path.name for path in copy.parent.iterdir()] == ["copy.sqlite"]
    with Store() as store:  # stays open, as the page does
        store.remove_home(1, store.home(1).version)
        assert store.homes() == ()
        result = run("restore", copy)
        assert result.exit_code == 0, result.output
        assert [found.listing.home for found in store.homes()] == ["7 sample road"]
        assert store.problems() == ()
    (kept,) = store_path().parent.glob("homes before *.sqlite")
    assert str(kept) in result.stdout
    assert names(kept) == []
    assert run("restore", kept).exit_code == 0
    assert names() == []


def test_a_tab_that_shows_a_home_as_it_was_before_a_restore_is_told(
    home: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.sqlite"
    run("backup", copy)
    with Store() as tab:
        first = tab.home(1).version
        tab.add_decision(1, first, "typed after the backup")
        seen = tab.home(1).version
        run("restore", copy)
        # Another tab brings the restored home to the number of changes that this tab saw.
        tab.add_decision(1, tab.home(1).version, "typed after the restore")
        for version in (first, seen):
            with pytest.raises(StaleError):
                tab.add_decision(1, version, "typed over it unseen")
        assert [words for _, words in tab.decisions(1)] == ["typed after the restore"]


def test_a_damaged_store_is_kept_beside_the_restored_one(home: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    run("backup", copy)
    damage(store_path())
    broken = store_path().read_bytes()
    assert run("backup", tmp_path / "second.sqlite").exit_code == 2
    assert not list(tmp_path.glob("second*"))
    assert run("restore", copy).exit_code == 0
    assert names() == ["7 sample road"]
    (kept,) = store_path().parent.glob("homes before *.sqlite")
    assert kept.read_bytes() == broken
    assert run("doctor").exit_code == 0


def test_nothing_is_overwritten_by_a_backup(home: Path, tmp_path: Path) -> None:
    there = tmp_path / "mine.txt"
    there.write_text("mine")
    result = run("backup", there)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert there.read_text() == "mine"


def test_only_a_whole_backup_is_restored(home: Path, tmp_path: Path) -> None:
    later = tmp_path / "later.sqlite"
    run("backup", later)
    cut = tmp_path / "cut.sqlite"
    cut.write_bytes(later.read_bytes()[:9000])
    with sqlite3.connect(later) as connection:
        connection.execute(f"pragma user_version = {len(MIGRATIONS) + 1}")
    connection.close()
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as connection:
        connection.execute("create table home (id integer)")
    connection.close()
    text = tmp_path / "text.sqlite"
    text.write_text("no database")
    for path in (later, cut, other, text, tmp_path / "none.sqlite", store_path()):
        result = run("restore", path)
        assert result.exit_code == 2, path
        assert result.stderr.count("\n") == 1
    assert names() == ["7 sample road"]
    assert not list(store_path().parent.glob("homes before *"))


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS) + 1))
def test_a_backup_of_an_earlier_version_is_brought_up_to_date(tmp_path: Path, version: int) -> None:
    old = tmp_path / "old.sqlite"
    with sqlite3.connect(old) as connection:
        for step in MIGRATIONS[:version]:
            connection.executescript(step)
        connection.execute("insert into home (name, listing) values ('a', '{\"home\": \"a\"}')")
        connection.execute(f"pragma user_version = {version}")
    connection.close()
    before = old.read_bytes()
    assert run("restore", old).exit_code == 0
    assert names() == ["a"]
    assert old.read_bytes() == before
