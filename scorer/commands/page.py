"""``value-add page``: open the page in the browser, for this machine only unless asked."""

from __future__ import annotations

import errno
import ipaddress
import os
import re
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import click

from scorer.commands.main import STOPPED, fail
from scorer.commands.values import Number
from scorer.errors import InputError

LOOPBACK = "127.0.0.1"
FIRST_PORT = 8501
PORTS_TRIED = 50
MOST_UPLOAD_MB = 200
FOLDER_VARIABLE = "VALUE_ADD_FOLDER"
TOKEN_VARIABLE = "VALUE_ADD_TOKEN"


@click.command("page", short_help="Open the page, with a folder of homes if you give one.")
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option(
    "--port", type=Number(1, 65535, whole=True), help="Port; the first free one from 8501."
)
@click.option("--no-browser", is_flag=True, help="Don't open the browser.")
@click.option(
    "--host",
    default=LOOPBACK,
    metavar="ADDRESS",
    help="Let other machines reach the page at this address of this machine; it then asks for an "
    "access token, printed here and new at every start.",
)
def page_command(folder: Path | None, port: int | None, no_browser: bool, host: str) -> None:
    """Open the page, with the homes of FOLDER if it is given.

    On the first run the invented demo homes are there. Only this machine can reach the page, unless
    --host says otherwise.
    """
    script = Path(__file__).resolve().parents[2] / "app" / "main.py"
    if not script.is_file():
        fail("The page is not installed; install again from a whole copy of the project.")
    if folder is not None:
        if not folder.is_dir():
            raise InputError(f"{folder}: there is no such folder; give the folder of the homes.")
        os.environ[FOLDER_VARIABLE] = str(folder.resolve())
    port = _free_port(host, port)
    address = f"http://{f'[{host}]' if ':' in host else host}:{port}"
    click.echo(f"The page is at {address} (stop it with Ctrl+C).", err=True)
    token = "" if is_loopback(host) else secrets.token_urlsafe(18)
    if token:
        click.echo(
            f"Access token, for this start only: {token}\n"
            "Other machines can reach the page with it. What travels is not encrypted: use it only "
            "in a network that you trust.",
            err=True,
        )
    elif not no_browser and _has_screen():
        threading.Thread(target=_open_when_ready, args=(address, port), daemon=True).start()
    command = [sys.executable, "-m", "app.serve", str(script)]
    settings = {**os.environ, **page_environment(port, host), TOKEN_VARIABLE: token}
    with subprocess.Popen(command, env=settings) as server:
        # Whoever stops this command (a service manager, say) means the page.
        signal.signal(signal.SIGTERM, lambda *_: server.terminate())
        stopped = False
        while True:
            try:
                code = server.wait()
                break
            except KeyboardInterrupt:  # the server got it too and is closing
                stopped = True
    if stopped:
        click.echo("\nThe page has stopped; everything that was saved is kept.", err=True)
        code = STOPPED
    sys.exit(code)


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach what listens at an address."""
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def page_environment(port: int, host: str = LOOPBACK) -> dict[str, str]:
    """Settings that keep the page on this machine and quiet; they outrank settings files.

    They travel in the environment, where a version of the page's library that lacks one of them
    passes over it.
    """
    hosts = f"{LOOPBACK} localhost" if is_loopback(host) else host
    options = {
        "server.address": host,
        "server.port": str(port),
        "server.headless": "true",
        "server.enableXsrfProtection": "true",
        "server.enableCORS": "true",
        "server.enableAgentApi": "false",
        "server.maxUploadSize": str(MOST_UPLOAD_MB),
        "server.fileWatcherType": "none",
        # At every address there is (0.0.0.0) no name is known; the token guards the page there.
        "server.allowedHosts": "*" if host in {"0.0.0.0", "::"} else hosts,
        "browser.gatherUsageStats": "false",
        "browser.serverAddress": host,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "client.showErrorLinks": "false",
        "client.allowedOrigins": f"http://{host}:{port}",
        "global.developmentMode": "false",
        # The command has said where the page is; only what goes wrong is worth another line.
        "logger.hideWelcomeMessage": "true",
        "logger.level": "warning",
    }
    return {_variable(name): value for name, value in options.items()}


def _variable(option: str) -> str:
    """``server.maxUploadSize`` as ``STREAMLIT_SERVER_MAX_UPLOAD_SIZE``."""
    words = re.sub(r"([a-z])([A-Z])", r"\1_\2", option.replace(".", "_"))
    return f"STREAMLIT_{words.upper()}"


def _free_port(host: str, wanted: int | None) -> int:
    family = _family(host)
    tried = [wanted] if wanted else range(FIRST_PORT, FIRST_PORT + PORTS_TRIED)
    for port in tried:
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            if os.name != "nt":  # there the option would let two programs share a port
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError as error:
                if error.errno == errno.EADDRNOTAVAIL:
                    raise InputError(
                        f"--host {host}: this is no address of this machine."
                    ) from None
                if wanted and error.errno == errno.EACCES:
                    raise InputError(
                        f"--port {wanted}: you may not use this port; give one from 1024 on."
                    ) from None
                continue
            return port
    if wanted:
        raise InputError(
            f"--port {wanted}: something else uses this port; give another, or leave --port out "
            "to get a free one."
        )
    raise InputError(
        f"No free port between {FIRST_PORT} and {FIRST_PORT + PORTS_TRIED - 1}; give one with "
        "--port."
    )


def _family(host: str) -> int:
    """IPv4 or IPv6; only a name is looked up."""
    try:
        literal = ipaddress.ip_address(host)
    except ValueError:
        try:
            return socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)[0][0]
        except (OSError, UnicodeError):
            raise InputError(f"--host {host}: this is no address of this machine.") from None
    return socket.AF_INET if literal.version == 4 else socket.AF_INET6


def _has_screen() -> bool:
    """Whether a browser window can open here; else a text browser might take the terminal."""
    if sys.platform in {"win32", "darwin"}:
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_when_ready(address: str, port: int) -> None:
    import webbrowser

    for _ in range(150):
        try:
            with socket.create_connection((LOOPBACK, port), timeout=1.0):
                webbrowser.open(address)
                return
        except OSError:
            time.sleep(0.2)
