"""Two tabs on what holds for all homes: each writes what was changed in it, and shows the rest."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from scorer.store import Store

SCRIPT = Path(__file__).parents[2] / "app" / "main.py"


def tab(page: str) -> AppTest:
    at = AppTest.from_file(str(SCRIPT), default_timeout=60).run()
    at.switch_page(f"views/{page}.py").run()
    assert not at.exception
    return at


@pytest.mark.parametrize(
    ("page", "first", "second"),
    [
        ("scope", ("set_budget_usd", 4_500.0), ("set_weeks", 3.0)),
        ("scope", ("set_helpers", 2), ("set_aim", "return")),
        ("prices", ("level_location_factor", 1.1), ("level_price_factor", 1.05)),
    ],
)
def test_a_limit_that_another_tab_set_stays_and_is_shown(
    data: Path, page: str, first: tuple[str, object], second: tuple[str, object]
) -> None:
    one, two = tab(page), tab(page)
    for at, (key, value) in ((one, first), (two, second)):
        box = at.selectbox(key=key) if key == "set_aim" else at.number_input(key=key)
        box.set_value(value).run()
        assert not at.exception
        assert not at.error
    kept = Store(data / "homes.sqlite").settings().model_dump()
    for key, value in (first, second):
        assert kept[key.partition("_")[2]] == value
    assert two.number_input(key=first[0]).value == first[1]  # what the other tab wrote is shown
    assert not any("Not saved" in warning.value for warning in two.warning)
