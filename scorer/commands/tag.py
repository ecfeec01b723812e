"""``value-add tag``: take down what was found at the viewing."""

from __future__ import annotations

from pathlib import Path

import click

from scorer.commands.reading import reading_cache
from scorer.commands.values import Number


@click.command("tag", short_help="Write down what you found in a room of a home.")
@click.argument("home", type=click.Path(path_type=Path))
@click.argument("room")
@click.argument("condition")
@click.option(
    "--severity",
    type=Number(0, 3, whole=True),
    help="0 sound, 1 slight, 2 plain, 3 severe; the checklist's own if left out.",
)
@click.option("--note", default="", help="Anything to remember.")
@click.option("--not-so", is_flag=True, help="A photo suggests it, but it is not so.")
@click.option("--new-room", is_flag=True, help="The home has this room, though nothing says so.")
def tag_command(
    home: Path,
    room: str,
    condition: str,
    severity: int | None,
    note: str,
    not_so: bool,
    new_room: bool,
) -> None:
    """Add a row to HOME/tags.csv: in ROOM ("bathroom 1") there is CONDITION.

    HOME is the folder of one home. `value-add conditions` lists the conditions. A tag outranks what
    a photo suggests, and of two tags for one thing the newer holds.
    """
    from scorer.conditions.finding import Tag
    from scorer.screening.tagging import append_tag
    from scorer.screening.tags import FILE, find_condition

    found = find_condition(condition)
    level = found.default_severity if severity is None else severity
    given = Tag(room=room, condition=found.id, severity=level, note=note, present=not not_so)
    with reading_cache(off=False) as cache:
        tag = append_tag(home, given, new_room=new_room, cache=cache)
    if not_so:
        said = " is not so"
    else:
        said = f", severity {tag.severity} of 3" if found.polarity == "fault" else " is noted"
    click.echo(f"{home / FILE}: {tag.room}: “{found.label}”{said}.")
