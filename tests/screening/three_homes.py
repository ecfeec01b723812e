"""Three small homes for tests of a batch, and the batch over them."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

from scorer.screening import ScreenedFolder, screen_folder
from scorer.screening.cache import ReadingCache
from tests.homes import DARK_RED, LIGHT, save_photo

KINDS = ("kitchen", "bathroom")


def three_homes(folder: Path) -> Path:
    """The folder with the homes in it, the second of which has dark walls."""
    for number in range(3):
        home = folder / f"home {number}"
        for kind in KINDS:
            save_photo(home / f"{kind}.jpg", DARK_RED if number == 1 else LIGHT, seed=number)
        facts = {"ListPrice": 80_000, "LeaseAmount": 900, "YearBuilt": 1990, "BedroomsTotal": 1}
        (home / "listing.json").write_text(json.dumps(facts))
        age(home)
    return folder


def age(folder: Path) -> None:
    """Make files a minute old: the cache asks again for what was changed just now."""
    then = time.time() - 60
    for path in folder.iterdir():
        os.utime(path, (then, then))


def screen(folder: Path, *, kept: bool = True, **given: object) -> ScreenedFolder:
    if not kept:
        return screen_folder(folder, workers=1, **given)  # type: ignore[arg-type]
    with ReadingCache() as opened:
        return screen_folder(folder, workers=1, cache=opened, **given)  # type: ignore[arg-type]
