"""Photos of one's own, and plan against actual, on the pages and without a browser."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from scorer.conditions.finding import Tag
from scorer.workspace.basis import LEARNING_OFF, RENT_LEARNING_OFF
from tests.app.test_pages import button, opened, room, store_of, words
from tests.homes import DARK_RED, LIGHT, Color, room_picture


def jpeg(wall: Color = DARK_RED, seed: int = 0) -> tuple[str, bytes, str]:
    out = io.BytesIO()
    room_picture(wall, seed=seed).save(out, "JPEG")
    return (f"IMG_{seed}.jpg", out.getvalue(), "image/jpeg")


def page_of(page: str, home: int = 1) -> AppTest:
    at = opened(page)
    at.selectbox(key="home_box").set_value(home).run()
    return at


def box(at: AppTest, part: str):  # type: ignore[no-untyped-def]
    found = [b for b in at.file_uploader if part in (b.key or "")]
    assert found, f"no box {part!r} among {[b.key for b in at.file_uploader]}"
    return found[0]


def test_photos_of_a_room_are_kept_read_and_can_be_taken_off_again(data: Path):
    at = page_of("walk", 2)
    box(at, "files_room_2_kitchen").set_value([jpeg(seed=1), jpeg(seed=2)])
    at.text_input(key="photo_note_room_2_kitchen").set_value("north *wall*")
    button(at, "Keep the photos").click().run()
    taken = store_of(data).home(2).taken
    assert [(p.room, p.condition, p.note, p.read) for p in taken] == [
        ("kitchen", "", "north *wall*", True)
    ] * 2
    from app.shared import workspace

    assert workspace().reader.wait(60)
    at.run()
    assert "viewing photo" in words(at), "a finding names the photo that shows it"
    button(at, "Take it off").click().run()
    assert [p.id for p in store_of(data).home(2).taken] == [2]
    button(at, "Undo").click().run()
    assert [p.id for p in store_of(data).home(2).taken] == [1, 2]


def test_a_photo_beside_a_condition_is_evidence_only(data: Path):
    at = page_of("walk")
    button(at, "Add a photo").click().run()
    box(at, "files_condition_1_kitchen").set_value([jpeg()])
    keep = [b for b in at.button if b.label == "Keep the photos"]
    keep[-1].click().run()
    (photo,) = store_of(data).home(1).taken
    assert photo.condition
    assert not photo.read
    assert not any(b.key and "condition_1" in b.key for b in at.file_uploader), "the form is folded"


def test_a_tag_and_its_photo_are_one_change_and_are_undone_together(data: Path):
    at = page_of("walk", 2)
    room(at, "bathroom 1")
    at.selectbox(key="condition_2_bathroom 1").set_value("leak_below_bath")
    box(at, "files_tag_2_bathroom 1").set_value([jpeg()])
    button(at, "Keep this tag").click().run()
    home = store_of(data).home(2)
    assert (home.version, len(home.tags), home.taken[0].condition) == (2, 1, "leak_below_bath")
    assert box(at, "files_tag_2_bathroom 1").value in (None, [], ())
    button(at, "Undo").click().run()
    home = store_of(data).home(2)
    assert (home.version, home.tags, home.taken) == (3, (), ())


def test_a_file_that_is_no_photo_costs_itself(data: Path):
    at = page_of("walk", 2)
    bad = ("bad.jpg", b"<svg onload=alert(1)>", "image/jpeg")
    box(at, "files_room_2_kitchen").set_value([bad, jpeg()])
    button(at, "Keep the photos").click().run()
    assert len(store_of(data).home(2).taken) == 1
    assert any("bad.jpg" in w.value for w in at.warning)
    assert not at.exception


def test_photos_are_not_lost_when_another_window_changed_the_home(data: Path):
    at = page_of("walk", 2)
    box(at, "files_room_2_kitchen").set_value([jpeg()])
    store_of(data).add_tags(2, 1, [Tag(room="kitchen", condition="odor")])
    button(at, "Keep the photos").click().run()
    assert store_of(data).home(2).taken == ()
    assert any("Not saved:" in w.value for w in at.warning)
    assert len(box(at, "files_room_2_kitchen").value) == 1, "the photo is still in the box"
    button(at, "Keep the photos").click().run()
    assert len(store_of(data).home(2).taken) == 1


def test_a_photo_of_a_room_that_is_no_more_is_shown_with_the_whole_home(data: Path):
    from scorer.store import TakenPhoto
    from scorer.store.photo_files import keep_photo_file

    store = store_of(data)
    file = keep_photo_file(store.photo_folder, jpeg()[1], "x.jpg")
    store.add_photos(2, 1, [TakenPhoto(file=file, room="attic", condition="odor", note="up there")])
    at = page_of("walk", 2)
    assert "up there" not in words(at)
    room(at, "whole home")
    assert "up there" in words(at)


# Plan against actual ----------------------------------------------------------------------------


def test_work_is_logged_corrects_and_is_taken_out(data: Path):
    at = page_of("scope")
    options = at.selectbox(key="job_1_what").options
    assert options
    at.selectbox(key="job_1_what").select_index(0)
    at.number_input(key="job_1_spent").set_value(500.0)
    at.number_input(key="job_1_hours").set_value(30.0)
    button(at, "Log it").click().run()
    ((row, job),) = store_of(data).jobs_of(1)
    assert (job.actual_cash_usd, job.actual_hours, job.room != "") == (500.0, 30.0, True)
    assert "spent" in words(at)
    assert "planned" in words(at)
    tables = "".join(str(h.value) for h in at.get("html"))
    assert "all work you do yourself" in tables
    assert "25%" in tables, "weight of one job beside a prior of three"
    at.toggle(key="learning_on").set_value(False).run()
    assert store_of(data).flag(LEARNING_OFF)
    at.button(key=f"out_job_{row}").click().run()
    assert store_of(data).jobs_of(1) == ()
    button(at, "Undo").click().run()
    assert len(store_of(data).jobs_of(1)) == 1


@pytest.mark.parametrize("missing", ["what", "figures"])
def test_half_a_job_gets_a_sentence_and_stays_in_the_form(data: Path, missing: str):
    at = page_of("scope")
    if missing == "what":
        at.number_input(key="job_1_spent").set_value(500.0)
    else:
        at.selectbox(key="job_1_what").select_index(0)
    button(at, "Log it").click().run()
    assert store_of(data).home(1).jobs == ()
    assert at.warning
    kept = at.number_input(key="job_1_spent").value if missing == "what" else (
        at.selectbox(key="job_1_what").value
    )  # fmt: skip
    assert kept


def test_an_after_photo_stands_beside_one_from_before_that_can_be_changed(data: Path):
    at = page_of("scope")
    at.selectbox(key="after_1_what").set_value(("kitchen", ""))
    box(at, "files_after_1").set_value([jpeg(LIGHT)])
    button(at, "Keep the photos").click().run()
    (photo,) = store_of(data).home(1).taken
    assert (photo.stage, photo.room) == ("after", "kitchen")
    choice = next(s for s in at.selectbox if (s.key or "").startswith("before_"))
    assert choice.label == "Photo from before (best guess)"
    assert choice.value == "kitchen.jpg"
    choice.set_value("bathroom.jpg").run()
    assert store_of(data).home(1).taken[0].before == "bathroom.jpg"
    button(at, "Undo").click().run()
    assert store_of(data).home(1).taken[0].before == ""


def test_a_rent_is_logged_moves_the_estimate_and_can_be_switched_off(data: Path):
    at = page_of("scope")
    before = [m.value for m in at.metric]
    at.number_input(key="let_1_rent").set_value(1_400.0)
    at.text_input(key="let_1_note").set_value("furnished")
    button(at, "Log the rent").click().run()
    ((row, letting),) = store_of(data).lettings(1)
    assert (letting.rent_usd, letting.rent_before_usd, letting.note) == (
        1_400.0,
        800.0,
        "furnished",
    )
    assert [m.value for m in at.metric] != before
    assert "furnished" in words(at)
    at.toggle(key="rent_learning_on").set_value(False).run()
    assert store_of(data).flag(RENT_LEARNING_OFF)
    assert [m.value for m in at.metric] == before
    at.toggle(key="rent_learning_on").set_value(True).run()
    at.button(key=f"out_let_{row}").click().run()
    assert [m.value for m in at.metric] == before
    button(at, "Undo").click().run()
    assert len(store_of(data).lettings(1)) == 1


def test_a_rent_that_is_missing_gets_a_sentence(data: Path):
    at = page_of("scope")
    button(at, "Log the rent").click().run()
    assert any("Give the rent" in w.value for w in at.warning)
    assert store_of(data).home(1).lettings == ()
