"""How long choosing and drawing take, against a fixed piece of work on the same machine.

Run: ``python tests/benchmarks/choose_scope.py``. Machines are noisy, so the times are also given as
ratios to a matrix product measured in the same run; no test depends on them.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from scorer.listing.listing import Listing
from scorer.money import outcome_of
from scorer.records import Range
from scorer.scope.choose import choose, frontier
from scorer.scope.worth import Present
from scorer.settings import Aim, Settings
from tests.money.test_uncertainty import scope
from tests.scope.invented import hold, option

OPTIONS = 80
HOMES = 12
AIMS: tuple[Aim, ...] = ("net_gain", "rent_lift", "return")


def home(seed: int, count: int = OPTIONS) -> tuple[list, list]:
    """Options in nine rooms, with ladders, needs, required work and holds."""
    draw = random.Random(seed)
    options = []
    for number in range(count):
        earlier = [o.id for o in options]
        options.append(
            option(
                f"work_{number}",
                f"bedroom {number % 9}",
                cost=draw.uniform(30, 1_500),
                hours=draw.uniform(1, 20),
                rent=draw.uniform(0, 25),
                certainty=draw.choice([1.0, draw.uniform(0.4, 1.0)]),
                ladder=f"ladder {draw.randrange(max(2, 12 * count // OPTIONS))}",
                needs=tuple(draw.sample(earlier, 1)) if earlier and draw.random() < 0.1 else (),
                required=draw.random() < 0.05,
            )
        )
    stops = tuple(o.id for o in draw.sample(options, max(1, count // 8)))
    return options, [hold(stops=stops, only_if_disturbed=True, probability=0.6)]


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    matrix = np.random.default_rng(1).random((700, 700))
    choose(*home(0), Settings())  # import scipy before the clock runs
    unit = statistics.median(seconds(lambda: matrix @ matrix) for _ in range(9))
    print(f"{'unit: 700 × 700 matrix product':44s} {1_000 * unit:8.1f} ms")
    homes = [home(seed) for seed in range(HOMES)]
    for aim in AIMS:
        given, now = Settings(aim=aim), Present(900, None, 90_000)
        times = [
            seconds(lambda o=o, h=h, g=given, now=now: choose(o, h, g, present=now))
            for o, h in homes
        ]
        _row(f"choose, {OPTIONS} options, {aim}", times, unit)
    budgets = range(0, 12_500, 500)
    times = [seconds(lambda o=o, h=h: frontier(o, h, Settings(), budgets)) for o, h in homes[:4]]
    _row(f"frontier of {len(budgets)} budgets", times, unit)
    rent = Range(low=850, typical=900, high=950)
    times = [
        seconds(
            lambda o=o, h=h: outcome_of(scope(o, tuple(h)), Listing(home="x"), Settings(), rent)
        )
        for o, h in homes
    ]
    _row(f"20,000 draws × {OPTIONS} options", times, unit)


def _row(name: str, times: list[float], unit: float) -> None:
    middle, longest = statistics.median(times), max(times)
    print(
        f"{name:44s} {1_000 * middle:8.1f} ms, longest {1_000 * longest:8.1f} ms, "
        f"{middle / unit:7.1f} units"
    )


if __name__ == "__main__":
    main()
