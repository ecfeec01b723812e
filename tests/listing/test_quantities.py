"""Money, areas, lengths and counts in the spellings that people use; none is read as another."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.listing import quantities
from scorer.listing.quantities import Baths
from scorer.listing.values import WrongValue


def living_area(value: Any, factor: float | None = None) -> float:
    return quantities.area(value, low=80, high=100_000, factor=factor, heading="LivingAreaUnits")


def room_length(value: Any) -> float:
    return quantities.length(value, low=1, high=200, factor=None, heading="RoomLengthWidthUnits")


def beds(value: Any) -> int:
    return quantities.count(value, low=0, high=200, words="br|beds?|bedrooms?")


@pytest.mark.parametrize(
    ("read", "cell", "value"),
    [
        # One reading only: a second separator, a group of blanks or apostrophes tells which it is.
        (quantities.price, "85.000,00", 85_000),
        (quantities.price, "85,000.00", 85_000),
        (quantities.price, "85 000", 85_000),
        (quantities.price, "85\u202f000", 85_000),
        (quantities.price, "85'000", 85_000),
        (quantities.price, "1.250.000", 1_250_000),
        (quantities.price, "85000,50", 85_000.5),
        (quantities.price, "$85k", 85_000),
        (quantities.price, "85.5K", 85_500),
        (quantities.price, "about $85,000", 85_000),
        (quantities.price, "US$ 84,500 USD", 84_500),
        (quantities.price, "1000", 1_000),
        (living_area, "1 050", 1_050),
        (living_area, "1'050", 1_050),
        (living_area, "1,050 square feet", 1_050),
        (living_area, "1,050 sqft", 1_050),
        (living_area, "1050 Sq. Ft.", 1_050),
        (living_area, "80", 80),
        # Only the reading with decimals is an area: 999500 sq ft is none.
        (living_area, "999.500", 999.5),
        (room_length, "12'", 12),
        (room_length, "12' 6\"", 12.5),
        (room_length, "12 ft 6 in", 12.5),
        (room_length, "12.125", 12.12),
        (beds, "2 bed", 2),
        (beds, "2 br", 2),
        (beds, "2BR", 2),
        (beds, "3 bedrooms", 3),
        (quantities.year, "c. 1960", 1960),
        (quantities.year, "circa 1960", 1960),
        (quantities.year, "~1960", 1960),
        (quantities.dollars, "$6,000", 6_000),
        (quantities.dollars, "6k", 6_000),
        (quantities.baths, "1", Baths(1)),
        (quantities.baths, "2 full", Baths(2)),
        (quantities.baths, "1 full, 1 half", Baths(1, "BathroomsHalf")),
        (quantities.baths, "1 full and 1 half bath", Baths(1, "BathroomsHalf")),
        (quantities.baths, "1.5", Baths(1, "BathroomsHalf")),
        (quantities.baths, 1.5, Baths(1, "BathroomsHalf")),
        (quantities.baths, "1½ baths", Baths(1, "BathroomsHalf")),
        (quantities.baths, "2.75", Baths(2, "BathroomsThreeQuarter")),
    ],
)
def test_usual_spellings(read: Callable[[Any], Any], cell: Any, value: Any) -> None:
    assert read(cell) == value


@pytest.mark.parametrize(
    ("read", "cell", "reason"),
    [
        (quantities.price, "85.000", "could mean 85000 or 85; write 85000"),
        (quantities.price, "$85.000", "could mean 85000 or 85; write 85000"),
        (quantities.price, "112.500", "could mean 112500 or 112.5; write 112500"),
        (living_area, "1.050", "could mean 1050 or 1.05; write 1050"),
        (living_area, "1.050 sq ft", "could mean 1050 or 1.05; write 1050"),
        (quantities.yearly_tax, "1.240", "could mean 1240 or 1.24; write 1240"),
        (quantities.monthly_rent, "1.050/mo", "could mean 1050 or 1.05; write 1050"),
        (quantities.dollars, "6.000", "could mean 6000 or 6; write 6000"),
        # JSON and TOML have no other way to write it than with a point, so the bounds must tell.
        (quantities.price, 85.000, "is too little, as a point begins the decimals; write 85000 if"),
        (living_area, 1.050, "write 1050 if meant"),
        (quantities.yearly_tax, 1.240, "write 1240 if meant"),
        (quantities.monthly_rent, 1.050, "write 1050 if meant"),
        (quantities.price, "999", "must lie between \\$1,000"),
        (quantities.price, "€85.000", "is not in US dollars"),
        (quantities.price, "$850/mo", "is a figure for a time, not a price"),
        (living_area, "79", "must lie between 80 and 100,000 sq ft .is it another column"),
        (living_area, "2 acres", "is not a number .write it like 1050, 1,050 sq ft or 98 m²"),
        (room_length, "12 5", "is not a number"),
        (beds, "2.5", "must be a whole number"),
        (beds, "1050", "must lie between 0 and 200"),
        (quantities.baths, "1.1", "must be a whole number or end in a half, like 1.5"),
        (quantities.year, "1050", "must lie between 1600 and 2100"),
        (quantities.monthly_rent, "$850/mo + water", r"write it like 850, \$850/mo or \$10,200/yr"),
        (quantities.price, "1" + " " * 100_000 + "x", "is too long for a number"),
    ],
)
def test_what_may_mean_another_thing_is_refused(
    read: Callable[[Any], Any], cell: Any, reason: str
) -> None:
    with pytest.raises(WrongValue, match=reason):
        read(cell)


@pytest.mark.parametrize(
    ("cell", "monthly"),
    [
        ("850", 850),
        ("$850/mo", 850),
        ("$850 / month", 850),
        ("850 per month", 850),
        ("850 a month", 850),
        ("$10,200/yr", 850),
        ("10,200 per year", 850),
        ("10200 annually", 850),
        ("$10.2k per annum", 850),
        ("$300/wk", 1_300),
        ("600 every two weeks", 1_300),
        ("0", None),
    ],
)
def test_a_rent_is_brought_to_a_month(cell: str, monthly: float | None) -> None:
    assert quantities.monthly_rent(cell) == monthly


def test_two_periods_of_one_rent_must_agree() -> None:
    assert quantities.monthly_rent("$850/mo", "monthly", "LeaseAmountFrequency") == 850
    with pytest.raises(WrongValue, match="and Frequency monthly name two periods"):
        quantities.monthly_rent("$10,200/yr", "monthly", "Frequency")


def test_a_monthly_tax_is_brought_to_a_year() -> None:
    assert quantities.yearly_tax("$103/mo") == pytest.approx(1_236)
    assert quantities.yearly_tax("0") == 0


def test_meters_are_converted_exactly() -> None:
    # NIST SP 811 (2008), appendix B.6: the international foot is 0.3048 m exactly, so 1 m² is
    # 1/0.09290304 sq ft; appendix B.8 gives 1 ft² = 9.290304E-02 m².
    for cell in ("98 m²", "98 m2", "98 sq m", "98 square meters", "98sqm"):
        assert living_area(cell) == pytest.approx(98 / 9.290304e-02, abs=0.05)
    # 111.484 m² is an honest figure of three decimals: 1,200 sq ft.
    assert living_area("111.484", quantities.SQUARE_FEET_IN_A_SQUARE_METER) == 1_200.0
    assert room_length("3.81 m") == 12.5
    with pytest.raises(WrongValue, match="another unit than LivingAreaUnits names"):
        living_area("98 m²", 1.0)


@given(st.integers(1_000, 99_999_999))
def test_a_price_is_read_back_in_every_notation(number: int) -> None:
    american = f"{number:,}"
    german = american.replace(",", ".")
    for cell in (str(number), american, f"${american}", german + ",00", american.replace(",", " ")):
        assert quantities.price(cell) == number
    if german.count(".") == 1:
        with pytest.raises(WrongValue, match=f"could mean {number} or"):
            quantities.price(german)


@given(st.text(max_size=30))
def test_any_text_is_a_quantity_or_a_reason(text: str) -> None:
    for read in (
        quantities.price, quantities.monthly_rent, quantities.yearly_tax, quantities.baths,
        quantities.year, quantities.dollars, living_area, room_length, beds,
    ):  # fmt: skip
        with suppress(WrongValue):
            read(text)
