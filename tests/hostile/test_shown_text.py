"""What a user or a listing wrote is shown as text: on the page, in the sheet and on paper."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pypdf
import pytest
from streamlit.testing.v1 import AppTest

from app.look import badge, quiet, reasons_list
from app.shared import TO_THE_TOP
from scorer.rooms import Room, RoomKind
from scorer.sheet import viewing_sheet_html, viewing_sheet_pdf

SCRIPT = Path(__file__).parents[2] / "app" / "main.py"
PICTURE = "![](http://evil.example/seen.png)"
NASTY = '"><script>alert(1)</script><img src=x onerror=alert(2)>'


@pytest.fixture
def app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    home = tmp_path / "homes" / "oak <script>"
    home.mkdir(parents=True)
    facts = {"UnparsedAddress": NASTY + PICTURE, "PublicRemarks": NASTY, "ListPrice": NASTY}
    (home / "listing.json").write_text(json.dumps(facts))
    (home / "tags.csv").write_text(f"room,condition,note\nkitchen,dirty_trim,{NASTY}{PICTURE}\n")
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("VALUE_ADD_FOLDER", str(home.parent))
    monkeypatch.delenv("VALUE_ADD_TOKEN", raising=False)
    monkeypatch.setattr("scorer.workspace.reader.Reader.start", lambda self, homes: None)
    return AppTest.from_file(str(SCRIPT), default_timeout=60)


def test_no_page_lets_typed_text_become_markup(app: AppTest) -> None:
    app.run()
    texts = []
    for page in ("views/screen.py", "views/walk.py", "views/scope.py", "views/shortlist.py"):
        app.switch_page(page).run()
        assert not app.exception, page
        for kind in ("html", "markdown", "heading", "alert", "info", "warning"):
            for element in app.get(kind):
                body = getattr(element.proto, "body", "")
                texts.append(body)
                # Markdown would have the browser fetch a picture from elsewhere.
                assert "](http://evil" not in body, (page, body)
                markup = kind == "html" or getattr(element.proto, "allow_html", False)
                if markup and body != TO_THE_TOP:  # that one is fixed and holds nothing typed
                    assert "<script" not in body, (page, body)
                    assert "<img" not in body, (page, body)
    assert any("alert(1)" in text for text in texts), "the address is shown nowhere"


def test_the_pages_own_html_escapes() -> None:
    for html in (badge(NASTY), quiet(NASTY), reasons_list((NASTY,))):
        assert "<script" not in html
        assert "<img" not in html
        assert "alert(1)" in html


def test_sheet_and_paper_show_it_as_text() -> None:
    room = Room(name=NASTY[:60], kind=RoomKind.KITCHEN)
    now = datetime(2026, 5, 30, tzinfo=UTC)
    html = viewing_sheet_html(NASTY, (), (room,), now, address=NASTY)
    assert "<script>alert" not in html
    assert "<img" not in html
    pdf = viewing_sheet_pdf(NASTY, (), (room,), now, address=NASTY)
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    assert "alert(1)" in reader.pages[0].extract_text().replace("\n", "")
    for page in reader.pages:
        assert "/Annots" not in page  # no link or action grew out of it
    assert "/JavaScript" not in str(reader.trailer["/Root"])
