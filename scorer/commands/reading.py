"""How photos are read by every command that reads some: with a cache, and in worker processes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

from scorer.commands.values import Number

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from scorer.screening.cache import ReadingCache

Command = TypeVar("Command", bound=Callable[..., Any])


def cache_option(command: Command) -> Command:
    """Add ``--no-cache`` to a command."""
    return click.option(
        "--no-cache",
        is_flag=True,
        help="Do everything anew and keep nothing; else a photo that was read before, or a home "
        "that was weighed before and hasn't changed, isn't done again.",
    )(command)


def workers_option(command: Command) -> Command:
    """Add ``--workers`` to a command."""
    return click.option(
        "--workers",
        type=Number(1, 256, whole=True),
        help="Processes that read, 1 to 256; one a core by default.",
    )(command)


@contextmanager
def reading_cache(off: bool) -> Iterator[ReadingCache | None]:
    """The user's cache of readings; what is wrong with it is told and changes no result."""
    if off:
        yield None
        return
    from scorer.screening.cache import ReadingCache

    with ReadingCache() as cache:
        try:
            yield cache
        finally:
            for sentence in cache.problems:
                click.echo(sentence, err=True)


@contextmanager
def executor_at(address: str | None) -> Iterator[tuple[Executor | None, int | None]]:
    """The executor of a cluster, and its size; neither where no address was given.

    What kept some of its workers from helping is told at the end.
    """
    if address is None:
        yield None, None
        return
    from scorer.screening.cluster import cluster_at

    with cluster_at(address) as cluster:
        try:
            yield cluster.executor, cluster.workers
        finally:
            for sentence in cluster.problems:
                click.echo(sentence, err=True)
