"""What to look at next: worth of perfect information on cases that can be worked out by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.conditions.checklist import load_holds
from scorer.conditions.finding import Evidence, Finding
from scorer.errors import InputError
from scorer.money.chances import load_hidden_chances, load_unseen_kinds
from scorer.money.draws import draw_scope
from scorer.money.looking import Look, what_to_look_at, worth_of_knowing
from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.settings import Settings
from tests.money.test_uncertainty import exact, scope
from tests.scope.invented import hold

ROOMS = {"kitchen": RoomKind.KITCHEN, "bathroom": RoomKind.BATHROOM}


def _looks(plan, unseen=(), findings=(), **given) -> tuple[Look, ...]:
    drawn = draw_scope(plan, "home", Settings(), unseen={room: ROOMS[room] for room in unseen})
    return what_to_look_at(drawn, findings, ROOMS, Settings(), most=99, **given)


def test_worth_of_a_coin() -> None:
    """Gain 300 or −100 at even odds: knowing saves the 100 half of the time, so it is worth 50."""
    answer = np.array([0.0, 1.0] * 500)
    gain = np.where(answer == 1, 300.0, -100.0)
    assert worth_of_knowing(gain, answer, 0.0) == pytest.approx((50.0, 1.0))


@given(
    gain=st.lists(st.floats(-1e4, 1e4), min_size=4, max_size=40),
    alternative=st.floats(-1e3, 1e3),
)
def test_knowing_is_never_worth_less_than_nothing(gain: list[float], alternative: float) -> None:
    values = np.array(gain)
    answer = np.arange(len(gain)) % 3
    worth, narrows = worth_of_knowing(values, answer.astype(float), alternative)
    assert worth >= 0
    assert 0 <= narrows <= 1
    everything, _ = worth_of_knowing(values, np.arange(len(gain)).astype(float), alternative)
    assert worth <= everything + 1e-6


def test_an_answer_that_changes_nothing_is_worth_nothing() -> None:
    looks = _looks(scope([exact("paint", "kitchen", 100, 50, certainty=0.6)]))
    doubt = next(look for look in looks if look.why == "uncertain finding")
    assert doubt.worth_usd == 0.0
    assert doubt.narrows == pytest.approx(1.0)


def test_a_hold_that_may_sink_the_plan_comes_first() -> None:
    leak = hold(probability=0.5, allowance_usd=Range(low=2_000, typical=5_000, high=9_000))
    plan = scope([exact("paint", "kitchen", 100, 45, certainty=0.9)], (leak,))
    looks = _looks(plan)
    assert looks[0].why == "what would stop the work"
    assert looks[0].worth_usd > 100
    assert [look.worth_usd for look in looks] == sorted(
        (look.worth_usd for look in looks), reverse=True
    ) or looks[0].worth_usd >= max(look.worth_usd for look in looks) - 1


def test_unseen_rooms_and_questions_not_asked_are_named_until_answered() -> None:
    plan = scope([exact("paint", "kitchen", 100, 10)])
    looks = _looks(plan, unseen=("bathroom",))
    assert any(look.why == "not seen" and look.room == "bathroom" for look in looks)
    asked = [look for look in looks if look.why == "not asked" and "bathroom" in look.room]
    assert asked
    leak = Finding(
        room="bathroom",
        condition="leak_below_bath",
        severity=0,
        certainty=0.0,
        rejected=True,
        evidence=(Evidence(source="person"),),
    )
    again = _looks(plan, findings=(leak,))
    assert _asked_of("bathroom", again) < _asked_of("bathroom", looks)
    assert _asked_of("kitchen", again) == _asked_of("kitchen", looks)


def _asked_of(room: str, looks: tuple[Look, ...]) -> set[str]:
    return {x.label for x in looks if x.why == "not asked" and room in x.room.split(", ")}


def test_every_room_kind_and_every_hold_has_its_chance() -> None:
    assert set(load_unseen_kinds()) == set(RoomKind)
    assert set(load_hidden_chances()) == set(load_holds())
    assert all(row.source for row in load_unseen_kinds().values())


def test_a_broken_chance_names_file_row_and_field(tmp_path: Path) -> None:
    file = tmp_path / "hidden_holds.csv"
    file.write_text("hold,chance,source\nwater_leak,7,none\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"hidden_holds\.csv, row water_leak, field chance"):
        load_hidden_chances(file)
