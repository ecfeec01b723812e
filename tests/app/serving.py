"""Start the page on a free port with a data folder of its own, and find a browser for it."""

from __future__ import annotations

import http.client
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from scorer.commands.page import FOLDER_VARIABLE

ARTEFACTS = Path(__file__).parents[1] / "artefacts"
COMMAND = Path(sys.executable).with_name("value-add")
START_SECONDS = 60.0
END_SECONDS = 10.0


def find_chromium() -> str | None:
    """A Chromium of this machine, if there is one."""
    names = ("chromium", "chromium-browser", "google-chrome")
    return next((path for name in names if (path := shutil.which(name))), None)


@dataclass(frozen=True)
class Served:
    """A page that answers, its command and what that has printed."""

    port: int
    log: Path
    command: subprocess.Popen[bytes]

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def status(self, path: str, method: str = "GET", **headers: str) -> int:
        """HTTP status of the answer to a request."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            connection.request(method, path, headers=headers)
            return connection.getresponse().status
        finally:
            connection.close()


@contextmanager
def page(data: Path, homes: Path | None = None) -> Iterator[str]:
    """Address of the page over a data folder; the page ends with the block.

    Parameters
    ----------
    data
        The user's data folder.
    homes
        Folder of homes that the page is opened with.
    """
    environment = os.environ | {"VALUE_ADD_DATA": str(data), "OMP_NUM_THREADS": "1"}
    if homes is not None:
        environment[FOLDER_VARIABLE] = str(homes)
    with served(environment, data.with_name("page.log")) as server:
        yield server.address


@contextmanager
def served(environment: Mapping[str, str], log: Path, *options: str) -> Iterator[Served]:
    """The page as ``value-add page`` starts it; ends with the block.

    Parameters
    ----------
    environment
        Environment of the command, which names the data folder.
    log
        File to which is added what the command and the page print.
    options
        Further options of the command.

    Raises
    ------
    RuntimeError
        If the page doesn't answer in time; with the end of the log.
    """
    port = _free_port()
    with log.open("ab") as out:
        command = subprocess.Popen(
            [COMMAND, "page", "--no-browser", "--port", str(port), *options],
            stdout=out,
            stderr=subprocess.STDOUT,
            env=environment,
            start_new_session=True,  # the page's server is a child of the command
        )
    server = Served(port, log, command)
    try:
        _wait_for_answer(server)
        yield server
    finally:
        _end(command)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for_answer(server: Served) -> None:
    ends = time.monotonic() + START_SECONDS
    while time.monotonic() < ends and server.command.poll() is None:
        with suppress(OSError):  # nobody listens yet
            if server.status("/_stcore/health") == 200:
                return
        time.sleep(0.2)
    printed = server.log.read_text(encoding="utf-8", errors="replace")
    raise RuntimeError(f"the page did not start: {printed[-2000:]}")


def _end(command: subprocess.Popen[bytes]) -> None:
    with suppress(ProcessLookupError):  # both have ended by themselves
        os.killpg(command.pid, signal.SIGTERM)
        try:
            command.wait(END_SECONDS)
        except subprocess.TimeoutExpired:
            os.killpg(command.pid, signal.SIGKILL)
            command.wait()
