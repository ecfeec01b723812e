"""Colour names and dominant colours."""

from __future__ import annotations

import numpy as np
import pytest

from scorer.photos.colour import bytes_of_hex, ciede2000, lab_of_hex
from scorer.photos.names import centroids, colour_name, colour_of_lab, dominant_colours


def test_every_name_of_the_dictionary_names_its_own_centroid():
    # ISCC-NBS level 3 has 267 names: NBS Special Publication 440 (1976).
    names, labs = centroids()
    assert len(names) == 267 == len(set(names))
    assert [colour_name(lab) for lab in labs] == [name.lower() for name in names]


# Centroids in NBS Special Publication 440 / Research Paper 2911, as sRGB.
@pytest.mark.parametrize(
    ("hexadecimal", "name"),
    [("#f2f3f4", "white"), ("#80461b", "strong brown"), ("#6f4e37", "moderate brown"),
     ("#593319", "deep brown"), ("#f0ead6", "yellowish white"), ("#222222", "black")],
)  # fmt: skip
def test_published_centroids(hexadecimal, name):
    record = colour_of_lab(lab_of_hex(hexadecimal))
    assert (record.hex, record.name) == (hexadecimal, name)


def test_dominant_colours_give_the_shares_that_were_painted():
    picture = np.zeros((300, 400, 3), np.uint8)
    picture[:, :200] = bytes_of_hex("#f2f3f4")
    picture[:, 200:320] = bytes_of_hex("#80461b")
    picture[:, 320:] = bytes_of_hex("#2a4f9e")
    found = dominant_colours(picture)
    shares = [0.5, 0.3, 0.2]
    for colour, share, hexadecimal in zip(
        found, shares, ("#f2f3f4", "#80461b", "#2a4f9e"), strict=False
    ):
        assert colour.share == pytest.approx(share, abs=0.02)
        assert ciede2000(lab_of_hex(colour.hex), lab_of_hex(hexadecimal)) < 1.5
    assert sum(c.share for c in found) == pytest.approx(1, abs=1e-3)


def test_dominant_colours_are_the_same_every_time_and_take_one_colour():
    noise = np.random.default_rng(1).integers(0, 256, (120, 160, 3), dtype=np.uint8)
    assert dominant_colours(noise) == dominant_colours(noise)
    flat = np.full((40, 40, 3), 200, np.uint8)
    (only,) = dominant_colours(flat)
    assert only.share == 1
    assert only.hex == "#c8c8c8"
