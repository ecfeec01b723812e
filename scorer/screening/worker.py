"""What runs in a worker process: one piece of work after another, each with an end to its time."""

from __future__ import annotations

import faulthandler
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any


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


def do_marked(do: Callable[[Any], Any], of: Any, mark: str, seconds: float) -> Any:
    """``do(of)``, leaving a mark while at it.

    The file ``mark`` is there while the work goes on. After ``seconds`` the process ends, also
    where a decoder never gives control back to Python, and the mark then isn't empty.
    """
    path = Path(mark)
    with path.open("wb") as file:
        faulthandler.dump_traceback_later(seconds, exit=True, file=file)
        try:
            answer = do(of)
        finally:
            faulthandler.cancel_dump_traceback_later()
    with suppress(OSError):  # the parent may have left, and taken the folder with it
        path.unlink()
    return answer
