"""Corrections from finished jobs: shrunken, two levels, and harmless without evidence."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.upgrades.learning import Corrections, FinishedJob, correct, learn
from scorer.upgrades.option import Line, Option


def line(kind: str, trade: str, cost: float, hours: float) -> Line:
    return Line(
        item=f"{kind}_{trade}",
        label=kind,
        kind=kind,
        unit="each",
        quantity=Range.exactly(1),
        cost_usd=Range(low=0.8 * cost, typical=cost, high=1.5 * cost),
        hours=Range(low=0.8 * hours, typical=hours, high=1.5 * hours),
        trade=trade,
    )


def option() -> Option:
    lines = (
        line("material", "own", 100, 0),
        line("labour", "own", 60, 3),
        line("labour", "plumber", 200, 2),
    )
    return Option(
        id="kitchen: faucet",
        room="kitchen",
        room_kind=RoomKind.KITCHEN,
        upgrade="faucet",
        label="New faucet",
        ladder="faucet",
        rung="replace",
        family="kitchen",
        lines=lines,
        cost_usd=lines[0].cost_usd + lines[1].cost_usd + lines[2].cost_usd,
        cash_usd=lines[0].cost_usd + lines[2].cost_usd,
        hours=lines[1].hours + lines[2].hours,
        rent_month_usd=Range.exactly(5),
        certainty=1,
        reasons=("drips",),
    )


def job(factor: float, **more) -> FinishedJob:
    return FinishedJob(
        upgrade=more.pop("upgrade", "faucet"),
        planned_cash_usd=100,
        actual_cash_usd=100 * factor,
        **more,
    )


def test_without_jobs_nothing_changes():
    assert correct(option(), learn(())) == option()
    assert learn(()) == Corrections()


def test_the_mean_is_shrunken_as_in_efron_and_morris():
    jobs = [job(2.0, trade="plumber"), job(1.5, trade="plumber")]
    trade = learn(jobs, prior_jobs=3).cash_by_trade["plumber"]
    assert trade.jobs == 2
    mean, weight = np.mean([log(2.0), log(1.5)]), 2 / (2 + 3)
    assert trade.factor == pytest.approx(exp(weight * mean))


def test_many_jobs_reach_the_truth():
    jobs = [job(1.3, trade="plumber") for _ in range(400)]
    got = learn(jobs)
    both = got.cash_by_trade["plumber"].factor * got.cash_by_upgrade["faucet"].factor
    assert both == pytest.approx(1.3, rel=0.01)


def test_an_upgrade_differs_from_its_trade():
    jobs = [job(2.0, upgrade="tub") for _ in range(20)] + [job(1.0) for _ in range(20)]
    got = learn(jobs)
    assert got.cash_by_upgrade["tub"].factor > 1.2
    assert got.cash_by_upgrade["faucet"].factor < 0.9


@given(st.lists(st.floats(0.3, 3.0), min_size=1, max_size=10))
def test_a_correction_lies_between_one_and_the_users_mean(factors):
    got = learn([job(f, trade="plumber") for f in factors]).cash_by_trade["plumber"].factor
    mean = exp(np.mean(np.log(factors)))
    assert min(1.0, mean) - 1e-9 <= got <= max(1.0, mean) + 1e-9


def test_hours_move_own_labour_and_cash_moves_the_rest():
    slow = learn(
        [
            FinishedJob(upgrade="other", trade="own", planned_hours=10, actual_hours=20)
            for _ in range(50)
        ]
    )
    before, after = option(), correct(option(), slow)
    assert after.hours.typical > before.hours.typical
    assert after.cash_usd == before.cash_usd
    assert after.cost_usd.typical > before.cost_usd.typical
    dear = learn([job(1.5, trade="plumber", upgrade="other") for _ in range(50)])
    after = correct(option(), dear)
    assert after.hours == before.hours
    assert after.lines[0] == before.lines[0]
    assert after.lines[2].cost_usd.typical > before.lines[2].cost_usd.typical


def test_one_slip_of_the_keyboard_is_not_believed():
    assert learn([job(1000.0)]).cash_by_trade["own"].factor <= exp(log(4) / 4) + 1e-9


def test_the_price_of_a_pack_follows_the_cost_of_its_line():
    dear = learn([job(1.5, trade="own", upgrade="other") for _ in range(50)])
    factor = dear.cash_by_trade["own"].factor
    priced = option().lines[0].model_copy(update={"pack_usd": Range.exactly(25)})
    before = option().model_copy(update={"lines": (priced, *option().lines[1:])})
    after = correct(before, dear).lines[0]
    assert factor > 1.2
    assert after.pack_usd.typical == pytest.approx(25 * factor)
    assert after.cost_usd.typical == pytest.approx(100 * factor)
