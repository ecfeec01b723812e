"""Start the page on a free port with a data folder of its own, and find a browser for it."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from scorer.commands.page import FOLDER_VARIABLE

ARTEFACTS = Path(__file__).parents[1] / "artefacts"
PROGRAM = "from scorer.commands import main; main()"
START_SECONDS = 60.0


def find_chromium() -> str | None:
    """A Chromium of this machine, if there is one."""
    names = ("chromium", "chromium-browser", "google-chrome")
    return next((path for name in names if (path := shutil.which(name))), None)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def page(data: Path, homes: Path | None = None) -> Iterator[str]:
    """Address of the page, as ``value-add page`` starts it; ends with the block.

    Parameters
    ----------
    data
        The user's data folder.
    homes
        Folder of homes that the page is opened with.
    """
    port = free_port()
    environment = os.environ | {"VALUE_ADD_DATA": str(data), "OMP_NUM_THREADS": "1"}
    if homes is not None:
        environment[FOLDER_VARIABLE] = str(homes)
    log = data.parent / "page.log"
    with log.open("ab") as out:
        server = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, "page", "--no-browser", "--port", str(port)],
            stdout=out,
            stderr=subprocess.STDOUT,
            env=environment,
            start_new_session=True,  # the page's server is a child of the command
        )
    address = f"http://127.0.0.1:{port}"
    try:
        _wait(address, server, log)
        yield address
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        try:
            server.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(server.pid, signal.SIGKILL)
            server.wait()


def _wait(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    ends = time.monotonic() + START_SECONDS
    while time.monotonic() < ends:
        if server.poll() is not None:
            break
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=1) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError(f"the page did not start: {log.read_text(errors='replace')[-2000:]}")
