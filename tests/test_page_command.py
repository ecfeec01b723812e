"""``value-add page`` serves this machine only, and nothing else is told or asked."""

from __future__ import annotations

import os
import signal
import socket
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main
from scorer.commands.page import page_environment
from tests.app.serving import Served, served


def _serve(folder: Path) -> AbstractContextManager[Served]:
    """The page with an environment that asks for what must not be."""
    environment = {
        **os.environ,
        "VALUE_ADD_DATA": str(folder / "data"),
        "STREAMLIT_BROWSER_GATHER_USAGE_STATS": "true",  # must be outranked
        "STREAMLIT_SERVER_ADDRESS": "0.0.0.0",
    }
    return served(environment, folder / "log")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with _serve(tmp_path_factory.mktemp("served")) as server:
        yield server


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_ending_the_command_ends_the_page(tmp_path: Path) -> None:
    with _serve(tmp_path) as server:
        os.kill(server.command.pid, signal.SIGTERM)
        server.command.wait(15)
        with pytest.raises(ConnectionError):
            server.status("/_stcore/health")


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_ctrl_c_is_answered_in_one_line_and_told_by_the_exit_code(tmp_path: Path) -> None:
    with _serve(tmp_path) as server:
        os.kill(server.command.pid, signal.SIGINT)
        time.sleep(0.5)  # two signals at once may come in either order
        os.kill(server.command.pid, signal.SIGTERM)  # a terminal's Ctrl+C reaches the server itself
        assert server.command.wait(15) == 130
        printed = server.log.read_text(encoding="utf-8").splitlines()
    assert [line for line in printed[1:] if line] == [
        "The page has stopped; everything that was saved is kept."
    ]


def test_a_port_in_use_is_told_before_any_address(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = CliRunner().invoke(main, ["page", "--no-browser", "--port", str(port)])
    assert result.exit_code == 2
    assert result.output.strip().endswith(
        f"--port {port}: something else uses this port; give another, or leave --port out to get a "
        "free one."
    )
    assert "The page is at" not in result.output


def test_the_page_is_served(server: Served) -> None:
    assert server.status("/") == 200


def test_the_command_alone_says_where_the_page_is(server: Served) -> None:
    printed = server.log.read_text(encoding="utf-8").splitlines()
    assert printed == [f"The page is at {server.address} (stop it with Ctrl+C)."]


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="needs Linux's /proc")
def test_only_this_machine_can_reach_it(server: Served) -> None:
    listening = [
        line.split()[1]
        for name in ("/proc/net/tcp", "/proc/net/tcp6")
        for line in Path(name).read_text(encoding="utf-8").splitlines()[1:]
        if line.split()[3] == "0A" and line.split()[1].endswith(f":{server.port:04X}")
    ]
    assert listening == [f"0100007F:{server.port:04X}"]


def test_settings_that_keep_it_safe() -> None:
    options = page_environment(8501)
    assert options["STREAMLIT_BROWSER_GATHER_USAGE_STATS"] == "false"
    assert options["STREAMLIT_SERVER_ENABLE_XSRF_PROTECTION"] == "true"
    assert options["STREAMLIT_SERVER_ENABLE_CORS"] == "true"
    assert options["STREAMLIT_CLIENT_SHOW_ERROR_DETAILS"] == "none"
    assert options["STREAMLIT_SERVER_MAX_UPLOAD_SIZE"] == "200"


def test_every_setting_is_one_that_the_library_has() -> None:
    from streamlit import config

    known = {
        "STREAMLIT_" + name.replace(".", "_").upper().replace("_", "")
        for name in config.get_config_options()
    }
    for variable in page_environment(8501):
        assert "STREAMLIT_" + variable.removeprefix("STREAMLIT_").replace("_", "") in known


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["page", str(tmp_path / "no")])
    assert result.exit_code == 2
    assert "there is no such folder" in result.stderr
