"""Every figure of the speed report in one go, its table and its picture.

``python -m tests.benchmarks.report`` measures what FILE lacks, group by group, each in a process of
its own: stopped anywhere, the next run goes on with the group that was under way. Then it prints
the table and draws the picture.

    python -m tests.benchmarks.report [--file FILE] [--again] [--only GROUP ...]
                                      [--with MORE.csv ...] [--picture PICTURE]

``--again`` measures everything anew; ``--with`` adds series that another script wrote, such as
those of ``tests.benchmarks.batch``; ``--only draw`` measures nothing.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import subprocess
import sys
import time
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from tests.benchmarks.chart import draw
from tests.benchmarks.growth import (
    RATIO,
    Point,
    add_points,
    by_series,
    growth,
    read_points,
    what_and_quantity,
)
from tests.benchmarks.series import GROUPS

HERE = Path(__file__).parent
FILE, PICTURE = HERE / "measured.csv", HERE / "growth.svg"
DONE = "done: "


def machine() -> str:
    """Where it is measured, and how busy that place is."""
    return (
        f"{os.cpu_count()} cores, {platform.system()} on {platform.machine()}, "
        f"Python {platform.python_version()}, load {os.getloadavg()[0]:.1f}"
    )


def groups_done(file: Path) -> set[str]:
    """Groups that a file holds whole: the note behind their points says so."""
    if not file.exists():
        return set()
    lines = file.read_text(encoding="utf-8").splitlines()
    marks = [line.removeprefix(f"# {DONE}") for line in lines if line.startswith(f"# {DONE}")]
    return {mark.split(",")[0] for mark in marks}


def measure(group: str, file: Path) -> None:
    """Measure one group and write it behind what a file holds."""
    started, before = time.perf_counter(), machine()
    points = GROUPS[group]()
    when = datetime.now(UTC).strftime("%Y-%m-%d")
    took = time.perf_counter() - started
    add_points(file, points, f"{DONE}{group}, {when}, {before}, {took:.0f} s")


def table(points: Iterable[Point]) -> list[str]:
    """Lines of a Markdown table: ratios and rates first, then how every series grows."""
    lines = ["| what | measured |", "|---|---|"]
    grown = ["", "| what | against | from – to | at the end | slope | meaning |", "|" + "---|" * 6]
    for rows in by_series(points):
        name, last = rows[0].series, rows[-1]
        if len(rows) == 1:
            shown = f"{figure(last.y)} ×" if last.unit == RATIO else amount(last)
            lines.append(f"| {name} | {shown} |")
            continue
        what, quantity = what_and_quantity(name)
        by = growth(rows)
        grown.append(
            f"| {what} | {quantity} | {rows[0].x:,g} – {last.x:,g} | {amount(last)} | "
            f"{'–' if math.isnan(by.late_slope) else f'{by.late_slope:.2f}'} | {by.words} |"
        )
    return lines + grown


def amount(point: Point) -> str:
    """A figure with its unit; short times in milliseconds."""
    if point.unit == "s" and point.y < 1:
        return f"{figure(1_000 * point.y)} ms"
    return f"{figure(point.y)} {point.unit}"


def figure(value: float) -> str:
    """Three significant figures, never in powers of ten."""
    digits = max(0, 2 - math.floor(math.log10(value)))
    return f"{value:,.{digits}f}"


def main() -> None:
    """Measure what is missing, print the table, draw the picture."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--file", type=Path, default=FILE)
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--only", nargs="*", choices=[*GROUPS, "draw"], default=list(GROUPS))
    parser.add_argument("--with", dest="more", type=Path, nargs="*", default=[])
    parser.add_argument("--picture", type=Path, default=PICTURE)
    parser.add_argument("--one", choices=list(GROUPS), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.one:
        measure(given.one, given.file)
        return
    if given.again:
        given.file.unlink(missing_ok=True)
    done = groups_done(given.file)
    for group in (name for name in given.only if name in GROUPS and name not in done):
        print(f"{group} … {machine()}", file=sys.stderr, flush=True)
        command = [sys.executable, "-m", "tests.benchmarks.report", "--one", group]
        environment = {**os.environ, "OMP_NUM_THREADS": "1"}
        subprocess.run([*command, "--file", str(given.file)], check=True, env=environment)
    points = [point for path in (given.file, *given.more) for point in read_points(path)]
    print("\n".join(table(points)))
    note = f"{machine().rpartition(', load')[0]}. Dashed: slope 1, in proportion."
    given.picture.write_text(draw(points, "How time and memory grow", note), encoding="utf-8")


if __name__ == "__main__":
    main()
