"""Every row of the price book and the wages, the user's own rows, and what broken copies say."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.records import Range
from scorer.settings import Settings
from scorer.upgrades.price_rows import (
    PriceRow,
    Wage,
    price_rows_csv,
    read_price_rows,
    read_wages,
    wages_csv,
)
from scorer.upgrades.pricebook import hourly_usd, load_price_book, price_level

BOOK = load_price_book()


@pytest.mark.parametrize("row", BOOK.rows.values(), ids=lambda row: row.id)
def test_every_row_has_unit_range_and_source(row: PriceRow) -> None:
    assert row.unit
    assert row.source
    assert row.date
    assert row.pack_usd.low <= row.pack_usd.typical <= row.pack_usd.high
    assert row.hours.low <= row.hours.typical <= row.hours.high
    if row.kind == "labour":
        assert row.unit in {"sq ft", "ft", "each"}
        assert row.trade in BOOK.wages
        assert row.hours.low > 0
    else:
        assert row.pack_usd.high > 0
        assert row.pack
    if row.kind == "allowance":  # a lump must not look surer than it is
        assert row.pack_usd.high >= 1.5 * row.pack_usd.low


@pytest.mark.parametrize("wage", BOOK.wages.values(), ids=lambda wage: wage.trade)
def test_every_wage_has_range_and_source(wage: Wage) -> None:
    assert 0 < wage.rate_usd_per_hour.low < wage.rate_usd_per_hour.high
    assert wage.source
    if wage.own_possible:
        assert wage.own_pace.low >= 1.0  # an owner is no faster than the trade


def test_licensed_trades_are_never_the_owners_own() -> None:
    for trade in ("plumber", "electrician", "hvac", "roofer", "pest_control"):
        assert not BOOK.wages[trade].own_possible
        assert BOOK.worker(trade) == trade
    assert BOOK.worker("painter") == "own"
    assert BOOK.worker("handyman") == "own"
    assert BOOK.worker("handyman", "electrician") == "electrician"
    assert BOOK.worker("carpenter", "carpenter") == "carpenter"
    assert BOOK.worker("painter", "electrician") == "own"


@pytest.mark.parametrize(
    ("trade", "mean_2010"),
    [("painter", 18.08), ("carpenter", 21.10), ("plumber", 24.21), ("electrician", 24.91)],
)
def test_billing_stands_well_above_the_published_wage(trade: str, mean_2010: float) -> None:
    # BLS Occupational Employment Statistics, May 2010 means (TED, 12 Dec 2011). A billing rate
    # holds overhead and 15 years of wage growth: below twice that wage it could not be one.
    assert BOOK.wages[trade].rate_usd_per_hour.low > 2 * mean_2010


@pytest.mark.parametrize(
    ("item", "hours_per_unit"),
    [
        ("paint_trim_labour", 0.00625),  # NHIE 2018 p. 479: 0.625 h/100 ft, first enamel coat
        ("paint_trim_labour", 0.00667),  # same, second coat
        ("strip_paper_labour", 0.015),  # NHIE 2018 p. 533
        ("trim_remove_labour", 0.022),  # NHIE 2018 p. 533: remove base
        ("deck_stain_labour", 0.008),  # NHIE 2018 p. 479: 0.800 h/100 sq ft, first coat
        ("remove_floor_labour", 0.017),  # NHIE 2018 p. 534: underlay
        ("sand_floor_labour", 0.023),  # National Construction Estimator, Wood flooring
        ("recoat_labour", 0.024),  # same: finish
    ],
)
def test_hours_hold_the_published_handbook_figure(item: str, hours_per_unit: float) -> None:
    # NHIE: National Home Improvement Estimator.
    hours = BOOK.row(item).hours
    assert hours.low <= hours_per_unit <= hours.high


def test_a_clean_appliance_takes_an_owner_three_to_four_hours() -> None:
    # Common practice, no source.
    hours = BOOK.row("appliance_clean_labour").hours.typical
    assert 3 <= hours * BOOK.wages["cleaner"].own_pace.typical <= 4


def test_place_and_year_scale_hired_hours_but_not_own_time() -> None:
    here = Settings(location_factor=1.2, price_factor=1.1, own_hour_usd=0)
    assert price_level(here) == pytest.approx(1.32)
    base = BOOK.wages["plumber"].rate_usd_per_hour
    assert hourly_usd(BOOK, "plumber", here).typical == pytest.approx(1.32 * base.typical)
    assert hourly_usd(BOOK, "own", here) == Range.exactly(0.0)


# The user's own ----------------------------------------------------------------------------------


def test_the_book_survives_a_round_trip() -> None:
    assert read_price_rows(price_rows_csv(BOOK.rows.values())) == tuple(BOOK.rows.values())
    assert read_wages(wages_csv(BOOK.wages.values())) == tuple(BOOK.wages.values())


def test_a_price_alone_changes_the_price_alone(tmp_path: Path) -> None:
    file = tmp_path / "my prices.csv"
    file.write_text(
        "\ufeffid,low_usd,typical_usd,high_usd,source,date\n"
        "wall_paint,18,22,30,my receipts,2026-03\n",
        encoding="utf-8",
    )
    mine = read_price_rows(file, BOOK.rows)
    book = BOOK.with_rows(mine)
    old, new = BOOK.row("wall_paint"), book.row("wall_paint")
    assert new.pack_usd == Range(low=18, typical=22, high=30)
    assert new.source == "my receipts"
    assert (new.label, new.covers, new.unit) == (old.label, old.covers, old.unit)
    assert {k: v for k, v in book.rows.items() if k != "wall_paint"} == {
        k: v for k, v in BOOK.rows.items() if k != "wall_paint"
    }


def test_a_trade_that_could_be_done_can_be_hired_all_the_same() -> None:
    wages = read_wages("trade,own_possible\npainter,no\n", BOOK.wages)
    book = BOOK.with_wages(wages)
    assert book.worker("painter") == "painter"
    assert book.worker("cleaner") == "own"


words = st.text(
    st.characters(codec="utf-8", exclude_categories=["C"]), min_size=3, max_size=40
).map(lambda text: text.strip().ljust(3, "x"))
money = st.floats(0, 1e5)


@given(
    words,
    words,
    st.tuples(money, money, money).map(sorted),
    st.floats(0.01, 1e4),
    st.sampled_from(["", "350/400/400 sq ft", "600/675/675 ft|9 each", "2.5 each"]),
    st.sampled_from(["whole", "shared"]),
)
def test_every_row_that_a_user_makes_survives_export_and_import(
    label: str, source: str, usd: list[float], size: float, covers: str, packs: str
) -> None:
    row = PriceRow.model_validate(
        {
            "id": "my_item",
            "label": label,
            "kind": "material",
            "unit": "sq ft",
            "pack": "my pack",
            "pack_size": size,
            "covers": covers,
            "packs": packs,
            "low_usd": usd[0],
            "typical_usd": usd[1],
            "high_usd": usd[2],
            "source": source,
            "date": "2026-01",
        }
    )
    assert read_price_rows(price_rows_csv([row])) == (row,)
    assert BOOK.with_rows([row]).row("my_item") == row


HEADER = (
    "id,label,kind,trade,unit,pack,covers,low_usd,typical_usd,high_usd,"
    "hours_low,hours_typical,hours_high,piece,source,date\n"
)
GOOD = "a_thing,A thing,material,,sq ft,1 box,,1,2,3,,,,,invented,2026"


@pytest.mark.parametrize(
    ("row", "place"),
    [
        (GOOD.replace("1,2,3", "1,2,cheap"), "row a_thing, field high_usd"),
        (GOOD.replace("1,2,3", "-1,2,3"), "row a_thing, field low_usd"),
        (GOOD.replace("1,2,3", "3,2,1"), "row a_thing, .*must rise"),
        (GOOD.replace("invented", ""), "row a_thing, field source"),
        (GOOD.replace("2026", "last year"), "row a_thing, field date"),
        (GOOD.replace("material", "stuff"), "row a_thing, field kind"),
        (GOOD.replace("a_thing", "A thing!"), "row A thing!, field id"),
        (GOOD.replace("1 box,", "1 box,0 sq ft"), "row a_thing, .*covers must read like"),
        (GOOD.replace("1 box,", "1 box,5 miles"), "row a_thing, .*covers must read like"),
        (GOOD.replace(",invented", "3 by 6,invented"), "row a_thing, .*piece must read like"),
        (GOOD.replace("material,", "labour,painter"), "row a_thing, .*labour needs"),
        (GOOD.replace("material,", "allowance,"), "row a_thing, .*allowance needs a trade"),
        (GOOD.replace("1 box", ""), "row a_thing, .*material needs a pack"),
        (GOOD + ",more", "row a_thing, .*17 cells where 16 are needed"),
        (GOOD + "\n" + GOOD, "row a_thing, field id: stands there twice"),
    ],
)
def test_a_wrong_row_gets_its_sentence(row: str, place: str) -> None:
    assert read_price_rows(HEADER + GOOD)  # the row it was made from is good
    with pytest.raises(InputError, match=f"^mine.csv, {place}"):
        read_price_rows(HEADER + row + "\n", name="mine.csv")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("label\nx\n", "row 1, field id: the column is missing"),
        ("id,colour\nwall_paint,red\n", "row 1, field colour: unknown column"),
        ("id,label,label\nwall_paint,a,b\n", "row 1, field label: stands there twice"),
        ("", "row 1, field id: the column is missing"),
    ],
)
def test_a_wrong_header_gets_its_sentence(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_price_rows(text, BOOK.rows)


def test_rows_must_be_usable() -> None:
    with pytest.raises(InputError, match="no row 'gold_leaf'"):
        BOOK.row("gold_leaf")
    with pytest.raises(InputError, match="wall_paint, field covers: does not say how many ft"):
        BOOK.row("wall_paint").covers_of("ft")
    with pytest.raises(InputError, match="grout, field covers"):
        BOOK.row("grout").covers_of("sq ft")
    trade = BOOK.row("roll_labour").model_copy(update={"trade": "wizard"})
    with pytest.raises(InputError, match="row roll_labour, field trade: no wage for 'wizard'"):
        BOOK.with_rows([trade])
    with pytest.raises(InputError, match=r"wages.csv, row painter, .*must rise"):
        read_wages("trade,low_usd_per_hour\npainter,900\n", BOOK.wages, name="wages.csv")
    with pytest.raises(InputError, match="own_possible"):
        read_wages("trade,own_possible\npainter,perhaps\n", BOOK.wages)
