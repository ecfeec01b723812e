"""The package's own catalogue and price book, from tags to scope and money."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding, Tag
from scorer.conditions.findings import apply_tags
from scorer.listing.listing import Listing
from scorer.money import outcome_of
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.scope import ScopeInput, plan_scope, view_budgets
from scorer.scope.order import waits_for
from scorer.settings import Aim, Settings
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.option import Option
from scorer.upgrades.options import build_options
from scorer.upgrades.pricebook import load_price_book

ROOMS = (
    Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=11, width_ft=10, height_ft=8),
    Room(name="bathroom", kind=RoomKind.BATHROOM, length_ft=8, width_ft=5, height_ft=8),
    Room(name="bedroom 1", kind=RoomKind.BEDROOM, length_ft=12, width_ft=11, height_ft=8),
    Room(name="bedroom 2", kind=RoomKind.BEDROOM, length_ft=10, width_ft=10, height_ft=8),
    Room(name="living room", kind=RoomKind.LIVING_ROOM, length_ft=15, width_ft=12, height_ft=8),
    Room(name="front", kind=RoomKind.FRONT),
)
EVERYWHERE = ("dark_walls", "dirty_trim", "tired_doors", "dated_light")
TIRED = {
    "kitchen": (
        *EVERYWHERE, "dated_kitchen", "cabinets_tired", "counter_worn", "backsplash_missing",
        "worn_vinyl", "range_dirty", "refrigerator_dirty", "faucet_worn", "failing_caulk",
    ),
    "bathroom": (
        *EVERYWHERE, "dated_bathroom", "failing_caulk", "grout_dirty", "tub_stained",
        "vanity_worn", "worn_vinyl",
    ),
    "bedroom 1": (
        *EVERYWHERE, "worn_carpet", "closet_dirty", "missing_window_screens", "dated_blinds",
        "closet_floor_missing",
    ),
    "bedroom 2": (
        *EVERYWHERE, "worn_carpet", "closet_dirty", "missing_window_screens", "dated_blinds",
    ),
    "living room": (*EVERYWHERE, "worn_carpet", "missing_window_screens", "dated_blinds"),
    "front": ("plain_front_door", "weathered_deck", "house_number_missing"),
}  # fmt: skip
HOME = Listing(
    home="tired flat",
    list_price_usd=90_000,
    bedrooms=2,
    living_area_sqft=850,
    year_built=1985,
    monthly_rent_usd=900,
)
RENT = Range.exactly(900.0)


def flat(*further: tuple[str, str, int]) -> tuple[tuple[Finding, ...], tuple[Option, ...]]:
    conditions = load_conditions()
    kinds = {room.name: room.kind for room in ROOMS}
    tags = [
        Tag(room=room, condition=condition, severity=2)
        for room, names in TIRED.items()
        for condition in names
        if kinds[room] in conditions[condition].room_kinds
    ]
    tags += [Tag(room=room, condition=c, severity=s) for room, c, s in further]
    findings = apply_tags((), tags, kinds)
    return findings, build_options(
        findings, ROOMS, load_catalogue(), load_price_book(), Settings(), RENT
    )


tired_flat = cache(flat)


def test_a_refresh_of_one_flat_by_two_people_takes_four_to_five_weeks() -> None:
    """Common practice, no source: two people in their spare time, here 20 h a week each; the hours
    are those of the price book, and everything that a tenant would see is done."""
    findings, options = tired_flat()
    given = Settings(aim="rent_lift", hours_per_week=20, helpers=1, budget_usd=8_000, weeks=6)
    scope = plan_scope(ScopeInput(options, findings, ROOMS, HOME), given)
    assert len(scope.options) > 40
    assert 4.0 <= scope.weeks.typical <= 5.0


def test_a_leak_found_at_the_viewing_stands_before_all_work_over_it() -> None:
    findings, options = flat(("bathroom", "leak_below_bath", 2), ("bathroom", "loose_tile", 3))
    given = Settings(aim="rent_lift", budget_usd=9_000)
    scope = plan_scope(ScopeInput(options, findings, ROOMS, HOME), given)
    days = {task.option: task for task in scope.calendar}
    assert {h.kind for h in scope.holds} == {"water_leak", "failed_waterproofing"}
    for hold in scope.holds:
        assert hold.stops
        assert all(days[hold.id].end_day <= days[i].start_day for i in hold.stops)


@pytest.mark.parametrize("aim", ["net_gain", "rent_lift", "return"])
def test_the_scope_keeps_its_limits_and_its_order(aim: Aim) -> None:
    findings, options = tired_flat()
    given = Settings(aim=aim, budget_usd=2_000, weeks=3, hours_per_week=15, helpers=1)
    scope = plan_scope(ScopeInput(options, findings, ROOMS, HOME), given)
    assert scope.options
    assert scope.cash_usd.typical <= given.budget_usd + 0.01
    places = [(o.room, o.ladder) for o in scope.options]
    assert len(places) == len(set(places))
    assert len(scope.options) + len(scope.left_out) == len(options)
    order = {o.id: n for n, o in enumerate(scope.options)}
    for identifier, before in waits_for(scope.options, scope.holds).items():
        assert all(order[b] < order[identifier] for b in before if b in order)
    stages = {o.id: o.stage for o in scope.options}
    for one in scope.options:
        floors = [o for o in scope.options if o.room == one.room and o.ladder == "floor"]
        if one.ladder == "walls" and floors:  # paint before floor
            assert order[one.id] < order[floors[0].id]
            assert stages[one.id] < floors[0].stage


def test_more_budget_earns_more_and_the_next_500_dollars_say_what_they_buy() -> None:
    findings, options = tired_flat()
    given = Settings(aim="rent_lift", budget_usd=1_500)
    view = view_budgets(ScopeInput(options, findings, ROOMS, HOME), given)
    budgets = [point.budget_usd for point in view.points]
    values = [point.choice.value for point in view.points]
    assert budgets == sorted(budgets)
    assert given.budget_usd in budgets
    assert all(b >= a - 1e-6 for a, b in pairwise(values))
    assert view.more.added
    assert view.more.lift_gain_usd > 0
    assert all(i in view.labels for i in view.more.added)


def test_the_money_follows_from_the_scope() -> None:
    findings, options = tired_flat()
    scope = plan_scope(ScopeInput(options, findings, ROOMS, HOME), Settings())
    outcome = outcome_of(scope, HOME, Settings(), RENT)
    assert outcome.net_gain_usd.p50 > 0
    assert scope.cost_usd.low < outcome.cost_usd.p10 < outcome.cost_usd.p90 < scope.cost_usd.high
    assert outcome.most_to_pay_usd is not None
    assert outcome.drivers
