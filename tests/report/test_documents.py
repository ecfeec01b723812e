"""The printed report and the workbook, opened with readers that are not ours."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime

import openpyxl
import pypdf
import pytest
from PIL import Image

from scorer.records import Quantiles, Range
from scorer.report import home_report_pdf, home_workbook
from scorer.report.viewing import PairPicture, ViewingPicture
from scorer.scope.plan import Keep
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult

WHEN = datetime(2026, 5, 30, 12, tzinfo=UTC)


@pytest.fixture
def pdf(home: HomeResult, photos: dict[str, bytes]) -> bytes:
    return home_report_pdf(home, photos, WHEN)


def test_text_can_be_selected_and_the_money_is_the_records_own(pdf: bytes):
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    text = re.sub(r"\s+", " ", " ".join(pages))
    for words in (
        "14 Alder Court – Millbrook",
        "$1,200 to $2,600, middle $1,650",
        "licensed plumber",
        "$150 to $2,500",
        "No photo shows the bathroom.",
        "broken.jpg is cut short.",
        "three points of contact on a ladder",
        "HUD NSPIRE v3.0 (2023)",
        "estimates, not appraisals",
        "−$700",
    ):
        assert words in text, words
    for number, page in enumerate(pages, start=1):
        assert f"{number} / {len(pages)}" in page


def test_fonts_are_embedded_and_photos_are_in(pdf: bytes):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    fonts = {
        font["/BaseFont"]: font
        for page in reader.pages
        for font in (ref.get_object() for ref in page["/Resources"]["/Font"].values())
    }
    assert fonts
    for font in fonts.values():
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in descriptor
    assert sum(len(page.images) for page in reader.pages) >= 2


def test_the_same_input_gives_the_same_bytes(home, photos, pdf: bytes):
    assert home_report_pdf(home, photos, WHEN) == pdf


def test_sums_of_the_workbook_are_live_and_match_the_record(home: HomeResult):
    content = home_workbook(home)
    formulas = openpyxl.load_workbook(io.BytesIO(content))
    values = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    assert formulas.sheetnames[:3] == ["Summary", "Scope", "Take-off"]
    last = len(home.scope.options) + 2
    assert formulas["Scope"][f"D{last}"].value == f"=SUM(D2:D{last - 1})"
    cached = values["Scope"][f"D{last}"].value
    rows = [values["Scope"][f"D{row}"].value for row in range(2, last)]
    assert cached == pytest.approx(sum(rows)) == pytest.approx(home.scope.cost_usd.typical)


def test_typed_text_never_becomes_a_formula(home: HomeResult):
    book = openpyxl.load_workbook(io.BytesIO(home_workbook(home)))
    cell = book["Findings"]["F2"]
    assert cell.data_type == "s"
    assert "HYPERLINK" in cell.value


def test_photos_from_the_viewing_stand_below_their_room_with_their_words(
    home: HomeResult, photos: dict[str, bytes], pdf: bytes
):
    words, pictures = "viewing photo 1: Dark walls: north – by the door", []
    for grey in (60, 120, 180):
        out = io.BytesIO()
        Image.new("RGB", (300, 200), (grey, grey, grey)).save(out, "JPEG")
        pictures.append(out.getvalue())
    taken = [
        ViewingPicture(
            "bedroom 2", "viewing photo 1: Dark walls: north – by the door", pictures[0]
        ),
        ViewingPicture("bedroom 2", "long " * 200, pictures[1]),
        ViewingPicture("attic", "viewing photo 3", pictures[2]),
    ]
    reader = pypdf.PdfReader(io.BytesIO(home_report_pdf(home, photos, WHEN, viewing=taken)))
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    assert words in text
    assert text.index("Bedroom 2") < text.index("viewing photo 1") < text.index("Bedroom 3")
    assert text.index("Attic") < text.index("viewing photo 3") < text.index("Scope of work")
    assert text.count("long") < 60
    before = sum(len(page.images) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert sum(len(page.images) for page in reader.pages) == before + 3


def test_photos_of_finished_work_stand_beside_those_from_before(
    home: HomeResult, photos: dict[str, bytes], pdf: bytes
):
    def picture(grey: int, size: tuple[int, int]) -> bytes:
        out = io.BytesIO()
        Image.new("RGB", size, (grey, grey, grey)).save(out, "JPEG")
        return out.getvalue()

    lies, stands = (300, 200), (200, 300)
    done = [
        PairPicture("Kitchen: wall paint", "Before: a.jpg", picture(9, lies), picture(99, lies)),
        PairPicture("Bath: all", "Before: b.jpg", picture(8, stands), picture(88, stands)),
        PairPicture("Hall: the whole room", "", None, picture(77, lies)),
    ]
    reader = pypdf.PdfReader(io.BytesIO(home_report_pdf(home, photos, WHEN, pairs=done)))
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]
    text = " ".join(pages)
    assert "Before and after" not in pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    for pair in done:  # words and pictures of a pair are on one page
        assert any(pair.words in page and pair.before_words in page for page in pages)
    assert text.index("Before and after") < text.index("Kitchen: wall paint")
    assert text.index("Hall: the whole room") < text.index("What the money may earn")
    before = sum(len(page.images) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert sum(len(page.images) for page in reader.pages) == before + 5


def test_the_report_says_which_limits_the_work_was_chosen_within(home: HomeResult):
    settings = Settings(budget_usd=6_500, weeks=4, hours_per_week=15, helpers=0, aim="rent_lift")
    pdf = home_report_pdf(home, {}, WHEN, settings=settings)
    said = (
        "Chosen for rent rise a month. Limits: $6,500 a home, 4 weeks without a tenant, 15 hours a "
        "week from you; an hour of yours counts $20."
    )
    assert said in _words_of(pdf)
    assert "Limits:" not in _text(home, {})


def test_what_is_bought_one_by_one_is_printed_as_its_number(home: HomeResult):
    (can,) = home.scope.purchases
    lamp = can.model_copy(
        update={"label": "Lamp", "unit": "each", "quantity": 2.0, "buy": 2, "pack": "1 each"}
    )
    two = home.model_copy(
        update={"scope": home.scope.model_copy(update={"purchases": (can, lamp)})}
    )
    text = _text(two, {})
    shopping = text[text.index("Shopping list") : text.index("Calendar")]
    assert f"{can.buy} × 1 gal can" in shopping
    assert "Lamp 2 2 " in shopping
    assert "each" not in shopping


def _text(home: HomeResult, photos: dict[str, bytes]) -> str:
    return _words_of(home_report_pdf(home, photos, WHEN))


def _words_of(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def _summary(home: HomeResult) -> dict[str, tuple[object, ...]]:
    book = openpyxl.load_workbook(io.BytesIO(home_workbook(home)), data_only=True)
    return {row[0]: row[1:] for row in book["Summary"].iter_rows(values_only=True)}


@pytest.mark.parametrize(
    ("months", "words"),
    [(None, "never"), ((100, 999, 9999), "never"), ((14, 34, 200), "34 months")],
)
def test_payback_is_said_alike_on_the_first_page_and_in_the_money(home, photos, months, words):
    figure = months and Quantiles(p10=months[0], p50=months[1], p90=months[2])
    outcome = home.outcome.model_copy(update={"payback_months": figure})
    home = home.model_copy(update={"outcome": outcome})
    text = _text(home, photos)
    assert f"Payback {words}" in text
    assert ("Payback, months – never –" in text) == (words == "never")
    assert ("Payback, months 14 34 200" in text) == (words != "never")
    assert ("more than one of ten outcomes" in text) == (words == "never")
    assert "unknown" not in text
    cells = _summary(home)["Payback, months"]
    assert cells[1] == ("never" if words == "never" else 34)


def test_where_no_work_is_chosen_nothing_is_to_pay_back(home, photos):
    scope = home.scope.model_copy(update={"options": ()})
    outcome = home.outcome.model_copy(update={"payback_months": None, "return_on_cost": None})
    home = home.model_copy(update={"scope": scope, "outcome": outcome})
    text = _text(home, photos)
    assert "Payback –" in text
    assert "never" not in text
    assert "unknown" not in text
    assert _summary(home)["Payback, months"][1] == "–"


def test_a_guessed_rent_is_told_beside_what_rests_on_it(home, photos):
    assert home.listing.monthly_rent_usd is None
    assert "Most to pay for the target return $88,000 (rent guessed)" in _text(home, photos)
    assert _summary(home)["Most to pay for the target return, $"][1:] == (88_000, "rent guessed")
    listing = home.listing.model_copy(update={"monthly_rent_usd": 700.0})
    given = home.model_copy(update={"listing": listing})
    assert "rent guessed" not in _text(given, photos)
    assert _summary(given)["Most to pay for the target return, $"][1:] == (88_000, "")


def test_minutes_of_work_are_not_told_as_no_hours(home, photos):
    short = home.scope.options[0].model_copy(
        update={"hours": Range(low=0.03, typical=0.1, high=0.4)}
    )
    tasks = (home.scope.calendar[0].model_copy(update={"hours": 0.1}),)
    scope = home.scope.model_copy(update={"options": (short,), "calendar": tasks})
    text = _text(home.model_copy(update={"scope": scope}), photos)
    assert "under 0.1 to 0.4" in text
    assert " two coats 0.1 " in text


def test_what_is_made_good_is_not_listed_as_sound(home, photos):
    keeps = (
        Keep(room="kitchen", label="Cabinets sound"),
        Keep(room="bedroom 1", label="New bulbs, instead of “New fixture”", saves_usd=40.0),
        Keep(room="bedroom 2", label="New bulbs, instead of “New fixture”", saves_usd=25.0),
    )
    scope = home.scope.model_copy(update={"keeps": keeps})
    text = _text(home.model_copy(update={"scope": scope}), photos)
    sound, made_good = text.index("Sound: keep as it is"), text.index("Made good, not replaced")
    assert sound < text.index("Kitchen: Cabinets sound") < made_good
    line = "Bedroom 1, bedroom 2: New bulbs, instead of “New fixture” (saves about $65)"
    assert made_good < text.index(line)


def test_no_table_is_parted_from_the_sentence_over_it(home: HomeResult):
    (bought,) = home.scope.purchases
    outcome = home.outcome.model_copy(update={"drivers": home.outcome.drivers * 8})
    for rows in range(0, 36, 6):  # wherever on the page the sentence comes to stand
        scope = home.scope.model_copy(update={"purchases": (bought,) * rows})
        longer = home.model_copy(update={"scope": scope, "outcome": outcome})
        pdf = home_report_pdf(longer, {}, WHEN)
        for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
            text = page.extract_text()
            assert ("What moves the net gain most" in text) == ("How strongly" in text)
