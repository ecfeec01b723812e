"""Large folders of homes, made of the demo photos: each photo's pixels and bytes differ."""

from __future__ import annotations

import csv
import hashlib
import os
import random
from collections.abc import Iterator
from pathlib import Path

from PIL import Image, ImageEnhance, ImageOps

from scorer.listing.room_words import from_name

DEMO = Path(__file__).resolve().parents[2] / "demo_images" / "homes"
ROOMS = ("front", "kitchen", "bathroom", "bedroom", "living room")
PHOTOS_A_HOME = 20
AGE_SECONDS = 3600


def make_photos(folder: Path, count: int, seed: int = 1) -> dict[str, list[Path]]:
    """Distinct photos by the room that they show.

    Each is a demo photo, cropped at random to 88–100 % of its width and height, perhaps mirrored, a
    little lighter or darker, and encoded as JPEG at a random quality.

    Raises
    ------
    RuntimeError
        If two came out the same.
    """
    draw = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    sources = [list(_demo(room)) for room in ROOMS]
    made: dict[str, list[Path]] = {room: [] for room in ROOMS}
    hashes = set()
    for number in range(count):
        place = number % len(ROOMS)
        path = folder / f"{number}.jpg"
        _vary(draw.choice(sources[place]), draw).save(path, quality=draw.randint(82, 94))
        hashes.add(hashlib.sha256(path.read_bytes()).digest())
        made[ROOMS[place]].append(path)
    if len(hashes) != count:
        raise RuntimeError(f"only {len(hashes)} of {count} photos differ")
    return made


def _demo(room: str) -> Iterator[Image.Image]:
    """Demo photos that show a room of this kind."""
    kind = getattr(from_name(room), "kind", None)
    for path in sorted(DEMO.rglob("*.jpg")):
        word = from_name(path.stem)
        if word is not None and word.kind == kind:
            with Image.open(path) as image:
                yield image.convert("RGB")


def _vary(image: Image.Image, draw: random.Random) -> Image.Image:
    width, height = (round(side * draw.uniform(0.88, 1.0)) for side in image.size)
    left = draw.randint(0, image.width - width)
    top = draw.randint(0, image.height - height)
    image = image.crop((left, top, left + width, top + height))
    if draw.random() < 0.5:
        image = ImageOps.mirror(image)
    return ImageEnhance.Brightness(image).enhance(draw.uniform(0.85, 1.15))


def make_homes(folder: Path, homes: int, photos: dict[str, list[Path]], seed: int = 2) -> None:
    """Homes of twenty photos, hard links to the distinct ones, with a table of facts.

    Photos are dealt out in turn, so that each is in as many homes as any other, give or take one.
    """
    draw = random.Random(seed)
    a_room = PHOTOS_A_HOME // len(ROOMS)
    deals = {room: _dealt(paths) for room, paths in photos.items()}
    folder.mkdir(parents=True)
    with (folder / "listings.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(
            ["ListingId", "ListPrice", "BedroomsTotal", "LivingArea", "YearBuilt", "LeaseAmount"]
        )
        for number in range(homes):
            name = f"{number} example street"
            home = folder / name
            home.mkdir()
            for room, deal in deals.items():
                for shot in range(a_room):
                    os.link(next(deal), home / f"{room} {shot + 1}.jpg")
            area = draw.randint(650, 1_700)
            price, rent = round(area * draw.uniform(70, 130), -2), round(area * 0.9, -1)
            table.writerow([name, price, a_room, area, draw.randint(1920, 2005), rent])
    # The files are old news: a cache may trust their times.
    for path in (path for paths in photos.values() for path in paths):
        moment = path.stat().st_mtime - AGE_SECONDS
        os.utime(path, (moment, moment))


def _dealt(paths: list[Path]) -> Iterator[Path]:
    while True:
        yield from paths
