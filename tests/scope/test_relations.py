"""How the figures of a whole home must move when one thing about it is changed.

Metamorphic relations (T. Y. Chen, S. C. Cheung and S. M. Yiu, "Metamorphic testing: a new approach
for generating next test cases", HKUST-CS98-01, 1998): no figure is known beforehand, but it is
known which way each must go.
"""

from __future__ import annotations

from itertools import pairwise, permutations

import pytest

from scorer.conditions.finding import Evidence, Finding
from scorer.listing.listing import Listing
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.scope import ScopeInput, plan_scope
from scorer.scope.choose import choose
from scorer.scope.holds import find_holds
from scorer.scope.worth import Present, set_worth
from scorer.settings import Aim, Settings
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.option import Option
from scorer.upgrades.options import build_options
from scorer.upgrades.pricebook import load_price_book
from tests.scope.invented import random_case

RENT = Range(low=850, typical=900, high=950)
HOME = Listing(home="invented home", monthly_rent_usd=900, list_price_usd=80_000)
PRESENT = Present(rent_month_usd=900, price_usd=80_000)
ONE = Room(name="bedroom 1", kind=RoomKind.BEDROOM, length_ft=12, width_ft=10, height_ft=8)
TWO = ONE.model_copy(update={"name": "bedroom 2"})


def finding(condition: str, room: str, severity: int = 2) -> Finding:
    return Finding(
        room=room,
        condition=condition,
        severity=severity,
        certainty=1.0,
        evidence=(Evidence(source="person"),),
    )


def options_of(
    findings: list[Finding], rooms: list[Room], settings: Settings | None = None
) -> tuple[Option, ...]:
    settings = settings or Settings()
    return build_options(findings, rooms, load_catalogue(), load_price_book(), settings, RENT)


PAINT = [finding("dark_walls", room.name) for room in (ONE, TWO)]


@pytest.mark.parametrize("seed", range(20))
def test_a_longer_stay_never_lowers_the_gain_of_lasting_work_that_pays(seed: int) -> None:
    options, holds = random_case(seed)
    lasting = [o for o in options if o.durability_years > 10 and not o.excludes]
    # What outlasts the stay costs each further year 60 % of cost over life; rent must beat that.
    paying = [
        o
        for o in lasting
        if 0.6 * 12 * 0.93 * o.rent_month_usd.typical > 0.6 * o.cost_usd.typical / 15
    ]
    gains = [
        set_worth(paying, holds, Settings(holding_years=years), PRESENT).value
        for years in (1, 2, 3, 5, 8, 12, 15)
    ]
    assert all(later >= sooner - 1e-9 for sooner, later in pairwise(gains))


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("aim", ["net_gain", "return"])
def test_one_more_hold_never_makes_the_best_choice_better(seed: int, aim: Aim) -> None:
    options, holds = random_case(seed)
    options = [o.model_copy(update={"required": False}) for o in options]
    settings = Settings(budget_usd=1_500, weeks=3, aim=aim)
    best = [choose(options, holds[:n], settings, present=PRESENT).value for n in range(3)]
    assert all(more <= fewer + 1e-6 for fewer, more in pairwise(best))


def test_gas_and_leaks_never_make_a_real_home_better() -> None:
    options = options_of(PAINT, [ONE, TWO])
    free = choose(options, (), Settings(), present=PRESENT).value
    assert free > 0
    for condition, room in (("gas_smell", "whole home"), ("active_leak", "bedroom 1")):
        found = [*PAINT, finding(condition, room, 3)]
        holds = find_holds(found, options, [ONE, TWO], HOME)
        assert holds
        assert any(hold.stops for hold in holds)
        assert choose(options, holds, Settings(), present=PRESENT).value < free


def test_the_order_of_findings_changes_nothing_and_of_options_no_sum() -> None:
    found = [*PAINT, finding("worn_carpet", "bedroom 1", 3)]
    given = options_of(found, [ONE, TWO])
    scope = plan_scope(ScopeInput(given, found, [ONE, TWO], HOME), Settings())
    for turned in permutations(found):
        assert options_of(list(turned), [ONE, TWO]) == given
    back = plan_scope(ScopeInput(given[::-1], found[::-1], [TWO, ONE], HOME), Settings())
    assert {o.id for o in back.options} == {o.id for o in scope.options}
    assert back.cost_usd.typical == pytest.approx(scope.cost_usd.typical)
    assert back.rent_month_usd.typical == pytest.approx(scope.rent_month_usd.typical)
    assert back.weeks.typical == pytest.approx(scope.weeks.typical)


def test_a_tag_of_no_severity_changes_nothing() -> None:
    found = [
        PAINT[0],
        finding("worn_carpet", "bedroom 1", 0),
        finding("gas_smell", "whole home", 0),
    ]
    options = options_of(found, [ONE])
    assert options == options_of(PAINT[:1], [ONE])
    assert find_holds(found, options, [ONE], HOME) == ()


def test_two_rooms_alike_cost_less_at_the_shop_than_twice_one() -> None:
    settings = Settings(budget_usd=50_000)
    one = plan_scope(ScopeInput(options_of(PAINT[:1], [ONE]), PAINT[:1], [ONE], HOME), settings)
    two = plan_scope(ScopeInput(options_of(PAINT, [ONE, TWO]), PAINT, [ONE, TWO], HOME), settings)
    assert [len(scope.options) for scope in (one, two)] == [1, 2]
    shop = [sum(p.cost_usd.typical for p in scope.purchases) for scope in (one, two)]
    assert shop[1] < 2 * shop[0]
    assert two.cost_usd.typical == pytest.approx(2 * one.cost_usd.typical)


def test_a_dearer_own_hour_raises_the_cost_and_takes_no_cash() -> None:
    cheap, dear = (options_of(PAINT, [ONE, TWO], Settings(own_hour_usd=x)) for x in (10, 30))
    for a, b in zip(cheap, dear, strict=True):
        assert b.cost_usd.typical > a.cost_usd.typical
        assert b.cash_usd == a.cash_usd
        assert b.hours == a.hours
