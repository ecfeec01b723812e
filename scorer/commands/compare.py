"""``value-add compare``: a few homes side by side."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import Any

import click

from scorer.commands.main import SOME_UNUSABLE
from scorer.commands.options import comps_from, settings_from, settings_options
from scorer.commands.quiet import clean_stdout
from scorer.commands.reading import cache_option, reading_cache


@click.command("compare", short_help="Put a few homes side by side.")
@click.argument("homes", nargs=-1, required=True, metavar="HOME…", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print a JSON array instead.")
@cache_option
@settings_options
def compare_command(
    homes: tuple[Path, ...],
    as_json: bool,
    no_cache: bool,
    settings_file: Path | None,
    comps_file: Path | None,
    **given: Any,
) -> None:
    """Put homes side by side; each HOME is the folder of one home."""
    settings = settings_from(settings_file, **given)
    comps, wrong_comps = comps_from(comps_file)
    from scorer.report import side_by_side, to_json
    from scorer.screening import rank_homes, screen_one

    with clean_stdout(), reading_cache(no_cache) as cache:
        results = rank_homes(
            [screen_one(home, settings, comps=comps, cache=cache, isolate=True) for home in homes],
            settings.aim,
        )
    width = max(80, shutil.get_terminal_size((120, 24)).columns)
    click.echo(to_json(results) if as_json else side_by_side(results, width, settings, len(comps)))
    errors = [*wrong_comps, *(sentence for result in results for sentence in result.errors)]
    for sentence in errors:
        click.echo(sentence, err=True)
    if errors:
        sys.exit(SOME_UNUSABLE)
