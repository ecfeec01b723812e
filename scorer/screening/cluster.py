"""Work on several machines, through the futures executor of Dask's ``distributed`` [1]_.

References
----------
.. [1] Dask.distributed documentation, ``Client.get_executor``: a ``concurrent.futures`` executor.
"""

from __future__ import annotations

import multiprocessing
import pickle
import socket
import threading
import time
import warnings
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from scorer.errors import InputError
from scorer.screening.hands import OwnWorkers, Work, WorkExecutor
from scorer.screening.methods import program_version

if TYPE_CHECKING:
    from distributed import Client

CONNECT_SECONDS = 10
ASK_AGAIN_SECONDS = 5.0
"""How often the workers are asked anew once one was left out."""


class Cluster(NamedTuple):
    """An executor, and how many pieces of work it does at a time.

    ``problems`` grows while it works: a sentence about each worker that was left out.
    """

    executor: Executor
    workers: int
    problems: list[str]


class OtherVersion(InputError):
    """A worker has another version of this program, so that its answers would be others."""


@contextmanager
def cluster_at(address: str) -> Iterator[Cluster]:
    """The cluster whose scheduler answers at an address (``tcp://host:8786``).

    Only paths, facts and readings go there, and readings and results come back, so that every
    worker must see the photos under the same path. A worker that dies loses nothing: its work goes
    to another. One that lacks this program is left out, with a sentence. Each worker does its work
    in a process of its own, so that a photo that breaks the decoder, or takes too long, costs
    itself only, as on one machine.

    Raises
    ------
    InputError
        If ``distributed`` isn't installed, nobody answers, there is no worker, none of them has
        this program, or one would answer otherwise than this machine; also later, of one that joins
        on the way.
    """
    try:
        from distributed import Client
        from distributed.versions import VersionMismatchWarning
    except ImportError:
        raise InputError(
            "--cluster needs the package distributed; install this program with its extra "
            "“cluster”."
        ) from None
    try:
        with warnings.catch_warnings():
            # What differs between the machines is told below, in words.
            warnings.simplefilter("ignore", VersionMismatchWarning)
            client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise InputError(
            f"{address}: no cluster's scheduler answers there ({type(error).__name__}); give the "
            "address that the scheduler printed, such as tcp://host:8786."
        ) from None
    with client:
        if not client.nthreads():
            raise InputError(f"{address}: this cluster has no worker; start one first.")
        executor = client.get_executor(pure=False)
        try:
            able = _Able(client, address, executor)
            versions = able.ask()
            other = sorted(name for name, found in versions.items() if found != program_version())
            if other:
                raise OtherVersion(_other(f"{address}: the worker {other[0]}"))
            size = sum(count for name, count in client.nthreads().items() if name in versions)
            yield Cluster(able, max(1, size), able.problems)
        finally:
            executor.shutdown(wait=False)  # what is still on its way, nobody waits for any more


class _Sent(NamedTuple):
    """A piece of work on its way: what travels, and the only workers that may do it, if named."""

    packed: bytes
    workers: frozenset[str]
    future: Future[Any]


class _Able(WorkExecutor):
    """The cluster's executor, kept to the workers that have this program.

    Work travels as bytes that become a call when they are unpacked. A worker that lacks the program
    then fails that call and nothing else, where it would break over a function that it can't
    import. From then on work goes to the named others only.
    """

    def __init__(self, client: Client, address: str, executor: Executor) -> None:
        self.problems: list[str] = []
        self._client = client
        self._address = address
        self._executor = executor
        self._lacking: dict[str, str] = {}
        self._able: frozenset[str] = frozenset()
        self._asked = 0.0
        self._sent: dict[Future[Any], _Sent] = {}
        self._failed: deque[Future[Any]] = deque()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        return self._executor.submit(fn, *args, **kwargs)

    def submit_work(self, work: Work) -> Future[Any]:
        self.look_after()
        told: Future[Any] = Future()
        self._send(told, _packed(work_there, work, program_version()))
        return told

    def _send(self, told: Future[Any], packed: bytes) -> None:
        workers = self._able if self._lacking else frozenset()
        named: dict[str, Any] = {"workers": sorted(workers)} if workers else {}
        future = self._executor.submit(pickle.loads, packed, **named)
        before = self._sent.get(told)
        self._sent[told] = _Sent(packed, workers, future)
        if before is not None:
            before.future.cancel()
        future.add_done_callback(partial(self._tell, told))

    def _tell(self, told: Future[Any], done: Future[Any]) -> None:
        """Hand an answer on; runs in the client's own thread, which must not wait."""
        sent = self._sent.get(told)
        if sent is None or sent.future is not done:  # it was sent anew meanwhile
            return
        error = None if done.cancelled() else done.exception()
        if isinstance(error, ImportError | AttributeError):
            self._failed.append(told)
            return
        del self._sent[told]
        if done.cancelled():
            told.cancel()
            told.set_running_or_notify_cancel()
        elif error is not None:
            told.set_exception(error)
        else:
            told.set_result(done.result())

    def look_after(self) -> None:
        """Send anew what a worker without the program failed at, or what waits for dead ones."""
        again = [self._failed.popleft() for _ in range(len(self._failed))]
        now = time.monotonic()
        if not again and (not self._lacking or now - self._asked < ASK_AGAIN_SECONDS):
            return
        able = frozenset(self.ask())
        waiting = list(self._sent.items())
        again += [told for told, sent in waiting if sent.workers and not sent.workers & able]
        for told in dict.fromkeys(again):
            self._send(told, self._sent[told].packed)

    def ask(self) -> dict[str, str]:
        """Version of the program of each worker that has it.

        Raises
        ------
        InputError
            If none has.
        """
        answers = self._client.run(pickle.loads, _packed(version_there), on_error="return")
        self._asked = time.monotonic()
        for worker, answer in answers.items():
            if isinstance(answer, ImportError | AttributeError) and worker not in self._lacking:
                self._lacking[worker] = f"{type(answer).__name__}: {answer}"
                self.problems.append(
                    f"{worker}: this worker of the cluster can't run this program "
                    f"({self._lacking[worker]}) and was left out; install the program there to "
                    "use it."
                )
        versions = {name: found for name, found in answers.items() if isinstance(found, str)}
        if not versions and self._lacking:
            reason = next(iter(self._lacking.values()))
            raise InputError(
                f"{self._address}: none of the cluster's workers can run this program ({reason}); "
                "install it there too."
            )
        self._able = frozenset(versions)
        return versions


class _Call:
    """A call that is made when its pickle is loaded."""

    def __init__(self, call: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
        self._made = call, arguments

    def __reduce__(self) -> tuple[Callable[..., Any], tuple[Any, ...]]:
        return self._made


def _packed(call: Callable[..., Any], *arguments: Any) -> bytes:
    return pickle.dumps(_Call(call, arguments))


def version_there() -> str:
    """Version of the program that a worker has."""
    return program_version()


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
