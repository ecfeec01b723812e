"""README's examples run as they are written."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main
from tests.homes import make_home

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
PROGRAM = ".venv/bin/value-add "
EXAMPLES = [
    line
    for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    for line in block.splitlines()
    if line.startswith(PROGRAM)
]


def test_readme_has_examples() -> None:
    assert len(EXAMPLES) >= 4


def test_examples_run_in_their_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for folder in ("homes/12 example street", "homes/7 sample road", "HOMES/one home"):
        make_home(tmp_path / folder)
    monkeypatch.chdir(tmp_path)
    for example in EXAMPLES:
        arguments = shlex.split(example.removeprefix(PROGRAM))
        if arguments[0] == "page":
            continue
        result = CliRunner().invoke(main, arguments)
        assert result.exit_code == 0, f"{example}\n{result.output}"
        assert result.stdout


@pytest.mark.parametrize("command", ["read", "screen"])
def test_every_documented_key_is_printed(tmp_path: Path, command: str) -> None:
    section = README.split(f"`value-add {command}", 1)[1].split("\n`", 1)[0]
    rows = re.findall(r"^\| (`[^|]*) \|", section, re.MULTILINE)
    documented = {key for row in rows for key in re.findall(r"`(\w+)`", row)}
    home = make_home(tmp_path / "homes" / "h")
    arguments = ["read", str(home / "kitchen.jpg")] if command == "read" else ["screen", "homes"]
    if command == "screen":
        arguments[1] = str(tmp_path / "homes")
        (tmp_path / "homes" / "loose.jpg").write_bytes((home / "kitchen.jpg").read_bytes())
    result = CliRunner().invoke(main, [*arguments, "--json"])
    printed = json.loads(result.stdout)
    first = printed if command == "read" else printed[0]
    assert set(first) == documented
