"""The group of commands, its exit codes, and one sentence for whatever goes wrong."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import Any, NoReturn

import click

from scorer import __version__
from scorer.commands.values import meant, usage_words
from scorer.errors import InputError

ALL_WELL = 0
SOME_UNUSABLE = 1
NOTHING_USABLE = 2
STOPPED = 130

_COMMANDS = {
    "screen": "screen",
    "read": "read",
    "page": "page",
    "tag": "tag",
    "compare": "compare",
    "conditions": "lists",
    "upgrades": "lists",
    "fit": "fit",
    "doctor": "care",
    "backup": "care",
    "restore": "care",
}
"""Command and its module; a module is imported when its command is asked for."""


class Commands(click.Group):
    """Commands that are imported when they are used, so that the program starts fast."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _COMMANDS:
            return None
        module = import_module(f"scorer.commands.{_COMMANDS[cmd_name]}")
        command: click.Command = getattr(module, f"{cmd_name}_command")
        return command

    def make_context(
        self,
        info_name: str | None,
        args: list[str],
        parent: click.Context | None = None,
        **more: Any,
    ) -> click.Context:
        try:
            return super().make_context(info_name, args, parent, **more)
        except click.exceptions.NoArgsIsHelpError:
            raise
        except click.UsageError as error:
            fail(usage_words(error))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in _COMMANDS and not args[0].startswith("-"):
            known = ", ".join(_COMMANDS)
            hint = meant(args[0].lower(), tuple(_COMMANDS))
            raise InputError(f"There is no command “{args[0]}”{hint}; the commands are {known}.")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except InputError as error:
            fail(str(error))
        except KeyboardInterrupt:
            click.echo("\nStopped.", err=True)
            sys.exit(STOPPED)
        except click.exceptions.NoArgsIsHelpError:
            raise
        except click.UsageError as error:
            fail(usage_words(error))
        except (click.exceptions.Exit, click.ClickException, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            if os.environ.get("VALUE_ADD_DEBUG"):
                raise
            fail(
                f"Something in the program itself went wrong ({type(error).__name__}: {error}). "
                "Set VALUE_ADD_DEBUG=1 to see where."
            )


def fail(sentence: str) -> NoReturn:
    """Print one sentence to standard error and end: nothing could be used."""
    click.echo(sentence, err=True)
    sys.exit(NOTHING_USABLE)


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 all well; 1 some photos or rows could not be used (what could be is "
    "printed, and a sentence for each goes to standard error); 2 nothing could be used, or the "
    "command was not understood; 130 stopped by Ctrl+C.",
)
@click.version_option(__version__, prog_name="value-add")
def main() -> None:
    """Find rental homes that a few thousand dollars of work would lift.

    Photos suggest, a person decides. Estimates are not appraisals.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without "×" must not stop the run
