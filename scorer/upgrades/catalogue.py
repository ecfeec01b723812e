"""Load the catalogue of upgrades and check it against the conditions, holds and price book."""

from __future__ import annotations

from pathlib import Path

from scorer.upgrades.upgrade import Upgrade

__all__ = ["Upgrade", "load_catalogue"]

CATALOGUE_FOLDER = Path(__file__).parent / "data" / "catalogue"


def load_catalogue(path: Path | None = None) -> tuple[Upgrade, ...]:
    """All upgrades, in the order of the files."""
    raise NotImplementedError
