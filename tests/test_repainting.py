"""Walls painted anew for training must have the tone that they are said to have."""

import csv

import numpy as np
import pytest

from scorer.photos.colour import LUMINANCE_WEIGHTS
from scorer.photos.surfaces import HEADS, LIGHTNESS_CUTS, LIGHTNESS_MIDDLES, TONE_CLASSES
from scorer.photos.walls import DARK_BELOW_LRV, LIGHT_FROM_LRV
from scorer.training.labels import MORE_LABELS, TARGETS
from scorer.training.repainting import choose_paints


@pytest.fixture(scope="module")
def paints():
    possible = np.arange(4000) % 4 != 0
    return possible, choose_paints(possible, np.random.default_rng(5))


def test_only_what_can_be_painted_is_painted(paints):
    possible, chosen = paints
    assert not chosen.painted[~possible].any()
    assert 0.4 < chosen.painted[possible].mean() < 0.6
    np.testing.assert_array_equal(chosen.ratios[~chosen.painted], 1.0)


def test_the_tone_holds_for_any_pale_wall_that_is_painted(paints):
    """A wall labelled light reflects 60 % or more (the labels' own bounds), seldom over 85 %."""
    _, chosen = paints
    for name, low, high in (
        ("dark", 0, DARK_BELOW_LRV), ("mid", DARK_BELOW_LRV, LIGHT_FROM_LRV),
    ):  # fmt: skip
        told = chosen.painted & (chosen.tone[:, TARGETS["tone"].index(name)] == 1)
        ratio = chosen.ratios[told] @ LUMINANCE_WEIGHTS
        assert told.sum() > 300
        assert (60 * ratio >= low).all()
        assert (85 * ratio <= high).all()


def test_dark_and_strong_paints_are_called_bold(paints):
    _, chosen = paints
    dark = chosen.tone[:, 0] == 1
    np.testing.assert_allclose(chosen.bold.sum(axis=1), 1, atol=1e-6)
    assert (chosen.bold[dark, 1] > 0.5).all()
    assert 0.2 < (chosen.bold[~dark, 1] > 0.5).mean() < 0.6


def test_lightness_classes_meet_at_the_bounds_of_the_tones():
    """CIE L* of Y = 0.25 and 0.60 by CIE 015:2018: 116 · Y^(1/3) − 16."""
    for (_, end), lrv in zip(
        list(TONE_CLASSES.values())[:2], (DARK_BELOW_LRV, LIGHT_FROM_LRV), strict=True
    ):
        assert LIGHTNESS_CUTS[end - 1] == pytest.approx(116 * (lrv / 100) ** (1 / 3) - 16, abs=0.01)
    assert len(HEADS["lightness"]) == len(LIGHTNESS_MIDDLES) == len(LIGHTNESS_CUTS) + 1
    edges = (0, *LIGHTNESS_CUTS, 100)
    assert all(a < m < b for a, m, b in zip(edges[:-1], LIGHTNESS_MIDDLES, edges[1:], strict=True))


def test_the_further_labels_use_the_labels_words():
    with MORE_LABELS.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len({row["name"] for row in rows}) == len(rows) == 102
    words = {
        "wall_tone_1": TARGETS["tone"], "wall_bold_1": ("y", "n"),
        "exposure_1": TARGETS["exposure"], "room_light_1": TARGETS["light"],
        "era_1": TARGETS["era"], "floor_1": (*TARGETS["floor"], ""),
        "cabinets_1": TARGETS["cabinets"],
    }  # fmt: skip
    for row in rows:
        for column, allowed in words.items():
            assert row[column] in allowed, (row["name"], column)
