"""``value-add page`` serves this machine only, and nothing else is told or asked."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main
from scorer.commands.page import page_environment


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _status(port: int, path: str, **headers: str) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", path, headers=headers)
        return connection.getresponse().status
    finally:
        connection.close()


def _start(port: int, data: Path) -> subprocess.Popen[bytes]:
    """The page's command, once the page answers."""
    environment = {
        **os.environ,
        "VALUE_ADD_DATA": str(data),
        "STREAMLIT_BROWSER_GATHER_USAGE_STATS": "true",  # must be outranked
        "STREAMLIT_SERVER_ADDRESS": "0.0.0.0",
    }
    server = subprocess.Popen(
        [Path(sys.executable).parent / "value-add", "page", "--no-browser", "--port", str(port)],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        start_new_session=True,
    )
    for _ in range(300):
        assert server.poll() is None, server.stdout and server.stdout.read().decode()
        try:
            if _status(port, "/_stcore/health") == 200:
                break
        except OSError:
            time.sleep(0.2)
    return server


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    port = _free_port()
    with _start(port, tmp_path_factory.mktemp("data")) as server:
        try:
            yield port
        finally:
            os.killpg(server.pid, signal.SIGTERM)
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                os.killpg(server.pid, signal.SIGKILL)


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_ending_the_command_ends_the_page(tmp_path: Path) -> None:
    port = _free_port()
    with _start(port, tmp_path) as server:
        try:
            os.kill(server.pid, signal.SIGTERM)
            server.wait(15)
            with pytest.raises(ConnectionError):
                _status(port, "/_stcore/health")
        finally:
            if server.poll() is None:
                os.killpg(server.pid, signal.SIGKILL)


def test_the_page_is_served(port: int) -> None:
    assert _status(port, "/") == 200


def test_a_foreign_host_name_opens_no_session(port: int) -> None:
    handshake = {
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # the sample key of RFC 6455, 1.3
    }
    own = f"127.0.0.1:{port}"
    stream = "/_stcore/stream"
    assert _status(port, stream, Host=own, Origin=f"http://{own}", **handshake) == 101
    foreign = "evil.example"
    assert _status(port, stream, Host=foreign, Origin=f"http://{foreign}", **handshake) == 403
    assert _status(port, stream, Host=own, Origin=f"http://{foreign}", **handshake) == 403


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="needs Linux's /proc")
def test_only_this_machine_can_reach_it(port: int) -> None:
    listening = [
        line.split()[1]
        for name in ("/proc/net/tcp", "/proc/net/tcp6")
        for line in Path(name).read_text().splitlines()[1:]
        if line.split()[3] == "0A" and line.split()[1].endswith(f":{port:04X}")
    ]
    assert listening == [f"0100007F:{port:04X}"]


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
