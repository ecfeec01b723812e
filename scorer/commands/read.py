"""``value-add read``: what is measured in photos."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scorer.commands.main import NOTHING_USABLE, SOME_UNUSABLE, fail
from scorer.commands.reading import cache_option, reading_cache, workers_option

if TYPE_CHECKING:
    from scorer.photos.reading import Reading


@click.command("read", short_help="Measure light, wall tone, colours and room kind in photos.")
@click.argument("photos", nargs=-1, required=True, metavar="PHOTO…")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option(
    "--surfaces",
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Also write DIR/<photo>.png with the surface of each pixel: 1 wall, 2 ceiling, 3 floor, "
    "4 window, 5 lamp, 6 cabinet or counter, 7 other, 8 trim or door, 9 mirror, 0 unknown.",
)
@workers_option
@cache_option
def read_command(
    photos: tuple[str, ...],
    as_json: bool,
    surfaces: str | None,
    workers: int | None,
    no_cache: bool,
) -> None:
    """Measure light, wall tone, colours and room kind in each PHOTO."""
    from scorer.screening.pool import read_photos

    jobs = _jobs(photos, surfaces)
    failed = 0
    with reading_cache(no_cache) as cache:
        for reading in read_photos(jobs, len(jobs), workers=workers, cache=cache, isolate=True):
            if reading.error is not None:
                failed += 1
                click.echo(reading.error, err=True)
            click.echo(json.dumps(contract(reading)) if as_json else described(reading))
    if failed:
        sys.exit(NOTHING_USABLE if failed == len(jobs) else SOME_UNUSABLE)


def _jobs(photos: tuple[str, ...], surfaces: str | None) -> list[Any]:
    from scorer.screening.pool import Job

    if surfaces is None:
        return [Job(path, path) for path in photos]
    folder = Path(surfaces)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        fail(f"{folder}: this folder cannot be made ({error.strerror}).")
    jobs, taken = [], set()
    for path in photos:
        stem = name = Path(path).stem
        number = 1
        while name in taken:
            number += 1
            name = f"{stem}-{number}"
        if name != stem:
            click.echo(f"{path}: another photo is called {stem}; written as {name}.png.", err=True)
        taken.add(name)
        jobs.append(Job(path, path, surfaces=str(folder / f"{name}.png")))
    return jobs


def contract(reading: Reading) -> dict[str, Any]:
    """A reading as the documented JSON object; what is not known is null."""
    values = reading.model_dump(mode="json")
    if reading.error is not None:
        values["dominant"] = None
    return values


def described(reading: Reading) -> str:
    """A reading in a few plain lines."""
    if reading.error is not None:
        return f"{reading.file}\n  could not be used"  # the reason goes to standard error
    lines = [reading.file]
    if reading.room:
        kind = reading.room.kind.replace("_", " ")
        lines.append(f"  room      {kind} ({reading.room.probability:.0%})")
    if reading.exposure:
        lines.append(
            f"  photo     {reading.exposure.kind} (L* {reading.exposure.mean_lightness:.0f}; "
            f"dark with {reading.exposure.dark_probability:.0%})"
        )
    if reading.light:
        lines.append(
            f"  light     {reading.light.kind} (dim with {reading.light.dim_probability:.0%})"
        )
    if reading.wall:
        lines.append(f"  wall      {_wall(reading)}")
    if reading.finish:
        lines.append(f"  finish    dated with {reading.finish.dated_probability:.0%}")
    if reading.floor:
        lines.append(f"  floor     {reading.floor.kind} ({reading.floor.probability:.0%})")
    if reading.cabinets:
        tone = reading.cabinets.tone.replace("_", " ")
        lines.append(f"  cabinets  {tone} ({reading.cabinets.probability:.0%})")
    colours = ", ".join(f"{c.name} {c.hex} {c.share:.0%}" for c in reading.dominant[:4])
    if colours:
        lines.append(f"  colours   {colours}")
    if reading.trust and reading.trust.reasons:
        lines.append(f"  beware    {'; '.join(reading.trust.reasons)}")
    return "\n".join(lines)


def _wall(reading: Reading) -> str:
    wall = reading.wall
    assert wall is not None
    words = [f"{wall.fraction:.0%} of the photo"]
    if wall.tone and wall.tone_probability:
        words.append(f"{wall.tone} ({getattr(wall.tone_probability, wall.tone):.0%})")
    if wall.lrv:
        words.append(f"LRV {wall.lrv.typical:.0f} ({wall.lrv.low:.0f}–{wall.lrv.high:.0f})")
    if wall.colour:
        words.append(f"{wall.colour.name} {wall.colour.hex}")
    if wall.bold_probability is not None:
        words.append(f"bold with {wall.bold_probability:.0%}")
    if wall.covered_probability is not None:
        words.append(f"tile, panels or paper with {wall.covered_probability:.0%}")
    return ", ".join(words)
