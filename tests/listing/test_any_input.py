"""Whatever a listing file holds, the homes are read and each sentence is one line."""

from __future__ import annotations

import json
import math
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.listing import Listing, read_homes
from scorer.listing.media import inside
from scorer.listing.values import WrongValue, as_number

FIELDS = st.sampled_from(
    ["ListingId", "ListPrice", "BedroomsTotal", "LivingArea", "LivingAreaUnits", "YearBuilt",
     "LeaseAmount", "LeaseAmountFrequency", "Media", "PropertyRooms", "UnparsedAddress", "Odd"]
)  # fmt: skip
CELLS = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["MediaURL", "ImageOf", "Order", "RoomType", "RoomLength", "x"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=8,
)


def _read(content: bytes, name: str) -> tuple[Listing, ...]:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "h"
        home.mkdir()
        (home / "kitchen.jpg").write_bytes(b"")
        (home / name).write_bytes(content)
        homes, problems = read_homes(folder)
        assert [photo.name for photo in homes[0].photos] in ([], ["kitchen.jpg"])
        for problem in problems:
            assert problem.sentence
        return homes


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(FIELDS, CELLS, max_size=6))
def test_any_json_object(values: dict[str, Any]) -> None:
    (home,) = _read(json.dumps(values).encode(), "listing.json")
    for fact in (home.list_price_usd, home.living_area_sqft, home.monthly_rent_usd):
        assert fact is None or (math.isfinite(fact) and fact >= 0)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300), st.sampled_from(["listing.json", "listing.csv", "listing.toml"]))
def test_any_bytes(content: bytes, name: str) -> None:
    assert len(_read(content, name)) == 1


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=300))
def test_any_table_for_all_homes(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "listings.csv"
        path.write_text(text, encoding="utf-8", errors="replace", newline="")
        with suppress(InputError):
            homes, _ = read_homes(folder)
            assert homes


@given(st.text(max_size=40))
def test_no_name_leads_out_of_the_folder(name: str) -> None:
    path = inside(Path("/homes/h"), name)
    assert path is None or path == Path("/homes/h") or Path("/homes/h") in path.parents
    for evil in ("../x", "a/../../x", "/x", "C:\\x", "..\\x", "a/../..", "\\\\host\\x"):
        assert inside(Path("/homes/h"), evil) is None


@given(st.floats(0, 1e9), st.sampled_from(["{:,.2f}", "${:,.2f}", " {:.2f} ", "{:.2f} USD"]))
def test_a_written_number_is_read_back(number: float, form: str) -> None:
    assert as_number(form.format(number), low=0, high=1e9) == round(number, 2)


@given(st.text(max_size=20))
def test_any_text_is_a_number_or_a_reason(text: str) -> None:
    with suppress(WrongValue):
        assert math.isfinite(as_number(text, low=-1e9, high=1e9))
