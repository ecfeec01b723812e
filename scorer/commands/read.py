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
    from scorer.photos.reading import Reading, RoomGuess, Wall


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
        lines.append(f"  room      {_room(reading.room)}")
    if reading.exposure:
        shot = reading.exposure
        lines.append(
            f"  photo     {shot.kind} (lightness {shot.mean_lightness:.0f} of 100; "
            f"{_likely(shot.dark_probability)} too dark)"
        )
    if reading.light:
        light = reading.light
        lines.append(f"  light     {light.kind} ({_likely(light.dim_probability)} dim)")
    if reading.wall:
        lines.append(f"  wall      {_wall(reading.wall)}")
    if reading.finish:
        lines.append(f"  finish    {_likely(reading.finish.dated_probability)} dated")
    if reading.floor:
        lines.append(f"  floor     {reading.floor.kind} ({_likely(reading.floor.probability)})")
    if reading.cabinets:
        tone = reading.cabinets.tone.replace("_", " ")
        lines.append(f"  cabinets  {tone} ({_likely(reading.cabinets.probability)})")
    colours = ", ".join(f"{c.name} {c.hex} {c.share:.0%}" for c in reading.dominant[:4])
    if colours:
        lines.append(f"  colours   {colours}")
    if reading.trust and reading.trust.reasons:
        lines.append(f"  beware    {'; '.join(reading.trust.reasons)}")
    return "\n".join(lines)


def _likely(chance: float) -> str:
    return f"{chance:.0%} likely"


def _room(guess: RoomGuess) -> str:
    if guess.kind == "unsure":
        return "not sure which"
    return f"{guess.kind.replace('_', ' ')} ({_likely(guess.probability)})"


def _wall(wall: Wall) -> str:
    words = [f"{wall.fraction:.0%} of the photo"]
    if wall.tone and wall.tone_probability:
        words.append(f"{wall.tone} ({_likely(getattr(wall.tone_probability, wall.tone))})")
    if wall.lrv:
        lrv = wall.lrv
        words.append(
            f"gives back {lrv.typical:.0f}% of the light (LRV {lrv.low:.0f} to {lrv.high:.0f})"
        )
    if wall.colour:
        words.append(f"{wall.colour.name} {wall.colour.hex}")
    if wall.bold_probability is not None:
        words.append(f"{_likely(wall.bold_probability)} a strong colour")
    if wall.covered_probability is not None:
        words.append(f"{_likely(wall.covered_probability)} tile, panels or paper")
    return "; ".join(words)
