"""The viewing sheet: written, filled in without a network, read back and merged by rule."""

from __future__ import annotations

import io
import json
import re
from datetime import UTC, datetime

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.conditions.finding import Tag
from scorer.conditions.findings import open_questions
from scorer.errors import InputError
from scorer.rooms import Room, RoomKind
from scorer.sheet import merge_answers, read_answers, viewing_sheet_html, viewing_sheet_pdf
from scorer.sheet.answers import FORMAT, VERSION

NOON = datetime(2026, 5, 30, 12, tzinfo=UTC)
ROOMS = (
    Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=12, width_ft=10),
    Room(name="bathroom 1", kind=RoomKind.BATHROOM),
)
KINDS = {room.name: room.kind for room in ROOMS}


def sheet(home: str = "14 Alder Court") -> str:
    return viewing_sheet_html(home, open_questions((), KINDS), ROOMS, NOON)


def exported(*answers: dict, **more) -> bytes:
    data = {
        "format": FORMAT,
        "version": VERSION,
        "home": "14 Alder Court",
        "written_at": "2026-05-30T13:00:00Z",
        "answers": list(answers),
        **more,
    }
    return json.dumps(data).encode()


def shot(**more) -> dict:
    return {"room": "kitchen", "taken_at": "2026-05-30T12:12:00Z", "jpeg": "AAAA", **more}


def answer(time: str, **more) -> dict:
    return {
        "room": "kitchen",
        "condition": "dirty_trim",
        "present": True,
        "severity": 2,
        "answered_at": time,
        **more,
    }


def test_no_text_of_a_user_can_break_out_of_the_sheet():
    nasty = "</script><script>alert(1)</script><!-- \u2028"
    html = sheet(nasty)
    assert html.count("</script>") == 2
    assert "<script>alert(1)" not in html
    assert "connect-src" not in html
    assert "default-src 'none'" in html
    assert "http://" not in html
    assert "https://" not in html


def test_an_export_is_read_and_becomes_tags():
    got = read_answers(exported(answer("2026-05-30T12:10:00Z", note="all round")))
    merged = merge_answers((), got)
    assert merged.conflicts == ()
    assert merged.tags == (
        Tag(
            room="kitchen",
            condition="dirty_trim",
            severity=2,
            note="all round",
            tagged_at="2026-05-30T12:10:00+00:00",
        ),
    )


@pytest.mark.parametrize(
    ("stored_at", "kept_severity"),
    [("2026-05-30T11:00:00+00:00", 3), ("2026-05-30T14:00:00+00:00", 1)],
)
def test_the_newer_answer_holds_and_the_conflict_is_shown(stored_at, kept_severity):
    stored = Tag(room="kitchen", condition="dirty_trim", severity=1, tagged_at=stored_at)
    got = read_answers(exported(answer("2026-05-30T12:10:00Z", severity=3)))
    merged = merge_answers((stored,), got)
    assert [c.kept.severity for c in merged.conflicts] == [kept_severity]
    assert {merged.conflicts[0].kept.severity, merged.conflicts[0].other.severity} == {1, 3}
    assert len(merged.tags) == 1  # the one that gave way is kept too


@given(
    st.lists(st.tuples(st.integers(0, 59), st.booleans(), st.integers(0, 3)), max_size=6),
    st.lists(st.tuples(st.integers(0, 59), st.booleans(), st.integers(0, 3)), max_size=6),
)
def test_importing_twice_changes_nothing_and_nothing_is_lost(before, brought):
    stored = tuple(
        Tag(
            room="kitchen",
            condition="dirty_trim",
            present=present,
            severity=severity,
            tagged_at=f"2026-05-30T12:{minute:02}:00+00:00",
        )
        for minute, present, severity in before
    )
    answers = [answer(f"2026-05-30T12:{m:02}:00Z", present=p, severity=s) for m, p, s in brought]
    got = read_answers(exported(*answers))
    once = merge_answers(stored, got)
    everything = stored + once.tags
    assert {a.as_tag() for a in got.answers} <= set(everything)
    assert merge_answers(everything, got).tags == ()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "can't be read as JSON"),
        (b"[" * 100_000, "can't be read as JSON"),
        (b"\xff\xfe{}", "can't be read as JSON"),
        (b"[1, 2]", "was not exported by a viewing sheet"),
        (b'{"format": "other"}', "was not exported by a viewing sheet"),
        (exported(version=9), "version 9"),
        (exported(version=[1]), "version"),
        (exported(version=True), "version True"),
        (
            exported(photos=[{"room": "kitchen", "taken_at": "now", "jpeg": "AA=="}]),
            "field photos 1, ",
        ),
        (exported(photos=[shot(jpeg="")]), "field photos 1, jpeg"),
        (exported(photos=[shot(jpeg="A" * 1_200_001)]), "field photos 1, jpeg"),
        (exported(photos=[shot(condition="../x")]), "field photos 1, condition"),
        (exported(photos=[shot()] * 151), "field photos"),
        (exported(answer("yesterday")), "field answers 1, answered_at"),
        (exported(answer("2026-05-30T12:10:00Z", severity=7)), "field answers 1, severity"),
        (exported(answer("2026-05-30T12:10:00Z", condition="<b>")), "field answers 1, condition"),
        (exported(rooms=[{"name": "kitchen", "length_ft": -3}]), "field rooms 1, length_ft"),
        (b" " * 2_000_001, "larger than 2 MB"),
    ],
)
def test_a_bad_file_gets_one_sentence(content, words):
    with pytest.raises(InputError, match=words) as caught:
        read_answers(content, "answers.json")
    assert str(caught.value).startswith("answers.json")
    assert "\n" not in str(caught.value)


def test_answers_of_a_sheet_without_photos_are_still_read():
    got = read_answers(exported(answer("2026-05-30T12:10:00Z"), version=1))
    assert (len(got.answers), got.photos) == (1, ())


def test_a_large_file_is_read_only_if_photos_make_it_large():
    got = read_answers(exported(photos=[shot(jpeg="A" * 1_000_000)] * 3))
    assert [len(photo.content()) for photo in got.photos] == [750_000] * 3
    with pytest.raises(InputError, match="larger than 2 MB without its photos"):
        read_answers(exported(photos=[shot(note="A" * 1_000_000)] * 3))


def test_a_photo_that_is_not_base64_costs_itself():
    got = read_answers(exported(photos=[shot(jpeg="<script>")]))
    with pytest.raises(InputError, match="A photo of the kitchen is damaged"):
        got.photos[0].content()


def test_the_printed_sheet_asks_the_same_questions():
    questions = open_questions((), KINDS)
    reader = pypdf.PdfReader(
        io.BytesIO(viewing_sheet_pdf("14 Alder Court", questions, ROOMS, NOON))
    )
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    assert "Length 12 ft, width 10 ft, height ______ ft" in text
    for question in questions:
        assert re.sub(r"\s+", " ", question.question) in text
