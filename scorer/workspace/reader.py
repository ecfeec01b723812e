"""Read photos in the background, so that the page can show what is done meanwhile."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterable
from concurrent.futures import Executor

from scorer.listing.listing import PhotoFile
from scorer.screening.pool import Job, read_photos
from scorer.screening.progress import Meter, Progress
from scorer.store import StoredHome
from scorer.workspace.photo_shelf import Key, PhotoShelf

Waiting = list[tuple[StoredHome, dict[Key, PhotoFile]]]
LOG = logging.getLogger(__name__)


class Reader:
    """Reads what is waiting, home by home; stopping keeps what is done.

    Parameters
    ----------
    shelf
        Where readings go, each as soon as it is made.
    executor
        What reads the photos; None is this process for few, else a pool of processes.
    """

    def __init__(self, shelf: PhotoShelf, executor: Executor | None = None) -> None:
        self._shelf = shelf
        self._executor = executor
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()
        self._progress: Progress | None = None
        self.failed = ""
        """What kept the last run from ending well, in one sentence; empty if nothing did."""

    @property
    def running(self) -> bool:
        """Whether photos are being read now."""
        return self._thread is not None and self._thread.is_alive()

    @property
    def stopped(self) -> bool:
        """Whether somebody stopped the reading."""
        return self._stop.is_set()

    @property
    def progress(self) -> Progress | None:
        """How far the present or the last run has come; None before the first."""
        return self._progress

    def start(self, homes: Iterable[StoredHome]) -> bool:
        """Read what is waiting in these homes; False if a run is on or nothing waits."""
        with self._lock:
            if self.running:
                return False
            waiting = self._shelf.waiting(homes)
            if not waiting:
                return False
            self._stop.clear()
            self.failed = ""
            total = sum(len(photos) for _, photos in waiting)
            self._progress = Progress(waiting[0][0].listing.home, 0, total, 0, len(waiting))
            self._thread = threading.Thread(target=self._run, args=(waiting,), daemon=True)
            self._thread.start()
            return True

    def stop(self) -> None:
        """End after the photo that is being read; what is done is kept."""
        self._stop.set()

    def wait(self, seconds: float | None = None) -> bool:
        """Wait for the end; True if it came."""
        thread = self._thread
        if thread is not None:
            thread.join(seconds)
        return not self.running

    def _run(self, waiting: Waiting) -> None:
        try:
            self._read(waiting)
        except Exception as error:
            LOG.exception("reading photos ended early")
            self.failed = f"Reading photos ended early ({type(error).__name__}: {error})."
        finally:
            self._shelf.store.close()  # this thread's connection

    def _read(self, waiting: Waiting) -> None:
        photos = [(home, key, photo) for home, found in waiting for key, photo in found.items()]
        left = {home.id: len(found) for home, found in waiting}
        jobs = [Job(photo.path, photo.name, photo.room_kind) for _, _, photo in photos]
        meter = Meter(len(photos), len(left))
        stream = read_photos(jobs, len(jobs), self._executor, isolate=True)
        for (home, key, _), reading in zip(photos, stream, strict=True):
            self._shelf.put(key, reading)
            left[home.id] -= 1
            self._progress = meter.count(home.listing.home, whole=left[home.id] == 0)
            if self._stop.is_set():
                break
