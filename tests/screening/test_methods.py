"""The version of the program that a kept result is asked under: honest about every file."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import scorer
from scorer.screening import methods
from scorer.screening.methods import BEHIND, program_version, reading_method, weighing_method
from tests.test_flow import PLACE

SOURCE = Path(scorer.__file__).parent


@pytest.fixture
def copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the program, looked at in its place."""
    folder = tmp_path / "scorer"
    ignored = shutil.ignore_patterns("__pycache__", "*.onnx", "*.ttf")
    shutil.copytree(SOURCE, folder, ignore=ignored)
    monkeypatch.setattr(methods, "files", lambda _: folder)
    weighing_method.cache_clear()
    yield folder
    weighing_method.cache_clear()


def test_the_packages_left_out_come_after_a_result() -> None:
    assert {name for name, place in PLACE.items() if place > PLACE["screening"]} == BEHIND


@pytest.mark.parametrize(
    "file",
    [
        "records.py",
        "scope/choose.py",
        "screening/home.py",
        "conditions/data/conditions.csv",
        "upgrades/data/catalogue/walls.toml",
        "upgrades/data/wages.csv",
        "upgrades/data/price_book.csv",
        "money/data/rent_effects.csv",
        "photos/data/calibration.json",
    ],
)
def test_a_changed_file_is_another_version(copy: Path, file: str) -> None:
    before = weighing_method()
    path = copy / file
    path.write_bytes(path.read_bytes() + b"\n")
    weighing_method.cache_clear()
    assert weighing_method() != before


def test_a_file_more_less_or_renamed_is_another_version(copy: Path) -> None:
    found = {weighing_method()}
    (copy / "money" / "data" / "new.csv").write_text("")
    for change in (lambda: None, lambda: (copy / "rooms.py").rename(copy / "places.py")):
        change()
        weighing_method.cache_clear()
        found.add(weighing_method())
    assert len(found) == 3


def test_what_comes_after_a_result_is_no_other_version(copy: Path) -> None:
    before = weighing_method()
    path = copy / "report" / "table.py"
    path.write_text(path.read_text() + "\n")
    weighing_method.cache_clear()
    assert weighing_method() == before


def test_another_library_is_another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    before = weighing_method()
    real = methods.version
    monkeypatch.setattr(methods, "version", lambda name: f"{real(name)}{name == 'scipy'}")
    weighing_method.cache_clear()
    after = weighing_method()
    weighing_method.cache_clear()
    assert after != before


def test_without_its_source_there_is_no_version(copy: Path) -> None:
    for path in copy.rglob("*.py"):
        path.unlink()
    assert weighing_method() == ""


def test_the_version_names_both_ways_of_answering() -> None:
    assert program_version() == f"{reading_method()} {weighing_method()}"
