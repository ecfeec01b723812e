"""Perceptual hash and near-duplicate groups."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from scorer.photos.likeness import content_hash, group_duplicates, hamming, mirrored_hash
from scorer.photos.reading import Reading


def picture(seed: int) -> np.ndarray:
    """A smooth picture with some structure, different for every seed."""
    rng = np.random.default_rng(seed)
    small = rng.integers(0, 256, (6, 8, 3), dtype=np.uint8)
    big = cv2.resize(small, (640, 480), interpolation=cv2.INTER_CUBIC)
    left, top = int(rng.integers(0, 400)), int(rng.integers(0, 300))
    cv2.rectangle(big, (left, top), (left + 180, top + 160), (40, 60, 90), -1)
    return big


def reading(name: str, rgb: np.ndarray) -> Reading:
    return Reading(file=name, content_hash=content_hash(rgb))


# N. Krawetz, "Looks Like It", 2011: the same picture again (resized, recompressed, brightened)
# differs in few bits of 64; up to 5 is similar, 10 or more is another picture.
@pytest.mark.parametrize("seed", range(5))
def test_harmless_changes_keep_the_hash(seed):
    rgb = picture(seed)
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=40)
    recompressed = np.asarray(Image.open(out))
    smaller = cv2.resize(rgb, (320, 240), interpolation=cv2.INTER_AREA)
    brighter = np.clip(rgb.astype(float) * 1.2, 0, 255).astype(np.uint8)
    for other in (recompressed, smaller, brighter):
        assert hamming(content_hash(rgb), content_hash(other)) <= 5


def test_other_pictures_are_ten_bits_away_or_more():
    hashes = [content_hash(picture(seed)) for seed in range(30)]
    pairs = [hamming(a, b) for i, a in enumerate(hashes) for b in hashes[:i]]
    assert min(pairs) >= 10
    # Two hashes that have nothing to do with each other agree in half of their 64 bits.
    assert np.mean(pairs) == pytest.approx(32, abs=3)


@pytest.mark.parametrize("seed", range(5))
def test_the_mirror_is_known_without_decoding_again(seed):
    rgb = picture(seed)
    turned = content_hash(np.ascontiguousarray(rgb[:, ::-1]))
    assert hamming(mirrored_hash(content_hash(rgb)), turned) <= 2


def test_groups_hold_copies_and_mirrors_and_nothing_else():
    a, b, c = picture(1), picture(2), picture(3)
    copy = cv2.resize(a, (500, 375))
    mirror = np.ascontiguousarray(a[:, ::-1])
    readings = [
        reading("a.jpg", a),
        reading("b.jpg", b),
        reading("a-small.jpg", copy),
        Reading(file="broken.jpg", error="broken.jpg: the file is empty."),
        reading("c.jpg", c),
        reading("a-mirrored.jpg", mirror),
    ]
    assert group_duplicates(readings) == (("a.jpg", "a-small.jpg", "a-mirrored.jpg"),)
    assert group_duplicates(readings[1:2]) == ()
    assert group_duplicates([]) == ()
