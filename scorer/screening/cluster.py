"""Read photos on several machines, through the futures executor of Dask's ``distributed`` [1]_.

References
----------
.. [1] Dask.distributed documentation, ``Client.get_executor``: a ``concurrent.futures`` executor.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import NamedTuple

from scorer.errors import InputError
from scorer.screening.cache import reading_method

CONNECT_SECONDS = 10


class Cluster(NamedTuple):
    """An executor, and how many photos it reads at a time."""

    executor: Executor
    workers: int


@contextmanager
def cluster_at(address: str) -> Iterator[Cluster]:
    """The cluster whose scheduler answers at an address (``tcp://host:8786``).

    Only paths go there and only readings come back, so that every worker must see the photos under
    the same path. A worker that dies loses nothing: its photos go to another.

    Raises
    ------
    InputError
        If ``distributed`` isn't installed, nobody answers, there is no worker, or a worker would
        read photos in another way than this machine.
    """
    try:
        from distributed import Client
    except ImportError:
        raise InputError(
            "--cluster needs the package distributed; install this program with its extra "
            "“cluster”."
        ) from None
    try:
        client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise InputError(
            f"{address}: no cluster's scheduler answers there ({type(error).__name__}); give the "
            "address that the scheduler printed, such as tcp://host:8786."
        ) from None
    with client:
        threads = client.nthreads()
        if not threads:
            raise InputError(f"{address}: this cluster has no worker; start one first.")
        try:
            methods = client.run(reading_method)
        except Exception as error:  # whatever the other machine raised
            raise InputError(
                f"{address}: this program can't be run by the cluster's workers "
                f"({type(error).__name__}: {error}); install it there too."
            ) from None
        other = sorted(name for name, method in methods.items() if method != reading_method())
        if other:
            raise InputError(
                f"{address}: the worker {other[0]} has another version of this program and would "
                "read photos differently; install the same version there."
            )
        with client.get_executor(pure=False) as executor:
            yield Cluster(executor, sum(threads.values()))
