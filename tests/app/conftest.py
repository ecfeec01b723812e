"""Three small homes, read once; each test gets a data folder of its own with their readings."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import streamlit as st

from scorer.store import Store
from scorer.workspace import Workspace
from tests.app.serving import find_chromium, page
from tests.homes import DARK_RED, LIGHT, make_home

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FACTS = {
    "1 oak street": {"ListPrice": 90_000, "BedroomsTotal": 1, "TotalActualRent": 800},
    "3 elm road": {"ListPrice": 120_000, "BedroomsTotal": 1, "YearBuilt": 1995},
    "7 mill lane": {"ListPrice": 70_000, "BedroomsTotal": 2},
}


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of three small homes, the first of which has dark walls."""
    folder = tmp_path_factory.mktemp("homes")
    for number, (name, facts) in enumerate(FACTS.items()):
        home = make_home(folder / name, DARK_RED if number == 0 else LIGHT, seed=number)
        facts = {"UnparsedAddress": name.title(), **facts}
        (home / "listing.json").write_text(json.dumps(facts), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def read_before(homes: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder in which the homes were brought in and read."""
    data = tmp_path_factory.mktemp("read") / "data"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scorer.workspace.workspace.demo_folder", lambda: homes)
        space = Workspace(Store(data / "homes.sqlite"))
        space.import_demo_once()
        space.read_all()
        assert not space.reader.failed
        assert len(space.screen_all()) == len(FACTS)
        space.store.close()
    return data


@pytest.fixture
def data(read_before: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A data folder of one's own, homes and readings in it."""
    folder = tmp_path / "data"
    shutil.copytree(read_before, folder)
    monkeypatch.setenv("VALUE_ADD_DATA", str(folder))
    st.cache_resource.clear()
    yield folder
    st.cache_resource.clear()


@pytest.fixture
def address(data: Path) -> Iterator[str]:
    """Where the page over that folder is served."""
    with page(data) as where:
        yield where


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The browser, shared by a module's tests; those skip where there is none."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as runner:
        browser = runner.chromium.launch(executable_path=find_chromium())
        yield browser
        browser.close()
