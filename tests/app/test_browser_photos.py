"""Photos at the viewing, the sheet with the network off, before and after, rents: in a browser."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from PIL import Image

from scorer.store import Store
from tests.app.serving import ARTEFACTS, find_chromium
from tests.app.windows import LONG_MS, WIDTHS, Window
from tests.homes import LIGHT, room_picture

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = find_chromium()
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium browser on this machine"),
]

DEMO = Path(__file__).parents[2] / "demo_images" / "homes"
MAKER = "Invented Cameras"
EXIF_MAKE, EXIF_PLACE = 271, 34853


def phone_photo(name: str = "14-alder-court/03_kitchen.jpg") -> dict[str, object]:
    """A photo of an invented home as a phone writes it: with its maker and a place."""
    exif = Image.Exif()
    exif[EXIF_MAKE] = MAKER
    exif.get_ifd(EXIF_PLACE)[1] = "N"
    out = io.BytesIO()
    with Image.open(DEMO / name) as image:
        image.save(out, "JPEG", quality=90, exif=exif)
    return {"name": "IMG_2034.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def opened(browser: playwright.Browser, address: str, path: str, width: str) -> Window:
    window = Window(browser, address, width)
    window.tab.goto(f"{address}/{path}")
    window.settle()
    return window


def unfold(tab: playwright.Page, words: str) -> playwright.Locator:
    """Open a folded section; the section."""
    section = tab.locator("details", has=tab.locator("summary", has_text=words)).first
    if section.get_attribute("open") is None:
        section.locator("summary").first.click()
    return section


def choose(tab: playwright.Page, within: playwright.Locator, label: str, option: str) -> None:
    tab.wait_for_function(  # a page still being drawn would take the list away again
        "document.querySelector('[data-testid=stApp]').dataset.testScriptState !== 'running'",
        timeout=LONG_MS,
    )
    tab.wait_for_timeout(500)
    within.get_by_role("combobox", name=label).click()
    tab.keyboard.type(option)
    tab.get_by_role("option", name=re.compile(re.escape(option))).first.click()


def put(within: playwright.Locator, *photos: dict[str, object]) -> None:
    """Put photos into the box of a form and wait until they have arrived."""
    within.locator('input[type="file"]').first.set_input_files(list(photos))
    name = within.locator('[data-testid="stFileUploaderFile"], [data-testid="stFileChip"]')
    name.or_(within.get_by_text(str(photos[0]["name"]))).first.wait_for(timeout=LONG_MS)


def nothing_amiss(window: Window) -> None:
    assert window.errors == []
    assert window.remote == []
    assert window.tab.get_by_text("Something went wrong").count() == 0
    spill = window.tab.evaluate(
        "(() => { const main = document.querySelector('[data-testid=stMain]');"
        " return main.scrollWidth - main.clientWidth; })()"
    )
    assert spill <= 0


@pytest.mark.parametrize("width", WIDTHS)
def test_photos_are_attached_to_a_room_and_to_a_condition(
    chromium: playwright.Browser, address: str, data: Path, width: str
):
    window = opened(chromium, address, "walk-through?home=1", width)
    tab, store = window.tab, Store(data / "homes.sqlite")
    own = unfold(tab, "Your own photos")
    assert "image/*" in (own.locator('input[type="file"]').get_attribute("accept") or "")
    put(own, phone_photo())
    own.get_by_label("What they show").fill("north wall, by the door")
    own.get_by_role("button", name="Keep the photos").click()
    playwright.expect(tab.get_by_text("Kitchen: photo kept.")).to_be_visible(timeout=LONG_MS)
    window.settle()
    playwright.expect(tab.get_by_text("viewing photo 1").first).to_be_visible(timeout=LONG_MS)
    card = tab.locator('[class*="st-key-finding_"]').first
    card.get_by_role("button", name="Add a photo").click()
    put(card, phone_photo("14-alder-court/06_bathroom.jpg"))
    card.get_by_label("What they show").fill("close-up, left of the window")
    card.get_by_role("button", name="Keep the photos").click()
    playwright.expect(card.locator("img")).to_be_visible(timeout=LONG_MS)
    window.settle()
    window.picture("photos_at_the_viewing")
    room, close_up = store.home(1).taken
    assert (room.read, room.condition, room.note) == (True, "", "north wall, by the door")
    assert not close_up.read
    assert close_up.condition
    # The file is kept as it came; what the page shows are pixels only.
    with Image.open(room.path) as image:
        assert image.getexif()[EXIF_MAKE] == MAKER
    for picture in tab.locator("[data-testid=stMain] img").all():
        shown = window.context.request.get(str(picture.evaluate("img => img.src"))).body()
        assert MAKER.encode() not in shown
        assert b"Exif" not in shown
    # Taken off, and back.
    card.get_by_role("button", name="Take it off").click()
    playwright.expect(tab.get_by_text("a photo was taken off")).to_be_visible(timeout=LONG_MS)
    assert len(store.home(1).taken) == 1
    playwright.expect(card.locator("img")).to_have_count(0, timeout=LONG_MS)
    tab.get_by_role("button", name="Undo").click()
    playwright.expect(card.locator("img")).to_be_visible(timeout=LONG_MS)
    assert len(store.home(1).taken) == 2
    nothing_amiss(window)


def test_the_sheet_is_filled_with_the_network_off_and_brought_back(
    chromium: playwright.Browser, address: str, data: Path, tmp_path: Path
):
    window = opened(chromium, address, "walk-through?home=1", "phone")
    tab, store = window.tab, Store(data / "homes.sqlite")
    along = unfold(tab, "Take the sheet along")
    along.get_by_text("Write the sheet").click()
    with tab.expect_download(timeout=LONG_MS) as saved:
        along.get_by_role("button", name="Sheet for the phone").click()
    sheet = tmp_path / "sheet.html"
    saved.value.save_as(sheet)

    phone = chromium.new_context(viewport={"width": 390, "height": 844}, offline=True)
    away, said = phone.new_page(), []
    away.on("console", lambda m: said.append(m.text) if m.type == "error" else None)
    away.on("pageerror", lambda error: said.append(str(error)))
    away.goto(sheet.as_uri())
    question = away.locator("fieldset").first
    label = question.locator("legend").inner_text()
    question.locator("input[type=radio]").nth(1).check()
    away.get_by_label(f"Take a photo: {label}, kitchen").set_input_files(phone_photo())
    playwright.expect(away.get_by_role("status")).to_contain_text("1 photo,")
    away.get_by_label(f"What this photo shows: {label}").first.fill("by the <sink>")
    away.reload()
    playwright.expect(away.get_by_role("status")).to_contain_text("1 answered, 1 photo,")
    away.locator("figure").scroll_into_view_if_needed()
    ARTEFACTS.mkdir(parents=True, exist_ok=True)
    away.screenshot(path=ARTEFACTS / "sheet_with_photo_390.png")
    with away.expect_download() as brought:
        away.get_by_role("button", name="Save to a file").click()
    answers = tmp_path / brought.value.suggested_filename
    brought.value.save_as(answers)
    assert said == []
    phone.close()

    for _ in range(2):  # the second time changes nothing
        along = unfold(tab, "Take the sheet along")
        along.locator('input[type="file"]').set_input_files(answers)
        window.settle()
        along.get_by_role("button", name="Bring the answers in").click()
        playwright.expect(tab.get_by_text("The answers are in.").first).to_be_visible(
            timeout=LONG_MS
        )
        window.settle()
        home = store.home(1)
        (photo,) = home.taken
        assert (photo.room, photo.note, home.version) == ("kitchen", "by the <sink>", 2)
        assert photo.condition == home.tags[0].condition
        assert len(home.tags) == 1
    beside = tab.locator(f'[class*="st-key-finding_1_kitchen_{photo.condition}"]')
    playwright.expect(beside.locator("img")).to_be_visible()
    window.picture("sheet_brought_back")
    nothing_amiss(window)


@pytest.mark.parametrize("width", WIDTHS)
def test_finished_work_is_shown_beside_the_room_as_it_was(
    chromium: playwright.Browser, address: str, data: Path, width: str
):
    window = opened(chromium, address, "scope?home=1", width)
    tab, store = window.tab, Store(data / "homes.sqlite")
    section = unfold(tab, "Before and after")
    choose(tab, section, "What do the photos show?", "Kitchen: the whole room")
    out = io.BytesIO()
    room_picture(LIGHT, seed=0).save(out, "JPEG")
    after = {"name": "after.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
    put(section, after)
    section.get_by_role("button", name="Keep the photos").click()
    playwright.expect(section.get_by_text("Photo from before (best guess)")).to_be_visible(
        timeout=LONG_MS
    )
    window.settle()
    (photo,) = store.home(1).taken
    assert (photo.stage, photo.room, photo.before) == ("after", "kitchen", "")
    pair = section.locator('[class*="st-key-pair_"]')
    before, now = (p.bounding_box() for p in pair.locator("img").all())
    assert before is not None
    assert now is not None
    assert abs(before["y"] - now["y"]) < 2, "side by side"
    assert abs(before["height"] - now["height"]) < 2
    assert now["x"] > before["x"]
    pair.scroll_into_view_if_needed()
    window.picture("before_and_after")
    choose(tab, pair, "Photo from before", "bathroom.jpg")
    playwright.expect(tab.get_by_text("bathroom.jpg stands beside")).to_be_visible(timeout=LONG_MS)
    assert store.home(1).taken[0].before == "bathroom.jpg"
    window.settle()  # a picture that goes while it is being fetched would be missed
    pair.get_by_text("Slide between the two").click()
    slider = pair.get_by_role("slider")
    playwright.expect(slider).to_be_visible(timeout=LONG_MS)
    slider.focus()
    tab.keyboard.press("ArrowLeft")
    nothing_amiss(window)


@pytest.mark.parametrize("width", WIDTHS)
def test_a_rent_moves_the_next_estimate(
    chromium: playwright.Browser, address: str, data: Path, width: str
):
    window = opened(chromium, address, "scope?home=1", width)
    tab = window.tab

    def figures() -> str:
        window.settle()
        return str(tab.locator(".st-key-numbers").inner_text())

    work = unfold(tab, "Work that is done")
    choose(tab, work, "Work that is done", "Paint the walls")
    work.get_by_label("Money spent, $").fill("260")
    work.get_by_label("Hours it took").fill("9")
    work.get_by_role("button", name="Log it").click()
    playwright.expect(tab.get_by_text("Logged; the next estimate uses it.")).to_be_visible(
        timeout=LONG_MS
    )
    before = figures()
    rent = unfold(tab, "The rent it was let for")
    for count in range(1, 5):  # one rent says little of so small a rise
        rent.get_by_label("Rent a month now, $").fill("1300")
        rent.get_by_label("Terms that differ").fill("furnished")
        rent.get_by_role("button", name="Log the rent").click()
        logged = rent.get_by_text("Let for $1,300 a month")
        playwright.expect(logged).to_have_count(count, timeout=LONG_MS)
        window.settle()
    learns = unfold(tab, "What the next estimate learns")
    factor = learns.get_by_role("row", name=re.compile("Rent rises of all work")).inner_text()
    assert float(re.findall(r"× ([\d.]+)", factor)[0]) > 1
    unfold(tab, "Work that is done")
    unfold(tab, "The rent it was let for")
    window.picture("plan_against_actual")
    assert figures() != before
    learns.get_by_text("Rents that came correct the rent rises").click()
    playwright.expect(tab.get_by_text("The next estimate leaves it out.")).to_be_visible(
        timeout=LONG_MS
    )
    assert figures() == before
    assert Store(data / "homes.sqlite").home(1).lettings[0].note == "furnished"
    nothing_amiss(window)


def test_a_photo_in_a_second_tab_is_told_of_the_conflict_and_not_lost(
    chromium: playwright.Browser, address: str, data: Path
):
    first, second = (opened(chromium, address, "walk-through?home=1", "phone") for _ in range(2))
    own = unfold(second.tab, "Your own photos")
    put(own, phone_photo())
    own.get_by_label("What they show").fill("from the second tab")
    first.tab.get_by_role("button", name="It is so").first.click()
    playwright.expect(first.tab.get_by_text("Kept.").first).to_be_visible()
    own.get_by_role("button", name="Keep the photos").click()
    playwright.expect(second.tab.get_by_text("Not saved:").first).to_be_visible(timeout=LONG_MS)
    second.settle()
    store = Store(data / "homes.sqlite")
    assert store.home(1).taken == ()
    assert len(store.home(1).tags) == 1
    second.picture("photo_conflict")
    own = unfold(second.tab, "Your own photos")
    assert own.get_by_label("What they show").input_value() == "from the second tab"
    own.get_by_role("button", name="Keep the photos").click()
    playwright.expect(second.tab.get_by_text("Kitchen: photo kept.")).to_be_visible(timeout=LONG_MS)
    (photo,) = store.home(1).taken
    assert photo.note == "from the second tab"
    assert len(store.home(1).tags) == 1
    for window in (first, second):
        nothing_amiss(window)
