"""The name of a file and its picture, weighed against each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.photos.room_kind import (
    KNOWN_KINDS,
    TOO_CAUTIOUS,
    WRONG_NAME,
    WRONG_WHERE_SURE,
    kind_chances,
    likeliest,
)


def test_rate_of_error_is_laplaces_rule_of_succession() -> None:
    # P. S. Laplace, "Essai philosophique sur les probabilités", 1814: (s + 1) / (n + 2).
    assert pytest.approx((0 + 1) / (339 + 2), abs=1e-4) == WRONG_WHERE_SURE


def test_odds_are_prior_odds_times_the_likelihood_ratio() -> None:
    # Bayes' rule in its odds form, e.g. E. T. Jaynes, "Probability Theory", 2003, eq. 4.7.
    seen = {"kitchen": 0.0, "bathroom": 0.0, "bedroom": 1.0, "front": 0.0, "unsure": 0.0}
    chances = kind_chances("bathroom", seen)
    prior = (WRONG_NAME / 3) / (1 - WRONG_NAME)
    ratio = (1 - WRONG_WHERE_SURE + WRONG_WHERE_SURE / 4) / (WRONG_WHERE_SURE / 4)
    assert chances["bedroom"] / chances["bathroom"] == pytest.approx(prior * ratio)
    assert chances["bedroom"] > 0.8


def test_agreement_makes_surer_and_no_answer_leaves_the_name() -> None:
    agreed = kind_chances("kitchen", {"kitchen": 0.7, "unsure": 0.3})
    silent = kind_chances("kitchen", {"unsure": 1.0})
    assert agreed["kitchen"] > silent["kitchen"] == pytest.approx(1 - WRONG_NAME)
    assert kind_chances("hall", {"bedroom": 1.0}) == {}
    assert kind_chances("kitchen", {}) == {}
    with pytest.raises(ValueError, match="empty"):
        likeliest({})


chance = st.floats(0, 1, allow_subnormal=False)


@given(
    st.sampled_from(KNOWN_KINDS),
    st.lists(chance, min_size=5, max_size=5).filter(lambda v: sum(v) > 1e-3),
)
def test_chances_sum_to_one_and_rise_with_the_answer(named: str, values: list[float]) -> None:
    kinds = (*KNOWN_KINDS, "unsure")
    seen = {kind: value / sum(values) for kind, value in zip(kinds, values, strict=True)}
    chances = kind_chances(named, seen)
    assert sum(chances.values()) == pytest.approx(1)
    assert all(0 < value < 1 for value in chances.values())
    others = [kind for kind in KNOWN_KINDS if kind != named]
    by_sight = sorted(others, key=lambda kind: seen[kind] ** TOO_CAUTIOUS)
    assert [chances[k] for k in by_sight] == sorted(chances[k] for k in others)
