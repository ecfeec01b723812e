"""The three reasons: at most three, at least one, in plain words, best first."""

from __future__ import annotations

import pytest

from scorer.conditions.finding import Evidence, Finding
from scorer.money.outcome import Outcome
from scorer.photos.reading import Reading
from scorer.records import Quantiles, Range
from scorer.rooms import RoomKind
from scorer.scope.plan import Hold, Scope
from scorer.shortlist.ranking import rank_homes
from scorer.shortlist.reasons import look_first, three_reasons, why_not_judged
from scorer.shortlist.result import HomeResult, Unseen
from scorer.upgrades.option import Option

NONE = Range.exactly(0.0)
LABELS = {"dark_walls": "Dark walls", "dated_kitchen": "Dated kitchen"}


def option(room: str, family: str, lift: float, condition: str, label: str) -> Option:
    return Option(
        id=f"{room}: {label}",
        room=room,
        room_kind=RoomKind.KITCHEN,
        upgrade="any",
        label=label,
        ladder=label,
        rung="paint",
        family=family,
        lines=(),
        cost_usd=Range(low=80, typical=100, high=150),
        cash_usd=NONE,
        hours=NONE,
        rent_month_usd=Range(low=0, typical=lift, high=2 * lift),
        certainty=1,
        reasons=(condition,),
    )


def scope(*options: Option) -> Scope:
    return Scope(
        options=options,
        holds=(),
        keeps=(),
        left_out=(),
        purchases=(),
        calendar=(),
        cost_usd=NONE,
        cash_usd=NONE,
        hours=NONE,
        rent_month_usd=NONE,
        weeks=NONE,
    )


def outcome(gain: float = 0.0) -> Outcome:
    zero = Quantiles(p10=0, p50=0, p90=0)
    return Outcome(
        cost_usd=zero,
        rent_lift_month_usd=zero,
        payback_months=Quantiles(p10=10, p50=20, p90=30),
        return_on_cost=None,
        value_created_usd=zero,
        net_gain_usd=Quantiles(p10=gain, p50=gain, p90=gain),
        lost_rent_usd=0,
        most_to_pay_usd=None,
        payback_within_limit=0,
    )


def test_best_work_first_with_cost_lift_and_payback():
    paint = option("bedroom 1", "paint", 9, "dark_walls", "Paint the walls a light neutral")
    doors = option("kitchen", "kitchen", 30, "dated_kitchen", "Paint the cabinet fronts")
    got = three_reasons((paint, doors), scope(paint, doors), outcome(), (), (), LABELS)
    assert got == (
        "Kitchen: dated kitchen. To do: paint the cabinet fronts; about $100, may add about $30 "
        "a month.",
        "Bedroom 1: dark walls. To do: paint the walls a light neutral; about $100, may add about "
        "$9 a month.",
        "Pays back in about 20 months.",
    )


def test_what_is_not_sure_is_said_with_perhaps():
    paint = option("bedroom 1", "paint", 9, "dark_walls", "Paint the walls")
    unsure = paint.model_copy(update={"certainty": 0.5})
    got = three_reasons((unsure,), scope(unsure), outcome(), (), (), LABELS)
    assert got[0].startswith("Bedroom 1: perhaps dark walls. To do: paint the walls")


def test_three_of_four_is_said_first():
    shown = ("kitchen", "paint", "flooring")
    paint = option("bedroom 1", "paint", 9, "dark_walls", "Paint the walls")
    got = three_reasons((paint,), scope(paint), outcome(), (), shown, LABELS)
    assert got[0] == "Shows 3 of the four kinds of work that pay most: kitchen, paint and flooring."


def test_work_that_the_scope_leaves_out_is_not_called_work_to_do():
    fronts = option("bathroom 1", "bathroom", 2, "dated_kitchen", "Paint the vanity fronts")
    got = three_reasons((fronts,), scope(), outcome(), (), (), LABELS)
    assert got == (
        "Nothing that was seen earns its cost within your limits.",
        "Bathroom 1: dated kitchen. Could be done: paint the vanity fronts; about $100, may add "
        "about $2 a month.",
    )


def test_a_home_done_up_says_so_and_what_is_unseen():
    unseen = [
        Unseen(room=f"bedroom {n}", sentence=f"No photo shows bedroom {n}.") for n in range(5)
    ]
    got = three_reasons((), scope(), outcome(), unseen, (), LABELS)
    assert len(got) == 3
    assert got[0].startswith("Little left to add")
    assert got[1] == "No photo shows bedroom 0."


@pytest.mark.parametrize("gains", [(5.0, 3.0, 9.0), (1.0, 1.0, 1.0)])
def test_ranking_follows_the_money_and_is_complete(gains):
    from scorer.listing.listing import Listing

    seen = Finding(
        room="kitchen",
        condition="dark_walls",
        severity=1,
        certainty=1,
        evidence=(Evidence(source="person"),),
    )
    homes = [
        HomeResult(
            home=f"home {n}",
            score=10.0 * n,
            listing=Listing(home=f"home {n}"),
            rooms=(),
            readings=(),
            findings=(seen,),
            options=(),
            scope=scope(),
            outcome=outcome(gain),
            reasons=("x",),
            unseen=(),
        )
        for n, gain in enumerate(gains)
    ]
    ranked = rank_homes(homes)
    assert [r.rank for r in ranked] == [1, 2, 3]
    values = [r.outcome.net_gain_usd.p50 for r in ranked]
    assert values == sorted(values, reverse=True)
    if len(set(gains)) == 1:
        assert [r.score for r in ranked] == [20.0, 10.0, 0.0]
    unseen = homes[2].model_copy(update={"findings": (), "home": "nothing seen"})
    assert rank_homes([unseen, *homes])[-1].home == "nothing seen"


def _photos(*errors: str | None) -> list[Reading]:
    return [Reading(file=f"{n}.jpg", seconds=0.0, error=error) for n, error in enumerate(errors)]


@pytest.mark.parametrize(
    ("readings", "rooms", "why"),
    [
        (_photos(), (), "there is no photo of this home. Add photos"),
        (_photos("broken"), (), "its only photo could not be read. Save it again"),
        (_photos("broken", "empty"), (), "none of its 2 photos could be read. Save them again"),
        (_photos(None, "broken"), ("1.jpg",), "no photo shows a room that could be told. Put the"),
    ],
)
def test_a_home_that_nobody_saw_is_not_called_done_up(readings, rooms, why):
    fact = Finding(
        room="whole home",
        condition="built_by_1980",
        severity=1,
        certainty=1,
        evidence=(Evidence(source="facts"),),
    )
    told = why_not_judged(readings, rooms, (fact,))
    assert told is not None
    assert why in told
    assert "or tag what you find at the viewing" in told
    unseen = [Unseen(room="kitchen", sentence="No photo shows the kitchen.")]
    got = three_reasons((), scope(), outcome(), unseen, (), LABELS, told)
    assert got == (told, "No photo shows the kitchen.")


def test_one_photo_of_a_known_room_or_one_tag_is_something_to_judge_by():
    assert why_not_judged(_photos(None, "broken"), ("0.jpg",), ()) is None
    tagged = Finding(
        room="kitchen",
        condition="dark_walls",
        severity=1,
        certainty=1,
        evidence=(Evidence(source="person"),),
    )
    assert why_not_judged((), (), (tagged,)) is None


def test_one_thing_to_look_at_in_two_rooms_is_said_once():
    leak = Hold(
        id="bathroom 1: water_leak",
        room="bathroom 1",
        label="Water leaks",
        who="plumber",
        stops=(),
        allowance_usd=NONE,
        caution="c",
        source="s",
    )
    holds = (leak, leak.model_copy(update={"room": "kitchen"}))
    assert look_first(holds) == ("Water leaks (bathroom 1 and kitchen)",)
    held = scope().model_copy(update={"holds": holds})
    got = three_reasons((), held, outcome(), (), (), LABELS)
    assert got[1:] == ("Look first: Water leaks (bathroom 1 and kitchen).",)
