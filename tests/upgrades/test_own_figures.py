"""A user's own figure in a price row or a wage."""

from __future__ import annotations

from datetime import date

import pytest

from scorer.errors import InputError
from scorer.upgrades.own_figures import with_own_figure
from scorer.upgrades.pricebook import load_price_book

TODAY = date(2026, 5, 30)
PAINT = load_price_book().row("wall_paint")
WAGE = load_price_book().wages["painter"]


def test_the_row_says_whose_figure_it_is_and_of_when():
    own = with_own_figure(PAINT, "typical_usd", 36.0, PAINT.label, TODAY)
    assert (own.typical_usd, own.source, own.date) == (36.0, "own figure", "2026-05-30")
    assert (own.low_usd, own.high_usd) == (PAINT.low_usd, PAINT.high_usd)


@pytest.mark.parametrize(
    ("field", "value", "three"),
    [
        ("typical_usd", 90.0, (25.0, 90.0, 90.0)),
        ("typical_usd", 10.0, (10.0, 10.0, 50.0)),
        ("low_usd", 60.0, (60.0, 60.0, 60.0)),
        ("high_usd", 20.0, (20.0, 20.0, 20.0)),
    ],
)
def test_the_other_two_give_way_as_far_as_they_must(field, value, three):
    own = with_own_figure(PAINT, field, value, PAINT.label, TODAY)
    assert (own.low_usd, own.typical_usd, own.high_usd) == three


def test_wages_have_their_step_in_the_middle_of_the_name():
    own = with_own_figure(WAGE, "typical_usd_per_hour", 99.0, "painter", TODAY)
    assert own.high_usd_per_hour == 99.0
    slow = with_own_figure(WAGE, "own_pace_low", 3.0, "painter", TODAY)
    assert slow.own_pace_high == 3.0
    hired = with_own_figure(WAGE, "own_possible", False, "painter", TODAY)
    assert not hired.own_possible
    assert hired.own_pace == WAGE.own_pace


def test_a_source_that_is_typed_is_kept_and_a_wrong_figure_is_named():
    own = with_own_figure(PAINT, "source", "receipt of May", PAINT.label, TODAY)
    assert own.source == "receipt of May"
    with pytest.raises(InputError, match=f"{PAINT.label}, field low_usd"):
        with_own_figure(PAINT, "low_usd", -5.0, PAINT.label, TODAY)
