"""Who may reach the page: this machine; others only by --host and the printed token."""

from __future__ import annotations

import base64
import http.client
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from scorer.commands import main
from scorer.commands.page import TOKEN_VARIABLE, is_loopback, page_environment
from tests.app.serving import Served, served

SCRIPT = Path(__file__).parents[2] / "app" / "main.py"

# Runs before anything else of Python: whoever asks another machine is written down and refused.
GUARD = """
import ipaddress, os, socket
def _local(address):
    if not isinstance(address, tuple):
        return True
    host = str(address[0]).split("%")[0]
    if host in ("", "localhost"):
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
def _refuse(what):
    with open(os.environ["ASKED"], "a") as log:
        log.write(what + "\\n")
    raise OSError("the network is blocked: " + what)
def _guarded(name):
    old = getattr(socket.socket, name)
    def guarded(self, *arguments):
        if not _local(arguments[-1]):
            _refuse(f"{name} {arguments[-1]}")
        return old(self, *arguments)
    setattr(socket.socket, name, guarded)
for name in ("connect", "connect_ex", "sendto"):
    _guarded(name)
_find = socket.getaddrinfo
def _getaddrinfo(host, *arguments, **named):
    if not _local((host.decode() if isinstance(host, bytes) else host or "",)):
        _refuse(f"look up {host}")
    return _find(host, *arguments, **named)
socket.getaddrinfo = _getaddrinfo
"""


@pytest.fixture(scope="module")
def offline(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Environment in which no other machine can be asked, and every try is written down."""
    folder = tmp_path_factory.mktemp("guard")
    (folder / "sitecustomize.py").write_text(GUARD)
    (folder / "asked").touch()
    return {
        **os.environ,
        "PYTHONPATH": str(folder),
        "ASKED": str(folder / "asked"),
        "VALUE_ADD_DATA": str(folder / "data"),
        "OMP_NUM_THREADS": "1",
        "STREAMLIT_SERVER_ENABLE_AGENT_API": "true",  # must be outranked
    }


def asked(environment: dict[str, str]) -> str:
    return Path(environment["ASKED"]).read_text(encoding="utf-8")


def _upgrade(server: Served, host: str, origin: str | None) -> int:
    headers = {
        "Host": host,
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": base64.b64encode(b"0123456789abcdef").decode(),  # RFC 6455, 4.1
    }
    if origin is not None:
        headers["Origin"] = origin
    return server.status("/_stcore/stream", **headers)


def test_the_guard_of_this_test_works(offline: dict[str, str], tmp_path: Path) -> None:
    own = {**offline, "ASKED": str(tmp_path / "asked")}
    code = "import urllib.request as u; u.urlopen('http://192.0.2.1/', timeout=1)"  # RFC 5737
    got = subprocess.run([sys.executable, "-c", code], env=own, capture_output=True, check=False)
    assert got.returncode != 0
    assert "192.0.2.1" in (tmp_path / "asked").read_text()


def test_the_running_page_refuses_strangers_and_asks_no_other_machine(
    offline: dict[str, str], tmp_path: Path
) -> None:
    with served(offline, tmp_path / "log") as server:
        own = f"127.0.0.1:{server.port}"
        assert server.status("/") == 200
        assert _upgrade(server, own, f"http://{own}") == 101
        for host in (
            "evil.example",
            f"evil.example:{server.port}",
            "10.0.0.1",
            "127.0.0.1.evil.example",
        ):
            assert _upgrade(server, host, f"http://{host}") == 403, host
        for origin in ("http://evil.example", "https://127.0.0.1.evil.example", "null"):
            assert _upgrade(server, own, origin) == 403, origin
        # A page of another site may neither read answers nor send files (no XSRF token).
        connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=10)
        connection.request("GET", "/_stcore/health", headers={"Origin": "http://evil.example"})
        answer = connection.getresponse()
        assert answer.getheader("Access-Control-Allow-Origin") not in {"*", "http://evil.example"}
        connection.close()
        assert server.status("/_stcore/upload_file/a/b", "PUT") in {400, 403}
        assert server.status("/_stcore/agent/interact", "POST") in {403, 404, 405}
        assert "token" not in server.log.read_text().lower()
    assert asked(offline) == ""


def test_reading_and_screening_ask_no_other_machine(
    offline: dict[str, str], tmp_path: Path
) -> None:
    from PIL import Image

    home = tmp_path / "homes" / "oak"
    home.mkdir(parents=True)
    Image.new("RGB", (320, 240), (180, 170, 160)).save(home / "kitchen.jpg")
    command = [sys.executable, "-c", "from scorer.commands import main; main()"]
    got = subprocess.run(
        [*command, "screen", str(home.parent), "--json"],
        env=offline,
        capture_output=True,
        text=True,
        check=False,
    )
    assert got.returncode in {0, 1}, got.stderr
    assert '"home"' in got.stdout
    assert asked(offline) == ""


def test_at_another_address_a_new_token_is_printed(offline: dict[str, str], tmp_path: Path) -> None:
    tokens = set()
    for start in ("first", "second"):
        with served(offline, tmp_path / start, "--host", "0.0.0.0") as server:
            text = server.log.read_text()
            tokens |= set(re.findall(r"Access token, for this start only: ([\w-]{20,})\n", text))
            assert "not encrypted" in text
            assert server.status("/") == 200
            assert _upgrade(server, f"127.0.0.1:{server.port}", "http://evil.example") == 403
    assert len(tokens) == 2
    assert asked(offline) == ""


def test_only_loopback_needs_no_token() -> None:
    assert all(is_loopback(host) for host in ("127.0.0.1", "127.1.2.3", "::1", "localhost"))
    others = (
        "0.0.0.0",
        "::",
        "192.168.1.7",
        "10.0.0.1",
        "example.org",
        "",
        "localhost.evil.example",
    )
    assert not any(is_loopback(host) for host in others)
    settings = page_environment(8600, "192.168.1.7")
    assert settings["STREAMLIT_SERVER_ALLOWED_HOSTS"] == "192.168.1.7"
    assert settings["STREAMLIT_SERVER_ENABLE_XSRF_PROTECTION"] == "true"


@pytest.mark.parametrize("host", ["192.0.2.1", "no such name", "x" * 300])
def test_an_address_of_another_machine_gets_one_sentence(host: str) -> None:
    result = CliRunner().invoke(main, ["page", "--no-browser", "--host", host])
    assert result.exit_code == 2
    assert "no address of this machine" in result.stderr


@pytest.fixture
def app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    monkeypatch.setenv("VALUE_ADD_DATA", str(tmp_path / "data"))
    monkeypatch.setenv(TOKEN_VARIABLE, "a-token-of-this-test")
    monkeypatch.setattr("app.access.WRONG_TOKEN_WAIT_SECONDS", 0.0)
    monkeypatch.setattr("scorer.workspace.reader.Reader.start", lambda self, homes: None)
    return AppTest.from_file(str(SCRIPT), default_timeout=60)


def shown(app: AppTest) -> str:
    return " ".join(str(element) for element in app.main)


def test_nothing_is_shown_before_the_token(app: AppTest, tmp_path: Path) -> None:
    app.run()
    assert [box.label for box in app.text_input] == ["Access token"]
    assert app.text_input[0].proto.type == app.text_input[0].proto.PASSWORD
    assert not app.title and not app.selectbox and not app.tabs  # noqa: PT018
    assert not (tmp_path / "data").exists()  # nor was anything opened
    for wrong in ("a-token", "a-token-of-this-test ü", "A-TOKEN-OF-THIS-TEST", "x" * 10_000):
        app.text_input[0].set_value(wrong)
        app.button[0].click().run()
        assert [error.value for error in app.error] == [
            "This is not the access token. It was printed where the page was started."
        ]
        assert not app.title
        assert not app.exception


def test_the_token_opens_the_page(app: AppTest) -> None:
    app.run()
    app.text_input[0].set_value(" a-token-of-this-test ")
    app.button[0].click().run()
    assert not app.exception
    assert "Access token" not in [box.label for box in app.text_input]
    assert app.title or app.header or app.subheader


def test_the_token_leaves_the_address_line(app: AppTest) -> None:
    app.query_params["token"] = "a-token-of-this-test"
    app.run()
    assert "token" not in app.query_params
    assert "Access token" not in [box.label for box in app.text_input]
    wrong = AppTest.from_file(str(SCRIPT), default_timeout=60)
    wrong.query_params["token"] = "guess"
    wrong.run()
    assert "token" not in wrong.query_params
    assert len(wrong.error) == 1
    assert not wrong.title


def test_an_address_without_a_token_shows_nothing(
    app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    import streamlit as st

    monkeypatch.delenv(TOKEN_VARIABLE)
    real = st.get_option
    monkeypatch.setattr(
        st, "get_option", lambda key: "0.0.0.0" if key == "server.address" else real(key)
    )
    app.run()
    assert ["value-add page --host" in error.value for error in app.error] == [True]
    assert not app.title
