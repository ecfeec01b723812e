"""The demo homes are whole: pictures decode, listings parse and name the pictures there are."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scorer.money.comps import read_comps

DEMO = Path(__file__).resolve().parents[1] / "demo_images"
HOMES = sorted(path for path in (DEMO / "homes").iterdir() if path.is_dir())
MOST_BYTES = 15_000_000

# From the RESO Data Dictionary 2.0 (Property resource), as published by RESO.
NUMBERS = {
    "ListPrice": (60_000, 190_000),
    "BedroomsTotal": (1, 6),
    "BathroomsTotalInteger": (1, 4),
    "LivingArea": (650, 1_700),
    "YearBuilt": (1920, 2005),
    "NumberOfUnitsTotal": (1, 4),
    "TaxAnnualAmount": (500, 6_000),
    "TotalActualRent": (500, 1_500),
    "LeaseAmount": (500, 1_500),
}
OTHERS = {"UnparsedAddress", "LeaseAmountFrequency", "PropertyCondition", "PublicRemarks", "Media"}


def listing(home: Path) -> dict[str, object]:
    """Facts of one home, whichever format they are in; blank cells left out."""
    found = sorted(home.glob("listing.*"))
    assert len(found) == 1, f"{home.name} needs exactly one listing file, found {found}"
    text = found[0].read_text(encoding="utf-8")
    if found[0].suffix == ".json":
        facts = json.loads(text)
    elif found[0].suffix == ".toml":
        facts = tomllib.loads(text)
    else:
        rows = list(csv.DictReader(text.splitlines()))
        assert len(rows) == 1
        facts = {key: value for key, value in rows[0].items() if value != ""}
    assert isinstance(facts, dict)
    return facts


def test_there_are_seven_homes_or_more_in_every_format_and_the_folder_is_small() -> None:
    assert len(HOMES) >= 7
    formats = {path.suffix for home in HOMES for path in home.glob("listing.*")}
    assert formats == {".json", ".toml", ".csv"}
    size = sum(path.stat().st_size for path in DEMO.rglob("*") if path.is_file())
    assert size < MOST_BYTES


@pytest.mark.parametrize("home", HOMES, ids=lambda home: home.name)
def test_pictures_decode_and_are_not_blank(home: Path) -> None:
    pictures = sorted(home.glob("*.jpg"))
    assert 5 <= len(pictures) <= 9
    for path in pictures:
        with Image.open(path) as image:
            assert image.format == "JPEG"
            assert image.size == (960, 640)
            levels = np.asarray(image.convert("L"), float)
        assert levels.std() > 8, f"{path.name} shows nothing"


@pytest.mark.parametrize("home", HOMES, ids=lambda home: home.name)
def test_listing_uses_reso_names_and_plausible_values(home: Path) -> None:
    facts = listing(home)
    assert set(facts) <= set(NUMBERS) | OTHERS
    assert {"UnparsedAddress", "ListPrice", "BedroomsTotal", "LivingArea"} <= set(facts)
    for name, (low, high) in NUMBERS.items():
        if name in facts:
            assert low <= float(str(facts[name])) <= high, f"{name} of {home.name}"


@pytest.mark.parametrize("home", HOMES, ids=lambda home: home.name)
def test_media_and_pictures_are_the_same_set(home: Path) -> None:
    media = listing(home).get("Media")
    if media is None:  # a flat CSV has none; the file names say the room
        assert (home / "listing.csv").exists()
        return
    assert isinstance(media, list)
    assert sorted(row["MediaURL"] for row in media) == sorted(p.name for p in home.glob("*.jpg"))
    assert [row["Order"] for row in media] == list(range(1, len(media) + 1))


def test_the_dim_home_is_dimmer_than_the_done_up_home() -> None:
    def typical(name: str) -> float:
        inside = [p for p in (DEMO / "homes" / name).glob("*.jpg") if p.stem not in ("front", "01")]
        return float(
            np.median([np.asarray(Image.open(p).convert("L"), float).mean() for p in inside])
        )

    assert typical("207-quarry-road") < 0.6 * typical("31-larkspur-lane")


def test_some_facts_and_some_rooms_are_missing_on_purpose() -> None:
    facts = {home.name: listing(home) for home in HOMES}
    assert any("TotalActualRent" not in f and "LeaseAmount" not in f for f in facts.values())
    assert any("TaxAnnualAmount" not in f for f in facts.values())
    assert any(float(str(f.get("NumberOfUnitsTotal", 1))) > 1 for f in facts.values())
    assert not list((DEMO / "homes" / "63-cinder-lane").glob("*bath*"))


def test_tags_and_comps_parse() -> None:
    tagged = [home / "tags.csv" for home in HOMES if (home / "tags.csv").exists()]
    assert tagged
    for path in tagged:
        with path.open(newline="", encoding="utf-8") as handle:
            rows = list(csv.DictReader(handle))
        assert set(rows[0]) == {"room", "condition", "severity", "note"}
        assert {"leak_below_bath", "cabinets_sound"} <= {row["condition"] for row in rows}
        assert all(0 <= int(row["severity"]) <= 3 for row in rows)
    comps, problems = read_comps(DEMO / "comps.csv")
    assert problems == ()
    assert len(comps) >= 12
    assert all(600 <= comp.rent_usd_month <= 1_400 for comp in comps)
    assert {comp.condition for comp in comps} == {"dated", "average", "updated"}
    assert all(comp.date is not None for comp in comps)
