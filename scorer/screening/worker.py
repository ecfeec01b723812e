"""What runs in a worker process: one photo after another, each with an end to its time."""

from __future__ import annotations

import faulthandler
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from scorer.errors import InputError
from scorer.photos.reading import Reading

PHOTO_SECONDS = 60.0
"""Longest time for one photo [s]; common practice, no source: the slowest photo that may be opened
(120 megapixels, PNG) takes a few seconds."""


class Job(NamedTuple):
    """One photo to read.

    ``room_kind`` is what the listing says that it shows; ``surfaces`` is the file that its surface
    map goes to.
    """

    path: str
    name: str
    room_kind: str | None = None
    surfaces: str | None = None


ReadOne = Callable[[Job], Reading]


def read_job(job: Job) -> Reading:
    """Read one photo; whatever goes wrong becomes one sentence in the reading."""
    try:
        from scorer.photos import read_photo, read_photo_and_surfaces

        if job.surfaces is None:
            return read_photo(job.path, name=job.name, room_kind_hint=job.room_kind)
        reading, codes = read_photo_and_surfaces(
            job.path, name=job.name, room_kind_hint=job.room_kind
        )
        if codes is not None:
            from PIL import Image

            Image.fromarray(codes).save(job.surfaces, format="PNG")
        return reading
    except InputError as error:
        return Reading(file=job.name, error=str(error))
    except MemoryError:
        return Reading(file=job.name, error=f"{job.name}: too large for this machine's memory.")
    except Exception as error:  # a photo that breaks the reader must not stop the others
        return Reading(
            file=job.name,
            error=f"{job.name}: could not be read ({type(error).__name__}); open it and save it "
            "again as JPEG.",
        )


def start_worker() -> None:
    """Prepare a worker process: one thread, since there is one process for each core.

    It ends with its parent, however that ends, and leaves Ctrl-C to the parent.
    """
    import cv2

    cv2.setNumThreads(1)
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.join,), daemon=True).start()


def _end_with(wait: Callable[[], object]) -> None:
    wait()
    os._exit(1)


def read_marked(read_one: ReadOne, job: Job, mark: str, seconds: float) -> Reading:
    """Read one photo, leaving a mark while at it.

    The file ``mark`` is there while the photo is being read. After ``seconds`` the process ends,
    also where a decoder never gives control back to Python, and the mark then isn't empty.
    """
    path = Path(mark)
    with path.open("wb") as file:
        faulthandler.dump_traceback_later(seconds, exit=True, file=file)
        try:
            reading = read_one(job)
        finally:
            faulthandler.cancel_dump_traceback_later()
    with suppress(OSError):  # the parent may have left, and taken the folder with it
        path.unlink()
    return reading
