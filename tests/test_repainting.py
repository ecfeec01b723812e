"""Walls painted anew for training must have the tone that they are said to have."""

import csv

import numpy as np
import pytest
from skimage.color import rgb2xyz
from skimage.color.colorconv import xyz_from_rgb

from scorer.photos.colour import LUMINANCE_WEIGHTS
from scorer.photos.surfaces import HEADS, LIGHTNESS_CUTS, LIGHTNESS_MIDDLES, TONE_CLASSES
from scorer.photos.walls import DARK_BELOW_LRV, LIGHT_FROM_LRV
from scorer.training.fit_walls import QUESTIONS, fit_models
from scorer.training.labels import MORE_LABELS, TARGETS
from scorer.training.measured import Row
from scorer.training.painted_views import painted_view
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


def test_accents_cover_a_part_of_the_width_and_pale_paint_all_of_it(paints):
    _, chosen = paints
    width = chosen.span[:, 1] - chosen.span[:, 0]
    pale = chosen.tone[:, TARGETS["tone"].index("light")] == 1
    np.testing.assert_array_equal(width[pale], 1.0)
    part = width[~pale] < 1
    assert 0.2 < part.mean() < 0.4
    assert (width[~pale][part] >= 0.3).all()
    whole = choose_paints(np.ones(50, np.bool_), np.random.default_rng(1), share=1.0, accents=0.0)
    assert whole.painted.all()
    np.testing.assert_array_equal(whole.span, np.tile([0.0, 1.0], (50, 1)))


def test_a_painted_view_changes_only_the_wall_and_by_the_ratio_of_the_paints():
    """Linear light by IEC 61966-2-1, as scikit-image's rgb2xyz takes it out."""
    rgb = np.full((8, 8, 3), (200, 190, 180), np.uint8)
    matte = np.zeros((8, 8))
    matte[:, :4] = 1.0
    ratio = np.array([0.2, 0.3, 0.1])
    view = painted_view(rgb, matte, ratio, taken_back=0.0)
    np.testing.assert_array_equal(view[:, 4:], rgb[:, 4:])
    to_rgb = np.linalg.inv(xyz_from_rgb)
    before, after = (rgb2xyz(picture)[0, 0] @ to_rgb.T for picture in (rgb, view))
    np.testing.assert_allclose(after / before, ratio, atol=0.004)


def test_a_camera_takes_back_some_of_the_light_that_dark_walls_swallow():
    rgb = np.full((8, 8, 3), 128, np.uint8)
    matte = np.zeros((8, 8))
    matte[:, :4] = 1.0
    as_it_is, raised = (painted_view(rgb, matte, np.full(3, 0.2), back) for back in (0.0, 0.5))
    assert (raised[:, 4:] > as_it_is[:, 4:]).all()
    assert (raised[:, :4] > as_it_is[:, :4]).all()
    assert (raised[:, :4] < raised[:, 4:]).all()


PLAIN = {
    "wall_tone": "mid", "wall_bold": "n", "exposure": "ok", "room_light": "ok", "era": "dated",
}  # fmt: skip
PALE = {
    "wall_tone": "light", "wall_bold": "y", "exposure": "dark", "room_light": "dim",
    "era": "average",
}  # fmt: skip
BRIGHT = PLAIN | {"exposure": "bright", "room_light": "bright"}


def a_row(rng, house, *, dark=False, labels=(), truth=None):
    figures = {name: float(rng.normal()) for spec in QUESTIONS.values() for name in spec[0]}
    figures["over_p95"] = -3.0 if dark else -1.0
    return Row(f"{house}_kitchen", f"house {house}", figures, figures, labels, truth or {})


def test_painted_photos_teach_dark_walls_and_nothing_else():
    rng = np.random.default_rng(3)
    photos = [a_row(rng, k, labels=((PLAIN, PALE, BRIGHT)[k % 3],)) for k in range(30)]
    photos[0].labels = (PLAIN | {"wall_tone": "dark"},)
    rendered = [
        Row("r", f"scene r {k}", p.light, p.wall, (), {"tone": "mid", "wall_lab_L": f"{50 + k}"})
        for k, p in enumerate(photos)
    ]
    painted = [
        a_row(rng, k, dark=k % 2 == 0, truth={"tone": ("dark", "mid")[k % 2]}) for k in range(30)
    ]
    assert all(p.painted and not p.rendered for p in painted)
    assert all(r.rendered and not r.painted for r in rendered)
    without = fit_models([*photos, *rendered])
    taught = fit_models([*photos, *rendered, *painted])
    dark_wall = a_row(rng, 99, dark=True).features
    assert without["wall_dark"].probability(dark_wall) < 0.5
    assert taught["wall_dark"].probability(dark_wall) > 0.7
    for name in set(without) - {"wall_dark"}:
        assert taught[name] == without[name]


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
