"""Options that several commands share, and how they become settings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from scorer.errors import InputError

if TYPE_CHECKING:
    from scorer.money.comps import Comp
    from scorer.settings import Settings

Command = TypeVar("Command", bound=Callable[..., Any])

_OPTIONS = (
    click.option(
        "--settings",
        "settings_file",
        metavar="TOML",
        type=click.Path(path_type=Path, dir_okay=False),
        help="File with any of the settings by name (budget_usd = 6000 …).",
    ),
    click.option(
        "--comps",
        "comps_file",
        metavar="CSV",
        type=click.Path(path_type=Path, dir_okay=False),
        help="Comparable rents that you collected: rent_usd_month, beds, baths, area_sqft, date, "
        "condition, features.",
    ),
    click.option("--budget", "budget_usd", type=float, help="Most to spend on a home's work [$]."),
    click.option("--weeks", type=float, help="Longest time without a tenant for the work [weeks]."),
    click.option("--hours-per-week", type=float, help="Your own hours [h/week]."),
    click.option("--helpers", type=int, help="People who help you."),
    click.option("--own-hour", "own_hour_usd", type=float, help="What your hour is worth [$/h]."),
    click.option(
        "--aim",
        type=click.Choice(["net_gain", "rent_lift", "return"]),
        help="What to make largest; net_gain by default.",
    ),
    click.option("--seed", type=int, help="Seed of every random draw."),
)


def settings_options(command: Command) -> Command:
    """Add the options of :func:`settings_from` to a command."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def comps_from(comps_file: Path | None) -> tuple[tuple[Comp, ...], tuple[str, ...]]:
    """Comparable rents of a file, and sentences about rows that could not be used."""
    from scorer.money.comps import read_comps

    return read_comps(comps_file) if comps_file else ((), ())


def settings_from(settings_file: Path | None, **given: Any) -> Settings:
    """Settings of a file, outranked by the options that were given.

    Raises
    ------
    InputError
        Naming the file and the field, or the option, that cannot be used.
    """
    from pydantic import ValidationError

    from scorer.settings import PERCENT_WORDS, Settings

    values = _from_file(settings_file) if settings_file else {}
    options = {name: value for name, value in given.items() if value is not None}
    try:
        return Settings.model_validate({**values, **options})
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(str(part) for part in first["loc"])
        where = "option --" if name in options else f"{settings_file}, "
        shown = name.removesuffix("_usd").replace("_", "-") if name in options else name
        if first["type"] == "extra_forbidden":
            known = ", ".join(Settings.model_fields)
            raise InputError(f"{where}{shown}: no such setting; use {known}.") from None
        message = first["msg"][0].lower() + first["msg"][1:]
        if name in PERCENT_WORDS:
            message += " (a share: 0.08 is 8 %)"
        raise InputError(f"{where}{shown}: {first['input']!r} cannot be used; {message}.") from None


def _from_file(path: Path) -> dict[str, Any]:
    import tomllib

    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError(f"{path}: cannot be opened ({error.strerror}).") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise InputError(f"{path}: this is not TOML ({error}).") from None
    inner = values.get("settings")
    return inner if isinstance(inner, dict) else values
