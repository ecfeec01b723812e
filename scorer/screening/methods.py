"""Versions of everything that a kept answer was made with, so that a changed program asks anew."""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterator
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from importlib.resources.abc import Traversable

BEHIND = {"commands", "report", "sheet", "store", "training", "workspace"}
"""Packages that come after a home's result and have no part in it; a test keeps it so."""

ENDINGS = (".py", ".csv", ".toml", ".json")
LIBRARIES = ("numpy", "scipy", "pydantic")
"""Libraries that a home's figures are worked out with."""


@lru_cache(maxsize=1)
def reading_method() -> str:
    """Version of everything that a reading is made with, the data files included."""
    from scorer.photos import ALGORITHM_VERSION

    parts = files("scorer.photos")
    digest = hashlib.sha256()
    for name in (
        ("data", "calibration.json"),
        ("data", "wall_cover.json"),
        ("models", "rooms.onnx"),
    ):
        part = parts.joinpath(*name)
        if part.is_file():
            digest.update(part.read_bytes())
    return f"{ALGORITHM_VERSION}.{digest.hexdigest()[:12]}"


@lru_cache(maxsize=1)
def weighing_method() -> str:
    """Version of everything that a home's result is made with, once its photos were read.

    A hash over every program and data file of the flow up to the result, the libraries' versions
    and Python's: whatever changes one of them, if only a comment, makes all results anew. Empty
    where the program's files can't be looked at, and then no result may be kept.
    """
    digest = hashlib.sha256()
    programs = 0
    for name, file in _program_files():
        content = file.read_bytes()
        digest.update(f"{name} {len(content)}\n".encode())
        digest.update(content)
        programs += name.endswith(".py")
    if programs < 2:  # installed without its source
        return ""
    digest.update(f"python {sys.version}\n".encode())
    for library in LIBRARIES:
        try:
            digest.update(f"{library} {version(library)}\n".encode())
        except PackageNotFoundError:
            return ""
    return digest.hexdigest()[:24]


def program_version() -> str:
    """Version of everything that the answer to any piece of a batch's work depends on."""
    return f"{reading_method()} {weighing_method()}"


def _program_files() -> Iterator[tuple[str, Traversable]]:
    """Files of the flow, by name."""
    for part in _by_name(files("scorer")):
        if part.is_dir() and part.name not in BEHIND:
            yield from _below(part, part.name)
        elif part.name.endswith(ENDINGS):
            yield part.name, part


def _below(folder: Traversable, name: str) -> Iterator[tuple[str, Traversable]]:
    for part in _by_name(folder):
        if part.is_dir():
            yield from _below(part, f"{name}/{part.name}")
        elif part.name.endswith(ENDINGS):
            yield f"{name}/{part.name}", part


def _by_name(folder: Traversable) -> list[Traversable]:
    return sorted(folder.iterdir(), key=lambda part: part.name)
