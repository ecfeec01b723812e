"""A home's ``tags.csv``."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.rooms import Room, RoomKind
from scorer.screening.tagging import append_tag
from scorer.screening.tags import find_condition, match_rooms, read_tags, room_name

FAULT = next(c for c in load_conditions().values() if RoomKind.BATHROOM in c.room_kinds and c.hold)


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    first = append_tag(
        tmp_path, Tag(room="Bathroom_1", condition=FAULT.label, severity=3, note='=1+1 "wet", dark')
    )
    second = append_tag(tmp_path, Tag(room="kitchen", condition="smell_smoke", present=False))
    tags, problems = read_tags(tmp_path)
    assert problems == ()
    assert tags == (first, second)
    assert (tags[0].room, tags[0].condition) == ("bathroom 1", FAULT.id)
    assert "'=1+1" in (tmp_path / "tags.csv").read_text(encoding="utf-8")


def test_a_file_of_the_users_own_keeps_its_columns(tmp_path: Path) -> None:
    path = tmp_path / "tags.csv"
    path.write_text("Condition;Room;Who\nsmell_smoke;whole home;me", encoding="utf-8")
    append_tag(tmp_path, Tag(room="bathroom 1", condition=FAULT.id))
    assert path.read_text(encoding="utf-8").splitlines() == [
        "Condition;Room;Who",
        "smell_smoke;whole home;me",
        f"{FAULT.id};bathroom 1;",
    ]
    tags, problems = read_tags(tmp_path)
    assert [tag.room for tag in tags] == ["whole home", "bathroom 1"]
    assert tags[1].severity == FAULT.default_severity
    assert problems == ()


def test_wrong_rows_get_a_sentence_and_the_rest_goes_on(tmp_path: Path) -> None:
    (tmp_path / "tags.csv").write_text(
        f"room,condition,severity,present\n,{FAULT.id},2,\nkitchen,no_such,2,\n"
        f"bathroom,{FAULT.id},7,\nbathroom,{FAULT.id},1,maybe\n"
    )
    tags, problems = read_tags(tmp_path, "h")
    assert [tag.severity for tag in tags] == [FAULT.default_severity, 1]
    assert problems[0] == "h/tags.csv, row 2: room is missing; the row was left out."
    assert "h/tags.csv, row 3: “no_such” is no condition of the checklist" in problems[1]
    assert "h/tags.csv, row 4: severity “7” must lie between 0 and 3" in problems[2]
    assert "h/tags.csv, row 5: present “maybe” is neither yes nor no" in problems[3]


def test_unknown_rooms_and_conditions_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="has no room “spaceship”; its rooms are kitchen, bath"):
        append_tag(tmp_path, Tag(room="spaceship", condition=FAULT.id))
    with pytest.raises(InputError, match="no such folder"):
        append_tag(tmp_path / "no", Tag(room="kitchen", condition=FAULT.id))
    with pytest.raises(InputError, match="did you mean"):
        find_condition(FAULT.id[:-1])
    assert not (tmp_path / "tags.csv").exists()


def test_a_kind_means_the_first_room_of_that_kind() -> None:
    rooms = [
        Room(name="bathroom 1", kind=RoomKind.BATHROOM),
        Room(name="bathroom 2", kind=RoomKind.BATHROOM),
        Room(name="whole home", kind=RoomKind.WHOLE_HOME),
    ]
    tags = [Tag(room=r, condition="x") for r in ("bathroom", "bath", "Whole_Home", "attic")]
    matched, problems = match_rooms(tags, rooms)
    assert [tag.room for tag in matched] == ["bathroom 1", "bathroom 1", "whole home"]
    assert len(problems) == 1
    assert "“attic” is no room that is known" in problems[0]
    _, (said,) = match_rooms([Tag(room="bathrom 2", condition="x")], rooms)
    assert "did you mean bathroom 2? Its rooms are bathroom 1, bathroom 2, whole home." in said


def test_a_room_is_named_in_one_way_however_it_is_typed() -> None:
    typed = ("Bathroom_2", "bath 2", "Bath2", "bathroom-02", "bath room 2")
    assert {room_name(words) for words in typed} == {"bathroom 2"}
    for words in ("upstairs bath", "living room", "whole home", "room 2", "bath", "unit 2 bath"):
        assert room_name(words) == words


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("dark wals", "dark_walls"), ("Wall may not be plain paint", "walls_covered")],
)
def test_a_mistyped_condition_is_asked_back(typed: str, meant: str) -> None:
    with pytest.raises(InputError, match=f"did you mean {meant}"):
        find_condition(typed)
