"""Facts that the user typed: over the listing's, and never lost to it."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.store import StaleError, Store

LISTING = Listing(home="1 oak street", list_price_usd=90_000.0, bedrooms=2)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    kept = Store(tmp_path / "homes.sqlite")
    kept.add_home(LISTING, folder="/homes/1 oak street")
    return kept


def test_typed_facts_stand_in_place_of_the_listings(store: Store):
    store.save_facts(1, 1, {"list_price_usd": 84_000.0, "monthly_rent_usd": 725.0})
    home = store.home(1)
    assert (home.listing.list_price_usd, home.listing.monthly_rent_usd) == (84_000.0, 725.0)
    assert home.listing.bedrooms == 2  # what was not typed follows the listing
    assert home.version == 2
    assert Store(store.path).home(1) == home


def test_an_import_changes_no_typed_fact_and_all_others(store: Store):
    store.save_facts(1, 1, {"list_price_usd": 84_000.0, "bedrooms": 2, "year_built": None})
    again = LISTING.model_copy(
        update={"list_price_usd": 88_000.0, "bedrooms": 3, "year_built": 1961}
    )
    store.add_home(again, folder="/homes/1 oak street")
    listing = store.home(1).listing
    assert listing.list_price_usd == 84_000.0
    assert (listing.bedrooms, listing.year_built) == (3, 1961)  # neither differed when typed


def test_a_fact_that_is_emptied_is_unknown_and_can_come_back(store: Store):
    store.save_facts(1, 1, {"bedrooms": None})
    assert store.home(1).listing.bedrooms is None
    store.save_facts(1, 2, {"bedrooms": 2})
    assert store.home(1).listing == LISTING


@pytest.mark.parametrize("wrong", [{"year_built": 1200}, {"living_area_sqft": 0}, {"units": 0}])
def test_a_fact_that_can_not_be_is_refused_whole(store: Store, wrong: dict[str, int]):
    with pytest.raises(InputError, match="can't be right"):
        store.save_facts(1, 1, {"list_price_usd": 70_000.0, **wrong})
    assert store.home(1).listing == LISTING
    assert store.home(1).version == 1


def test_facts_typed_over_another_windows_change_are_refused(store: Store):
    store.save_facts(1, 1, {"bedrooms": 3})
    with pytest.raises(StaleError):
        store.save_facts(1, 1, {"bedrooms": 4})
    assert store.home(1).listing.bedrooms == 3
