"""Photos of the viewing and of finished work, rents that came, and what they change."""

from __future__ import annotations

import base64
import io
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from PIL import Image

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.sheet import read_answers
from scorer.sheet.answers import FORMAT, VERSION
from scorer.store import Store
from scorer.upgrades.learning import FinishedJob
from scorer.workspace import Screened, Workspace
from scorer.workspace.actuals import (
    account,
    finished_job,
    learnt,
    letting_of,
    planned_rise,
    rent_learnt,
)
from scorer.workspace.basis import RENT_LEARNING_OFF
from scorer.workspace.pairs import pairs_of, printed_pairs
from scorer.workspace.taking import Shown, take_photos, viewing_photos
from tests.homes import DARK_RED, LIGHT, Color, room_picture

TODAY = date(2026, 5, 30)


@pytest.fixture
def space(data: Path) -> Workspace:
    return Workspace(Store(data / "homes.sqlite"))


def jpeg(wall: Color = DARK_RED, seed: int = 0, **more: object) -> bytes:
    out = io.BytesIO()
    room_picture(wall, seed=seed).save(out, "JPEG", quality=90, **more)
    return out.getvalue()


def item_of(space: Workspace, home_id: int = 1) -> Screened:
    return next(i for i in space.screen_all() if i.home.id == home_id)


def keep(space: Workspace, content: bytes, room: str, home_id: int = 1, **more) -> int:  # type: ignore[no-untyped-def]
    taken = take_photos(space.store, [("IMG.jpg", content)], Shown(room, **more))
    assert taken.problems == ()
    version = space.store.home(home_id).version
    return space.store.add_photos(home_id, version, taken.photos)[0]


# At the viewing ---------------------------------------------------------------------------------


def test_a_close_up_changes_nothing_that_is_said_of_the_room(space: Workspace):
    before = item_of(space, 2).result
    keep(space, jpeg(DARK_RED), "kitchen", 2, condition="odor", note="stain")
    item = item_of(space, 2)
    assert item.result.findings == before.findings
    assert item.result.outcome == before.outcome
    assert [p.note for p in viewing_photos(item.home, "kitchen", "odor")] == ["stain"]


def test_a_photo_of_the_whole_room_is_read_like_one_of_the_listing(space: Workspace):
    before = item_of(space, 2).result
    assert not any(f.room == "kitchen" and f.condition == "dark_walls" for f in before.findings)
    name = f"viewing photo {keep(space, jpeg(DARK_RED, 3), 'kitchen', 2, read=True)}"
    waiting = item_of(space, 2)
    assert waiting.result.findings == before.findings, "in view while it is read"
    assert space.read_taken(waiting.home)
    assert space.reader.wait(60)
    after = item_of(space, 2)
    assert name in [r.file for r in after.result.readings]
    assert space.rooms(after).photo_rooms[name] == "kitchen"
    shown = {e.photo for f in after.result.findings if f.room == "kitchen" for e in f.evidence}
    assert name in shown
    photo = after.home.taken[0]
    space.store.change_photo(2, after.home.version, photo.id, read=False)
    assert item_of(space, 2).result.findings == before.findings


def test_what_the_camera_noted_of_the_light_is_read_from_the_photo(space: Workspace):
    exif = Image.Exif()
    details = exif.get_ifd(0x8769)
    details[0x829A], details[0x829D], details[0x8827] = (1, 30), (18, 10), 400  # Exif 2.32
    keep(space, jpeg(LIGHT, 4, exif=exif), "kitchen", read=True)
    space.read_taken(space.store.home(1))
    assert space.reader.wait(60)
    reading = item_of(space).result.readings[-1]
    assert reading.light is not None
    assert reading.light.illuminance_lux is not None


def test_a_photo_that_is_gone_from_the_folder_costs_a_sentence(space: Workspace):
    keep(space, jpeg(LIGHT, 5), "kitchen", read=True)
    (photo,) = space.store.home(1).taken
    space.read_taken(space.store.home(1))
    assert space.reader.wait(60)
    Path(photo.path).unlink()
    errors = item_of(space).result.errors
    assert any(photo.name in e and str(space.store.photo_folder) in e for e in errors)


# From the sheet ---------------------------------------------------------------------------------


def sheet_file(*photos: dict[str, str]) -> bytes:
    return json.dumps(
        {
            "format": FORMAT,
            "version": VERSION,
            "home": "1 oak street",
            "written_at": "2026-05-30T13:00:00Z",
            "photos": [{"taken_at": "2026-05-30T12:00:00Z", **photo} for photo in photos],
            "answers": [
                {
                    "room": "kitchen",
                    "condition": "odor",
                    "present": True,
                    "answered_at": "2026-05-30T12:10:00Z",
                }
            ],
        }
    ).encode()


def in_base64(content: bytes) -> str:
    return base64.b64encode(content).decode()


def test_photos_of_a_sheet_come_in_once_and_a_bad_one_costs_itself(space: Workspace):
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    content = sheet_file(
        {"room": "kitchen", "jpeg": in_base64(jpeg(seed=1))},
        {"room": "kitchen", "condition": "odor", "note": "sink", "jpeg": in_base64(jpeg(seed=2))},
        {"room": "kitchen", "jpeg": in_base64(b"<svg/>")},
        {"room": "kitchen", "jpeg": in_base64(jpeg(seed=3)[:3_000])},
        {"room": "kitchen", "jpeg": in_base64(bomb.getvalue())},
        {"room": "attic", "jpeg": in_base64(jpeg(seed=1))},
    )
    brought = space.import_answers(space.store.home(1), read_answers(content))
    assert len(brought.problems) == 3
    assert all("\n" not in sentence for sentence in brought.problems)
    home = space.store.home(1)
    assert [(p.room, p.condition, p.note, p.read) for p in home.taken] == [
        ("kitchen", "", "", True),
        ("kitchen", "odor", "sink", False),
        ("attic", "", "", True),
    ]
    assert (home.version, len(home.tags)) == (2, 1)
    space.import_answers(home, read_answers(content))
    again = space.store.home(1)
    same = (again.version, again.tags, again.taken) == (home.version, home.tags, home.taken)
    assert same, "the same file again changes nothing"
    files = list(space.store.photo_folder.iterdir())
    assert len(files) == 2


# Before and after -------------------------------------------------------------------------------


def test_the_photo_before_is_the_most_alike_of_the_same_room(space: Workspace):
    """The same view painted light, against another view of the room and photos of other rooms."""
    other = keep(space, jpeg(DARK_RED, 4), "kitchen")
    same = keep(space, jpeg(DARK_RED, 2), "kitchen")
    close = keep(space, jpeg(LIGHT, 2), "kitchen", condition="odor")
    keep(space, jpeg(LIGHT, 2), "kitchen", stage="after", upgrade="paint_walls_neutral")
    (pair,) = pairs_of(space, item_of(space))
    assert pair.guessed
    assert pair.before is not None
    assert pair.before.name == f"viewing photo {same}"
    order = [shot.name for shot in pair.choices]
    assert order.index(f"viewing photo {other}") < order.index(f"viewing photo {close}")
    rooms = [shot.room for shot in pair.choices]
    assert rooms == sorted(rooms, key=lambda room: room != "kitchen")


def test_the_choice_of_the_user_holds_and_falls_back_when_that_photo_goes(space: Workspace):
    chosen = keep(space, jpeg(DARK_RED, 4), "kitchen")
    after = keep(space, jpeg(LIGHT, 0), "kitchen", stage="after")
    space.store.change_photo(1, 3, after, before=f"viewing photo {chosen}")
    (pair,) = pairs_of(space, item_of(space))
    assert (pair.guessed, pair.before.name) == (False, f"viewing photo {chosen}")  # type: ignore[union-attr]
    space.store.remove_photos(1, 4, [chosen])
    (pair,) = pairs_of(space, item_of(space))
    assert pair.guessed
    assert pair.before is not None
    assert pair.before.name == "kitchen.jpg"


def test_the_report_shows_pairs_oldest_first_and_an_after_photo_alone_if_need_be(
    space: Workspace,
):
    before = keep(space, jpeg(DARK_RED, 4), "kitchen", note="")
    first = keep(space, jpeg(LIGHT, 0), "kitchen", stage="after", note="two coats")
    keep(space, jpeg(LIGHT, 5), "kitchen", stage="after", upgrade="paint_walls_neutral")
    space.store.change_photo(1, 4, first, before=f"viewing photo {before}")
    one, two = printed_pairs(pairs_of(space, item_of(space)))
    assert one.words.startswith("Kitchen: the whole room · 20")
    assert one.words.endswith(" · two coats")
    assert one.before_words == f"Before: viewing photo {before}"
    assert two.words.startswith("Kitchen: paint walls neutral")
    assert two.before_words.endswith("(best guess)")
    sizes = {Image.open(io.BytesIO(picture)).size for picture in (one.before or b"", one.after)}
    assert len(sizes) == 1
    for photo in space.store.home(1).taken:
        if photo.id == before:
            Path(photo.path).unlink()
    one, two = printed_pairs(pairs_of(space, item_of(space)))
    assert (one.before, one.before_words) == (None, "")
    assert two.before
    for photo in space.store.home(1).taken:
        Path(photo.path).unlink(missing_ok=True)
    assert printed_pairs(pairs_of(space, item_of(space))) == ()


def test_an_after_photo_never_changes_what_was_said_of_the_home(space: Workspace):
    before = item_of(space).result
    keep(space, jpeg(LIGHT, 7), "kitchen", stage="after", read=True)
    after = item_of(space)
    assert after.result.findings == before.findings
    assert space.shelf.waiting([after.home]) == []


# Plan against actual ----------------------------------------------------------------------------


def log(space: Workspace, item: Screened, times: float, option: str | None = None) -> FinishedJob:
    option = option or item.result.scope.options[0].id
    plan = next(o for o in space.planned_options(item) if o.id == option)
    return finished_job(
        space, item, option, times * plan.cash_usd.typical, times * plan.hours.typical, TODAY
    )


def test_work_is_held_against_the_price_books_own_plan_however_much_was_learnt(space: Workspace):
    item = item_of(space)
    option = item.result.scope.options[0].id  # what is learnt may put another one first
    first = log(space, item, 2.0, option)
    for _ in range(6):
        item = item_of(space)
        job = log(space, item, 2.0, option)
        assert job == first, "the plan must not move with the corrections"
        space.store.add_job(1, item.home.version, job)
    item = item_of(space)
    plan = next(o for o in space.planned_options(item) if o.room == job.room
                and o.upgrade == job.upgrade)  # fmt: skip
    now = next(o for o in item.result.options if o.id == plan.id)
    assert now.hours.typical > 1.4 * plan.hours.typical
    rows = {(r.subject, r.name): r.correction for r in learnt(space)}
    assert all(c.jobs == 6 and c.weight == pytest.approx(6 / 9) for c in rows.values())
    kept = account(space, item)
    assert len(kept.done) == 6
    assert kept.actual_hours == pytest.approx(2 * kept.planned_hours)


@pytest.mark.parametrize(
    ("trade", "words"),
    [
        ("electrician", "all electrician work"),
        ("pest_control", "all pest control work"),
        ("hvac", "all heating and cooling work"),
        ("own", "all work you do yourself"),
    ],
)
def test_a_lesson_names_its_trade_in_words(space: Workspace, trade: str, words: str):
    job = FinishedJob(upgrade="walls", trade=trade, planned_hours=4.0, actual_hours=8.0)
    space.store.add_job(1, 1, job)
    assert words in {row.name for row in learnt(space)}


def test_the_shopping_list_follows_what_material_really_cost(space: Workspace):
    before = item_of(space)
    space.store.add_job(1, 1, log(space, before, 2.0))
    after = item_of(space)
    prices = {p.item: p.cost_usd.typical / p.buy for p in before.result.scope.purchases}
    dearer = [
        p for p in after.result.scope.purchases if p.cost_usd.typical / p.buy > prices[p.item]
    ]
    assert dearer


def test_a_rent_moves_the_next_estimate_of_every_home_and_can_be_switched_off(space: Workspace):
    for home_id in (2, 3):
        space.store.add_tags(home_id, 1, [Tag(room="kitchen", condition="dark_walls")])
    before = {i.home.id: i.result.outcome.rent_lift_month_usd.p50 for i in space.screen_all()}
    item = item_of(space)
    planned = planned_rise(space, item)
    assert planned.usd > 0
    assert not planned.from_logged_work
    letting = letting_of(space, item, 800 + 3 * planned.usd, 800, TODAY, " furnished ")
    assert (letting.planned_lift_usd, letting.note) == (planned.usd, "furnished")
    space.store.add_letting(1, item.home.version, letting)
    found = rent_learnt(space)
    assert found.lettings == 1
    assert 0 < found.weight < 1
    assert found.factor > 1
    after = {i.home.id: i.result.outcome.rent_lift_month_usd.p50 for i in space.screen_all()}
    moved = [home for home in before if before[home] > 0]
    assert len(moved) > 1
    assert all(after[home] > before[home] for home in moved)
    space.store.save_flag(RENT_LEARNING_OFF)
    assert {
        i.home.id: i.result.outcome.rent_lift_month_usd.p50 for i in space.screen_all()
    } == before


def test_what_was_planned_is_that_of_the_work_that_was_logged(space: Workspace):
    item = item_of(space)
    whole = planned_rise(space, item)
    space.store.add_job(1, item.home.version, log(space, item, 1.0))
    logged = planned_rise(space, item_of(space))
    assert logged.from_logged_work
    assert 0 < logged.usd < whole.usd


def test_a_rent_before_that_is_a_guess_counts_as_one(space: Workspace):
    space.store.add_tags(3, 1, [Tag(room="kitchen", condition="dark_walls")])
    item = item_of(space, 3)  # the listing gives no rent
    guessed = letting_of(space, item, 900, None, TODAY)
    known = letting_of(space, item, 900, guessed.rent_before_usd, TODAY)
    assert guessed.before_sd > 0.1
    assert known.before_sd == 0


def test_nothing_is_logged_of_nothing(space: Workspace):
    item = item_of(space)
    with pytest.raises(InputError, match="Give the money or the hours"):
        finished_job(space, item, item.result.scope.options[0].id, None, None, TODAY)
    with pytest.raises(InputError, match="not on the list"):
        finished_job(space, item, "no: such", 10, None, TODAY)
    with pytest.raises(InputError, match="Give the rent"):
        letting_of(space, item, None, 800, TODAY)
    empty = space.store.add_home(Listing(home="empty"))
    with pytest.raises(InputError, match="Log the work that was done first"):
        letting_of(space, item_of(space, empty), 900, 800, datetime.now(UTC).date())
