"""A new network, or any other change of what reads, reads the page's photos again."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.listing import read_home
from scorer.photos import ALGORITHM_VERSION
from scorer.photos.reading import Reading
from scorer.screening.methods import reading_method
from scorer.store import Store
from scorer.store.care import look_over_store, store_path
from scorer.workspace import photo_shelf
from scorer.workspace.photo_shelf import PhotoShelf
from tests.homes import make_home


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PhotoShelf:
    """Four photos, read."""
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path / "data"))
    listing, _ = read_home(make_home(tmp_path / "oak"), name="oak")
    store = Store()
    store.add_home(listing, folder=str(tmp_path / "oak"))
    shelf = PhotoShelf(store)
    for key in shelf.keys(store.home(1)).values():
        assert key is not None
        shelf.put(key, Reading(file="x.jpg"))
    assert shelf.waiting(store.homes()) == []
    return shelf


def test_a_new_network_reads_again(shelf: PhotoShelf, monkeypatch: pytest.MonkeyPatch) -> None:
    # The version of the algorithm stays: only the network's file is another.
    monkeypatch.setattr(photo_shelf, "reading_method", lambda: f"{ALGORITHM_VERSION}.0000")
    ((_, photos),) = shelf.waiting(shelf.store.homes())
    assert len(photos) == 4


def test_readings_by_another_network_are_stale(shelf: PhotoShelf) -> None:
    for method in (f"{ALGORITHM_VERSION} any", f"{ALGORITHM_VERSION}.0000 kitchen"):
        shelf.store.save_reading("a", method, Reading(file="a"))
    shelf.store.save_reading("a", f"{reading_method()} any", Reading(file="a"))

    def told(*, tidy: bool) -> str:
        return " ".join(look_over_store(store_path(), tidy=tidy).notes)

    assert "--tidy` takes them out: 2." in told(tidy=False)
    assert "taken out: 2." in told(tidy=True)
    assert "earlier version" not in told(tidy=False)
    assert shelf.store.reading("a", f"{reading_method()} any") is not None
    assert PhotoShelf(shelf.store).waiting(shelf.store.homes()) == []
