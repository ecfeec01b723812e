"""What the page says of money: a budget that is kept must not look as if it were broken."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.money.holding import now_or_as_is
from scorer.store import Store
from tests.app.test_pages import words
from tests.app.test_pages_after import page_of


def _shown(text: str) -> str:
    return text.replace("\\", "").replace("**", "")


def test_the_budget_is_held_against_what_is_paid_out_and_not_against_ones_own_hours(data: Path):
    at = page_of("scope")
    from app.figures import money
    from app.shared import workspace

    item = next(i for i in workspace().screen_all() if i.home.id == 1)
    paid = money(item.result.scope.cash_usd.typical)
    assert item.result.scope.cash_usd.typical < item.result.scope.cost_usd.typical
    said = f"Of your budget of $8,000 the work on the list takes about {paid}; the rest of its cost"
    assert said in _shown(words(at))
    at.number_input(key="set_own_hour_usd").set_value(0.0).run()
    assert "the rest of its cost" not in _shown(words(at))


def test_a_hold_that_the_list_mends_has_no_allowance_of_nothing(data: Path):
    store = Store(data / "homes.sqlite")
    tag = Tag(room="kitchen", condition="leak_under_sink", severity=2)
    store.add_tags(1, store.home(1).version, [tag])
    shown = _shown(words(page_of("scope")))
    assert "Its cost is that of “Replace the trap and supply lines below the sink”" in shown
    assert "Allowance $0." not in shown


@pytest.mark.parametrize("gain", [900.0, -900.0])
def test_work_that_pays_only_at_the_sale_is_not_said_both_to_win_and_not_to_pay(
    data: Path, monkeypatch: pytest.MonkeyPatch, gain: float
):
    monkeypatch.setattr(
        "scorer.money.home_money.now_or_as_is",
        lambda *given, **named: now_or_as_is(*given, **named).model_copy(
            update={"gain_usd": gain, "even_after_years": None}
        ),
    )
    shown = _shown(words(page_of("scope")))
    assert "The higher rent alone does not pay the work back within 5 years" in shown
    assert ("the higher price at the sale makes up for it" in shown) == (gain > 0)


@pytest.mark.parametrize(("home", "guessed"), [(1, False), (2, True)])
def test_a_price_to_pay_that_rests_on_a_guessed_rent_says_so(data: Path, home: int, guessed: bool):
    assert (Store(data / "homes.sqlite").home(home).listing.monthly_rent_usd is None) == guessed
    assert ("(rent guessed)" in words(page_of("scope", home))) == guessed
