"""Options that several commands share, and how they become settings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from scorer.commands.values import OneOf
from scorer.errors import InputError

if TYPE_CHECKING:
    from scorer.money.comps import Comp
    from scorer.settings import Settings

Command = TypeVar("Command", bound=Callable[..., Any])


class Figure(click.ParamType):  # type: ignore[type-arg]
    """An amount, a time or a count as people write it: ``$6,000``, ``6k``, ``4.5``."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | int:
        if param is None or param.name is None or not isinstance(value, str):
            return value  # type: ignore[no-any-return]
        return _figure(param.name, value, f"option --{_as_option(param.name)}")


FIGURE = Figure()

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
        "condition, features, address, note.",
    ),
    click.option("--budget", "budget_usd", type=FIGURE, help="Most to spend on a home's work [$]."),
    click.option(
        "--weeks", type=FIGURE, help="Longest time without a tenant for the work [weeks]."
    ),
    click.option("--hours-per-week", type=FIGURE, help="Hours a week of you and of each helper."),
    click.option("--helpers", type=FIGURE, help="People who help you."),
    click.option("--own-hour", "own_hour_usd", type=FIGURE, help="What your hour is worth [$/h]."),
    click.option(
        "--aim",
        type=OneOf(["net_gain", "rent_lift", "return"]),
        help="What to make largest; net_gain by default.",
    ),
    click.option("--seed", type=FIGURE, help="Seed of every random draw."),
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

    from scorer.listing.values import as_text, one_line
    from scorer.settings import PERCENT_WORDS, Settings

    values = _from_file(settings_file) if settings_file else {}
    options = {name: value for name, value in given.items() if value is not None}
    unknown = [name for name in values if name not in Settings.model_fields]
    if unknown:
        known = ", ".join(Settings.model_fields)
        raise InputError(f"{settings_file}, {unknown[0]}: no such setting; use {known}.")
    for name, value in values.items():
        if isinstance(value, str) and name != "aim":
            values[name] = _figure(name, value, f"{settings_file}, {name}")
    try:
        settings = Settings.model_validate({**values, **options})
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0])
        where = f"option --{_as_option(name)}" if name in options else f"{settings_file}, {name}"
        hint = " (a share: 0.08 is 8 %)" if name in PERCENT_WORDS else ""
        if first["type"] == "less_than_equal":
            hint = hint or _TOO_MUCH.get(name, "")
        given_value = first["input"]
        shown = f"{given_value:,.10g}" if isinstance(given_value, float) else as_text(given_value)
        raise InputError(
            f"{where}: {one_line(shown)[:40]} cannot be used; {_how(name)}{hint}."
        ) from None
    if 0 < settings.budget_usd < _LEAST_BUDGET_USD:  # TOML reads 6.000 as six
        where = "option --budget" if "budget_usd" in options else f"{settings_file}, budget_usd"
        budget = f"{settings.budget_usd:,.10g}"
        raise InputError(f"{where}: ${budget} buys no work; write 6000 for six thousand dollars.")
    return settings


def _figure(name: str, written: str, where: str) -> float | int:
    """One setting out of its text.

    Raises
    ------
    InputError
        Naming ``where`` it was given, what was read and how to mend it.
    """
    from scorer.listing.quantities import dollars
    from scorer.listing.values import WrongValue, as_count, as_number, one_line

    limits = _limits(name)
    low, high = limits.get("ge", limits.get("gt", -1e9)), limits.get("le", limits.get("lt", 1e9))
    try:
        if name.endswith("_usd"):
            return dollars(written, low, high)
        if name in _COUNTS:
            return as_count(written, low=int(max(low, 0)), high=int(high))
        return as_number(written, low=low, high=high, like=f"write it like {_LIKE.get(name, 4.5)}")
    except WrongValue as reason:
        hint = _TOO_MUCH.get(name, "") if "between" in str(reason) else ""
        raise InputError(f"{where}: “{one_line(written)[:40]}” {reason}{hint}.") from None


_LEAST_BUDGET_USD = 20.0
_TOO_MUCH = {"hours_per_week": " (a week has 168 hours)"}
_COUNTS = {"helpers", "seed"}
_LIKE = {"vacancy": 0.07, "cap_rate": 0.08, "target_return": 0.1}


def _as_option(name: str) -> str:
    return name.removesuffix("_usd").replace("_", "-")


def _limits(name: str) -> dict[str, float]:
    """The least and the most that a setting may be, by pydantic's names: ge, gt, le, lt."""
    from scorer.settings import Settings

    found = {}
    field = Settings.model_fields.get(name)
    for limit in field.metadata if field else ():
        for side in ("ge", "gt", "le", "lt"):
            if hasattr(limit, side):
                found[side] = float(getattr(limit, side))
    return found


def _how(name: str) -> str:
    """What a setting must be, as the end of a sentence."""
    from typing import get_args

    from scorer.settings import Settings

    field = Settings.model_fields[name]
    if choices := [word for word in get_args(field.annotation) if isinstance(word, str)]:
        return f"use {', '.join(choices[:-1])} or {choices[-1]}"
    words = {"ge": "{} or more", "gt": "more than {}", "le": "at most {}", "lt": "less than {}"}
    limits = [(side, value) for side, value in _limits(name).items() if value < 1e9]
    told = [words[side].format(f"{value:,.10g}") for side, value in limits]
    kind = "a whole number" if name in _COUNTS else "a number"
    return f"it must be {' '.join([kind, ' and '.join(told)]).strip()}"


def _from_file(path: Path) -> dict[str, Any]:
    import tomllib

    from scorer.listing.mending import toml_mistake

    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InputError(f"{path}: cannot be opened ({error.strerror}).") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: this is no text file; save it as UTF-8 text.") from None
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place, why = toml_mistake(error, text)
        raise InputError(f"{path}, {place}: {why}.") from None
    except RecursionError:
        raise InputError(f"{path}: this TOML is nested too deeply.") from None
    inner = values.get("settings")
    return inner if isinstance(inner, dict) else values
