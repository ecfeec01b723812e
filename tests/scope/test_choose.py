"""The chosen scope is the exact optimum, checked against trying every set of options."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.scope.choose import Choice, choose, frontier, what_more_buys
from scorer.scope.plan import Hold
from scorer.scope.worth import Present
from scorer.settings import Aim, Settings
from scorer.upgrades.option import Option
from tests.scope.invented import hold, option, random_case

RENT = 900.0


def _value(
    chosen: list[Option],
    holds: list[Hold],
    given: Settings,
    ceiling: float | None,
    price: float,
) -> float:
    """The aim's value, written out anew from the documented formulas."""
    rooms = {o.room for o in chosen}
    lift = 0.0
    for room in rooms:
        lifts = [o.certainty * o.rent_month_usd.typical for o in chosen if o.room == room]
        lift += 0.6 * sum(lifts) + 0.4 * max(lifts)
    if ceiling is not None:
        lift = min(lift, ceiling)
    allowance = _allowances(chosen, holds)
    cost = sum(o.certainty * o.cost_usd.typical for o in chosen) + allowance
    if given.aim == "rent_lift":
        return lift - 1e-6 * cost
    if given.aim == "return":
        rent = RENT if price else 0.0
        return 12 * (1 - given.vacancy) * (rent + lift) / max(1.0, price + cost)
    lasting = 0.0
    for o in chosen:
        used = given.holding_years / o.durability_years
        share = used if used >= 1 else 0.4 + 0.6 * used
        lasting += o.certainty * o.cost_usd.typical * share
    weeks = sum(o.certainty * o.hours.typical for o in chosen) / (
        given.hours_per_week * (1 + given.helpers)
    )
    months = 12 * given.holding_years * (1 - given.vacancy)
    return months * lift - lasting - allowance - RENT * 12 / 52 * weeks


def _allowances(chosen: list[Option], holds: list[Hold]) -> float:
    ids = {o.id for o in chosen}
    total = 0.0
    for one in holds:
        due = bool(ids & set(one.stops)) and not ids & set(one.cleared_by)
        if not one.cleared_by and not one.only_if_disturbed:
            due = True
        total += due * one.probability * one.allowance_usd.typical
    return total


def _allowed(chosen: tuple[Option, ...], holds: list[Hold], given: Settings) -> bool:
    ids = {o.id for o in chosen}
    places = [(o.room, o.ladder) for o in chosen]
    fixed = _allowances([], holds)
    money = sum(o.cash_usd.typical for o in chosen) + _allowances(list(chosen), holds) - fixed
    return (
        len(places) == len(set(places))
        and all(set(o.needs) <= ids and not set(o.excludes) & ids for o in chosen)
        and money <= max(0.0, given.budget_usd - fixed) + 1e-6
        and sum(o.hours.typical for o in chosen)
        <= given.weeks * given.hours_per_week * (1 + given.helpers) + 1e-6
    )


def _brute_force(
    options: list[Option],
    holds: list[Hold],
    given: Settings,
    ceiling: float | None,
    price: float,
) -> tuple[int, float]:
    """Most required ladders that can be done, and the best value with that many."""
    best = (-1, 0.0)
    for size in range(len(options) + 1):
        for chosen in combinations(options, size):
            if not _allowed(chosen, holds, given):
                continue
            done = len({(o.room, o.ladder) for o in chosen if o.required})
            found = (done, _value(list(chosen), holds, given, ceiling, price))
            best = max(best, found)
    return best


def _required_done(options: list[Option], choice: Choice) -> int:
    return len({(o.room, o.ladder) for o in options if o.required and o.id in choice.options})


@pytest.mark.parametrize("aim", ["net_gain", "rent_lift", "return"])
@pytest.mark.parametrize("seed", range(25))
def test_the_choice_is_as_good_as_trying_every_set(seed: int, aim: Aim) -> None:
    options, holds = random_case(seed)
    given = Settings(
        aim=aim, budget_usd=300 + 97 * seed, weeks=1 + seed % 3, hours_per_week=10, helpers=1
    )
    ceiling = (None, 25.0)[seed % 2]
    price = (0.0, 60_000.0, 90_000.0)[seed % 3]
    best = _brute_force(options, holds, given, ceiling, price)
    choice = choose(options, holds, given, present=Present(RENT, ceiling, price))
    chosen = [o for o in options if o.id in choice.options]
    assert _allowed(tuple(chosen), holds, given)
    assert _required_done(options, choice) == best[0]
    tolerance = 1e-9 if aim == "return" else 1e-4
    assert choice.value == pytest.approx(best[1], abs=tolerance, rel=1e-7)
    assert choice.value == pytest.approx(_value(chosen, holds, given, ceiling, price), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), low=st.floats(0, 2000), more=st.floats(0, 2000))
def test_more_budget_never_lowers_the_optimum(seed: int, low: float, more: float) -> None:
    options, holds = random_case(seed, count=14)
    small, big = (
        p.choice
        for p in frontier(options, holds, Settings(), (low, low + more), present=Present(RENT))
    )
    done_small, done_big = _required_done(options, small), _required_done(options, big)
    assert done_big >= done_small
    if done_big == done_small and not _always_due(holds, low):
        assert big.value >= small.value - 1e-6


def _always_due(holds: list[Hold], budget: float) -> bool:
    return _allowances([], holds) > budget


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_a_higher_price_never_raises_the_net_gain(seed: int) -> None:
    options, _ = random_case(seed, count=12)
    dearer = [
        o.model_copy(
            update={"cost_usd": o.cost_usd.scaled(1.3), "cash_usd": o.cash_usd.scaled(1.3)}
        )
        for o in options
        if not o.required
    ]
    plain = [o for o in options if not o.required]
    before = choose(plain, [], Settings(budget_usd=1500), present=Present(RENT))
    after = choose(dearer, [], Settings(budget_usd=1500), present=Present(RENT))
    assert after.value <= before.value + 1e-6


def test_required_work_comes_first_and_what_does_not_fit_is_named() -> None:
    options = [
        option("alarms", required=True, cash=60, rent=0),
        option("new_heater", required=True, cash=4000, rent=0),
        option("paint", cash=200, rent=20),
    ]
    choice = choose(options, [], Settings(budget_usd=100))
    assert choice.options == ("bedroom: alarms",)
    assert choice.required_left_out == ("bedroom: new_heater",)
    assert set(choose(options, [], Settings(budget_usd=5000)).options) == {o.id for o in options}


def test_one_rung_of_a_required_ladder_is_enough() -> None:
    options = [
        option("range_repair", "kitchen", ladder="range", rung="repair", required=True, rent=0),
        option("range_replace", "kitchen", ladder="range", rung="replace", required=True, cost=700),
    ]
    choice = choose(options, [], Settings(budget_usd=5000))
    assert len(choice.options) == 1
    assert choice.required_left_out == ()


def test_a_dearer_rung_that_cures_the_same_will_do_for_required_work() -> None:
    reset = option(
        "reset", ladder="toilet", rung="repair", required=True, rent=0, reasons=("rocks",)
    )
    new = option("new", ladder="toilet", rung="replace", rent=40, reasons=("rocks", "worn"))
    assert choose([reset, new], [], Settings()).options == (new.id,)
    assert choose([reset, new], [], Settings(), must=[new.id]).required_left_out == ()
    # One that is called for by something else does not mend what must be mended.
    other = new.model_copy(update={"reasons": ("worn",)})
    assert choose([reset, other], [], Settings()).options == (reset.id,)
    assert choose([reset, other], [], Settings(), must=[other.id]).required_left_out == (reset.id,)
    nothing = choose([reset, new], [], Settings(budget_usd=0))
    assert nothing.required_left_out == (reset.id,)


def test_must_haves_go_in_and_what_is_ruled_out_stays_out() -> None:
    options = [option("dear", rent=0, cost=900), option("good", rent=40, cost=100)]
    choice = choose(
        options,
        [],
        Settings(),
        must=["bedroom: dear", "bedroom: unheard_of"],
        must_not=["bedroom: good"],
    )
    assert choice.options == ("bedroom: dear",)
    assert choice.must_left_out == ("bedroom: unheard_of",)


def test_an_allowance_counts_against_work_that_disturbs_the_hold() -> None:
    windows = option("windows", cost=300, rent=8)
    old_paint = hold(
        "lead_paint", "whole home", stops=(windows.id,), only_if_disturbed=True, probability=1.0
    )
    # 8 × 55.8 brings 446; 300 × (0.4 + 0.6 × 5/10) is used up; the allowance is 400
    assert choose([windows], [], Settings()).options == (windows.id,)
    assert choose([windows], [old_paint], Settings()).options == ()
    assert choose([windows], [old_paint], Settings(budget_usd=650, aim="rent_lift")).options == ()


def test_more_money_buys_the_next_best_thing() -> None:
    options = [option("first", cost=400, rent=40), option("second", "kitchen", cost=500, rent=30)]
    more = what_more_buys(options, [], Settings(budget_usd=450), 500)
    assert more.added == ("kitchen: second",)
    assert more.dropped == ()
    assert more.lift_gain_usd == pytest.approx(30)
    assert more.value_gain == pytest.approx(30 * 12 * 5 * 0.93 - 500 * 0.7)


def test_the_solver_keeps_off_standard_output() -> None:
    code = (
        "from scorer.scope.program import quiet_stdout\n"
        "import os\n"
        "with quiet_stdout():\n"
        "    os.write(1, b'stray line')\n"
        "print('clean')"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout == "clean\n"


def test_the_return_takes_all_work_that_earns_more_than_the_home_does() -> None:
    """$900 a month for $90,000 is 11.2 % a year, vacancy off: work below that lowers the return."""
    options = [
        option("good", cost=1_000, rent=20),  # 22 % a year
        option("fair", "kitchen", cost=1_000, rent=12),  # 13 %
        option("poor", "bathroom", cost=1_000, rent=8),  # 9 %
    ]
    given = Settings(aim="return")
    both = choose(options, [], given, present=Present(900, None, 90_000))
    assert both.options == ("bedroom: good", "kitchen: fair")
    assert choose(options, [], given).options == ("bedroom: good",)


def test_nothing_on_offer_is_nothing_chosen() -> None:
    choice = choose([], [], Settings(), must=["x"])
    assert choice.options == ()
    assert choice.value == 0
    assert choice.must_left_out == ("x",)
