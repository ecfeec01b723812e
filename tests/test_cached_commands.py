"""Commands that read photos: the second run is served from the cache, and says the same."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scorer.commands import main
from scorer.screening import hands
from scorer.screening.cache import FILE_NAME, ReadingCache
from tests.homes import make_home


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = make_home(tmp_path / "homes" / "one")
    then = time.time() - 60
    for path in folder.iterdir():
        os.utime(path, (then, then))
    return folder


def test_the_second_run_reads_nothing_and_prints_the_same(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    commands = (
        ("read", *sorted(home.iterdir()), "--json"),
        ("screen", home.parent, "--json", "--quiet"),
        ("compare", home, "--json"),
    )
    first = [run(*command).stdout for command in commands]

    def no_pool(*_: object) -> None:
        raise AssertionError("a photo was read again")

    # Without a pool nothing can be read: the commands read in worker processes only.
    monkeypatch.setattr(hands.ProcessPoolExecutor, "submit", no_pool)
    assert [run(*command).stdout for command in commands] == first
    for command in commands:
        assert isinstance(run(*command, "--no-cache").exception, BaseException)


def test_no_cache_keeps_nothing(home: Path, own_cache: Path) -> None:
    assert run("read", home / "kitchen.jpg", "--no-cache").exit_code == 0
    assert not list(own_cache.iterdir())
    assert run("read", home / "kitchen.jpg").exit_code == 0
    with ReadingCache() as cache:
        assert cache.count() == 1


def test_a_broken_cache_is_told_and_changes_no_exit_code(home: Path, own_cache: Path) -> None:
    (own_cache / FILE_NAME).write_bytes(b"no database" * 1000)
    result = run("read", home / "kitchen.jpg")
    assert result.exit_code == 0
    assert result.stderr.count("\n") == 1
    assert "was set aside as" in result.stderr


def test_surface_maps_are_written_from_a_known_photo_too(home: Path, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        result = run("read", home / "kitchen.jpg", "--surfaces", tmp_path / folder)
        assert result.exit_code == 0
        assert (tmp_path / folder / "kitchen.png").exists()
