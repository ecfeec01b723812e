"""Take-off against published rows, and the laws that every measure keeps."""

from __future__ import annotations

from math import log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.records import Range
from scorer.rooms import Opening, Room, RoomKind
from scorer.upgrades.pricebook import load_price_book
from scorer.upgrades.spread import product
from scorer.upgrades.takeoff import MEASURES, measure, typical_sizes, unit_of
from scorer.upgrades.takeoff_materials import (
    KG_M2_TO_LB_SQFT,
    Piece,
    grout_kg_per_m2,
    grout_sqft_per_lb,
    needed,
    pieces_per_sqft,
    whole_packs,
)

DOOR = Opening(kind="door", width_ft=3, height_ft=7)
WINDOW = Opening(kind="window", width_ft=3, height_ft=4)


def room(kind: str = "bedroom", **sizes: object) -> Room:
    return Room.model_validate({"name": "a room", "kind": kind, **sizes})


# Published rows ---------------------------------------------------------------------------------


def test_wall_paint_covers_what_its_solids_allow() -> None:
    # Coatings-industry formula, 1,604 × volume solids / dry mils: 42 % at 1.6 mil is 421 sq ft/gal,
    # less up to a fifth that stays in roller and tray. 1,604 is 231 cu in a gallon over 0.001 in.
    theoretical = 231 / 0.001 / 144 * 0.42 / 1.6
    assert theoretical == pytest.approx(421, abs=0.5)
    covers = load_price_book().row("wall_paint").covers_of("sq ft")
    assert 0.8 * theoretical < covers.low < covers.high < theoretical


def test_a_10_by_15_by_8_ft_room_takes_one_gallon_a_coat() -> None:
    # Paint makers' worked example: 400 sq ft of wall, 1.0 gal a coat, 2 gal for two.
    walls = measure("gross_wall_sqft", room(length_ft=10, width_ft=15, height_ft=8))
    assert walls == Range.exactly(400.0)
    assert needed(walls, Range.exactly(400.0)).typical == pytest.approx(1.0)
    assert whole_packs(needed(walls.scaled(2), Range.exactly(400.0)).typical, 1.0) == 2


def test_trim_paint_covers_what_the_estimator_prints() -> None:
    # 2018 National Home Improvement Estimator p. 479: prime 600, finish 675 ft/gal.
    covers = load_price_book().row("trim_paint").covers_of("ft")
    assert (covers.low, covers.high) == (600, 675)


@pytest.mark.parametrize(
    ("length_in", "width_in", "per_sqft"),
    [(6, 3, 8), (4.25, 4.25, 7.97), (6, 6, 4), (12, 12, 1), (24, 12, 0.5)],
)
def test_tile_pieces_per_sqft(length_in: float, width_in: float, per_sqft: float) -> None:
    # Trade tables of nominal tile: pieces a sq ft.
    tile = Piece(length_in=length_in, width_in=width_in, thickness_in=0.3)
    assert pieces_per_sqft(tile) == pytest.approx(per_sqft, abs=0.005)


@pytest.mark.parametrize(
    ("tile_mm", "joint_mm", "kg_m2"),
    [
        # Makers' formula (A + B) / (A B) × C × D × 1.6, worked rows.
        ((300, 300, 8), 3.0, 0.256),
        ((150, 75, 7), 2.0, 0.448),
        ((108, 108, 6), 1.6, 0.284),
        ((600, 300, 9), 3.0, 0.216),
        ((50, 50, 6), 3.0, 1.152),
    ],
)
def test_grout(tile_mm: tuple[float, float, float], joint_mm: float, kg_m2: float) -> None:
    assert grout_kg_per_m2(*tile_mm, joint_mm) == pytest.approx(kg_m2, abs=5e-4)


def test_grout_in_pounds_is_the_same_in_kilograms() -> None:
    # 1 lb = 0.45359237 kg and 1 ft = 0.3048 m exactly (NIST Special Publication 811).
    assert pytest.approx(0.3048**2 / 0.45359237, rel=1e-5) == KG_M2_TO_LB_SQFT
    tile = Piece(length_in=6, width_in=3, thickness_in=7 / 25.4, joint_in=2 / 25.4)
    kg_m2 = grout_kg_per_m2(152.4, 76.2, 7, 2)
    assert 1 / grout_sqft_per_lb(tile) == pytest.approx(kg_m2 * KG_M2_TO_LB_SQFT)


def test_outlets_follow_the_spacing_of_the_electrical_code() -> None:
    # NFPA 70, 210.52(A): at most 12 ft apart; a 12 by 12 ft room has 48 ft of wall.
    assert measure("outlet_count", room(length_ft=12, width_ft=12)).typical == 4
    # International Property Maintenance Code 605.2: at least two.
    assert measure("outlet_count", room(length_ft=5, width_ft=4)).low == 2


def test_a_screen_over_the_whole_window_has_its_edge_and_area() -> None:
    # Plain geometry: a 30 by 36 in window has 11 ft of edge and 7.5 sq ft.
    windows = room(openings=(Opening(kind="window", width_ft=2.5, height_ft=3),))
    assert measure("screen_perimeter_ft", windows).high == 11
    assert measure("screen_area_sqft", windows).high == 7.5


def test_carpet_tile_of_24_in_covers_4_sqft() -> None:
    # Makers' sizes: 24 by 24 in = 4 sq ft, 18 by 18 in = 2.25 sq ft, 50 by 50 cm = 2.69 sq ft.
    for side, sqft in ((24, 4.0), (18, 2.25), (50 / 2.54, 2.69)):
        tile = Piece(length_in=side, width_in=side, thickness_in=0.25)
        assert 1 / pieces_per_sqft(tile) == pytest.approx(sqft, abs=0.005)


# From sizes to quantities ------------------------------------------------------------------------


def test_openings_are_taken_off() -> None:
    known = room(length_ft=12, width_ft=10, height_ft=8, openings=(DOOR, WINDOW, WINDOW))
    assert measure("wall_sqft", known) == Range.exactly(44 * 8 - 21 - 2 * 12)
    assert measure("baseboard_ft", known) == Range.exactly(44 - 3)
    assert measure("casing_ft", known) == Range.exactly((7 + 7 + 3) + 2 * (3 + 3 + 4 + 4))
    assert measure("door_count", known) == Range.exactly(1)
    assert measure("window_count", known) == Range.exactly(2)
    assert measure("floor_sqft", known) == measure("ceiling_sqft", known) == Range.exactly(120)
    assert measure("one_wall_sqft", known) == Range.exactly(96)


def test_openings_never_eat_the_whole_wall() -> None:
    wide = Opening(kind="opening", width_ft=100, height_ft=10)
    glass = room(length_ft=8, width_ft=8, height_ft=8, openings=(wide,))
    assert measure("wall_sqft", glass).typical > 0
    assert measure("baseboard_ft", glass).typical > 0


def test_less_known_is_wider() -> None:
    def width(quantity: Range) -> float:
        return log(quantity.high / quantity.low)

    whole = room(length_ft=12, width_ft=10, height_ft=8, openings=(DOOR, WINDOW))
    sides = room(length_ft=12, width_ft=10)
    area = room(floor_area_sqft=120)
    nothing = room()
    for name in ("wall_sqft", "trim_ft"):
        widths = [width(measure(name, r)) for r in (whole, sides, area, nothing)]
        assert widths == sorted(widths)
        assert widths[0] == 0
        assert widths[-1] > widths[-2]


def test_perimeter_from_area_holds_the_true_one() -> None:
    # 10 by 12 ft and 8 by 15 ft are both 120 sq ft; the range holds both perimeters.
    guess = measure("perimeter_ft", room(floor_area_sqft=120))
    assert guess.low <= 44 <= 46 <= guess.high


@pytest.mark.parametrize("kind", list(RoomKind))
def test_every_measure_works_in_every_kind_of_room(kind: RoomKind) -> None:
    for name in MEASURES:
        quantity = measure(name, Room(name="x", kind=kind))
        assert 0 <= quantity.low <= quantity.typical <= quantity.high < 1e4, name
        assert quantity.typical > 0, name
        assert unit_of(name) in {"sq ft", "ft", "each"}


def test_a_measure_that_does_not_exist_says_which_do() -> None:
    with pytest.raises(InputError, match=r"no measure 'wall_area'.*wall_sqft"):
        measure("wall_area", room())


def test_broken_size_files_name_file_row_and_field(tmp_path: Path) -> None:
    file = tmp_path / "sizes.csv"
    header = "field,room_kind,low,typical,high,unit,source\n"
    for row, words in (
        ("floor_sqft,kitchen,90,80,100,sq ft,invented", "kitchen, field low"),
        ("floor_sqft,cellar,70,80,100,sq ft,invented", "of cellar, field room_kind"),
        ("floor_sqft,kitchen,70,80,100,acre,invented", "kitchen, field unit"),
        ("floor_sqft,kitchen,70,80,100,sq ft,", "kitchen, field source"),
    ):
        file.write_text(header + row + "\n", encoding="utf-8")
        typical_sizes.cache_clear()
        with pytest.raises(
            InputError, match=f"sizes.csv, row floor_sqft of .*{words.removeprefix('of ')}"
        ):
            typical_sizes(file)


def test_material_functions_refuse_what_cannot_be() -> None:
    with pytest.raises(InputError, match="coverage must be above zero"):
        needed(Range.exactly(1), Range.exactly(0))
    with pytest.raises(InputError, match="pack_size"):
        whole_packs(1, 0)
    with pytest.raises(InputError, match="width_in"):
        pieces_per_sqft(Piece(length_in=6, width_in=0, thickness_in=1))
    with pytest.raises(InputError, match="without joints"):
        grout_sqft_per_lb(Piece(length_in=6, width_in=3, thickness_in=0.3))


# Laws --------------------------------------------------------------------------------------------

sides = st.floats(3, 60)
kinds = st.sampled_from(list(RoomKind))


@given(kinds, sides, sides, st.floats(6, 14), st.floats(0, 20), st.floats(0, 20))
def test_a_larger_room_never_measures_less(
    kind: RoomKind, length: float, width: float, height: float, longer: float, wider: float
) -> None:
    small = Room(name="x", kind=kind, length_ft=length, width_ft=width, height_ft=height)
    large = small.model_copy(update={"length_ft": length + longer, "width_ft": width + wider})
    for name in MEASURES:
        a, b = measure(name, small), measure(name, large)
        for figure in ("low", "typical", "high"):
            assert getattr(a, figure) <= getattr(b, figure) * (1 + 1e-12), name


@given(kinds, st.floats(20, 3000), st.floats(1, 4))
def test_more_floor_area_never_measures_less(kind: RoomKind, area: float, factor: float) -> None:
    small = Room(name="x", kind=kind, floor_area_sqft=area)
    large = Room(name="x", kind=kind, floor_area_sqft=area * factor)
    for name in MEASURES:
        a, b = measure(name, small), measure(name, large)
        for figure in ("low", "typical", "high"):
            assert getattr(a, figure) <= getattr(b, figure) * (1 + 1e-12), name


@given(st.floats(0, 1e5), st.floats(0.1, 1e3))
def test_whole_packs_hold_the_quantity_and_no_pack_is_idle(quantity: float, size: float) -> None:
    packs = whole_packs(quantity, size)
    assert packs * size >= quantity - 2e-6 * size
    assert packs == 0 or (packs - 1) * size < quantity


positive = st.floats(0.01, 1e4)
ranges = st.tuples(positive, positive, positive).map(
    lambda x: Range(low=sorted(x)[0], typical=sorted(x)[1], high=sorted(x)[2])
)


@given(ranges, ranges, ranges)
def test_a_product_lies_within_the_corners(a: Range, b: Range, c: Range) -> None:
    found = product(a, b, c)
    assert found.typical == pytest.approx(a.typical * b.typical * c.typical)
    assert found.low >= a.low * b.low * c.low * (1 - 1e-9)
    assert found.high <= a.high * b.high * c.high * (1 + 1e-9)


@given(ranges, ranges, st.floats(1, 5), st.sampled_from(["low", "typical", "high"]))
def test_a_product_never_falls_when_a_factor_rises(
    a: Range, b: Range, more: float, upto: str
) -> None:
    names = ["low", "typical", "high"]
    raised = {n: getattr(a, n) * (more if names.index(n) >= names.index(upto) else 1.0)
              for n in names}  # fmt: skip
    before, after = product(a, b), product(Range(**raised), b)
    for name in names:
        assert getattr(after, name) >= getattr(before, name) * (1 - 1e-9)


def test_a_product_of_lognormals_has_the_percentiles_that_are_drawn() -> None:
    # Checked against numpy's draws: 10th and 90th percentile lie 1.2816 standard deviations out.
    rng = np.random.default_rng(4)
    factors, draws = [], np.ones(400_000)
    for median, spread in ((3.0, 0.3), (50.0, 0.2), (1.4, 0.25)):
        draws *= rng.lognormal(log(median), spread, draws.size)
        edge = float(np.exp(1.2815516 * spread))
        factors.append(Range(low=median / edge, typical=median, high=median * edge))
    found = product(*factors)
    drawn = np.percentile(draws, [10, 50, 90])
    assert [found.low, found.typical, found.high] == pytest.approx(drawn.tolist(), rel=0.01)


def test_a_product_with_a_zero_is_zero_there() -> None:
    got = product(Range(low=0, typical=30, high=60), Range.exactly(2))
    assert (got.low, got.typical, got.high) == (0, 60, 120)
    assert product(Range.exactly(0), Range.exactly(5)) == Range.exactly(0)
    assert product(Range(low=0, typical=0, high=4), Range.exactly(5)).high == 20
    with pytest.raises(ValueError, match="negative"):
        product(Range(low=-1, typical=0, high=1))
