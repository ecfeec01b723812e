"""The viewing sheet on a phone without a network: answers, sizes, photos; reloaded and exported."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from scorer.sheet import merge_answers, read_answers
from scorer.sheet.answers import PHOTO_PX
from tests.app.serving import ARTEFACTS, find_chromium
from tests.homes import room_picture
from tests.sheet.test_sheet import sheet

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = find_chromium()
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium browser on this machine"),
]
GPS, MAKE, ORIENTATION = 34853, 271, 274


def phone_photo(seed: int = 0, scale: int = 6) -> dict[str, object]:
    """A large JPEG lying on its side, with a place and a maker in it."""
    exif = Image.Exif()
    exif[MAKE] = "Invented Cameras"
    exif[ORIENTATION] = 6
    exif.get_ifd(GPS)[1] = "N"
    picture = room_picture((120, 60, 60), seed=seed)
    picture = picture.resize((picture.width * scale, picture.height * scale))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=92, exif=exif)
    return {"name": f"IMG_{seed}.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


class Phone:
    """A phone with the sheet open and the network off."""

    def __init__(self, browser: playwright.Browser, path: Path) -> None:
        self.context = browser.new_context(
            viewport={"width": 390, "height": 844}, offline=True, accept_downloads=True
        )
        self.page = self.context.new_page()
        self.problems: list[str] = []
        self.requests: list[str] = []
        self.page.on("console", self._said)
        self.page.on("pageerror", lambda e: self.problems.append(str(e)))
        self.page.on("request", lambda r: self.requests.append(r.url))
        self.page.goto(path.as_uri())

    def _said(self, message: playwright.ConsoleMessage) -> None:
        if message.type == "error":
            self.problems.append(message.text)

    def state(self, words: str) -> None:
        playwright.expect(self.page.get_by_role("status")).to_contain_text(words)

    def export(self) -> bytes:
        with self.page.expect_download() as saved:
            self.page.get_by_role("button", name="Save to a file").click()
        return Path(saved.value.path()).read_bytes()

    def picture(self, name: str) -> None:
        ARTEFACTS.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=ARTEFACTS / f"{name}_390.png")


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    path = tmp_path / "sheet.html"
    path.write_text(sheet(), encoding="utf-8")
    with playwright.sync_playwright() as runner:
        browser = runner.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        opened = Phone(browser, path)
        yield opened
        browser.close()
    assert opened.problems == []
    assert all(r.startswith(("file:", "blob:", "data:")) for r in opened.requests)


def test_answers_and_sizes_survive_a_reload_and_are_exported(phone: Phone):
    page = phone.page
    first = page.locator("fieldset").first
    label = first.locator("legend").inner_text()
    first.locator("input[type=radio]").nth(1).check()
    first.locator("input[type=text]").fill("under the <sink>")
    page.get_by_label("Length, ft").first.fill("11.5")
    page.reload()
    assert page.locator("fieldset").first.locator("input[type=radio]").nth(1).is_checked()
    assert page.get_by_label(f"Note: {label}").first.input_value() == "under the <sink>"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    phone.picture("viewing_sheet")
    got = read_answers(phone.export())
    assert [a.note for a in got.answers] == ["under the <sink>"]
    assert got.rooms[0].length_ft == 11.5
    assert len(merge_answers((), got).tags) == 1


def test_photos_are_scaled_down_kept_over_a_reload_and_exported(phone: Phone):
    page = phone.page
    room = page.get_by_label("Choose photos: the whole kitchen")
    room.set_input_files([phone_photo(1), phone_photo(2)])
    phone.state("2 photos, kept in this browser")
    first = page.locator("fieldset").first
    label = first.locator("legend").inner_text()
    page.get_by_label(f"Take a photo: {label}, kitchen").set_input_files(phone_photo(3))
    phone.state("3 photos")
    page.get_by_label(f"What this photo shows: {label}").fill("water line")
    page.reload()
    phone.state("3 photos")
    assert page.locator("figure img").count() == 3
    assert page.get_by_label("What this photo shows").nth(2).input_value() == "water line"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("figure").last.scroll_into_view_if_needed()
    phone.picture("viewing_sheet_photo")
    got = read_answers(phone.export())
    assert sorted((p.room, p.note) for p in got.photos) == [
        ("kitchen", ""),
        ("kitchen", ""),
        ("kitchen", "water line"),
    ]
    for photo in got.photos:
        with Image.open(io.BytesIO(photo.content())) as image:
            assert image.format == "JPEG"
            assert max(image.size) == PHOTO_PX
            assert image.height > image.width, "turned upright"
            assert len(image.getexif()) == 0, "no place, no camera"
    phone.state("Saved 0 answers and 3 photos to a file")


def test_a_photo_is_taken_off_and_put_back(phone: Phone):
    page = phone.page
    page.get_by_label("Choose photos: the whole kitchen").set_input_files(phone_photo(1))
    phone.state("1 photo,")
    page.get_by_role("button", name="Take it off").click()
    phone.state("0 photos")
    page.reload()
    page.get_by_role("button", name="Put it back").wait_for()
    assert json.loads(phone.export())["photos"] == []
    page.get_by_role("button", name="Put it back").click()
    phone.state("1 photo,")
    assert len(json.loads(phone.export())["photos"]) == 1


def test_what_is_no_picture_gets_a_sentence_and_nothing_is_lost(phone: Phone):
    page = phone.page
    room = page.get_by_label("Choose photos: the whole kitchen")
    wrong = {"name": "<b>.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"}
    room.set_input_files([wrong, phone_photo(1)])
    phone.state("1 photo,")
    assert page.locator("figure img").count() == 1
    room.set_input_files(wrong)
    playwright.expect(page.get_by_role("alert")).to_contain_text("“<b>.jpg” can't be opened")


def test_a_browser_that_keeps_no_database_says_so(phone: Phone):
    page = phone.page
    page.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    page.reload()
    page.get_by_label("Choose photos: the whole kitchen").set_input_files(phone_photo(1))
    playwright.expect(page.get_by_role("alert")).to_contain_text("could not keep a photo")
    assert len(read_answers(phone.export()).photos) == 1
