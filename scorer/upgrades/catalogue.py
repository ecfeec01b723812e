"""Load the catalogue of upgrades and check it against checklist, holds, measures and price book.

Examples
--------
>>> {upgrade.ladder for upgrade in load_catalogue() if upgrade.id == "walls_paint_light"}
{'walls'}
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from scorer.conditions.checklist import EVERYTHING, load_conditions, load_holds
from scorer.conditions.data_file import checked, read_text
from scorer.errors import InputError
from scorer.upgrades.pricebook import PRICE_FILE, WAGE_FILE, load_price_book
from scorer.upgrades.pricing import tile_of
from scorer.upgrades.takeoff import MEASURES, unit_of
from scorer.upgrades.upgrade import RUNG_ORDER, Upgrade

__all__ = ["CATALOGUE_FOLDER", "Upgrade", "load_catalogue"]

CATALOGUE_FOLDER = Path(__file__).parent / "data" / "catalogue"


@cache
def load_catalogue(path: Path = CATALOGUE_FOLDER) -> tuple[Upgrade, ...]:
    """All upgrades, in the order of the files and rows.

    Each upgrade's ``held_by`` names the holds of its own row and those that ``holds.csv`` puts on
    its ladder and rung.

    Parameters
    ----------
    path
        Folder of TOML files (or one TOML file) with ``[[upgrade]]`` tables.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    files = sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files:
        raise InputError(f"{path}: no catalogue file (*.toml) is in the folder.")
    upgrades: dict[str, Upgrade] = {}
    where: dict[str, str] = {}
    for file in files:
        for row in _rows(file):
            place = f"{file.name}, row {row.get('id', '?')}"
            upgrade = _with_holds(checked(Upgrade, row, place))
            if upgrade.id in upgrades:
                raise InputError(f"{place}, field id: stands there twice; give it another name.")
            upgrades[upgrade.id] = upgrade
            where[upgrade.id] = place
    for upgrade in upgrades.values():
        _check_conditions(upgrade, where[upgrade.id])
        _check_lines(upgrade, where[upgrade.id])
        _check_links(upgrade, upgrades, where[upgrade.id])
    _check_cycles(upgrades, where)
    _check_ladders(upgrades, where)
    _check_holds(upgrades)
    return tuple(upgrades.values())


def _rows(file: Path) -> list[dict[str, object]]:
    try:
        content = tomllib.loads(read_text(file))
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{file.name}: not valid TOML: {error}.") from error
    except RecursionError as error:
        raise InputError(f"{file.name}: nested too deeply; only plain rows belong here.") from error
    rows = content.pop("upgrade", None)
    rows = rows if isinstance(rows, list) else []
    if content or not rows or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{file.name}: only [[upgrade]] tables belong here, one at least.")
    return rows


def _with_holds(upgrade: Upgrade) -> Upgrade:
    by_ladder = [h.id for h in load_holds().values() if h.stops_work(upgrade.ladder, upgrade.rung)]
    held_by = tuple(dict.fromkeys((*upgrade.held_by, *by_ladder)))
    return upgrade.model_copy(update={"held_by": held_by})


def _check_conditions(upgrade: Upgrade, where: str) -> None:
    conditions = load_conditions()
    named = (
        [("triggers", t.condition, "fault") for t in upgrade.triggers]
        + [("keeps", keep, "sound") for keep in upgrade.keeps]
        + [("lines.only_if", line.only_if, "fault") for line in upgrade.lines if line.only_if]
    )
    for field, identifier, polarity in named:
        condition = conditions.get(identifier)
        if condition is None:
            raise InputError(f"{where}, field {field}: no condition {identifier!r}.")
        if condition.polarity != polarity:
            raise InputError(
                f"{where}, field {field}: {identifier!r} is a {condition.polarity} condition; "
                f"a {polarity} one belongs here."
            )
        if not set(condition.room_kinds) & set(upgrade.rooms):
            raise InputError(
                f"{where}, field {field}: {identifier!r} is not found in any of the rooms "
                f"({', '.join(upgrade.rooms)})."
            )
    for hold in upgrade.held_by:
        if hold not in load_holds():
            raise InputError(f"{where}, field held_by: no hold {hold!r} in holds.csv.")


def _check_lines(upgrade: Upgrade, where: str) -> None:
    book = load_price_book()
    if upgrade.own_trade != "own" and upgrade.own_trade not in book.wages:
        raise InputError(
            f"{where}, field own_trade: no wage for {upgrade.own_trade!r} in {WAGE_FILE.name}."
        )
    for line in upgrade.lines:
        if line.item not in book.rows:
            raise InputError(
                f"{where}, field lines.item: no row {line.item!r} in {PRICE_FILE.name}."
            )
        if line.measure not in MEASURES:
            raise InputError(f"{where}, field lines.measure: no measure {line.measure!r}.")
    tile = tile_of(upgrade.lines, book)
    for line in upgrade.lines:
        try:
            book.row(line.item).covers_of(unit_of(line.measure), tile)
        except InputError as error:
            raise InputError(f"{where}, field lines.measure ({line.measure}): {error}") from error


def _check_links(upgrade: Upgrade, upgrades: Mapping[str, Upgrade], where: str) -> None:
    for field in ("excludes", "needs", "after"):
        for identifier in getattr(upgrade, field):
            other = upgrades.get(identifier)
            if other is None:
                raise InputError(f"{where}, field {field}: no upgrade {identifier!r}.")
            if identifier == upgrade.id:
                raise InputError(f"{where}, field {field}: names the upgrade itself.")
            if field == "excludes":
                continue
            if other.ladder == upgrade.ladder:
                raise InputError(
                    f"{where}, field {field}: {identifier!r} is on the same ladder, and only one "
                    "rung of a ladder is ever chosen."
                )
            if other.stage > upgrade.stage:
                raise InputError(
                    f"{where}, field {field}: {identifier!r} has stage {other.stage}, which comes "
                    f"later than {upgrade.stage}."
                )
        if field == "needs" and not all(
            set(upgrade.rooms) <= set(upgrades[identifier].rooms) for identifier in upgrade.needs
        ):
            raise InputError(f"{where}, field needs: not offered in all the rooms of this row.")
    for field in ("needs", "after"):
        if clash := set(getattr(upgrade, field)) & set(upgrade.excludes):
            raise InputError(f"{where}, field excludes: {min(clash)!r} stands in {field} as well.")


def _check_cycles(upgrades: Mapping[str, Upgrade], where: Mapping[str, str]) -> None:
    graph = {u.id: (*u.needs, *u.after) for u in upgrades.values()}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        cycle: list[str] = error.args[1]
        raise InputError(
            f"{where[cycle[0]]}, field after: goes round in a circle: {' → '.join(cycle)}."
        ) from error


def _check_ladders(upgrades: Mapping[str, Upgrade], where: Mapping[str, str]) -> None:
    """A cheaper rung of a ladder must not earn more rent than a dearer one in the same room."""
    for lower, upper in _rung_pairs(upgrades.values()):
        for figure in ("low", "typical", "high"):
            below = getattr(lower.rent_percent, figure)
            above = getattr(upper.rent_percent, figure)
            if below > above:
                raise InputError(
                    f"{where[lower.id]}, field rent_percent.{figure}: {below:g} is more than the "
                    f"{above:g} of {upper.id!r}, a dearer rung of the ladder {lower.ladder!r}."
                )


def _rung_pairs(upgrades: Iterable[Upgrade]) -> Iterable[tuple[Upgrade, Upgrade]]:
    rank = {rung: place for place, rung in enumerate(RUNG_ORDER)}
    rows = list(upgrades)
    for lower in rows:
        for upper in rows:
            if (
                lower.ladder == upper.ladder
                and rank[lower.rung] < rank[upper.rung]
                and set(lower.rooms) & set(upper.rooms)
            ):
                yield lower, upper


def _check_holds(upgrades: Mapping[str, Upgrade]) -> None:
    ladders = {u.ladder for u in upgrades.values()} | {EVERYTHING}
    for hold in load_holds().values():
        where = f"holds.csv, row {hold.id}"
        for ladder in hold.stops_ladders:
            if ladder not in ladders:
                raise InputError(f"{where}, field stops_ladders: no upgrade on ladder {ladder!r}.")
        for identifier in hold.cleared_by:
            if identifier not in upgrades:
                raise InputError(f"{where}, field cleared_by: no upgrade {identifier!r}.")
            if hold.id in upgrades[identifier].held_by:
                raise InputError(
                    f"{where}, field cleared_by: {identifier!r} would wait for the hold that it "
                    "clears."
                )
