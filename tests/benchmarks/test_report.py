"""The speed report: its slopes, its file, its picture. Nothing is timed here."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy.stats import linregress

from tests.benchmarks import report
from tests.benchmarks.chart import draw, panels, ticks
from tests.benchmarks.growth import (
    RATIO,
    Point,
    add_points,
    by_series,
    growth,
    in_words,
    read_points,
    slope,
    what_and_quantity,
)

SVG = "{http://www.w3.org/2000/svg}"


def power(exponent: float, name: str = "a by homes", unit: str = "s") -> list[Point]:
    return [Point(name, x, 3 * x**exponent, unit) for x in (1, 10, 100, 1_000, 10_000)]


@pytest.mark.parametrize("exponent", [-0.5, 0.0, 0.5, 1.0, 2.0])
def test_the_slope_of_a_power_is_its_exponent(exponent: float) -> None:
    assert slope(power(exponent)) == pytest.approx(exponent)
    assert growth(power(exponent)).late_slope == pytest.approx(exponent)


def test_the_slope_is_that_of_a_general_library() -> None:
    rng = np.random.default_rng(5)
    x = rng.uniform(1, 1_000, 30)
    y = 2 * x**0.8 * np.exp(rng.normal(0, 0.3, 30))
    points = [Point("a by b", float(a), float(b), "s") for a, b in zip(x, y, strict=True)]
    assert slope(points) == pytest.approx(linregress(np.log(x), np.log(y)).slope)


def test_a_fixed_cost_does_not_hide_the_growth_of_large_sizes() -> None:
    points = [Point("a by b", x, 100 + x, "s") for x in (1, 10, 100, 1_000, 10_000, 100_000)]
    found = growth(points)
    assert found.slope < 0.7 < 0.85 < found.late_slope


@pytest.mark.parametrize(
    ("slope_", "words"),
    [
        (0.02, "stays the same"),
        (0.5, "twice the size, 1.4 times as much"),
        (1.0, "in proportion"),
        (2.0, "twice the size, 4.0 times as much"),
        (-1.0, "falls"),
        (math.nan, "too few"),
    ],
)
def test_a_slope_has_a_meaning_in_words(slope_: float, words: str) -> None:
    assert words in in_words(slope_)


def test_what_was_written_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "more.csv"
    first = [Point('a, "b" by homes', 10, 0.125, "s")]
    add_points(path, first, "done: one, 2 cores, load 0.1")
    add_points(path, power(1), "done: two")
    assert read_points(path) == [*first, *power(1)]
    assert report.groups_done(path) == {"one", "two"}
    assert what_and_quantity(first[0].series) == ('a, "b"', "homes")
    assert path.read_text().startswith("series,x,y,unit\n")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("series,x,y\na,1,2\n", "must name the columns"),
        ("series,x,y,unit\n# a note\na,1,2,s\nb,1,fast,s\n", "line 4"),
        ("series,x,y,unit\na,0,2,s\n", "line 2"),
        ("series,x,y,unit\na,1,inf,s\n", "line 2"),
    ],
)
def test_a_wrong_file_names_its_line(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "more.csv"
    path.write_text(text)
    with pytest.raises(ValueError, match=words):
        read_points(path)


def test_the_picture_shows_every_series_on_logarithmic_axes() -> None:
    points = [
        *power(1, "read <all> by homes"),
        *power(0, "peak by homes", "MB"),
        *power(2, "choose by options"),
        Point("a over b", 1, 3.4, RATIO),
        Point("alone by homes", 1, 2, "h"),
    ]
    assert list(panels(points)) == [("homes", "s"), ("homes", "MB"), ("options", "s")]
    text = draw(points, "Growth & more", "2 cores")
    assert len(text.encode()) < 100_000
    tree = ElementTree.fromstring(text)
    words = " ".join(node.text or "" for node in tree.iter(f"{SVG}text"))
    for part in ("read <all>", "peak", "slope 2.00", "slope 1.00", "Growth & more", "2 cores"):
        assert part in words
    assert "a over b" not in words
    assert "alone" not in words
    lines = [line.get("points", "") for line in tree.iter(f"{SVG}polyline")]
    assert len(lines) == 3
    x, y = np.array([pair.split(",") for pair in lines[0].split()], float).T
    assert np.diff(x) == pytest.approx(np.diff(x)[0], abs=0.2)  # powers of ten lie evenly
    assert np.diff(y) == pytest.approx(np.diff(y)[0], abs=0.2)
    assert np.diff(y)[0] < 0  # SVG counts downwards
    for node in tree.iter():
        for value in (float(node.get(k, 0)) for k in ("x", "x1", "x2", "cx")):
            assert 0 <= value <= float(tree.get("width", 0))
    with pytest.raises(ValueError, match="nothing to draw"):
        draw([Point("a over b", 1, 3.4, RATIO)], "")


def test_ticks_are_round_and_within() -> None:
    assert ticks(8, 64) == [10, 20, 50]
    assert ticks(1, 10_000) == [1, 10, 100, 1_000, 10_000]


def test_the_table_says_figures_in_plain_numbers() -> None:
    points = [
        Point("a over b", 1, 1_459.7, RATIO),
        Point("rate", 1, 8.126, "photos/s"),
        *power(1),
        Point("b by homes", 1, 0.00234, "s"),
        Point("b by homes", 2, 0.00234, "s"),
    ]
    text = "\n".join(report.table(points))
    assert "| a over b | 1,460 × |" in text
    assert "| rate | 8.13 photos/s |" in text
    assert "| a | homes | 1 – 10,000 | 30,000 s | 1.00 | in proportion" in text
    assert "| b | homes | 1 – 2 | 2.34 ms | – | too few points to tell |" in text


def test_what_is_there_is_not_measured_again(tmp_path: Path) -> None:
    file, picture = tmp_path / "measured.csv", tmp_path / "growth.svg"
    add_points(file, power(1), "done: options, 2026-11-25")
    more = tmp_path / "more.csv"
    add_points(more, power(0, "peak by homes", "MB"))
    command = [sys.executable, "-m", "tests.benchmarks.report", "--file", str(file)]
    command += ["--picture", str(picture), "--only", "options", "--with", str(more)]
    before = file.read_bytes()
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stderr == ""  # a group that is measured is named there
    assert file.read_bytes() == before
    assert "peak" in done.stdout
    assert "peak" in picture.read_text()


def test_the_committed_picture_is_drawn_from_the_committed_figures() -> None:
    if not report.FILE.exists():
        pytest.skip("nothing was measured yet")
    names = {what_and_quantity(rows[0].series)[0] for rows in by_series(read_points(report.FILE))}
    text = ElementTree.fromstring(report.PICTURE.read_text(encoding="utf-8"))
    shown = {node.text for node in text.iter(f"{SVG}text")}
    drawn = {
        what_and_quantity(rows[0].series)[0]
        for rows in by_series(read_points(report.FILE))
        if len(rows) > 1 and rows[0].unit != RATIO
    }
    assert drawn <= shown & names
    assert report.PICTURE.stat().st_size < 100_000
