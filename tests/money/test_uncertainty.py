"""Draws meet their ranges, and what is made of them agrees with scipy and with exact figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm, spearmanr

from scorer.listing.listing import Listing
from scorer.money.chances import load_unseen_kinds
from scorer.money.draws import (
    COMMON_PRICE_SHARE,
    NORMAL_P90,
    chance_better,
    draw_scope,
    split_quantile,
)
from scorer.money.uncertainty import find_drivers, outcome_of, payback_of
from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.scope.lift import home_lift, joint_lift
from scorer.scope.plan import Hold, Scope
from scorer.settings import Settings
from scorer.upgrades.option import Option
from tests.scope.invented import hold, option

HOME = Listing(home="invented home", monthly_rent_usd=900)
GIVEN = Settings()


def scope(
    options: list[Option],
    holds: tuple[Hold, ...] = (),
    weeks: float = 0.0,
    ceiling: float | None = None,
) -> Scope:
    nothing = Range.exactly(0.0)
    return Scope(
        options=tuple(options),
        holds=holds,
        keeps=(),
        left_out=(),
        purchases=(),
        calendar=(),
        cost_usd=sum((o.cost_usd for o in options), nothing),
        cash_usd=sum((o.cash_usd for o in options), nothing),
        hours=sum((o.hours for o in options), nothing),
        rent_month_usd=joint_lift(options, ceiling),
        weeks=Range.exactly(weeks),
        lift_ceiling_usd=ceiling,
    )


def exact(name: str, room: str, cost: float, rent: float, certainty: float = 1.0) -> Option:
    return option(
        name,
        room,
        cost_usd=Range.exactly(cost),
        rent_month_usd=Range.exactly(rent),
        certainty=certainty,
    )


def test_ninetieth_percentile_of_the_standard_normal() -> None:
    assert pytest.approx(float(norm.ppf(0.9)), abs=1e-15) == NORMAL_P90


ranges = st.tuples(st.floats(-50, 500), st.floats(0, 300), st.floats(0, 900)).map(
    lambda t: Range(low=t[0], typical=t[0] + t[1], high=t[0] + t[1] + t[2])
)


@given(given_range=ranges)
def test_low_typical_and_high_are_the_percentiles(given_range: Range) -> None:
    score = norm.ppf([[0.1], [0.5], [0.9]])
    low, typical, high = split_quantile([given_range], score)[:, 0]
    assert low == pytest.approx(given_range.low, rel=1e-9, abs=1e-9)
    assert typical == pytest.approx(given_range.typical, rel=1e-9, abs=1e-9)
    assert high == pytest.approx(given_range.high, rel=1e-9, abs=1e-9)


def test_a_row_keeps_its_percentiles_under_the_common_shock() -> None:
    one = option("a", cost_usd=Range(low=100, typical=180, high=420))
    cost = draw_scope(scope([one]), "home", GIVEN, draws=60_000).cost_usd
    # standard error of a sample percentile here is under 1 %
    assert np.quantile(cost, (0.1, 0.5, 0.9)) == pytest.approx((100, 180, 420), rel=0.03)


def test_common_shocks_widen_the_sum() -> None:
    """20 equal normal rows: variance 20 + 20·19·rho against 20 of independent ones."""
    rows = [
        option(f"o{i}", cost_usd=Range(low=-10, typical=0, high=10)) for i in range(20)
    ]  # negative low: plain normal, sd 10 / 1.2816
    cost = draw_scope(scope(rows), "home", GIVEN, draws=60_000).cost_usd
    expected = 10 / NORMAL_P90 * np.sqrt(20 + 20 * 19 * COMMON_PRICE_SHARE)
    assert cost.std() == pytest.approx(expected, rel=0.02)


def test_exact_figures_come_out_exactly() -> None:
    plan = scope([exact("a", "kitchen", 900, 30), exact("b", "kitchen", 300, 10)], weeks=13 / 3)
    found = outcome_of(plan, HOME, GIVEN)
    lift = 0.6 * 40 + 0.4 * 30
    assert found.cost_usd.p10 == found.cost_usd.p90 == pytest.approx(1_200)
    assert found.rent_lift_month_usd.p50 == pytest.approx(lift)
    assert found.payback_months is not None
    assert found.payback_months.p50 == pytest.approx(1_200 / lift)
    assert found.return_on_cost is not None
    assert found.return_on_cost.p50 == pytest.approx(12 * lift * 0.93 / 1_200)
    assert found.value_created_usd.p50 == pytest.approx(12 * lift * 0.93 / 0.08)
    assert found.lost_rent_usd == pytest.approx(900)
    assert found.net_gain_usd.p50 == pytest.approx(60 * 0.93 * lift - 900 - 1_200 * 0.7)
    assert found.payback_within_limit == 1.0


def test_a_cause_that_is_not_there_costs_and_earns_nothing() -> None:
    drawn = draw_scope(scope([exact("a", "kitchen", 500, 20, certainty=0.3)]), "home", GIVEN)
    assert set(np.unique(drawn.cost_usd)) == {0.0, 500.0}
    assert (drawn.lift_usd > 0).mean() == pytest.approx(0.3, abs=0.02)
    assert ((drawn.cost_usd > 0) == (drawn.lift_usd > 0)).all()


def test_options_with_one_cause_come_and_go_together() -> None:
    pair = [
        exact("a", "kitchen", 100, 5, 0.5).model_copy(update={"reasons": ("dated",)}),
        exact("b", "kitchen", 200, 5, 0.5).model_copy(update={"reasons": ("dated",)}),
    ]
    drawn = draw_scope(scope(pair), "home", GIVEN)
    assert set(np.unique(drawn.cost_usd)) == {0.0, 300.0}


@settings(max_examples=30, deadline=None)
@given(
    rents=st.lists(st.tuples(st.integers(0, 2), st.floats(0, 50)), min_size=1, max_size=9),
    ceiling=st.one_of(st.none(), st.floats(0, 100)),
)
def test_lift_in_the_draws_is_the_lift_of_the_choice(
    rents: list[tuple[int, float]], ceiling: float | None
) -> None:
    options = [exact(f"o{i}", f"bedroom {r}", 10, v) for i, (r, v) in enumerate(rents)]
    rooms: dict[str, list[float]] = {}
    for one in options:
        rooms.setdefault(one.room, []).append(one.rent_month_usd.typical)
    plan = scope(options, ceiling=ceiling)
    drawn = draw_scope(plan, "home", GIVEN, draws=3)
    assert drawn.lift_usd == pytest.approx(home_lift(rooms, ceiling))
    assert plan.rent_month_usd.typical == pytest.approx(home_lift(rooms, ceiling))


def test_a_hold_costs_its_allowance_times_its_probability_on_average() -> None:
    leak = hold(allowance_usd=Range.exactly(1_000.0), probability=0.4)
    found = draw_scope(scope([exact("a", "kitchen", 10, 5)], (leak,)), "home", GIVEN)
    assert found.cost_usd.mean() == pytest.approx(10 + 400, rel=0.03)


def test_harmless_undisturbed_costs_nothing_where_the_work_falls_away() -> None:
    windows = exact("windows", "bedroom", 100, 5, certainty=0.5)
    lead = hold(
        "lead_paint",
        "whole home",
        stops=(windows.id,),
        only_if_disturbed=True,
        allowance_usd=Range.exactly(700.0),
    )
    drawn = draw_scope(scope([windows], (lead,)), "home", GIVEN)
    assert set(np.unique(drawn.cost_usd)) == {0.0, 800.0}


def test_a_room_that_nobody_has_seen_widens_the_cost_and_never_lowers_it() -> None:
    plan = scope([option("a", "kitchen", cost=800, rent=20)])
    seen = outcome_of(plan, HOME, GIVEN)
    unseen = {"bathroom": RoomKind.BATHROOM, "basement": RoomKind.BASEMENT}
    blind = outcome_of(plan, HOME, GIVEN, unseen=unseen)
    assert blind.cost_usd.p90 > seen.cost_usd.p90 + 500
    assert blind.cost_usd.p10 >= seen.cost_usd.p10
    assert blind.net_gain_usd.p10 < seen.net_gain_usd.p10
    assert blind.rent_lift_month_usd == seen.rent_lift_month_usd
    assert any(d.name == "Not seen: basement" for d in blind.drivers)
    trouble = draw_scope(plan, "home", GIVEN, unseen=unseen).unseen_cost["bathroom"]
    chance = load_unseen_kinds()[RoomKind.BATHROOM].chance_trouble
    assert (trouble > 0).mean() == pytest.approx(chance, abs=0.02)


def test_simple_payback_and_return_on_cost_of_the_trade() -> None:
    """$900 of work for $45 a month is back in 20 months; $50 a month is a fifth of $3,000 a year.

    Simple payback and cash return as property-management textbooks have them, from memory.
    """
    let = Settings(vacancy=0.0)
    paid = outcome_of(scope([exact("a", "kitchen", 900, 45)]), HOME, let)
    assert paid.payback_months is not None
    assert paid.payback_months.p10 == paid.payback_months.p90 == 20
    earned = outcome_of(scope([exact("a", "kitchen", 3_000, 50)]), HOME, let)
    assert earned.return_on_cost is not None
    assert earned.return_on_cost.p50 == pytest.approx(0.2)


def test_rent_lost_is_that_of_the_weeks_without_a_tenant() -> None:
    """Four of the 52 weeks of a year at $1,300 a month: 4 / 52 of $15,600."""
    home = Listing(home="invented home", monthly_rent_usd=1_300)
    lost = outcome_of(scope([exact("a", "kitchen", 10, 5)], weeks=4), home, GIVEN).lost_rent_usd
    assert lost == pytest.approx(1_200)


def test_payback_is_unknown_where_the_lift_may_be_nil() -> None:
    found = outcome_of(scope([exact("a", "kitchen", 500, 0)]), HOME, GIVEN)
    assert found.payback_months is None
    assert found.payback_within_limit == 0.0
    rare = [exact("a", "kitchen", 500, 0), exact("b", "kitchen", 10, 20, certainty=0.5)]
    assert outcome_of(scope(rare), HOME, GIVEN).payback_months is None


def test_nothing_done_costs_and_earns_nothing() -> None:
    found = outcome_of(scope([]), HOME, GIVEN)
    assert found.cost_usd.p90 == found.net_gain_usd.p50 == 0.0
    assert found.payback_months is None
    assert found.return_on_cost is None
    assert found.drivers == ()
    assert found.most_to_pay_usd is not None
    assert outcome_of(scope([]), Listing(home="x"), GIVEN).most_to_pay_usd is None


def test_the_same_seed_gives_the_same_outcome_and_another_does_not() -> None:
    plan = scope([option("a", "kitchen"), option("b")])
    first = outcome_of(plan, HOME, GIVEN)
    assert outcome_of(plan, HOME, GIVEN) == first
    assert outcome_of(plan, HOME, Settings(seed=7)) != first


def test_wear_within_the_holding_time_is_paid_again() -> None:
    short = exact("wash", "bedroom", 100, 5).model_copy(update={"durability_years": 2.0})
    drawn = draw_scope(scope([short]), "home", GIVEN, draws=2)
    assert drawn.net_gain_usd == pytest.approx(60 * 0.93 * 5 - 100 * 2.5)
    assert drawn.cost_usd == pytest.approx(100)


def test_what_outlasts_the_holding_time_gives_part_of_its_cost_back() -> None:
    """Half of a 10-year job is used in 5; at sale 60 % of the other half comes back."""
    long = exact("floor", "bedroom", 1_000, 5)
    drawn = draw_scope(scope([long]), "home", GIVEN, draws=2)
    assert drawn.net_gain_usd == pytest.approx(60 * 0.93 * 5 - 1_000 + 0.6 * 500)


def test_drivers_agree_with_scipy_spearman() -> None:
    plan = scope([option("big", "kitchen", cost=3_000, rent=60), option("small", cost=50, rent=2)])
    drawn = draw_scope(plan, "home", GIVEN, Range(low=800, typical=900, high=1_000), draws=4_000)
    drivers = {d.name: d.correlation for d in find_drivers(drawn, GIVEN)}
    level = float(spearmanr(drawn.rent_level, drawn.net_gain_usd).statistic)
    price = float(spearmanr(drawn.price_level, drawn.net_gain_usd).statistic)
    assert drivers["Rent level of the place"] == pytest.approx(level, abs=1e-12)
    assert drivers["Price level of all work"] == pytest.approx(price, abs=1e-12)
    assert price < 0 < level
    row = float(spearmanr(drawn.option_lift[:, 0], drawn.net_gain_usd).statistic)
    shared = float(spearmanr(drawn.option_lift[:, 0], drawn.rent_level).statistic)
    part = (row - shared * level) / np.sqrt(1 - shared**2)  # semipartial correlation
    assert drivers["Rent from: Big (kitchen)"] == pytest.approx(part, abs=1e-9)
    sizes = [abs(d.correlation) for d in find_drivers(drawn, GIVEN)]
    assert sizes == sorted(sizes, reverse=True)


def test_common_random_numbers_make_the_comparison_of_homes_sharper() -> None:
    good = [option("a", "kitchen", cost=1_000, rent=30)]
    better = [option("a", "kitchen", cost=1_000, rent=36)]
    a, b = draw_scope(scope(good), "home A", GIVEN), draw_scope(scope(better), "home B", GIVEN)
    alone = draw_scope(scope(better), "home B", Settings(seed=1))
    assert chance_better(a, a) == 0.5
    assert chance_better(b, a) == pytest.approx(1 - chance_better(a, b))
    assert chance_better(b, a) > chance_better(alone, a) > 0.5
    assert (a.price_level == b.price_level).all()


def test_payback_of_draws_has_no_number_where_nothing_is_spent() -> None:
    drawn = draw_scope(scope([exact("a", "kitchen", 500, 20, certainty=0.5)]), "home", GIVEN)
    months = payback_of(drawn)
    assert np.isnan(months[drawn.cost_usd == 0]).all()
    assert months[drawn.cost_usd > 0] == pytest.approx(25)
