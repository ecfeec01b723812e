"""From options and findings to a scope of work."""

from __future__ import annotations

import pytest

from scorer.conditions.checklist import load_holds
from scorer.conditions.finding import Evidence, Finding
from scorer.listing.listing import Listing
from scorer.records import Range
from scorer.rooms import Room, RoomKind
from scorer.scope import ScopeInput, plan_scope
from scorer.scope.holds import SAFE_WHILE_LEFT_ALONE, find_holds, holds_of_scope
from scorer.scope.lift import SHARE_OF_FURTHER, joint_lift, room_lift
from scorer.scope.plan import Scope
from scorer.settings import Settings
from tests.scope.invented import option

ROOMS = (
    Room(name="kitchen", kind=RoomKind.KITCHEN),
    Room(name="bathroom", kind=RoomKind.BATHROOM),
    Room(name="bedroom", kind=RoomKind.BEDROOM),
)
HOME = Listing(home="invented home", monthly_rent_usd=900)
ROOMY = Settings(budget_usd=50_000, weeks=50)


def finding(condition: str, room: str, severity: int = 2, **given: object) -> Finding:
    values: dict[str, object] = {
        "room": room,
        "condition": condition,
        "severity": severity,
        "certainty": 1.0,
        "evidence": (Evidence(source="person"),),
    }
    return Finding(**{**values, **given})


def plan(options, findings=(), settings=ROOMY, **given) -> Scope:  # type: ignore[no-untyped-def]
    return plan_scope(ScopeInput(options, findings, ROOMS, HOME, **given), settings)


TILE = option(
    "bath_tile", "bathroom", rent=30, cost=600, held_by=("water_leak", "failed_waterproofing")
)
FLOOR = option("floor_plank", "bedroom", rent=20, cost=400, held_by=("water_leak",))
STAIN = option(
    "ceiling_stain_block", "bedroom", reasons=("ceiling_stain",), held_by=("water_leak",)
)
WINDOWS = option("windows", "bedroom", rent=30, cost=300, held_by=("lead_paint",))


def test_a_leak_stops_the_tile_over_it_and_not_the_floor_elsewhere() -> None:
    scope = plan([TILE, FLOOR], [finding("leak_below_bath", "bathroom")])
    (leak,) = scope.holds
    assert leak.id == "bathroom: water_leak"
    assert leak.stops == (TILE.id,)
    assert leak.who == load_holds()["water_leak"].who
    assert leak.allowance_usd == load_holds()["water_leak"].allowance_usd
    days = {task.option: task for task in scope.calendar}
    assert days[leak.id].end_day <= days[TILE.id].start_day
    assert days[FLOOR.id].start_day == 0.0


def test_a_leak_stops_the_stained_ceiling_that_may_lie_below_it() -> None:
    (leak,) = plan([TILE, FLOOR, STAIN], [finding("leak_below_bath", "bathroom")]).holds
    assert set(leak.stops) == {TILE.id, STAIN.id}
    # what is damp in one room says nothing of a ceiling elsewhere
    damp = finding("ceiling_wet", "kitchen", severity=3)
    held = STAIN.model_copy(update={"held_by": ("active_moisture", "water_leak")})
    (moisture,) = find_holds([damp], [held], ROOMS)
    assert moisture.stops == ()


def test_work_that_mends_one_leak_does_not_clear_another() -> None:
    trap = option(
        "trap_replace", "bathroom", cost=60, rent=0, required=True, reasons=("leak_under_sink",)
    )
    sink = finding("leak_under_sink", "bathroom")
    (alone,) = find_holds([sink], [trap, TILE], ROOMS, HOME)
    assert alone.id == "bathroom: water_leak"
    assert alone.label == load_holds()["water_leak"].label
    assert alone.cleared_by == (trap.id,)
    below = finding("leak_below_bath", "bathroom")
    left, mended = find_holds([sink, below], [trap, TILE], ROOMS, HOME)
    assert left.cleared_by == ()
    assert "Water below the bathroom" in left.label
    assert mended.cleared_by == (trap.id,)
    assert len({left.id, mended.id}) == 2
    scope = plan([trap, TILE], [sink, below])
    assert trap in scope.options
    allowances = {hold.id: hold.allowance_usd.typical for hold in scope.holds}
    assert allowances[left.id] == load_holds()["water_leak"].allowance_usd.typical
    days = {task.option: task for task in scope.calendar}
    if TILE.id in days:
        assert days[TILE.id].start_day >= days[left.id].end_day


def test_each_kind_of_alarm_clears_its_own_hold() -> None:
    smoke = option("smoke_alarm_fit", rent=0, required=True, reasons=("smoke_alarm_missing",))
    gas = option("co_alarm_fit", rent=0, required=True, reasons=("co_alarm_missing",))
    found = [finding(f"{kind}_alarm_missing", "bedroom") for kind in ("smoke", "co")]
    holds = find_holds(found, [smoke, gas], ROOMS, HOME)
    assert [hold.cleared_by for hold in holds] == [(gas.id,), (smoke.id,)]
    assert [h.id for h in holds_of_scope(holds, [smoke])] == [holds[0].id]
    assert holds_of_scope(holds, [smoke, gas]) == ()


def test_a_slight_finding_below_the_hold_and_a_rejected_one_stop_nothing() -> None:
    slight = finding("leak_under_sink", "kitchen", severity=1)
    rejected = finding("leak_below_bath", "bathroom", rejected=True, certainty=0.0)
    assert plan([TILE], [slight, rejected]).holds == ()


def test_where_the_year_is_not_known_old_paint_and_material_are_presumed() -> None:
    # 40 CFR 745.83 and 29 CFR 1926.1101(k) let go only what is known to be newer, or was tested.
    unknown = finding("year_built_unknown", "whole home", 0, evidence=(Evidence(source="facts"),))
    popcorn = option("popcorn_scrape", "bedroom", rent=30, held_by=("suspect_asbestos",))
    offered = [WINDOWS, popcorn, FLOOR]
    lead, asbestos = find_holds([unknown], offered, ROOMS, HOME)
    assert lead.stops == (WINDOWS.id,)
    assert asbestos.stops == (popcorn.id,)
    for hold, year in ((lead, "1978"), (asbestos, "1980")):
        assert hold.label.startswith("Year built not known: ")
        assert year not in hold.label
        assert 0.4 < hold.probability < 0.7
        assert hold.only_if_disturbed
    assert holds_of_scope((lead, asbestos), [FLOOR]) == ()
    # A person tested it, or says that it is newer.
    tested = finding("built_before_1978", "whole home", 1)
    newer = finding("built_by_1980", "whole home", rejected=True, certainty=0.0)
    assert find_holds([unknown, tested, newer], offered, ROOMS, HOME) == ()
    assert find_holds([unknown.model_copy(update={"rejected": True})], offered, ROOMS) == ()


def test_old_paint_is_a_hold_only_where_work_disturbs_it() -> None:
    old = finding("built_before_1978", "whole home", evidence=(Evidence(source="facts"),))
    (lead,) = plan([WINDOWS, FLOOR], [old]).holds
    assert lead.kind == "lead_paint"
    assert lead.only_if_disturbed
    assert lead.stops == (WINDOWS.id,)
    assert plan([FLOOR], [old]).holds == ()
    assert set(load_holds()) >= SAFE_WHILE_LEFT_ALONE


def test_a_home_built_later_has_no_lead_hold_from_facts() -> None:
    old = finding("built_before_1978", "whole home", evidence=(Evidence(source="facts"),))
    later = HOME.model_copy(update={"year_built": 1985})
    assert find_holds([old], [WINDOWS], ROOMS, later) == ()
    assert find_holds([finding("built_before_1978", "whole home")], [WINDOWS], ROOMS, later)


def test_findings_of_one_kind_make_one_hold_with_the_surest_probability() -> None:
    holds = find_holds(
        [
            finding("active_leak", "bathroom", certainty=0.4),
            finding("leak_below_bath", "bathroom", certainty=0.7),
        ],
        [TILE],
        ROOMS,
    )
    assert len(holds) == 1
    assert holds[0].probability == 0.7


def test_work_that_clears_a_hold_takes_its_allowance_away() -> None:
    outlet = option(
        "outlet_replace_grounded",
        "kitchen",
        rent=0,
        required=True,
        stage=20,
        reasons=("outlet_scorched",),
    )
    splash = option("backsplash", "kitchen", rent=30, held_by=("unsafe_electrical",), stage=70)
    scope = plan([splash, outlet], [finding("outlet_scorched", "kitchen", severity=3)])
    (wiring,) = scope.holds
    assert wiring.cleared_by == (outlet.id,)
    assert wiring.allowance_usd == Range.exactly(0)
    assert [o.id for o in scope.options] == [outlet.id, splash.id]
    without = holds_of_scope(
        find_holds([finding("outlet_scorched", "kitchen")], [splash]), [splash]
    )
    assert without[0].allowance_usd.typical > 0


def test_sums_are_those_of_the_options_and_the_lift_is_less_than_its_sum() -> None:
    cabinets = option("cabinets", "kitchen", rent=40)
    counter = option("counter", "kitchen", rent=20)
    scope = plan([cabinets, counter])
    assert scope.cost_usd == cabinets.cost_usd + counter.cost_usd
    assert scope.cash_usd == cabinets.cash_usd + counter.cash_usd
    assert scope.hours == cabinets.hours + counter.hours
    assert scope.rent_month_usd.typical == pytest.approx(40 + SHARE_OF_FURTHER * 20)
    assert scope.rent_month_usd == joint_lift([cabinets, counter])


def test_room_lift_counts_the_best_in_full() -> None:
    assert room_lift([30]) == 30
    assert room_lift([30, 10]) == pytest.approx(36)
    assert room_lift([]) == 0


def test_the_lift_stays_under_the_ceiling_of_the_comps() -> None:
    options = [option("a", "kitchen", rent=60), option("b", "bedroom", rent=50, cost=2_000)]
    free = plan(options)
    assert free.lift_ceiling_usd is None
    bound = plan(options, rent_ceiling_usd=960.0)
    assert bound.lift_ceiling_usd == pytest.approx(60)
    assert bound.rent_month_usd.high <= 60
    assert [o.upgrade for o in bound.options] == ["a"]
    (left,) = bound.left_out
    assert "adds little: over 5 years it may bring about $0" in left.reason


def test_what_is_sound_is_kept_and_what_is_not_replaced_says_what_it_saves() -> None:
    clean = option("range_clean", "kitchen", ladder="range", rung="clean", cost=80, rent=8)
    new = option("range_replace", "kitchen", ladder="range", rung="replace", cost=730, rent=9)
    scope = plan([clean, new], [finding("cabinets_sound", "kitchen", severity=0)])
    labels = {keep.label: keep.saves_usd for keep in scope.keeps}
    assert labels["Cabinets sound, only look tired"] is None
    assert labels["Range clean, instead of “Range replace”"] == pytest.approx(650)


def test_what_a_photo_too_dark_to_judge_shows_as_sound_is_not_said_to_be_kept() -> None:
    photo, person = Evidence(source="photo", photo="a.jpg"), Evidence(source="person")

    def kept(*evidence: Evidence, rejected: bool = False) -> bool:
        found = [
            finding("walls_light_neutral", "kitchen", severity=0, evidence=evidence),
            finding("photo_too_dark", "kitchen", severity=0, evidence=(photo,), rejected=rejected),
        ]
        return any(keep.room == "kitchen" for keep in plan([], found).keeps)

    assert not kept(photo)
    assert kept(photo, person)  # a person looked
    assert kept(photo, rejected=True)  # a person said that the photo can be judged


def test_every_option_is_chosen_or_left_out_with_a_reason() -> None:
    options = [
        option("paint", "kitchen", cost=200, rent=20, ladder="walls"),
        option("panels", "kitchen", cost=900, rent=22, ladder="walls", rung="replace"),
        option("gold_taps", "bathroom", cost=900, rent=1),
        option("dear", "bathroom", cost=9_000, rent=300),
        option("unwanted", "bedroom", cost=10, rent=20),
        option("lonely", "bedroom", cost=10, rent=20, needs=("bedroom: not offered",)),
        option("slow", "bedroom", cost=50, rent=2, hours=500),
    ]
    scope = plan(options, settings=Settings(budget_usd=1_500), must_not=["bedroom: unwanted"])
    reasons = {left.option.split(": ")[1]: left.reason for left in scope.left_out}
    assert len(scope.options) + len(scope.left_out) == len(options)
    assert "“Paint” does this job" in reasons["panels"]
    assert "may bring about $56 and take about $651" in reasons["gold_taps"]
    assert "more than the whole budget" in reasons["dear"]
    assert reasons["unwanted"] == "You ruled it out."
    assert "not on offer" in reasons["lonely"]
    assert reasons["slow"]


def test_a_hold_that_makes_work_dear_is_named() -> None:
    old = finding("built_before_1978", "whole home", evidence=(Evidence(source="facts"),))
    (left,) = plan([option("windows", rent=8, held_by=("lead_paint",))], [old]).left_out
    assert load_holds()["lead_paint"].label in left.reason
    assert "$600 of it" in left.reason


def test_a_hold_that_the_scope_clears_and_that_stops_nothing_is_not_listed() -> None:
    alarm = option("smoke_alarm_fit", rent=0, required=True, reasons=("smoke_alarm_missing",))
    assert plan([alarm], [finding("smoke_alarm_missing", "bedroom")]).holds == ()


def test_a_tight_budget_says_what_is_short() -> None:
    options = [option("first", "kitchen", cost=400, rent=40), option("second", cost=300, rent=20)]
    scope = plan(options, settings=Settings(budget_usd=500))
    (left,) = scope.left_out
    assert "$300" in left.reason
    assert "$100 of the budget is left" in left.reason


def test_required_work_beyond_the_budget_is_said() -> None:
    heater = option("heater", "kitchen", cost=4_000, rent=0, required=True)
    scope = plan([heater], settings=Settings(budget_usd=500))
    (note,) = scope.notes
    assert "should not be let" in note
    assert "$4,000" in note
    assert scope.options == ()


def test_a_leak_dearer_than_the_budget_is_said() -> None:
    scope = plan([TILE], [finding("leak_below_bath", "bathroom")], Settings(budget_usd=300))
    assert any("must be put right first" in note for note in scope.notes)


def test_drying_beyond_the_weeks_is_said() -> None:
    slow = option("seal", "bathroom", rent=40, hours=30, drying_hours=24 * 20)
    scope = plan([slow], settings=Settings(budget_usd=5_000, weeks=1))
    assert scope.weeks.typical > 1
    assert any("more than your 1" in note for note in scope.notes)


def test_an_empty_home_gives_an_empty_scope() -> None:
    scope = plan([])
    assert scope.options == ()
    assert scope.weeks == Range.exactly(0)
    assert scope.rent_month_usd == Range.exactly(0)
    assert Scope.model_validate_json(scope.model_dump_json()) == scope
