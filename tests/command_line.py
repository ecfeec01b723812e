"""Run the command line in this process, and read what it prints."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from scorer.commands import main
from tests.homes import save_photo


def run(*arguments: object) -> Result:
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def lines(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def bad_photos(folder: Path) -> dict[str, Path]:
    folder.mkdir(parents=True, exist_ok=True)
    whole = save_photo(folder / "whole.jpg").read_bytes()
    (folder / "whole.jpg").unlink()
    made = {
        "text.jpg": b"this is no photo",
        "truncated.jpg": whole[: len(whole) // 20],
        "empty.jpg": b"",
    }
    for name, content in made.items():
        (folder / name).write_bytes(content)
    return {name: folder / name for name in made}
