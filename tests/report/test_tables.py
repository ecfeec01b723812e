"""CSV, JSON and text of screened homes."""

from __future__ import annotations

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.listing.listing import Listing
from scorer.listing.missing import missing_facts
from scorer.records import Quantiles
from scorer.report.bars import place_on_scale, range_bar
from scorer.report.contract import to_json
from scorer.report.spreadsheet import COLUMNS, safe_cell, to_csv
from scorer.report.table import payback_words, ranked_table, side_by_side
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult, Unseen


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


def test_csv_reads_back(home: HomeResult) -> None:
    text = to_csv([home.model_copy(update={"rank": 1})])
    (row,) = _rows(text)
    assert tuple(row) == COLUMNS
    assert row["rank"] == "1"
    assert row["home"] == home.home
    assert float(row["cost_p50_usd"]) == 1650
    assert row["reason_1"] == home.reasons[0]
    assert row["errors"] == "broken.jpg is cut short."


# OWASP, "CSV Injection": cells that begin with = + - @, a tab or a carriage return.
@pytest.mark.parametrize("name", ["=1+1", "+1", "-1+1", "@SUM(A1)", "\tx", "\rx", "  =1"])
def test_no_cell_is_a_formula(home: HomeResult, name: str) -> None:
    evil = home.model_copy(update={"home": name, "reasons": (name,)})
    (row,) = _rows(to_csv([evil]))
    for cell in (row["home"], row["reason_1"]):
        assert cell.startswith("'")


@given(st.text(max_size=30) | st.floats(allow_nan=False, allow_infinity=False) | st.none())
def test_numbers_stay_numbers_and_text_is_safe(value: str | float | None) -> None:
    cell = safe_cell(value)
    if isinstance(value, float):
        assert float(cell) == value
    else:
        assert not cell.lstrip(" ").startswith(("=", "+", "-", "@"))


def test_json_holds_no_number_that_json_lacks(home: HomeResult) -> None:
    endless = Quantiles(p10=1.0, p50=float("inf"), p90=float("nan"))
    outcome = home.outcome.model_copy(update={"payback_months": endless})
    (first, second) = json.loads(to_json([home.model_copy(update={"outcome": outcome}), home]))
    assert first["payback_months"] == {"p10": 1.0, "p50": None, "p90": None}
    assert second["payback_months"] == {"p10": 14, "p50": 34, "p90": 200}
    assert json.loads(to_json([])) == []


def test_text_keeps_its_width_and_shows_no_control_characters(home: HomeResult) -> None:
    named = home.model_copy(update={"home": "a\x1b[31m\nvery long name " + "x" * 200, "rank": 1})
    for text in (ranked_table([named], 80), side_by_side([named, home], 100)):
        assert "\x1b" not in text
        assert max(len(line) for line in text.splitlines()) <= 100
        assert "not appraisals" in text
    assert "$1,200 to $2,600" in ranked_table([home], 80)


@pytest.mark.parametrize("width", [80, 100, 120])
def test_nothing_is_cut_at_any_width(home: HomeResult, width: int) -> None:
    names = ["12 Sample Lane", "1204 Upper Example Street, Apartment 17 B", "x" * 200]
    lossy = Quantiles(p10=-12_345, p50=-1_234, p90=23_456)
    outcome = home.outcome.model_copy(update={"net_gain_usd": lossy})
    for count in (1, 2, 3):
        homes = [
            home.model_copy(update={"home": name, "rank": n, "outcome": outcome})
            for n, name in enumerate(names[:count], start=1)
        ]
        text = ranked_table(homes, width)
        assert max(map(len, text.splitlines())) <= width
        assert "…" not in text
        together = text.replace("\n", "").replace(" ", "")
        for cell in (
            *names[:count],
            *("Rank", "Home", "Net gain", "Cost", "Rent rise a month", "Payback", "Score"),
            *("−$1,234 (−$12,345 to $23,456)", "$1,650 ($1,200 to $2,600)", "34 months", "57"),
        ):
            assert cell.replace(" ", "") in together, cell


@pytest.mark.parametrize("width", [80, 120])
def test_any_number_of_homes_beside_each_other_keeps_the_width(
    home: HomeResult, width: int
) -> None:
    homes = [home.model_copy(update={"home": f"home-{n}", "rank": n}) for n in range(1, 10)]
    text = side_by_side(homes, width)
    assert max(map(len, text.splitlines())) <= width
    assert all(f"home-{n}" in text for n in range(1, 10))
    assert text.count("Ranked by") == 1


def test_the_table_says_what_homes_are_ranked_by_and_which_limits_held(home: HomeResult) -> None:
    text = " ".join(ranked_table([home], 80).split())
    assert "Ranked by the middle figure of net gain over 5 years." in text
    assert (
        "Limits: $8,000 a home, 6 weeks without a tenant, 20 hours a week each from you and 1 "
        "helper; an hour of yours counts $20." in text
    )
    own = Settings(
        budget_usd=3_000, weeks=1, hours_per_week=7.5, helpers=0, own_hour_usd=12.5, aim="return"
    )
    for text in (ranked_table([home], 80, own), side_by_side([home], 80, own)):
        said = " ".join(text.split())
        assert "Ranked by the middle figure of yearly return on cost." in said
        assert "Limits: $3,000 a home, 1 week without a tenant, 7.5 hours a week from you;" in said
        assert "an hour of yours counts $12.5" in said
    assert "Return on cost" in ranked_table([home], 80, own)


def test_what_stops_the_work_and_what_is_not_seen_are_told_once(home: HomeResult) -> None:
    assert home.scope.holds
    unseen = Unseen(room=home.rooms[0].name, sentence="No photo shows it.")
    home = home.model_copy(update={"unseen": (unseen,)})
    text = " ".join(ranked_table([home], 80).split())
    (label,) = {hold.label for hold in home.scope.holds}
    assert text.count(f"Look first: {label} (") == 1
    assert f"Not seen: {unseen.room}." in text
    reason = f"Look first: {label} ({home.scope.holds[0].room})."
    said = home.model_copy(update={"reasons": (reason,)})
    assert " ".join(ranked_table([said], 80).split()).count("Look first:") == 1


def test_missing_facts_and_a_guessed_rent_are_told(home: HomeResult) -> None:
    known = home.model_copy(update={"missing_facts": ()})
    given = known.listing.model_copy(update={"monthly_rent_usd": 900.0})
    assert "guess" not in ranked_table([known.model_copy(update={"listing": given})], 80)
    bare = Listing(home="bare", list_price_usd=90_000)
    guessed = home.model_copy(update={"listing": bare, "missing_facts": missing_facts(bare)})
    for show in (ranked_table, side_by_side):
        text = " ".join(show([guessed], 80).split())
        assert "present rent (LeaseAmount), living area (LivingArea)" in text
        assert "The rent is guessed." in text
        assert "comparable rents of yours (--comps) narrow it" in text
        assert "and your 4 comparable rents." in " ".join(show([guessed], 80, comps=4).split())


def test_payback_in_words() -> None:
    assert payback_words(None) == "never"
    assert payback_words(Quantiles(p10=10, p50=24.4, p90=60)) == "24 months"
    assert payback_words(Quantiles(p10=100, p50=999, p90=9999)) == "never"


def test_bars_share_a_scale_that_may_begin_below_zero() -> None:
    gain = Quantiles(p10=-500.0, p50=250.0, p90=1_000.0)
    bar = range_bar(gain, 1_500.0, -500.0)
    assert (bar.left, bar.middle, bar.width) == (0.0, 37.5, 75.0)
    assert place_on_scale(0.0, 1_500.0, -500.0) == 25.0
    assert range_bar(gain, 1_000.0).left == 0.0
    assert place_on_scale(5.0, 0.0) == 0.0
