"""A fit check on sizes that were estimated from a photo."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.fit import (
    RoomPlan,
    feet,
    fit_of_estimate,
    island_or_instead,
    plus_minus_in,
    simple_kitchen,
)
from scorer.records import Range

LONG = Range.exactly(16.0)


def kitchen(length_ft: float, width_ft: float) -> RoomPlan:
    return simple_kitchen(length_ft, width_ft, ["north"], ["east"], ["west"])


def small_island(plan: RoomPlan):
    return island_or_instead(plan, 42, 24)


def test_inches_to_feet_and_what_is_between():
    length = feet(Range(low=110, typical=118, high=126))
    assert length.typical == pytest.approx(118 / 12)
    assert plus_minus_in(length) == pytest.approx(8.0)


# NKBA kitchen planning guidelines 6 and 7: 25 in of range, a 42 in aisle, 24 in of island and a
# 36 in walkway need 127 in, 10 ft 7 in, of width.
@pytest.mark.parametrize(
    ("width_in", "verdict", "straddles", "words"),
    [
        (Range(low=130, typical=134, high=138), "pass", False, "also at 16 ft by 10 ft 10 in"),
        (Range(low=122, typical=128, high=134), "tight", True, "straddles the limit"),
        (Range(low=70, typical=74, high=78), "fails", False, "also at 16 ft by 6 ft 6 in"),
    ],
)
def test_the_verdict_is_sure_only_where_both_ends_share_it(width_in, verdict, straddles, words):
    found = fit_of_estimate(kitchen, LONG, feet(width_in), small_island)
    assert (found.result.verdict, found.straddles) == (verdict, straddles)
    assert words in found.doubt
    assert "Measure it at the viewing before you buy." in found.doubt
    assert found.plan.estimated


def test_what_fits_instead_is_named_for_the_small_end():
    width = feet(Range(low=122, typical=128, high=134))
    found = fit_of_estimate(kitchen, LONG, width, small_island)
    assert found.result.instead == small_island(kitchen(16.0, 122 / 12)).instead
    assert any("By the estimate it is" in c.sentence for c in found.result.checks)


def test_exact_sizes_leave_no_doubt():
    found = fit_of_estimate(kitchen, LONG, Range.exactly(12.0), small_island)
    assert found.doubt == ""
    assert found.result == small_island(kitchen(16.0, 12.0))
    assert not found.plan.estimated


def test_a_small_end_that_can_t_hold_its_door_does_not_fit():
    width = Range(low=2.0, typical=12.0, high=14.0)
    found = fit_of_estimate(kitchen, LONG, width, small_island)
    assert found.straddles
    assert found.result.verdict == "tight"


@settings(max_examples=25, deadline=None)
@given(st.floats(90, 180), st.floats(0, 30))
def test_a_sure_verdict_is_that_of_every_size_between(width_in: float, spread_in: float):
    width = feet(Range(low=width_in, typical=width_in + spread_in / 2, high=width_in + spread_in))
    found = fit_of_estimate(kitchen, LONG, width, small_island)
    if not found.straddles:
        for share in (0.25, 0.5, 0.75):
            between = width.low + share * (width.high - width.low)
            assert small_island(kitchen(16.0, between)).verdict == found.result.verdict
