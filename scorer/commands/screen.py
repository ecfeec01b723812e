"""``value-add screen``: rank a folder of homes."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterable, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scorer.commands.main import NOTHING_USABLE, SOME_UNUSABLE
from scorer.commands.options import comps_from, settings_from, settings_options
from scorer.commands.quiet import clean_stdout
from scorer.commands.reading import cache_option, executor_at, reading_cache, workers_option
from scorer.commands.values import Number
from scorer.errors import InputError

if TYPE_CHECKING:
    from scorer.listing.listing import Problem
    from scorer.screening import Progress
    from scorer.shortlist.result import HomeResult

MOST_SENTENCES = 20
"""More of them on a screen would push the table out of sight."""


@click.command("screen", short_help="Rank a folder of homes by what the money may earn.")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print a JSON array instead of the table.")
@click.option("--csv", "csv_file", type=click.Path(path_type=Path), help="Also write CSV here.")
@click.option("--json-file", type=click.Path(path_type=Path), help="Also write the JSON here.")
@click.option("--top", type=Number(1, 1e6, whole=True), help="Show only the first so many homes.")
@workers_option
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Read on a Dask cluster (tcp://host:8786) whose workers see the photos under the same "
    "path; needs the extra “cluster”.",
)
@click.option("--quiet", is_flag=True, help="No progress.")
@cache_option
@settings_options
def screen_command(
    folder: Path,
    as_json: bool,
    csv_file: Path | None,
    json_file: Path | None,
    top: int | None,
    workers: int | None,
    cluster: str | None,
    quiet: bool,
    no_cache: bool,
    settings_file: Path | None,
    comps_file: Path | None,
    **given: Any,
) -> None:
    """Screen the homes in FOLDER and rank them by what the money may earn.

    Each sub-folder is a home: its photos, and optionally listing.json, .toml or .csv with RESO
    field names, and tags.csv. One listings.csv beside them may hold the facts of all homes.
    """
    settings = settings_from(settings_file, **given)
    comps, wrong_comps = comps_from(comps_file)
    from scorer.listing.listing import Problem
    from scorer.report import csv_parts, json_parts, ranked_table
    from scorer.screening import screen_folder

    progress = None if quiet else _ProgressLine()
    with (
        clean_stdout(),
        reading_cache(no_cache) as cache,
        executor_at(cluster) as (executor, size),
    ):
        screened = screen_folder(
            folder,
            settings,
            executor,
            progress,
            workers=workers or size,
            comps=comps,
            cache=cache,
            isolate=True,
        )
    if progress:
        progress.end()
    homes = screened.homes[:top].shown()
    problems = [*(Problem(home=None, sentence=s) for s in wrong_comps), *screened.problems]
    problems.sort(key=lambda problem: problem.home is not None)
    elsewhere = _in_no_home(problems, homes)
    if csv_file:
        _write(csv_file, csv_parts(homes))
    if json_file:
        _write(json_file, chain(json_parts(homes, elsewhere), "\n"))
    if as_json:
        for part in chain(json_parts(homes, elsewhere), "\n"):
            click.echo(part, nl=False)
    elif homes:
        width = max(80, min(120, shutil.get_terminal_size((120, 24)).columns))
        click.echo(ranked_table(homes, width, settings, len(comps)))
    tell_sentences(
        [problem.sentence for problem in problems], bool(homes and (as_json or json_file))
    )
    known = screened.photos_read or any(_has_facts(home.listing) for home in screened.homes.shown())
    if not known:
        sys.exit(NOTHING_USABLE)
    if problems:
        sys.exit(SOME_UNUSABLE)


def _has_facts(listing: Any) -> bool:
    empty = {"home", "photos", "rooms", "other"}
    return any(value not in (None, "") for name, value in listing if name not in empty)


def _write(path: Path, parts: Iterable[str]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w", encoding="utf-8", newline="") as file:
            file.writelines(parts)
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror or error}).") from None


def _in_no_home(problems: Sequence[Problem], homes: Sequence[HomeResult]) -> list[str]:
    """Sentences that no printed home's ``errors`` holds: of the folder, of homes left out."""
    if not problems:
        return []
    printed = {(home.home, sentence) for home in homes for sentence in home.errors}
    return [p.sentence for p in problems if (p.home, p.sentence) not in printed]


def tell_sentences(sentences: Sequence[str], in_json: bool) -> None:
    """Every sentence on standard error; where a person looks on, so many as can be read."""
    from scorer.listing.values import one_line

    most = MOST_SENTENCES if sys.stderr.isatty() else len(sentences)
    for sentence in sentences[:most]:
        click.echo(one_line(sentence), err=True)
    if len(sentences) > most:
        where = (
            "the JSON has all, under “errors” of each home and “folder_errors” of the first"
            if in_json
            else "--json-file FILE writes them all, and so does 2> FILE"
        )
        click.echo(f"… and {len(sentences) - most} more: {where}.", err=True)


class _ProgressLine:
    """One line on standard error: photos done, rate, time left; silent when all is quick."""

    def __init__(self) -> None:
        self.terminal = sys.stderr.isatty()
        self.every = 0.2 if self.terminal else 10.0
        self.shown = time.monotonic() + (0.8 if self.terminal else 0.0)
        self.drawn = False

    def __call__(self, progress: Progress) -> None:
        now = time.monotonic()
        if now - self.shown < self.every and progress.photos_done < progress.photos_total:
            return
        if now < self.shown or (not self.drawn and progress.photos_done == progress.photos_total):
            return
        self.shown, self.drawn = now, True
        rate, left = progress.photos_per_second, progress.seconds_left
        pace = "" if rate is None else f", {rate:.1f} photos/s"
        rest = "" if left is None else f", about {left:.0f} s left"
        line = (
            f"{progress.photos_done} of {progress.photos_total} photos, "
            f"{progress.homes_done} of {progress.homes_total} homes{pace}{rest}"
        )
        click.echo(f"\r{line:<78}" if self.terminal else line, nl=not self.terminal, err=True)

    def end(self) -> None:
        """Leave the line."""
        if self.terminal and self.drawn:
            click.echo("", err=True)
