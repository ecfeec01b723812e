"""Work on several machines, through the futures executor of Dask's ``distributed`` [1]_.

References
----------
.. [1] Dask.distributed documentation, ``Client.get_executor``: a ``concurrent.futures`` executor.
"""

from __future__ import annotations

import multiprocessing
import socket
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from typing import Any, NamedTuple

from scorer.errors import InputError
from scorer.screening.hands import OwnWorkers, Work, WorkExecutor
from scorer.screening.methods import program_version

CONNECT_SECONDS = 10


class Cluster(NamedTuple):
    """An executor, and how many pieces of work it does at a time."""

    executor: Executor
    workers: int


class OtherVersion(InputError):
    """A worker has another version of this program, so that its answers would be others."""


@contextmanager
def cluster_at(address: str) -> Iterator[Cluster]:
    """The cluster whose scheduler answers at an address (``tcp://host:8786``).

    Only paths, facts and readings go there, and readings and results come back, so that every
    worker must see the photos under the same path. A worker that dies loses nothing: its work goes
    to another. Each worker does its work in a process of its own, so that a photo that breaks the
    decoder, or takes too long, costs itself only, as on one machine.

    Raises
    ------
    InputError
        If ``distributed`` isn't installed, nobody answers, there is no worker, or a worker would
        answer otherwise than this machine; also later, of one that joins on the way.
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
            versions = client.run(program_version)
        except Exception as error:  # whatever the other machine raised
            raise _no_program(address, error) from None
        other = sorted(name for name, found in versions.items() if found != program_version())
        if other:
            raise OtherVersion(_other(f"{address}: the worker {other[0]}"))
        with client.get_executor(pure=False) as executor:
            yield Cluster(_Checked(address, executor), sum(threads.values()))


class _Checked(WorkExecutor):
    """The cluster's executor; each piece of work goes with the version that it must be done by."""

    def __init__(self, address: str, executor: Executor) -> None:
        self._address = address
        self._executor = executor

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        return self._executor.submit(fn, *args, **kwargs)

    def submit_work(self, work: Work) -> Future[Any]:
        told: Future[Any] = Future()

        def tell(done: Future[Any]) -> None:
            error = done.exception()
            if error is None:
                told.set_result(done.result())
            elif isinstance(error, ImportError | AttributeError):
                told.set_exception(_no_program(self._address, error))
            else:
                told.set_exception(error)

        self._executor.submit(work_there, work, program_version()).add_done_callback(tell)
        return told


def work_there(work: Work, wanted: str) -> Any:
    """Do a piece of work in a process beside this worker of a cluster.

    Raises
    ------
    OtherVersion
        If this worker would do it in another way than the machine that asks.
    """
    if program_version() != wanted:
        raise OtherVersion(_other(f"the cluster's worker on {socket.gethostname()}"))
    hands = _beside()
    if hands is None:
        return work.do(work.of)
    return hands.finish(hands.take(work))


_THREAD = threading.local()


def _beside() -> OwnWorkers | None:
    """The process beside this thread of the worker; None where it can have none."""
    if not hasattr(_THREAD, "hands"):
        process = multiprocessing.current_process()
        try:
            if process.daemon:  # as a nanny starts it; ours ends with its parent all the same
                process.daemon = False
            _THREAD.hands = OwnWorkers(1)
        except AssertionError:
            _THREAD.hands = None
    found: OwnWorkers | None = _THREAD.hands
    return found


def _other(who: str) -> str:
    return (
        f"{who} has another version of this program and would read photos differently; install "
        "the same version there and run this again: what was read is kept."
    )


def _no_program(address: str, error: BaseException) -> InputError:
    return InputError(
        f"{address}: this program can't be run by the cluster's workers "
        f"({type(error).__name__}: {error}); install it there too."
    )
