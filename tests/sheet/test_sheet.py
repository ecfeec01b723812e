"""The viewing sheet: written, filled in without a network, read back and merged by rule."""

from __future__ import annotations

import io
import json
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

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
        (exported(answer("yesterday")), "field answers.0.answered_at"),
        (exported(answer("2026-05-30T12:10:00Z", severity=7)), "field answers.0.severity"),
        (exported(answer("2026-05-30T12:10:00Z", condition="<b>")), "answers.0.condition"),
        (exported(rooms=[{"name": "kitchen", "length_ft": -3}]), "field rooms.0.length_ft"),
        (b" " * 2_000_001, "larger than 2 MB"),
    ],
)
def test_a_bad_file_gets_one_sentence(content, words):
    with pytest.raises(InputError, match=words) as caught:
        read_answers(content, "answers.json")
    assert str(caught.value).startswith("answers.json")
    assert "\n" not in str(caught.value)


def test_the_printed_sheet_asks_the_same_questions():
    questions = open_questions((), KINDS)
    reader = pypdf.PdfReader(
        io.BytesIO(viewing_sheet_pdf("14 Alder Court", questions, ROOMS, NOON))
    )
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    assert "Length 12 ft, width 10 ft, height ______ ft" in text
    for question in questions:
        assert re.sub(r"\s+", " ", question.question) in text


@pytest.mark.browser
def test_filled_in_a_browser_without_a_network_and_merged_back(tmp_path: Path):
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no Chromium browser on this machine")
    from playwright.sync_api import sync_playwright

    path = tmp_path / "sheet.html"
    path.write_text(sheet(), encoding="utf-8")
    problems: list[str] = []
    requests: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, offline=True, accept_downloads=True
        )
        page = context.new_page()
        page.on("console", lambda m: problems.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: problems.append(str(e)))
        page.on("request", lambda r: requests.append(r.url))
        page.goto(path.as_uri())
        first = page.locator("fieldset").first
        label = first.locator("legend").inner_text()
        first.locator("input[type=radio]").nth(1).check()
        first.locator("input[type=text]").fill("under the <sink>")
        page.get_by_label("Length, ft").first.fill("11.5")
        page.reload()
        assert page.locator("fieldset").first.locator("input[type=radio]").nth(1).is_checked()
        assert page.get_by_label(f"Note: {label}").first.input_value() == "under the <sink>"
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 390
        folder = Path("tests/artefacts")
        folder.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=str(folder / "viewing_sheet_390.png"))
        with page.expect_download() as saved:
            page.get_by_role("button", name="Save answers to a file").click()
        content = Path(saved.value.path()).read_bytes()
        browser.close()
    assert problems == []
    assert all(r.startswith(("file:", "blob:")) for r in requests)
    got = read_answers(content)
    assert [a.note for a in got.answers] == ["under the <sink>"]
    assert got.rooms[0].length_ft == 11.5
    assert len(merge_answers((), got).tags) == 1
