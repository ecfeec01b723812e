"""What homes let for after the work: weighed by precision, harmless without evidence."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from scorer.money.draws import COMMON_RENT_SHARE, NORMAL_P90
from scorer.money.lettings import (
    LETTING_SD,
    MOST_RATIO,
    PRIOR_SD,
    Letting,
    RentCorrection,
    learn_rent,
    options_after_lettings,
)
from scorer.upgrades.catalogue import load_catalogue
from tests.scope.invented import option


def letting(came: float, planned: float = 80.0, before: float = 900.0, **more: float) -> Letting:
    return Letting(
        rent_before_usd=before,
        rent_usd=before + came,
        planned_lift_usd=planned,
        **more,
    )


def test_without_lettings_nothing_changes():
    assert learn_rent(()) == RentCorrection(factor=1.0, sd=PRIOR_SD, lettings=0, weight=0.0)
    options = (option("paint", rent=20),)
    assert options_after_lettings(options, learn_rent(())) == options


def test_the_prior_is_what_the_catalogues_ranges_have_in_common():
    rents = [u.rent_percent for u in load_catalogue() if u.rent_percent.typical > 0]
    wide = sum(r.high - r.low for r in rents) / (2 * NORMAL_P90 * sum(r.typical for r in rents))
    assert pytest.approx(wide * COMMON_RENT_SHARE**0.5, abs=0.05) == PRIOR_SD


def test_the_factor_is_that_of_weighted_least_squares_with_the_prior_as_a_row():
    """statsmodels' WLS, an independent implementation, with the catalogue's word as a row."""
    came, planned, before = [60.0, 10.0, 150.0], [80.0, 40.0, 120.0], [900.0, 650.0, 1_200.0]
    sd_before = [0.0, 0.2, 0.05]
    got = learn_rent(
        letting(c, p, b, before_sd=s)
        for c, p, b, s in zip(came, planned, before, sd_before, strict=True)
    )
    ratios = [1.0, *(c / p for c, p in zip(came, planned, strict=True))]
    spreads = [
        PRIOR_SD,
        *(
            np.hypot(LETTING_SD * (b + c), s * b) / p
            for c, p, b, s in zip(came, planned, before, sd_before, strict=True)
        ),
    ]
    weights = 1.0 / np.square(spreads)
    fitted = sm.WLS(ratios, np.ones(4), weights=weights).fit()
    assert got.factor == pytest.approx(fitted.params[0])
    assert got.sd == pytest.approx(np.sqrt(fitted.normalized_cov_params[0, 0]))
    assert got.weight == pytest.approx(1.0 - weights[0] / weights.sum())
    assert got.lettings == 3


def test_ranges_hold_the_truth_as_often_as_they_say():
    """Users drawn from the prior, rents with the stated scatter: 80 % ranges hold 80 %."""
    rng = np.random.default_rng(4)
    held = error = blind = 0.0
    users = 2_000
    for truth in np.maximum(rng.normal(1.0, PRIOR_SD, users), 0.0):
        rents = [letting(80 * truth + rng.normal(0, LETTING_SD * 980), 80.0) for _ in range(3)]
        got = learn_rent(rents)
        held += abs(truth - got.factor) <= 1.2816 * got.sd
        error += (truth - got.factor) ** 2
        blind += (truth - 1.0) ** 2
    assert held / users == pytest.approx(0.8, abs=0.04)
    assert error < 0.75 * blind


@given(st.lists(st.floats(-200, 400), min_size=1, max_size=8))
def test_a_correction_lies_between_the_catalogue_and_what_came(came: list[float]):
    got = learn_rent(letting(c) for c in came)
    ratios = [max(-MOST_RATIO, min(MOST_RATIO, c / 80.0)) for c in came]
    assert max(0.0, min(1.0, *ratios)) - 1e-9 <= got.factor <= max(1.0, *ratios) + 1e-9
    assert 0 < got.weight < 1


def test_more_lettings_weigh_more_and_a_guessed_rent_before_weighs_less():
    one, three = learn_rent([letting(40)]), learn_rent([letting(40)] * 3)
    guessed = learn_rent([letting(40, before_sd=0.25)])
    assert guessed.weight < one.weight < three.weight
    assert three.factor < one.factor < guessed.factor < 1.0


def test_a_letting_without_planned_work_says_nothing_of_work():
    assert learn_rent([letting(300, planned=0.0)]) == RentCorrection()


def test_the_rises_follow_and_nothing_else():
    before = (option("paint", rent=20), option("leak", rent=0))
    after = options_after_lettings(before, RentCorrection(factor=0.8, lettings=2, weight=0.4))
    assert after[0].rent_month_usd == before[0].rent_month_usd.scaled(0.8)
    assert after[0].cost_usd == before[0].cost_usd
    assert after[1] == before[1]


@pytest.mark.parametrize("wrong", [{"rent_usd": 0}, {"rent_usd": -5}, {"planned_lift_usd": -1}])
def test_what_is_no_rent_is_refused(wrong: dict[str, float]):
    with pytest.raises(ValidationError):
        Letting(**({"rent_before_usd": 900, "rent_usd": 950} | wrong))
