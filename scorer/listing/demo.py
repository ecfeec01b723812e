"""Where the invented homes are that the page shows first."""

from __future__ import annotations

from pathlib import Path

from scorer.errors import InputError

_PACKAGE = Path(__file__).resolve().parents[1]


def demo_folder() -> Path:
    """Folder of the demo homes: inside the installed package, else in the clone it runs from.

    Raises
    ------
    InputError
        If neither is there.
    """
    for folder in (_PACKAGE / "demo_homes", _PACKAGE.parent / "demo_images" / "homes"):
        if folder.is_dir():
            return folder
    raise InputError(
        "The demo homes are not installed; give a folder of your own, or install again from a "
        "whole copy of the project."
    )
