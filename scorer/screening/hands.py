"""Who does the work of a batch: this process, own worker processes, or somebody else's executor.

Work comes back in order, a bounded part of it is on its way at any time, and a piece that breaks or
stops its worker costs that piece only.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, Literal, NamedTuple, Protocol, TypeVar

from scorer.errors import InputError
from scorer.screening.marks import marks_folder, sweep
from scorer.screening.worker import do_marked, start_worker

WINDOW_PER_WORKER = 4
"""Work handed out ahead of the piece that is waited for, so that memory stays bounded."""

LOOK_AFTER_SECONDS = 1.0
"""How often an executor that mends itself is given the chance while an answer is waited for."""

About = TypeVar("About")


class Lost(NamedTuple):
    """Why a piece of work came to nothing.

    ``how`` is ``broke`` (its worker died of it), ``late`` (``detail`` is the limit [s]), or
    ``gone`` (an executor lost it; ``detail`` is the name of its error).
    """

    how: Literal["broke", "late", "gone"]
    detail: str = ""


class Work(NamedTuple):
    """A call that a worker can be sent; both functions must be importable there.

    ``do(of)`` is the answer; ``lost(of, Lost)`` is what stands in where there is none. ``seconds``
    is the longest that it may take in a worker process.
    """

    do: Callable[[Any], Any]
    of: Any
    lost: Callable[[Any, Lost], Any]
    seconds: float


@dataclass
class Task:
    """A piece of work on its way; ``future`` is None where it is done when it is due."""

    work: Work
    future: Future[Any] | None = None
    number: int = 0

    @property
    def well(self) -> bool:
        """Whether it ended with an answer."""
        future = self.future
        if future is None or not future.done() or future.cancelled():
            return False
        return future.exception() is None


@dataclass
class Step(Generic[About]):
    """What a stage of the batch is about, with its answer, or the work that leads to one."""

    about: About
    known: Any = None
    work: Work | None = None
    task: Task | None = None


class Hands(Protocol):
    """Who works."""

    window: int
    """How many pieces to hand out ahead."""

    def take(self, work: Work) -> Task:
        """Begin."""

    def finish(self, task: Task) -> Any:
        """The answer; never raises for what a piece of work does to its worker."""


class WorkExecutor(Executor, ABC):
    """An executor that limits the time of its work and keeps its workers whole by itself."""

    @abstractmethod
    def submit_work(self, work: Work) -> Future[Any]:
        """Begin a piece of work."""

    @abstractmethod
    def look_after(self) -> None:
        """Mend what holds work up; called again and again while an answer is waited for."""


def in_order(
    steps: Iterable[Step[About]], hands: Hands, window: int | None = None
) -> Iterator[tuple[About, Any]]:
    """Each step's answer, in order; steps are drawn as they are needed."""
    window = window or hands.window
    source = iter(steps)
    waiting: deque[Step[About]] = deque()
    while True:
        while len(waiting) < 4 * window and _busy(waiting) < window:
            step = next(source, None)
            if step is None:
                break
            if step.work is not None:
                step.task = hands.take(step.work)
            waiting.append(step)
        if not waiting:
            return
        step = waiting.popleft()
        yield step.about, step.known if step.task is None else hands.finish(step.task)


def _busy(waiting: Iterable[Step[Any]]) -> int:
    """Steps that somebody must still work on; known ones hold up nobody."""
    return sum(step.task is not None and not step.task.well for step in waiting)


@contextmanager
def hands_for(executor: Executor | None, workers: int | None, here: bool) -> Iterator[Hands]:
    """Who works: a lent executor, else this process (``here``), else own processes.

    Parameters
    ----------
    executor
        Any standard executor; the caller closes it.
    workers
        How many processes; None is one for each core. Of a given executor: how many pieces it works
        on at a time, so that none of its workers waits.
    here
        Without an executor, work in this process.
    """
    size = workers or cores()
    if executor is not None:
        yield _Lent(executor, size)
    elif here:
        yield _Here()
    else:
        own = OwnWorkers(size)
        try:
            yield own
        finally:
            own.close()


def cores() -> int:
    """Cores that this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:  # not on every system
        return max(1, os.cpu_count() or 1)


@contextmanager
def workers_deaf_to_ctrl_c() -> Iterator[None]:
    """Processes started inside inherit a blocked SIGINT, so that they don't die noisily.

    The parent gets its own at the end of the block, and ends its workers.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def process_pool(workers: int | None = None) -> ProcessPoolExecutor:
    """The default executor: fresh processes (spawn), one for each core."""
    return ProcessPoolExecutor(
        max_workers=workers or cores(),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=start_worker,
    )


class _Here:
    """This process; a piece is done when its answer is asked for."""

    window = 1

    def take(self, work: Work) -> Task:
        return Task(work)

    def finish(self, task: Task) -> Any:
        return task.work.do(task.work.of)


class _Lent:
    """Somebody else's executor: a piece of work that it loses is handed out once more."""

    def __init__(self, executor: Executor, size: int) -> None:
        self._executor = executor
        self.window = 2 * WINDOW_PER_WORKER * size

    def take(self, work: Work) -> Task:
        task = Task(work)
        self._submit(task)
        return task

    def _submit(self, task: Task) -> None:
        work = task.work
        try:
            if isinstance(self._executor, WorkExecutor):
                task.future = self._executor.submit_work(work)
            else:
                task.future = self._executor.submit(work.do, work.of)
        except Exception as error:  # a broken executor, or one that was shut down
            task.future = _failed(error)

    def finish(self, task: Task) -> Any:
        for again in (True, False):
            assert task.future is not None
            try:
                if isinstance(self._executor, WorkExecutor):
                    while not wait([task.future], LOOK_AFTER_SECONDS).done:
                        self._executor.look_after()
                return task.future.result()
            except InputError:  # the executor itself can't be used, whatever the work
                raise
            except Exception as error:  # each executor has errors of its own
                reason = type(error).__name__
                if again:
                    self._submit(task)
        return task.work.lost(task.work.of, Lost("gone", reason))


class OwnWorkers:
    """Own processes; where one dies or is late, the work it was at pays, and nothing else.

    They start with the first piece of work.

    Parameters
    ----------
    size
        How many.
    """

    def __init__(self, size: int) -> None:
        self.window = WINDOW_PER_WORKER * size
        self._size = size
        self._count = 0
        self._proven = False  # a worker has given an answer
        self._here = False  # workers don't start: work in this process
        self._pool: ProcessPoolExecutor | None = None
        self._out: dict[int, Task] = {}

    def _open(self) -> ProcessPoolExecutor:
        self._marks = marks_folder()
        self._pool = process_pool(self._size)
        return self._pool

    def close(self, wait: bool = False) -> None:
        """End the processes; one that is at work may finish it, within its time."""
        if self._pool is not None:
            self._pool.shutdown(wait=wait, cancel_futures=True)
            self._marks.cleanup()
            self._pool = None

    def take(self, work: Work) -> Task:
        """Begin a piece of work."""
        if self._count == 0:
            sweep()
        task = Task(work)
        self._hand_out(task)
        return task

    def _hand_out(self, task: Task) -> None:
        self._count += 1
        self._out.pop(task.number, None)
        task.number = self._count
        task.future = None
        if self._here:
            return
        self._out[task.number] = task
        pool = self._pool or self._open()
        mark = str(Path(self._marks.name) / str(task.number))
        work = task.work
        try:
            with workers_deaf_to_ctrl_c():  # a pool starts its processes when it gets work
                task.future = pool.submit(do_marked, work.do, work.of, mark, work.seconds)
        except BrokenExecutor as error:
            task.future = _failed(error)

    def finish(self, task: Task) -> Any:
        """The answer."""
        try:
            while task.future is not None:
                try:
                    answer = task.future.result()
                    self._proven = True
                    return answer
                except BrokenExecutor:
                    self._mend(task)
            return task.work.do(task.work.of)
        finally:
            self._out.pop(task.number, None)

    def _mend(self, head: Task) -> None:
        """New processes for those that died; the work that they were at doesn't go to them."""
        assert self._pool is not None
        self._pool.shutdown(wait=True, cancel_futures=True)
        marks = {int(path.name): path.stat().st_size for path in Path(self._marks.name).iterdir()}
        self._marks.cleanup()
        self._pool = None
        others = [task for task in self._out.values() if task is not head]
        lost = [task for task in (head, *others) if not task.well]
        if not marks and not self._proven and not _workers_start():
            self._here = True
        suspects = marks or {head.number: 0}
        late = any(suspects.values())
        for task in lost:  # the head comes first, so that what it shows holds for the others
            size = suspects.get(task.number)
            if size:
                task.future = _done(_late(task.work))
            elif size == 0 and not late and not self._here:
                task.future = _done(self._alone(task.work))
            else:
                self._hand_out(task)

    def _alone(self, work: Work) -> Any:
        """Do a suspect in a process of its own."""
        with marks_folder() as folder:
            mark = Path(folder) / "0"
            try:
                with process_pool(1) as pool:
                    return pool.submit(
                        do_marked, work.do, work.of, str(mark), work.seconds
                    ).result()
            except BrokenExecutor:
                if not mark.exists():  # it never came to the work: workers can't load the program
                    self._here = True
                    return work.do(work.of)
                if mark.stat().st_size:
                    return _late(work)
        return work.lost(work.of, Lost("broke"))


def _late(work: Work) -> Any:
    return work.lost(work.of, Lost("late", f"{work.seconds:g}"))


def _done(answer: Any) -> Future[Any]:
    future: Future[Any] = Future()
    future.set_result(answer)
    return future


def _failed(error: BaseException) -> Future[Any]:
    future: Future[Any] = Future()
    future.set_exception(error)
    return future


def _workers_start() -> bool:
    """Whether worker processes work at all here (a script without a main guard has none)."""
    with process_pool(1) as pool:
        try:
            return pool.submit(os.getpid).result() > 0
        except BrokenExecutor:
            return False
