"""``value-add tag``: take down what was found at the viewing."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("tag")
@click.argument("home", type=click.Path(path_type=Path))
@click.argument("room")
@click.argument("condition")
@click.option(
    "--severity",
    type=click.IntRange(0, 3),
    help="0 sound, 1 slight, 2 plain, 3 severe; the checklist's own if left out.",
)
@click.option("--note", default="", help="Anything to remember.")
@click.option("--not-so", is_flag=True, help="A photo suggests it, but it is not so.")
def tag_command(
    home: Path, room: str, condition: str, severity: int | None, note: str, not_so: bool
) -> None:
    """Add a row to HOME/tags.csv: in ROOM ("bathroom 1") there is CONDITION.

    HOME is the folder of one home. `value-add conditions` lists the conditions. A tag outranks what
    a photo suggests, and of two tags for one thing the newer holds.
    """
    from scorer.conditions.finding import Tag
    from scorer.screening.tags import FILE, append_tag, find_condition

    found = find_condition(condition)
    level = found.default_severity if severity is None else severity
    tag = append_tag(
        home,
        Tag(room=room, condition=found.id, severity=level, note=note, present=not not_so),
    )
    said = "is not there" if not_so else f"severity {tag.severity}"
    click.echo(f"{home / FILE}: {tag.room}: {found.label}, {said}.")
