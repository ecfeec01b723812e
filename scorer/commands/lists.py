"""``value-add conditions`` and ``value-add upgrades``: what the program knows of."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from scorer.commands.values import meant
from scorer.errors import InputError

if TYPE_CHECKING:
    from scorer.rooms import RoomKind


@click.command("conditions", short_help="List the conditions to look for in rooms.")
@click.argument("room_kind", required=False)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def conditions_command(room_kind: str | None, as_json: bool) -> None:
    """List the conditions to look for, or those of one ROOM_KIND (kitchen, bathroom …)."""
    from scorer.conditions.checklist import conditions_of, load_conditions

    kind = _kind(room_kind)
    for condition in conditions_of(kind) if kind else load_conditions().values():
        if as_json:
            click.echo(json.dumps(condition.model_dump(mode="json")))
        else:
            how = "only a person can tell" if condition.person_only else "a photo may suggest it"
            click.echo(f"{condition.id:<32} {condition.label} ({condition.polarity}; {how})")


@click.command("upgrades", short_help="List the upgrades that the program knows.")
@click.argument("room_kind", required=False)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def upgrades_command(room_kind: str | None, as_json: bool) -> None:
    """List the catalogue of upgrades, or those for one ROOM_KIND (kitchen, bathroom …)."""
    from scorer.upgrades.catalogue import load_catalogue

    kind = _kind(room_kind)
    for upgrade in load_catalogue():
        if kind is not None and kind not in upgrade.rooms:
            continue
        if as_json:
            click.echo(json.dumps(upgrade.model_dump(mode="json")))
        else:
            rooms = ", ".join(room.words for room in upgrade.rooms)
            click.echo(f"{upgrade.id:<36} {upgrade.label} ({upgrade.rung}; {rooms})")


def _kind(words: str | None) -> RoomKind | None:
    from scorer.rooms import RoomKind

    if words is None:
        return None
    kind = " ".join(words.lower().replace("_", " ").replace("-", " ").split())
    known = {room.words: room for room in RoomKind}
    if kind not in known:
        hint = meant(kind, tuple(known))
        raise InputError(f"“{words}” is no kind of room{hint}; use one of {', '.join(known)}.")
    return known[kind]
