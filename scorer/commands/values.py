"""Values of options, and what is said of one that cannot be used."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

import click

from scorer.errors import NEAR, InputError


class Number(click.ParamType):  # type: ignore[type-arg]
    """A number between two limits, both of which may be given."""

    name = "number"

    def __init__(self, low: float, high: float, whole: bool = False) -> None:
        self.low, self.high, self.whole = low, high, whole

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | int:
        try:
            number = int(value) if self.whole else float(value)
        except ValueError:
            number = math.nan
        if self.low <= number <= self.high:
            return number
        what = "a whole number" if self.whole else "a number"
        raise InputError(
            f"{_place(param)}: “{value}” cannot be used; it must be {what} from "
            f"{self.low:,.10g} to {self.high:,.10g}."
        )


class OneOf(click.ParamType):  # type: ignore[type-arg]
    """One of a few words; a slip is asked back."""

    name = "word"

    def __init__(self, words: Sequence[str]) -> None:
        self.words = tuple(words)

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return f"[{'|'.join(self.words)}]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        word = str(value).strip().lower().replace("-", "_")
        if word in self.words:
            return word
        raise InputError(
            f"{_place(param)}: “{value}” is not known{meant(word, self.words)}; use "
            f"{', '.join(self.words[:-1])} or {self.words[-1]}."
        )


def meant(word: str, known: Sequence[str]) -> str:
    """Words such as ``" (did you mean kitchen?)"``; nothing where none comes near."""
    near = get_close_matches(word, known, 2, NEAR)
    return f" (did you mean {' or '.join(near)}?)" if near else ""


def usage_words(error: click.UsageError) -> str:
    """One sentence for a command line that was not understood."""
    path = error.ctx.command_path if error.ctx else "value-add"
    return f"{_what_is_wrong(error)} `{path} --help` says more."


def _what_is_wrong(error: click.UsageError) -> str:
    ctx = error.ctx
    if isinstance(error, click.NoSuchOption):
        options = [o for p in ctx.command.get_params(ctx) for o in p.opts] if ctx else []
        return f"There is no option {error.option_name}{meant(error.option_name, options)}."
    if isinstance(error, click.MissingParameter) and error.param and ctx:
        usage = " ".join([ctx.command_path, *ctx.command.collect_usage_pieces(ctx)])
        return f"{error.param.human_readable_name} is missing; write it like this: {usage}."
    if isinstance(error, click.BadOptionUsage):
        many = re.search(r"requires ([0-9]+)", error.message)
        values = f"{many[1]} values" if many else "a value"
        return f"Option {error.option_name} needs {values} behind it."
    if isinstance(error, click.BadParameter) and error.param:
        folder = re.search(r"'(.*)' is a directory", error.message)
        what = f"“{folder[1]}” is a folder; give a file." if folder else error.message
        return f"{_place(error.param)}: {what}"
    message = error.format_message()
    if "unexpected extra" in message:
        words = message.partition("(")[2].rstrip(")")
        return f"“{words}” is too much here; put a name with blanks in quotes."
    return message


def _place(param: click.Parameter | None) -> str:
    if param is None:
        return "this"
    return f"option {param.opts[0]}" if isinstance(param, click.Option) else str(param.name).upper()
