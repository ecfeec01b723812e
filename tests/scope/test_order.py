"""Order of work and calendar: nothing starts before what it waits for."""

from __future__ import annotations

from graphlib import TopologicalSorter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.records import Range
from scorer.scope.calendar import LOOK_DAYS, TRADE_LEAD_DAYS, make_calendar
from scorer.scope.holds import holds_of_scope
from scorer.scope.order import in_order, waits_for
from scorer.settings import Settings
from tests.scope.invented import hired, hold, option, random_case, spread

PAINT = option("walls_paint", stage=50, hours=8, drying_hours=4)
FLOOR = option("floor_plank", stage=60, hours=10)
TILE = option("tile", "bathroom", stage=60, hours=12, drying_hours=24)
GROUT = option("grout", "bathroom", stage=60, hours=3, after=("bathroom: tile",))
DEMOLITION = option("tear_out", "bathroom", stage=10, hours=5)


def test_wet_before_finish_and_paint_before_floor() -> None:
    ordered = in_order([GROUT, FLOOR, TILE, PAINT, DEMOLITION])
    assert [o.upgrade for o in ordered] == [
        "tear_out",
        "walls_paint",
        "floor_plank",
        "tile",
        "grout",
    ] or [o.upgrade for o in ordered] == [
        "tear_out",
        "walls_paint",
        "tile",
        "grout",
        "floor_plank",
    ]


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_order_and_calendar_keep_every_wait(seed: int) -> None:
    options, holds = random_case(seed)
    options = [
        o.model_copy(
            update={
                "stage": (i * 37 + seed) % 90,
                "needs": (),
                "after": tuple(n for n in o.needs),
                "drying_hours": float((seed + i) % 30),
            }
        )
        for i, o in enumerate(options)
    ]
    by_id = {o.id: o for o in options}
    options = [
        o.model_copy(update={"after": tuple(a for a in o.after if by_id[a].stage <= o.stage)})
        for o in options
    ]
    scope_holds = holds_of_scope(holds, options)
    ordered = in_order(options, scope_holds)
    assert sorted(o.id for o in ordered) == sorted(by_id)
    waiting = waits_for(options, scope_holds)
    graph = {i: [w for w in ids if w in by_id] for i, ids in waiting.items()}
    try:
        TopologicalSorter(graph).prepare()
    except ValueError:  # waits that contradict each other: no order can keep them all
        return
    place = {o.id: n for n, o in enumerate(ordered)}
    assert all(place[w] < place[i] for i, ids in graph.items() for w in ids)
    tasks = {t.option: t for t in make_calendar(ordered, scope_holds, Settings()).tasks}
    for identifier, ids in waiting.items():
        for before in ids:
            dry = by_id[before].drying_hours / 24 if before in by_id else 0.0
            assert tasks[before].end_day + dry <= tasks[identifier].start_day + 1e-9


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_a_hold_always_precedes_what_it_guards(seed: int) -> None:
    options, holds = random_case(seed)
    options = [o.model_copy(update={"stage": (i * 53 + seed) % 90}) for i, o in enumerate(options)]
    scope_holds = holds_of_scope(holds, options)
    ordered = in_order(options, scope_holds)
    place = {o.id: n for n, o in enumerate(ordered)}
    tasks = {t.option: t for t in make_calendar(ordered, scope_holds, Settings()).tasks}
    for one in scope_holds:
        for guarded in one.stops:
            if guarded in one.cleared_by:
                continue
            assert tasks[one.id].end_day <= tasks[guarded].start_day + 1e-9
            for clearing in one.cleared_by:
                assert place[clearing] < place[guarded]


def test_what_a_hold_guards_waits_for_the_look_and_other_work_goes_on() -> None:
    leak = hold(stops=(TILE.id, GROUT.id))
    calendar = make_calendar(in_order([TILE, GROUT, PAINT, FLOOR], [leak]), [leak], Settings())
    starts = {t.option: t.start_day for t in calendar.tasks}
    assert starts[PAINT.id] == 0.0
    assert starts[TILE.id] == LOOK_DAYS
    assert {t.kind for t in calendar.tasks if t.option == leak.id} == {"look"}


def test_an_option_that_clears_the_hold_stands_for_the_look() -> None:
    alarm = option("smoke_alarm_fit", stage=70, hours=1)
    ceiling = option("ceiling_paint", stage=50, hours=4)
    missing = hold("missing_alarms", "bedroom", stops=(ceiling.id,), cleared_by=(alarm.id,))
    assert [o.id for o in in_order([ceiling, alarm], [missing])] == [alarm.id, ceiling.id]
    tasks = make_calendar(in_order([ceiling, alarm], [missing]), [missing], Settings()).tasks
    assert [t.option for t in tasks] == [alarm.id, missing.id, ceiling.id]
    assert tasks[0].start_day == 0.0


def test_paint_dries_before_the_floor_goes_down() -> None:
    calendar = make_calendar((PAINT, FLOOR), (), Settings(hours_per_week=28, helpers=0))
    paint, floor = calendar.tasks
    assert paint.end_day == pytest.approx(2.0)  # 8 h at 4 h a day
    assert floor.start_day == pytest.approx(2.0 + 4 / 24)
    assert calendar.weeks.typical == pytest.approx((floor.start_day + 2.5) / 7)


def test_a_hired_trade_comes_on_its_own_days() -> None:
    wiring = option("rewire", "kitchen", stage=20, hours=8, lines=(hired("electrician", 8),))
    tasks = make_calendar(in_order([wiring, PAINT]), (), Settings()).tasks
    by_id = {t.option: t for t in tasks}
    assert by_id[PAINT.id].start_day == 0.0
    assert by_id[wiring.id].start_day == TRADE_LEAD_DAYS
    assert by_id[wiring.id].end_day == pytest.approx(TRADE_LEAD_DAYS + 8 / 40 * 7)


def test_more_hands_never_take_longer_when_nothing_waits() -> None:
    work = [option(f"w{i}", f"bedroom {i}", hours=5 + i) for i in range(6)]
    weeks = [make_calendar(in_order(work), (), Settings(helpers=n)).weeks.typical for n in range(4)]
    assert weeks == sorted(weeks, reverse=True)
    assert weeks[0] == pytest.approx(sum(5 + i for i in range(6)) / 20)


def test_weeks_rise_from_low_to_high_hours() -> None:
    weeks = make_calendar(in_order([PAINT, FLOOR, TILE, GROUT]), (), Settings()).weeks
    assert weeks.low < weeks.typical < weeks.high


def test_a_refresh_of_one_flat_by_two_people_takes_four_to_five_weeks() -> None:
    """Common practice, no source: two people, 20 spare hours a week each.

    Hours from memory of usual rates: about 12 h a room for walls with preparation, 8 h for its
    floor, a day or two each for kitchen cabinets, bath, doors and trim, the porch and cleaning.
    """
    flat = []
    for room in ("bedroom 1", "bedroom 2", "kitchen"):
        flat += [
            option("walls", room, stage=50, hours=12, drying_hours=4),
            option("floor", room, stage=60, hours=8),
            option("trim", room, stage=80, hours=6, drying_hours=4),
        ]
    flat += [
        option("cabinets_paint", "kitchen", stage=55, hours=24, drying_hours=24),
        option("backsplash", "kitchen", stage=70, hours=10, drying_hours=24),
        option("bath", "bathroom", stage=40, hours=20, drying_hours=24),
        option("porch", "front", stage=80, hours=14, drying_hours=24),
        option("clean", "whole home", stage=90, hours=20),
    ]
    weeks = make_calendar(in_order(flat), (), Settings(hours_per_week=20, helpers=1)).weeks
    assert 4.0 <= weeks.typical <= 5.0


def test_nothing_takes_no_time() -> None:
    calendar = make_calendar((), (), Settings())
    assert calendar.tasks == ()
    assert calendar.weeks == Range.exactly(0)
    assert spread(0).high == 0
