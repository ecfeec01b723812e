"""Fields of money on the page: how large figures are written."""

from __future__ import annotations

from pathlib import Path

from tests.app.test_pages import opened, words


def test_large_dollars_of_a_field_are_written_below_it_with_their_groups(data: Path):
    at = opened()
    assert "$185,000" not in words(at)
    at.number_input(key="f_price").set_value(185_000).run()
    assert "\\$185,000" in [c.value for c in at.caption]
    at.switch_page("views/scope.py").run()
    at.selectbox(key="home_box").set_value(1).run()
    captions = [c.value for c in at.caption]
    assert "\\$8,000" in captions  # the budget
    assert "\\$90,000" in captions  # the asking price, until another is given
    at.number_input(key="price_1").set_value(81_500.0).run()
    assert "\\$81,500" in [c.value for c in at.caption]
