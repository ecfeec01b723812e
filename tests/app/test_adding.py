"""Homes dropped on the page: what of them can't be used is said."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from streamlit.testing.v1 import AppTest

from scorer.store import Store
from tests.app.test_pages import button, opened
from tests.homes import save_photo


def _dropped(folder: Path, table: str) -> bytes:
    photo = save_photo(folder / "kitchen.jpg").read_bytes()
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for home in ("12 oak street", "7 elm road"):
            archive.writestr(f"{home}/kitchen.jpg", photo)
        archive.writestr("listings.csv", table)
    return buffer.getvalue()


def _add(content: bytes) -> AppTest:
    at = opened()
    box = next(box for box in at.file_uploader if box.label == "Zip, or photos")
    box.set_value([("h.zip", content, "application/zip")])
    at.run()
    button(at, "Add these files").click().run()
    assert not at.exception
    return at


def test_rows_of_a_dropped_table_that_belong_to_no_home_are_told(data: Path, tmp_path: Path):
    table = "ListingId,Price\n12 oak street,84500\n,90000\n7 elm road,70000\n"
    at = _add(_dropped(tmp_path, table))
    assert [warning.value for warning in at.warning] == [
        "h.zip/listings.csv, row 3: ListingId is missing, so the row belongs to no home; write the "
        "name of the home's folder there."
    ]
    prices = {
        home.listing.home: home.listing.list_price_usd
        for home in Store(data / "homes.sqlite").homes()
    }
    assert prices["12 oak street"] == 84_500
    assert prices["7 elm road"] == 70_000


def test_more_sentences_than_are_shown_are_counted(data: Path, tmp_path: Path):
    table = "ListingId,Price\n12 oak street,84500\n" + ",90000\n" * 22
    told = [warning.value for warning in _add(_dropped(tmp_path, table)).warning]
    assert len(told) == 21
    assert told[-1] == "And 2 more like these; mend these first."


def test_what_could_not_be_used_stays_until_it_was_read(data: Path, tmp_path: Path):
    at = _add(_dropped(tmp_path, "ListingId,Price\n12 oak street,84500\n,$90000\n"))
    at.run()  # as the page does when the photos are read
    assert [w.value for w in at.warning if "row 3" in w.value]
    button(at, "I have read this").click().run()
    assert not [w.value for w in at.warning if "row 3" in w.value]


def test_photos_without_a_name_are_refused_with_a_sentence_and_kept(data: Path, tmp_path: Path):
    photo = save_photo(tmp_path / "kitchen.jpg").read_bytes()
    at = opened()
    box = next(box for box in at.file_uploader if box.label == "Zip, or photos")
    box.set_value([("kitchen.jpg", photo, "image/jpeg")])
    at.run()
    before = len(Store(data / "homes.sqlite").homes())
    assert not button(at, "Add these files").disabled  # a name being typed is sent by the click
    button(at, "Add these files").click().run()
    assert any("type the address or a name" in error.value for error in at.error)
    assert len(Store(data / "homes.sqlite").homes()) == before
    name = next(f for f in at.text_input if f.label.startswith("Address or name of the home"))
    name.input("9 fir lane")
    button(at, "Add these files").click().run()
    assert "9 fir lane" in {home.listing.home for home in Store(data / "homes.sqlite").homes()}
