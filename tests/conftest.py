"""What every test shares: nothing of the user's own is read or written."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder for this test alone."""
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("VALUE_ADD_CACHE", str(folder))
    return folder
