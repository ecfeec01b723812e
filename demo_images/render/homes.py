"""The invented homes: read from `descriptions/`, rendered, and written with their listings."""

from __future__ import annotations

import csv
import json
import tomllib
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from .camera import render
from .develop import Development, develop
from .outside import House
from .rooms import RoomSpec, build

DESCRIPTIONS = Path(__file__).parent / "descriptions"
SIZE = (960, 640)
CAMERAS = {
    "phone": Development(ev=0.2, balance=0.8, warmth=0.06, noise=0.01, curve=0.3),
    "agent": Development(ev=0.45, balance=0.95, noise=0.004, curve=0.35, glare=0.015),
    "dim": Development(ev=-1.25, balance=0.75, warmth=-0.05, noise=0.022, curve=0.25, vignette=0.3),
    "warm": Development(ev=0.0, balance=0.45, warmth=0.12, noise=0.012, curve=0.3),
}


@dataclass(frozen=True)
class Picture:
    """One photo: file name, RESO `ImageOf` (None leaves it out), the room and its development."""

    file: str
    image_of: str | None
    spec: RoomSpec
    how: Development


@dataclass(frozen=True)
class Home:
    """One invented home."""

    name: str
    format: str
    listing: dict[str, Any]
    tags: tuple[tuple[Any, ...], ...]
    pictures: tuple[Picture, ...]


def _frozen(value: Any) -> Any:
    """Lists as tuples, all the way down."""
    if isinstance(value, list):
        return tuple(_frozen(item) for item in value)
    return value


def _picture(row: dict[str, Any]) -> Picture:
    fields = {key: _frozen(value) for key, value in row.items()}
    how = CAMERAS[fields.pop("camera")]
    if "ev" in fields:
        how = replace(how, ev=float(fields.pop("ev")))
    file, image_of = fields.pop("file"), fields.pop("image_of", None)
    if fields.get("lamp") == ():
        fields["lamp"] = None
    option = {key: _frozen(value) for key, value in fields.pop("option", {}).items()}
    if "house" in option:
        option["house"] = House(**{k: _frozen(v) for k, v in option["house"].items()})
    return Picture(file, image_of, RoomSpec(option=option, **fields), how)


@lru_cache(maxsize=1)
def load_homes() -> tuple[Home, ...]:
    """All homes, by name."""
    homes = []
    for path in sorted(DESCRIPTIONS.glob("*.toml")):
        row = tomllib.loads(path.read_text(encoding="utf-8"))
        tags = tuple(
            (tag["room"], tag["condition"], tag["severity"], tag["note"])
            for tag in row.get("tag", [])
        )
        pictures = tuple(_picture(picture) for picture in row["picture"])
        homes.append(Home(row["name"], row["format"], row["listing"], tags, pictures))
    return tuple(homes)


def render_picture(home: Home, picture: Picture, out: Path, spp: int, scale: float = 1.0) -> None:
    """Render and develop one picture into `out`/home."""
    model, view = build(picture.spec)
    size = (round(SIZE[0] * scale), round(SIZE[1] * scale))
    shot = render(model, view, size, spp, want_codes=False)
    data, _ = develop(shot, picture.how, picture.spec.seed)
    folder = out / home.name
    folder.mkdir(parents=True, exist_ok=True)
    (folder / picture.file).write_bytes(data)


def media(home: Home) -> list[dict[str, Any]]:
    """RESO Media rows of the home's pictures."""
    rows: list[dict[str, Any]] = []
    for order, picture in enumerate(home.pictures, 1):
        row: dict[str, Any] = {"MediaURL": picture.file, "Order": order}
        if picture.image_of:
            row["ImageOf"] = picture.image_of
        rows.append(row)
    return rows


def _toml(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)  # a JSON string, number or boolean is TOML too


def write_listing(home: Home, out: Path) -> None:
    """Write listing.json, .toml or .csv, and tags.csv where the home has tags."""
    folder = out / home.name
    folder.mkdir(parents=True, exist_ok=True)
    if home.format == "json":
        text = json.dumps({**home.listing, "Media": media(home)}, indent=2) + "\n"
        (folder / "listing.json").write_text(text, encoding="utf-8")
    elif home.format == "toml":
        lines = [f"{key} = {_toml(value)}" for key, value in home.listing.items()]
        for row in media(home):
            lines += ["", "[[Media]]", *(f"{key} = {_toml(value)}" for key, value in row.items())]
        (folder / "listing.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    else:  # a flat file has no place for Media: the room is read from the file name
        with (folder / "listing.csv").open("w", newline="", encoding="utf-8") as handle:
            facts = csv.DictWriter(handle, list(home.listing), lineterminator="\n")
            facts.writeheader()
            facts.writerow(home.listing)
    if home.tags:
        with (folder / "tags.csv").open("w", newline="", encoding="utf-8") as handle:
            table = csv.writer(handle, lineterminator="\n")
            table.writerow(("room", "condition", "severity", "note"))
            table.writerows(home.tags)
