"""Time left, by a clock of the test's own."""

from __future__ import annotations

import pytest

from scorer.screening.progress import RECENT_SECONDS, Meter, Progress

READ, LOOK_UP = 1.0, 0.001
"""What a photo that must be read takes, and one that is known [s]."""


class Bench:
    """A meter whose clock goes on with what is counted."""

    def __init__(self, photos: int) -> None:
        self.now = 100.0
        self.meter = Meter(photos, photos // 10, lambda: self.now)

    def photo(self, seconds: float, *, known: bool = False) -> Progress:
        self.now += seconds
        return self.meter.count("a home", known=known, whole=False)

    def tenths(self, count: int) -> Progress:
        """So many tens of photos, each ten of which show one picture."""
        for _ in range(count):
            for repeat in range(10):
                seen = self.photo(LOOK_UP if repeat else READ, known=repeat > 0)
        return seen


def test_pictures_that_repeat_cost_nothing_the_second_time() -> None:
    seen = Bench(10_000).tenths(500)
    assert seen.photos_known == 4_500
    assert seen.photos_per_second == pytest.approx(10, rel=0.06)
    assert seen.seconds_left == pytest.approx(500, rel=0.06)


def test_what_an_earlier_run_read_does_not_count_for_the_rest() -> None:
    bench = Bench(1_000)
    for _ in range(600):
        bench.photo(LOOK_UP, known=True)
    assert bench.photo(READ).seconds_left == pytest.approx(399 * READ)
    for _ in range(99):
        seen = bench.photo(READ)
    assert seen.seconds_left == pytest.approx(300 * READ)


def test_repeats_count_also_in_a_run_that_is_taken_up() -> None:
    bench = Bench(2_000)
    for _ in range(1_000):
        bench.photo(LOOK_UP, known=True)
    assert bench.tenths(50).seconds_left == pytest.approx(50 * READ, rel=0.06)


def test_the_rate_follows_when_photos_get_slower() -> None:
    bench = Bench(1_000)
    for _ in range(300):
        bench.photo(READ)
    for _ in range(round(RECENT_SECONDS / (4 * READ)) + 1):
        seen = bench.photo(4 * READ)
    assert seen.photos_per_second == pytest.approx(1 / (4 * READ))


def test_where_all_is_known_the_rate_is_that_of_looking_up() -> None:
    bench = Bench(1_000)
    for _ in range(500):
        seen = bench.photo(LOOK_UP, known=True)
    assert seen.seconds_left == pytest.approx(500 * LOOK_UP)


def test_there_is_no_time_left_before_the_first_photo() -> None:
    assert Progress("a home", 0, 10, 0, 1).seconds_left is None
    assert Bench(10).photo(0.0).seconds_left is None
    done = Bench(10)
    for _ in range(10):
        seen = done.photo(READ)
    assert seen.seconds_left == 0
