"""The shopping list follows what finished work taught, and its sums agree with the work's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.records import Range
from scorer.scope.purchases import merge_purchases
from scorer.upgrades.learning import FinishedJob, correct, learn
from scorer.upgrades.option import Line, Option
from tests.scope.invented import option


def paint(gallons: float, pack_usd: float = 30.0) -> Line:
    packs = -(-gallons // 1)
    return Line(
        item="wall_paint",
        label="Wall paint",
        kind="material",
        unit="gal",
        quantity=Range.exactly(gallons),
        buy=int(packs),
        pack="1 gal can",
        pack_usd=Range.exactly(pack_usd),
        cost_usd=Range.exactly(packs * pack_usd),
        hours=Range.exactly(0),
    )


def work(name: str, room: str, *lines: Line) -> Option:
    return option(name, room, lines=lines)


def learnt(factor: float, upgrade: str, count: int = 30):  # type: ignore[no-untyped-def]
    return learn(
        FinishedJob(upgrade=upgrade, planned_cash_usd=100, actual_cash_usd=100 * factor)
        for _ in range(count)
    )


@given(st.floats(0.3, 3.5), st.lists(st.integers(1, 9), min_size=1, max_size=4))
def test_whole_packs_cost_on_the_list_what_they_cost_in_the_work(factor, gallons):
    options = [work("walls", f"bedroom {n}", paint(float(g))) for n, g in enumerate(gallons, 1)]
    corrections = learnt(factor, "walls")
    corrected = [correct(o, corrections) for o in options]
    (bought,) = merge_purchases(corrected)
    assert bought.cost_usd.typical == pytest.approx(sum(o.cost_usd.typical for o in corrected))
    assert bought.buy == sum(gallons)


def test_one_can_for_two_kinds_of_work_costs_the_mean_by_quantity():
    corrections = learnt(2.0, "trim")
    options = [
        correct(o, corrections)
        for o in (work("walls", "bedroom 1", paint(3)), work("trim", "bedroom 2", paint(1)))
    ]
    walls, trim = (o.lines[0].pack_usd.typical for o in options)
    assert trim > walls > 30
    (bought,) = merge_purchases(options)
    assert bought.cost_usd.typical == pytest.approx(4 * (3 * walls + trim) / 4)
    assert bought.cost_usd.typical == pytest.approx(sum(o.cost_usd.typical for o in options))


def test_without_corrections_the_list_is_as_before():
    options = [work("walls", "bedroom 1", paint(2.5)), work("trim", "bedroom 2", paint(0.4))]
    (bought,) = merge_purchases(options)
    assert (bought.buy, bought.cost_usd) == (3, Range.exactly(90.0))
