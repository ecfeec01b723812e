"""``value-add doctor``, ``backup`` and ``restore``: look after what was saved."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from scorer.commands.main import NOTHING_USABLE, SOME_UNUSABLE


@click.command("doctor", short_help="Check what the page saved, photos and cache.")
@click.option("--tidy", is_flag=True, help="Also take out readings and photos of no use.")
def doctor_command(tidy: bool) -> None:
    """Check what the page saved, the photos that it speaks of, and the cache of readings.

    Exit codes: 0 all well; 1 something is missing (a sentence for each says how to mend it); 2 what
    was saved is damaged.
    """
    from scorer.screening.cache import cache_sentences
    from scorer.store.care import look_over_store, store_path

    health = look_over_store(store_path(), tidy=tidy)
    for sentence in (*health.broken, *health.problems):
        click.echo(sentence, err=True)
    for sentence in (*health.notes, *cache_sentences(tidy=tidy)):
        click.echo(sentence)
    if health.broken:
        sys.exit(NOTHING_USABLE)
    if health.problems:
        sys.exit(SOME_UNUSABLE)
    click.echo("All well.")


@click.command("backup", short_help="Copy everything that was saved into one file.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def backup_command(file: Path) -> None:
    """Copy everything that was saved into FILE; the page may stay open. Photos aren't copied."""
    from scorer.store.care import back_up, photos_beside, store_path

    back_up(store_path(), file)
    click.echo(f"Backed up to {file}. Photos are not in it: they stay where they are.")
    count, folder = photos_beside(store_path())
    if count:
        click.echo(f"Copy the folder {folder} as well: it holds the photos you took ({count}).")


@click.command("restore", short_help="Put a backup in place of what was saved.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def restore_command(file: Path) -> None:
    """Put the backup FILE in place of what was saved, which is kept beside it."""
    from scorer.store.care import restore, store_path

    kept = restore(file, store_path())
    click.echo(f"Restored from {file}. If the page is open, load it again.")
    if kept is not None:
        click.echo(f"What was there before is kept as {kept}.")
