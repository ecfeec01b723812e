"""The pages, run without a browser: what is shown, what is saved, what is said."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import Button

from scorer.conditions.finding import Tag
from scorer.store import Store
from scorer.upgrades.pricebook import load_price_book
from scorer.workspace.photo_shelf import PhotoShelf

MAIN = str(Path(__file__).parents[2] / "app" / "main.py")
PAGES = ("screen", "walk", "scope", "fit", "shortlist", "prices")


def opened(page: str = "screen") -> AppTest:
    at = AppTest.from_file(MAIN, default_timeout=60).run()
    if page != "screen":
        at.switch_page(f"views/{page}.py").run()
    assert not at.exception
    return at


def store_of(data: Path) -> Store:
    return Store(data / "homes.sqlite")


def button(at: AppTest, label: str, key: str = "") -> Button:
    found = [b for b in at.button if b.label == label and (b.key or "").startswith(key)]
    assert found, f"no button {label!r} among {[b.label for b in at.button]}"
    return found[0]


def titles(at: AppTest) -> list[str]:
    return [re.sub(r"^\d+\. ", "", s.value) for s in at.subheader]


def words(at: AppTest) -> str:
    parts = [*at.markdown, *at.caption, *at.warning, *at.error, *at.info, *at.toast]
    return "\n".join(str(part.value) for part in parts)


def room(at: AppTest, name: str) -> None:
    pills = next(g for g in at.button_group if (g.key or "").startswith("room_"))
    pills.set_value(name).run()


def test_the_first_run_brings_ranked_homes_without_any_setting(
    homes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path / "new"))
    monkeypatch.setattr("scorer.workspace.workspace.demo_folder", lambda: homes)
    st.cache_resource.clear()
    at = opened()
    from app.shared import workspace

    assert workspace().reader.wait(60)
    at.run()
    assert len(titles(at)) == 3
    assert "1 Oak Street" in titles(at)
    assert "appraisal" in words(at)
    assert not at.error
    st.cache_resource.clear()


@pytest.mark.parametrize("page", PAGES)
def test_every_page_opens(data: Path, page: str):
    at = opened(page)
    assert at.title[0].value
    assert "Something went wrong" not in words(at)


def test_confirming_is_one_click_and_is_there_after_reopening(data: Path):
    at = opened("walk")
    at.selectbox(key="home_box").set_value(1).run()
    open_yes = [b for b in at.button if b.label == "It is so"]
    assert open_yes, "the dark red kitchen suggests nothing"
    key = open_yes[0].key
    open_yes[0].click().run()
    kept = store_of(data).home(1)
    assert kept.version == 2
    assert len(kept.tags) == 1
    assert kept.tags[0].present
    assert key.endswith(f"{kept.tags[0].room}_{kept.tags[0].condition}")
    st.cache_resource.clear()
    again = opened("walk")
    again.selectbox(key="home_box").set_value(1).run()
    assert "you said" in words(again)
    assert key not in [b.key for b in again.button]


def test_rejecting_can_be_undone(data: Path):
    at = opened("walk")
    at.selectbox(key="home_box").set_value(1).run()
    button(at, "Not so").click().run()
    assert not store_of(data).home(1).tags[0].present
    assert "not so, you said" in words(at)
    button(at, "Undo").click().run()
    assert store_of(data).home(1).tags == ()
    assert "not so, you said" not in words(at)


def test_a_tag_that_stops_the_work_is_shown_in_front(data: Path):
    at = opened("walk")
    at.selectbox(key="home_box").set_value(2).run()
    room(at, "bathroom 1")
    at.selectbox(key="condition_2_bathroom 1").set_value("leak_below_bath")
    at.text_input(key="tagnote_2_bathroom 1").set_value("stain on the ceiling below")
    button(at, "Keep this tag").click().run()
    tag = store_of(data).home(2).tags[0]
    assert (tag.room, tag.condition, tag.severity) == ("bathroom 1", "leak_below_bath", 2)
    assert tag.note == "stain on the ceiling below"
    at.switch_page("views/scope.py").run()
    assert any("Water leaks" in w.value for w in at.warning)


def test_a_change_in_another_window_is_never_overwritten(data: Path):
    at = opened("walk")
    at.selectbox(key="home_box").set_value(1).run()
    other = Tag(room="kitchen", condition="odor", note="from the other window")
    store_of(data).add_tags(1, 1, [other])
    button(at, "Not so").click().run()
    assert store_of(data).home(1).tags == (other,)
    assert any("Not saved:" in w.value for w in at.warning)
    button(at, "Not so").click().run()
    assert len(store_of(data).home(1).tags) == 2


def test_quick_clicks_in_one_window_are_all_kept(data: Path):
    at = opened("walk")
    at.selectbox(key="home_box").set_value(1).run()
    for _ in range(2):
        button(at, "Not so").click().run()
    assert store_of(data).home(1).version == 3
    assert not at.warning or "Not saved" not in at.warning[0].value


def test_a_home_that_was_set_aside_goes_and_comes_back(data: Path):
    at = opened()
    first = titles(at)[0]
    button(at, "Set aside", "aside_").click().run()
    assert first not in titles(at)
    assert len(titles(at)) == 2
    button(at, "Undo").click().run()
    assert titles(at)[0] == first


def test_a_home_that_was_taken_off_can_be_brought_back(data: Path):
    at = opened()
    button(at, "Take off").click().run()
    assert len(titles(at)) == 2
    button(at, "Undo").click().run()
    assert len(titles(at)) == 3


def test_a_filter_hides_homes_and_says_so_when_none_is_left(data: Path):
    at = opened()
    at.number_input(key="f_price").set_value(80_000).run()
    assert titles(at) == ["7 Mill Lane"]
    at.number_input(key="f_price").set_value(10_000).run()
    assert titles(at) == []
    assert "Widen it" in words(at)


def rows_of(at: AppTest, label: str) -> dict[str, dict[str, Any]]:
    """Rows of a table of fields by id, as they are sent to the browser."""
    sent = [json.loads(e.proto.json) for e in at.get("bidi_component") if e.proto.json]
    data = next(d for d in sent if d.get("label") == label)
    return {row["id"]: row for row in data["rows"]}


def test_overruling_the_program_moves_the_scope(data: Path):
    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    rows = rows_of(at, "The work")
    chosen = [i for i, row in rows.items() if row["group"] == "in" and not row["sum"]]
    assert chosen, "nothing was chosen for the home with dark walls"
    assert rows[chosen[0]]["cells"]["say"] == ""
    store_of(data).save_choices(1, store_of(data).home(1).version, {chosen[0]: "must_not"})
    at.run()
    after = rows_of(at, "The work")[chosen[0]]
    assert (after["group"], after["cells"]["say"]) == ("out", "must_not")
    assert after["cells"]["note"]


def test_the_deal_is_worked_out_and_its_assumptions_are_kept(data: Path):
    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    shown = "\n".join(str(h.proto.body) for h in at.get("html"))
    assert "Debt service coverage" in shown
    assert "Let as it is" in shown
    assert "Appliances, carpet" in shown
    assert "not tax or loan advice" in words(at).lower()
    at.number_input(key="money_loan_percent").set_value(0.0).run()
    assert "Nothing is borrowed" in words(at)
    at.number_input(key="price_1").set_value(50_000.0).run()
    st.cache_resource.clear()
    again = opened("scope")
    again.selectbox(key="home_box").set_value(1).run()
    assert again.number_input(key="money_loan_percent").value == 0.0
    assert again.number_input(key="price_1").value == 50_000.0
    again.number_input(key="price_1").set_value(None).run()
    assert again.number_input(key="price_1").value == 90_000.0


def test_a_home_without_a_price_asks_for_one(data: Path):
    from app.shared import workspace

    store = workspace().store
    home = store.home(1)
    bare = home.listing.model_copy(update={"list_price_usd": None})
    store.add_home(bare, (), folder=home.folder, source=home.source)
    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    assert "is not known: give it above" in words(at)
    at.number_input(key="price_1").set_value(80_000.0).run()
    assert "is not known: give it above" not in words(at)


def test_a_smaller_budget_is_kept_and_followed(data: Path):
    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    before = at.metric[0].value
    at.number_input(key="set_budget_usd").set_value(100.0).run()
    assert store_of(data).settings().budget_usd == 100.0
    assert at.metric[0].value != before
    st.cache_resource.clear()
    assert opened("scope").number_input(key="set_budget_usd").value == 100.0


def test_vacancy_cap_rate_and_target_return_are_set_in_percent_and_followed(data: Path):
    """Direct capitalization: value is income over the cap rate (Appraisal Institute, The Appraisal
    of Real Estate), so half the rate doubles what a rent rise creates, vacancy off."""
    from app.shared import workspace

    def outcome() -> Any:
        home = store_of(data).home(1)
        return workspace().result(home).outcome

    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    before = outcome()
    assert at.number_input(key="rate_cap_rate").value == 8.0
    at.number_input(key="rate_cap_rate").set_value(4.0).run()
    assert store_of(data).settings().cap_rate == 0.04
    assert outcome().value_created_usd.p50 == pytest.approx(2 * before.value_created_usd.p50)
    at.number_input(key="rate_target_return").set_value(20.0).run()
    assert outcome().most_to_pay_usd != before.most_to_pay_usd
    at.number_input(key="rate_vacancy").set_value(53.5).run()
    after = outcome()
    income = 12 * (1 - 0.535) * after.rent_lift_month_usd.p50
    assert after.value_created_usd.p50 == pytest.approx(income / 0.04)
    assert "53.5% of the rent lost" in words(at)
    assert "cap rate of 4%, target return 20%" in words(at)
    st.cache_resource.clear()
    again = opened("scope")
    kept = [again.number_input(key=f"rate_{n}").value for n in ("vacancy", "cap_rate")]
    assert kept == [53.5, 4.0]


@pytest.mark.parametrize(
    ("name", "percent", "sentence"),
    [
        ("cap_rate", 0.0, "The cap rate can't be 0 %: it must be above 0 % and at most 50 %"),
        ("cap_rate", 80.0, "The cap rate can't be 80 %"),
        ("vacancy", -1.0, "Vacancy can't be -1 %: it must be 0 % or more and at most 100 %"),
        ("target_return", 1e6, "Your target return can't be 1,000,000 %"),
    ],
)
def test_a_rate_that_cannot_be_gets_a_sentence_and_the_old_one_holds(
    data: Path, name: str, percent: float, sentence: str
):
    at = opened("scope")
    before = at.number_input(key=f"rate_{name}").value
    at.number_input(key=f"rate_{name}").set_value(percent).run()
    assert sentence in words(at)
    assert at.number_input(key=f"rate_{name}").value == before
    assert store_of(data).value("settings") is None
    at.number_input(key=f"rate_{name}").set_value(9.5).run()
    assert getattr(store_of(data).settings(), name) == 0.095


@pytest.mark.parametrize("vacancy", [0.0, 100.0])
def test_the_page_stands_at_the_ends_of_a_rate(data: Path, vacancy: float):
    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    at.number_input(key="rate_vacancy").set_value(vacancy).run()
    assert not at.error
    assert f"{vacancy:g}% of the rent lost" in words(at)


def test_the_users_own_price_is_shown_and_counts(data: Path):
    row = load_price_book().row("wall_paint")
    dear = row.model_copy(update={"typical_usd": 390.0, "high_usd": 400.0, "source": "own price"})
    from app.shared import workspace

    before = next(i for i in workspace().screen_all() if i.home.id == 1).result
    store_of(data).save_price_rows({"wall_paint": dear.model_dump_json()})
    after = next(i for i in workspace().screen_all() if i.home.id == 1).result
    cost = {o.id: o.cost_usd.typical for o in before.options}
    dearer = [o.id for o in after.options if o.cost_usd.typical > cost[o.id] + 1]
    assert any("paint" in option for option in dearer)
    at = opened("prices")
    row = rows_of(at, "Prices and hours")["wall_paint"]["cells"]
    assert (row["own"], row["typical_usd"]) == (True, 390.0)
    button(at, "Go back to the program’s prices (1 row)").click().run()
    assert store_of(data).price_rows() == {}
    button(at, "Undo").click().run()
    assert set(store_of(data).price_rows()) == {"wall_paint"}


def test_prices_from_a_wrong_file_get_a_sentence(data: Path):
    at = opened("prices")
    wrong = ("mine.csv", b"id,typical_usd\nwall_paint,cheap\n", "text/csv")
    at.file_uploader(key="prices_file").set_value([wrong])
    at.run()
    button(at, "Use these rows").click().run()
    assert any("mine.csv, row wall_paint, field typical_usd" in e.value for e in at.error)
    assert store_of(data).price_rows() == {}


def test_wages_come_in_from_a_csv_and_a_wrong_one_gets_a_sentence(data: Path):
    at = opened("prices")
    for text in ("trade,own_possible\npainter,perhaps\n", "trade,own_possible\npainter,no\n"):
        assert rows_of(at, "Wages")["painter"]["cells"]["own_possible"] is True
        at.file_uploader(key="wages_file").set_value([("wages.csv", text.encode(), "text/csv")])
        at.run()
        button(at, "Use these rows", "wages").click().run()
        wrong = [e.value for e in at.error]
        assert any("wages.csv, row painter, field own_possible" in e for e in wrong) == (
            "perhaps" in text
        )
    assert rows_of(at, "Wages")["painter"]["cells"]["own_possible"] is False
    assert set(store_of(data).value("own wages")) == {"painter"}


def test_a_folder_that_is_not_there_gets_a_sentence(data: Path):
    at = opened()
    at.text_input(key="folder").set_value("/no/such/folder")
    button(at, "Add the folder").click().run()
    assert any("does not exist" in e.value for e in at.error)
    assert len(titles(at)) == 3


def test_a_page_that_breaks_shows_no_traceback(data: Path, monkeypatch: pytest.MonkeyPatch):
    at = opened()
    monkeypatch.setattr("app.shared.workspace", lambda: 1 / 0)
    at.run()
    assert not at.exception
    assert any("Something went wrong" in e.value for e in at.error)
    assert "ZeroDivisionError" not in words(at)


def test_in_a_dearer_place_all_work_costs_more(data: Path):
    from app.shared import workspace

    def cost() -> float:
        options = [o for item in workspace().screen_all() for o in item.result.options]
        return sum(option.cash_usd.typical for option in options)

    at = opened("prices")
    before = cost()
    at.number_input(key="level_location_factor").set_value(2.0).run()
    assert store_of(data).settings().location_factor == 2.0
    assert cost() == pytest.approx(2.0 * before)


def test_a_measured_length_is_marked_as_an_estimate_until_a_size_is_typed(data: Path):
    from scorer.records import Range

    at = opened("fit")
    at.selectbox(key="home_box").set_value(1).run()
    at.session_state["fit_measured_1_kitchen"] = {"width": Range(low=9.5, typical=10.0, high=10.5)}
    at.session_state["fit_width_1_kitchen_None"] = 10.0
    at.run()
    assert "estimated, ± 6 in" in words(at)
    assert "before you buy" in words(at)
    at.number_input(key="fit_width_1_kitchen_None").set_value(11.0).run()
    assert "estimated" not in words(at)
    assert at.number_input(key="fit_width_1_kitchen_None").value == 11.0


def test_a_change_of_limits_weighs_the_home_in_hand_at_once_and_the_rest_with_the_list(
    data: Path, monkeypatch: pytest.MonkeyPatch
):
    from scorer.workspace import workspace as module

    weighed: list[str] = []
    screen_home = module.screen_home

    def counted(listing: Any, *rest: Any, **more: Any) -> Any:
        weighed.append(listing.home)
        return screen_home(listing, *rest, **more)

    at = opened("scope")
    at.selectbox(key="home_box").set_value(1).run()
    monkeypatch.setattr(module, "screen_home", counted)
    at.number_input(key="set_budget_usd").set_value(100.0).run()
    assert weighed == ["1 oak street"]
    at.switch_page("views/screen.py").run()
    assert sorted(weighed) == ["1 oak street", "3 elm road", "7 mill lane"]
    assert len(titles(at)) == 3


def test_a_photo_that_contradicts_its_name_can_be_settled(data: Path):
    store = store_of(data)
    shelf = PhotoShelf(store)
    home = next(home for home in store.homes() if home.listing.home == "3 elm road")
    key = shelf.keys(home)["bathroom.jpg"]
    reading = shelf.find(key)
    seen = {"bedroom": 0.97, "bathroom": 0.01, "unsure": 0.02}
    guess = reading.room.model_copy(update={"seen": seen})
    shelf.put(key, reading.model_copy(update={"room": guess, "trust": None, "exposure": None}))
    store.add_tags(home.id, home.version, [Tag(room="kitchen", condition="dim_room")])
    at = opened()
    at.query_params["home"] = str(home.id)
    at.switch_page("views/walk.py").run()
    assert "bathroom.jpg looks like a bedroom" in words(at)
    (box,) = [box for box in at.selectbox if box.label == "Which room is bathroom.jpg?"]
    assert box.value is None
    box.set_value("bathroom 1").run()
    assert store.home(home.id).photo_rooms == {"bathroom.jpg": "bathroom 1"}
    assert "bathroom.jpg looks like" not in words(at)
    assert "Which room is bathroom.jpg?" not in {box.label for box in at.selectbox}
