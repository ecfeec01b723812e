"""``value-add fit``: does an idea fit the room, from a room description in a JSON file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scorer.commands.main import SOME_UNUSABLE
from scorer.commands.values import Number, OneOf
from scorer.errors import InputError, wrong_field

if TYPE_CHECKING:
    from scorer.fit import RoomPlan

EXAMPLE_AT = "`value-add fit --help` shows an example"
CHECKS = ("island", "table", "kitchen", "bathroom", "outlets", "screens")


@click.command("fit", short_help="Check whether an idea fits a room (clearances, spacings).")
@click.argument("plan_file", type=click.Path(path_type=Path))
@click.option(
    "--check", "checks", multiple=True, type=OneOf(CHECKS), help="What to check; repeatable."
)
@click.option(
    "--size",
    nargs=2,
    type=Number(1, 1200),
    default=(60.0, 36.0),
    help="Length and depth of the island or table [in]; 60 36 by default.",
)
@click.option("--seats", type=Number(0, 12, whole=True), default=0, help="Seats at the island.")
@click.option("--svg", type=click.Path(path_type=Path), help="Draw the plan, to scale.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a check.")
def fit_command(
    plan_file: Path,
    checks: tuple[str, ...],
    size: tuple[float, float],
    seats: int,
    svg: Path | None,
    as_json: bool,
) -> None:
    """Check PLAN_FILE against published clearances and spacings.

    PLAN_FILE is a JSON object: length_in, width_in, and lists of openings, cabinets, appliances
    and outlets, each with its wall (north, east, south, west) and offset_in, the distance from
    the wall's west or north end. All lengths are inches. Exit code 1 if something does not fit,
    or can't be told as the room lacks what is checked.

    An example:

    \b
    {"length_in": 156, "width_in": 132,
     "openings": [
      {"kind": "door", "wall": "south", "offset_in": 12, "width_in": 32},
      {"kind": "window", "wall": "north", "offset_in": 60, "width_in": 36}],
     "cabinets": [
      {"wall": "north", "offset_in": 0, "length_in": 156, "drawers": 1},
      {"wall": "north", "offset_in": 0, "length_in": 60, "kind": "wall"}],
     "appliances": [
      {"kind": "sink", "wall": "north", "offset_in": 60, "width_in": 33},
      {"kind": "range", "wall": "north", "offset_in": 108, "width_in": 30}],
     "outlets": [
      {"wall": "north", "offset_in": 48, "counter": true}]}
    """
    from scorer import fit

    plan = read_plan(plan_file)
    run = {
        "island": lambda: fit.island_or_instead(plan, *size, seats=seats, overhang_in=15.0),
        "table": lambda: fit.table(plan, *size, by_window=False),
        "kitchen": lambda: fit.counters_and_storage(plan),
        "bathroom": lambda: fit.fixtures(plan),
        "outlets": lambda: fit.outlet_spacing(plan),
        "screens": lambda: fit.screens(plan),
    }
    results = [run[name]() for name in checks or ("island",)]
    for result in results:
        if as_json:
            click.echo(result.model_dump_json())
            continue
        verdict = "can't be told" if result.verdict == "unknown" else result.verdict
        click.echo(f"{result.idea}: {verdict}")
        for check in result.checks:
            click.echo(f"  {check.verdict:>5}  {check.sentence} ({check.guideline})")
        for sentence in result.missing:
            click.echo(f"  not checked: {sentence}")
        for idea in result.instead:
            click.echo(f"  instead: {idea}")
    if svg is not None:
        drawn = next((r for r in results if r.piece is not None), None)
        try:
            svg.write_text(fit.plan_svg(plan, drawn, title=plan_file.stem), encoding="utf-8")
        except OSError as error:
            raise InputError(f"{svg}: can't be written ({error.strerror}).") from error
    if any(result.verdict in {"fails", "unknown"} for result in results):
        raise click.exceptions.Exit(SOME_UNUSABLE)


def read_plan(path: Path) -> RoomPlan:
    """The room in a JSON file.

    Raises
    ------
    InputError
        Naming the file and the field that can't be used.
    """
    from pydantic import ValidationError

    from scorer.fit import RoomPlan
    from scorer.fit.room_plan import FIELDS
    from scorer.listing.mending import json_mistake

    try:
        text = path.read_text(encoding="utf-8-sig")
        return RoomPlan.model_validate(json.loads(text))
    except OSError as error:
        raise InputError(f"{path}: can't be read ({error.strerror}).") from error
    except ValidationError as error:
        raise InputError(f"{path.name}, {wrong_field(error, FIELDS)}.") from error
    except json.JSONDecodeError as error:
        place, mistake = json_mistake(error, text)
        raise InputError(f"{path.name}, {place}: {mistake}; {EXAMPLE_AT}.") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path.name}: is not a JSON file; {EXAMPLE_AT}.") from error
