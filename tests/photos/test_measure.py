"""Lengths in a photo: exact under any perspective, honest about its error."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.photos.measure import known_sizes, length_between, read_known_sizes

DOOR = known_sizes()["door_30"]


def through_a_camera(points_in: np.ndarray, tilt: float, turn: float) -> np.ndarray:
    """Pinhole projection of points on a wall 120 in away [in] to pixels (Hartley and Zisserman)."""
    a, b = np.radians(tilt), np.radians(turn)
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    space = np.c_[points_in, np.zeros(len(points_in))] @ (about_x @ about_y).T + [0, 0, 120.0]
    return 900.0 * space[:, :2] / space[:, 2:] + [640, 480]


@given(
    st.floats(-25, 25),
    st.floats(-35, 35),
    st.tuples(st.floats(-40, 40), st.floats(-40, 40)),
    st.tuples(st.floats(-40, 40), st.floats(-40, 40)),
)
def test_any_camera_gives_the_true_length(tilt, turn, one, two):
    truth = float(np.hypot(one[0] - two[0], one[1] - two[1]))
    assume(truth > 5)
    wall = np.array([[-20, -40], [10, -40], [10, 40], [-20, 40], one, two], dtype=float)
    seen = through_a_camera(wall, tilt, turn)
    got = length_between(seen[:4].tolist(), DOOR, tuple(seen[4]), tuple(seen[5])).length_in
    assert got.typical == pytest.approx(truth, rel=1e-3)
    assert got.low < truth < got.high


def test_the_stated_range_holds_eight_times_in_ten():
    rng = np.random.default_rng(7)
    wall = np.array([[-20, -40], [10, -40], [10, 40], [-20, 40], [15, 0], [55, 10]], dtype=float)
    truth = float(np.hypot(40, 10))
    hits = 0
    for _ in range(400):
        size = 1 + 0.01 * rng.standard_normal()  # the door itself is not quite 30 by 80
        lens = 1 + 0.01 * rng.standard_normal()
        seen = through_a_camera(wall, 5, 15)
        seen += rng.normal(0, 2.0, seen.shape)
        got = length_between(seen[:4].tolist(), DOOR, tuple(seen[4]), tuple(seen[5])).length_in
        hits += got.low <= truth * size * lens <= got.high
    assert 0.74 <= hits / 400 <= 0.86


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ([(0, 0), (0, 100), (100, 100), (100, 0)], "must go round"),
        ([(0, 0), (1, 0), (1, 100), (0, 100)], "must go round"),
        ([(0, 0), (100, 0), (50, 20), (0, 100)], "must go round"),
        ([(0, 0), (float("nan"), 0), (100, 100), (0, 100)], "two numbers"),
    ],
)
def test_bad_corners_get_a_sentence(corners, words):
    with pytest.raises(InputError, match=words):
        length_between(corners, DOOR, (10, 10), (20, 20))


def test_a_point_beyond_the_horizon_gets_a_sentence():
    corners = [(0, 0), (100, 0), (300, 100), (-200, 100)]  # a floor seen from above, horizon at -25
    with pytest.raises(InputError, match="horizon"):
        length_between(corners, DOOR, (50, 50), (50, -60))


def test_every_known_size_has_a_source():
    assert len(known_sizes()) >= 8
    for row in known_sizes().values():
        assert row.source
        assert 0 < row.tolerance_share < 0.1
        assert row.width_in > 0
        assert row.height_in > 0


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("door,Door,wide,80,0.01,from memory", "sizes.csv, row 3, field width_in: “wide”"),
        ("door,Door,0,80,0.01,from memory", "sizes.csv, row 3, field width_in: “0” is too little"),
        ("door,Door,30,80,0.01,", "sizes.csv, row 3, field source"),
        ("gate,Gate,30,80,0.01,from memory", "sizes.csv, row 3, field id: stands there twice"),
    ],
)
def test_a_wrong_known_size_names_file_row_and_field(row, words):
    head = "id,label,width_in,height_in,tolerance_share,source"
    good = "gate,Gate,36,80,0.02,from memory"
    with pytest.raises(InputError) as caught:
        read_known_sizes("\n".join([head, good, row]), "sizes.csv")
    assert str(caught.value).startswith(words)
