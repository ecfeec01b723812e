"""Laws of the checklist score, on options drawn at random from a small invented catalogue."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.shortlist.score import checklist_score, families_shown, open_shares
from scorer.upgrades.option import Option
from scorer.upgrades.upgrade import Trigger, Upgrade, UpgradeLine

ROOMS = tuple(
    Room(name=name, kind=kind)
    for name, kind in [
        ("kitchen", RoomKind.KITCHEN),
        ("bathroom", RoomKind.BATHROOM),
        ("bedroom 1", RoomKind.BEDROOM),
        ("bedroom 2", RoomKind.BEDROOM),
        ("front", RoomKind.FRONT),
    ]
)


def _upgrade(name: str, family: str, ladder: str, rung: str, kind: RoomKind, percent: float):
    return Upgrade(
        id=name,
        label=name,
        rooms=(kind,),
        ladder=ladder,
        rung=rung,
        family=family,
        triggers=(Trigger(condition="tired"),),
        lines=(UpgradeLine(item="paint", measure="each"),),
        rent_percent=Range(low=0, typical=percent, high=2 * percent),
        stage=50,
        durability_years=5,
        source="invented for this test",
    )


CATALOGUE = (
    _upgrade("cabinet_paint", "kitchen", "cabinets", "paint", RoomKind.KITCHEN, 2.0),
    _upgrade("cabinet_replace", "kitchen", "cabinets", "replace", RoomKind.KITCHEN, 4.0),
    _upgrade("counter", "kitchen", "counter", "replace", RoomKind.KITCHEN, 1.5),
    _upgrade("wall_paint", "paint", "walls", "paint", RoomKind.BEDROOM, 1.0),
    _upgrade("vanity", "bathroom", "vanity", "replace", RoomKind.BATHROOM, 2.0),
    _upgrade("plank", "flooring", "floor", "replace", RoomKind.BEDROOM, 1.5),
    _upgrade("door", "outside", "front_door", "paint", RoomKind.FRONT, 0.5),
)


def _option(room: Room, upgrade: Upgrade, certainty: float) -> Option:
    money = Range(low=100, typical=200, high=300)
    return Option(
        id=f"{room.name}: {upgrade.id}",
        room=room.name,
        room_kind=room.kind,
        upgrade=upgrade.id,
        label=upgrade.label,
        ladder=upgrade.ladder,
        rung=upgrade.rung,
        family=upgrade.family,
        lines=(),
        cost_usd=money,
        cash_usd=money,
        hours=Range.exactly(1),
        rent_month_usd=Range(low=1, typical=5, high=9),
        certainty=certainty,
        reasons=("tired",),
    )


POSSIBLE = [(room, u) for room in ROOMS for u in CATALOGUE if room.kind in u.rooms]
options = st.lists(
    st.tuples(st.sampled_from(range(len(POSSIBLE))), st.floats(0, 1)), max_size=12
).map(lambda drawn: tuple(_option(*POSSIBLE[i], certainty) for i, certainty in drawn))


@given(options, options)
def test_adding_a_finding_never_lowers_and_fixing_one_never_raises(few, more):
    lower = checklist_score(few, ROOMS, CATALOGUE)
    higher = checklist_score(few + more, ROOMS, CATALOGUE)
    assert 0.0 <= lower <= higher + 1e-9 <= 100.0 + 1e-8


def test_a_home_already_done_up_scores_nothing():
    assert checklist_score((), ROOMS, CATALOGUE) == 0.0


def test_everything_open_for_certain_scores_full():
    every = tuple(_option(room, upgrade, 1.0) for room, upgrade in POSSIBLE)
    assert checklist_score(every, ROOMS, CATALOGUE) == pytest.approx(100.0)


def test_only_the_best_rung_of_a_ladder_counts():
    kitchen = ROOMS[0]
    paint = _option(kitchen, CATALOGUE[0], 1.0)
    replace = _option(kitchen, CATALOGUE[1], 1.0)
    both = open_shares((paint, replace), ROOMS, CATALOGUE)["kitchen"]
    assert both == open_shares((replace,), ROOMS, CATALOGUE)["kitchen"] == 1.0
    assert open_shares((paint,), ROOMS, CATALOGUE)["kitchen"] == pytest.approx(0.5)


def test_the_share_follows_the_documented_formula():
    kitchen = ROOMS[0]
    seen = (_option(kitchen, CATALOGUE[0], 0.5), _option(kitchen, CATALOGUE[2], 0.8))
    expected = 1 - (1 - 0.5 * 2.0 / 4.0) * (1 - 0.8 * 1.5 / 4.0)
    shares = open_shares(seen, ROOMS, CATALOGUE)
    assert shares["kitchen"] == pytest.approx(expected)
    assert families_shown(seen, ROOMS, CATALOGUE) == ("kitchen",)
    unsure = (_option(kitchen, CATALOGUE[1], 0.4),)
    assert families_shown(unsure, ROOMS, CATALOGUE) == ()
    assert checklist_score(seen, ROOMS, CATALOGUE) == pytest.approx(100 * expected / 4.5)


def test_a_room_that_the_home_lacks_does_not_count():
    only_kitchen = (ROOMS[0],)
    full = (_option(ROOMS[0], CATALOGUE[1], 1.0),)
    assert checklist_score(full, only_kitchen, CATALOGUE) == pytest.approx(100.0)
