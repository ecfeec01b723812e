"""Photos that the user took: checked, kept once, taken off and back, looked after."""

from __future__ import annotations

import io
import os
import re
import sqlite3
import time
from pathlib import Path

import pytest
from PIL import Image
from pydantic import ValidationError

from scorer.commands import main
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.money.lettings import Letting
from scorer.rooms import RoomKind
from scorer.store import StaleError, Store, TakenPhoto
from scorer.store.photo_files import FRESH_SECONDS, keep_photo_file, keep_photo_files
from scorer.store.schema import MIGRATIONS
from scorer.upgrades.learning import FinishedJob
from tests.homes import room_picture

FILE = "0" * 64 + ".jpg"


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path / "data"))
    store = Store(tmp_path / "data" / "homes.sqlite")
    store.add_home(Listing(home="a"))
    return store


def jpeg(seed: int = 0, **more: object) -> bytes:
    out = io.BytesIO()
    room_picture((200, 190, 180), seed=seed).save(out, "JPEG", **more)
    return out.getvalue()


def saved(kind: str) -> bytes:
    out = io.BytesIO()
    room_picture((200, 190, 180)).save(out, kind)
    return out.getvalue()


def photo(**more: object) -> TakenPhoto:
    return TakenPhoto.model_validate({"file": FILE, "room": "kitchen", **more})


def test_a_photo_is_there_after_reopening_and_names_where_it_lies(store: Store):
    file = keep_photo_file(store.photo_folder, jpeg(), "IMG_1.jpg")
    (added,) = store.add_photos(1, 1, [photo(file=file, condition="odor", note="by the sink")])
    store.close()
    (kept,) = Store(store.path).home(1).taken
    assert kept == photo(
        file=file,
        condition="odor",
        note="by the sink",
        id=added,
        path=str(store.photo_folder / file),
    )
    assert Path(kept.path).read_bytes() == jpeg()
    assert kept.name == f"viewing photo {added}"


def test_only_a_photo_of_a_whole_room_is_read_and_none_of_finished_work(store: Store):
    given = [
        photo(read=True),
        photo(condition="odor"),
        photo(stage="after", read=True),
        photo(room="bedroom 2", condition="odor", read=True),
    ]
    ids = store.add_photos(1, 1, given)
    read = store.home(1).photos_to_read()
    assert [p.name for p in read] == [f"viewing photo {ids[0]}", f"viewing photo {ids[3]}"]
    assert (read[1].room, read[1].room_kind) == ("bedroom 2", RoomKind.BEDROOM)


def test_the_same_photo_of_the_same_thing_is_kept_once_and_no_word_is_lost(store: Store):
    assert len(store.add_photos(1, 1, [photo(note="stain")])) == 1
    assert store.add_photos(1, 2, [photo(note="still wet"), photo(note="stain")]) == ()
    (kept,) = store.home(1).taken
    assert kept.note == "stain\nstill wet"
    assert len(store.add_photos(1, 3, [photo(condition="odor"), photo(stage="after")])) == 2


def test_taking_off_is_undone_and_another_tab_overwrites_nothing(store: Store):
    ids = store.add_photos(1, 1, [photo(), photo(room="hall")])
    store.remove_photos(1, 2, ids[:1])
    assert [p.id for p in store.home(1).taken] == [ids[1]]
    with pytest.raises(StaleError):
        store.remove_photos(1, 2, ids)
    store.restore_photos(1, 3, ids[:1])
    assert [p.id for p in store.home(1).taken] == list(ids)


def test_what_is_said_of_a_photo_can_be_changed(store: Store):
    (one,) = store.add_photos(1, 1, [photo(stage="after", note="new floor")])
    store.change_photo(1, 2, one, before="kitchen.jpg")
    store.change_photo(1, 3, one, note="")
    (kept,) = store.home(1).taken
    assert (kept.before, kept.note) == ("kitchen.jpg", "")
    store.remove_photos(1, 4, [one])
    with pytest.raises(InputError, match="taken off in another tab"):
        store.change_photo(1, 5, one, note="x")
    assert store.home(1).version == 5


def test_a_photo_of_another_home_is_not_touched(store: Store):
    other = store.add_home(Listing(home="b"))
    (one,) = store.add_photos(1, 1, [photo()])
    store.remove_photos(other, 1, [one])
    assert len(store.home(1).taken) == 1


@pytest.mark.parametrize(
    "wrong", [{"file": "../../etc/passwd"}, {"file": "a.jpg"}, {"room": ""}, {"stage": "during"}]
)
def test_a_row_can_name_no_file_outside_its_folder(wrong: dict[str, str]):
    with pytest.raises(ValidationError):
        photo(**wrong)


# Files -----------------------------------------------------------------------------------------


def test_what_is_inside_decides_and_what_is_no_photo_is_refused(tmp_path: Path):
    assert keep_photo_file(tmp_path, saved("PNG"), "IMG.jpg").endswith(".png")
    kept, problems = keep_photo_files(
        tmp_path,
        [
            ("a.jpg", jpeg()),
            ("b.jpg", b"<svg onload=alert(1)>"),
            ("c.jpg", jpeg()[:2_000]),
            ("again.jpg", jpeg()),
            ("d.jpg", saved("WEBP")),
            ("e.jpg", saved("GIF")),
        ],
    )
    assert kept[0] == kept[1]
    assert [file[-4:] for file in kept] == [".jpg", ".jpg", "webp"]
    assert sorted(re.match(r"\w\.jpg", p)[0] for p in problems) == ["b.jpg", "c.jpg", "e.jpg"]  # type: ignore[index]
    assert len(list(tmp_path.iterdir())) == 3


def test_a_photo_of_a_rarer_kind_never_meets_its_decoder_in_this_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def never(*_: object, **__: object) -> None:
        raise AssertionError("decoded here")

    monkeypatch.setattr("scorer.photos.decode.decode", never)
    assert keep_photo_file(tmp_path, saved("WEBP"), "a.webp").endswith(".webp")


def test_a_picture_bomb_is_refused_by_its_header(tmp_path: Path):
    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    with pytest.raises(InputError, match="million pixels"):
        keep_photo_file(tmp_path, out.getvalue(), "bomb.png")
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_file_is_written_anew(tmp_path: Path):
    file = keep_photo_file(tmp_path, jpeg(), "a.jpg")
    (tmp_path / file).write_bytes(b"x" * len(jpeg()))
    assert keep_photo_file(tmp_path, jpeg(), "a.jpg") == file
    assert (tmp_path / file).read_bytes() == jpeg()


# Lettings and jobs ----------------------------------------------------------------------------


def test_lettings_and_jobs_are_taken_out_and_back(store: Store):
    letting = Letting(rent_before_usd=800, rent_usd=880, planned_lift_usd=60)
    row = store.add_letting(1, 1, letting)
    store.add_job(1, 2, FinishedJob(upgrade="faucet", planned_hours=2, actual_hours=3))
    assert store.home(1).lettings == (letting,)
    ((job, _),) = store.jobs_of(1)
    store.remove_letting(1, 3, row)
    store.remove_job(1, 4, job)
    assert (store.home(1).lettings, store.home(1).jobs) == ((), ())
    store.restore_letting(1, 5, row)
    store.restore_job(1, 6, job)
    assert store.lettings(1) == ((row, letting),)
    assert len(store.home(1).jobs) == 1


# Every released version -------------------------------------------------------------------------


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_a_store_of_every_earlier_version_takes_photos_and_rents(tmp_path: Path, version: int):
    path = tmp_path / "homes.sqlite"
    with sqlite3.connect(path) as old:
        for step in MIGRATIONS[:version]:
            old.executescript(step)
        listing = Listing(home="a", monthly_rent_usd=800).model_dump_json()
        old.execute("insert into home (name, listing, note) values ('a', ?, 'mine')", (listing,))
        old.execute(
            "insert into job (home_id, job) values (1, ?)",
            ('{"upgrade": "faucet", "trade": "own", "actual_hours": 3.0}',),  # as it was written
        )
        old.execute("""insert into tag (home_id, tag) values (1, '{"room":"a","condition":"b"}')""")
        old.execute(f"pragma user_version = {version}")
    old.close()
    store = Store(path)
    home = store.home(1)
    assert (home.note, home.taken, home.lettings, len(home.tags)) == ("mine", (), (), 1)
    assert (home.jobs[0].actual_hours, home.jobs[0].room) == (3.0, "")
    store.add_photos(1, home.version, [photo()])
    store.add_letting(1, home.version + 1, Letting(rent_before_usd=800, rent_usd=850))
    assert store.problems() == ()
    assert len(store.home(1).taken) == len(store.home(1).lettings) == 1


# Doctor, backup ---------------------------------------------------------------------------------


def run(*arguments: object):  # type: ignore[no-untyped-def]
    from click.testing import CliRunner

    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert "Traceback" not in result.output
    return result


@pytest.fixture
def two(store: Store) -> list[str]:
    """Two photos of home ``a``; their files."""
    files = [keep_photo_file(store.photo_folder, jpeg(seed), "x.jpg") for seed in (1, 2)]
    store.add_photos(1, 1, [photo(file=file) for file in files])
    return files


def test_doctor_counts_photos_and_finds_those_gone_or_damaged(store: Store, two: list[str]):
    assert "2 photos that you took" in run("doctor").stdout
    (store.photo_folder / two[0]).unlink()
    (store.photo_folder / two[1]).write_bytes(b"x")
    result = run("doctor")
    assert result.exit_code == 1
    assert "a: photos that you took are gone from" in result.stderr
    assert "are damaged in" in result.stderr
    assert "viewing photo 2" in result.stderr


def test_doctor_deletes_photos_that_were_taken_off_only_when_told(store: Store, two: list[str]):
    store.remove_photos(1, 2, [1])
    part = store.photo_folder / "left over"
    part.write_bytes(b"x")
    fresh = store.photo_folder / "being written"
    fresh.write_bytes(b"x")
    long_ago = time.time() - 2 * FRESH_SECONDS
    os.utime(part, (long_ago, long_ago))
    assert "2 photos that you took off; `value-add doctor --tidy`" in run("doctor").stdout
    assert (store.photo_folder / two[0]).exists()
    assert "deleted" in run("doctor", "--tidy").stdout
    assert not part.exists()
    assert fresh.exists()
    assert not (store.photo_folder / two[0]).exists()
    assert (store.photo_folder / two[1]).exists()
    assert "took off" not in run("doctor").stdout


def test_a_file_that_another_photo_still_needs_stays(store: Store, two: list[str]):
    store.add_photos(1, 2, [photo(file=two[0], condition="odor")])
    store.remove_photos(1, 3, [1])
    run("doctor", "--tidy")
    assert (store.photo_folder / two[0]).exists()
    assert len(store.home(1).taken) == 2


def test_backup_says_that_photos_are_not_in_it_and_where_they_lie(
    store: Store, two: list[str], tmp_path: Path
):
    result = run("backup", tmp_path / "copy.sqlite")
    assert "Photos are not in it" in result.stdout
    assert f"Copy the folder {store.photo_folder} as well: it holds the photos you took (2)." in (
        result.stdout
    )
    assert run("restore", tmp_path / "copy.sqlite").exit_code == 0
    assert len(Store(store.path).home(1).taken) == 2
