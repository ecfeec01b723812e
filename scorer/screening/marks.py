"""Folders of the marks that workers leave, and what to do with those of runs that were killed."""

from __future__ import annotations

import os
import re
import stat
import time
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir

PREFIX = "value-add-"
OLD_SECONDS = 3600.0
"""A folder that nothing was done in for so long is left over, if its process is gone too [s];
common practice, no source. A process elsewhere that shares the folder may have a number that is
not known here, but its marks change with every photo."""

_NAME = re.compile(re.escape(PREFIX) + r"([0-9]{1,10})-\w+")


def marks_folder() -> TemporaryDirectory[str]:
    """A new folder for marks; its name tells whose it is."""
    return TemporaryDirectory(prefix=f"{PREFIX}{os.getpid()}-", ignore_cleanup_errors=True)


def sweep(folder: Path | None = None, now: float | None = None) -> int:
    """Take away this user's old folders whose process is gone; how many there were.

    Only files that a worker makes (named by a number) are deleted, so that a folder that holds
    anything else stays.
    """
    if not hasattr(os, "getuid"):  # where there is no asking for a process without disturbing it
        return 0
    count = 0
    moment = time.time() if now is None else now
    with suppress(OSError):
        for entry in os.scandir(folder or gettempdir()):
            named = _NAME.fullmatch(entry.name)
            if named is None:
                continue
            with suppress(OSError):
                state = entry.stat(follow_symlinks=False)
                ours = stat.S_ISDIR(state.st_mode) and state.st_uid == os.getuid()
                if ours and moment - state.st_mtime > OLD_SECONDS and not _runs(int(named[1])):
                    _take_away(Path(entry.path))
                    count += 1
    return count


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:  # there is one, of somebody else
        return True
    return True


def _take_away(folder: Path) -> None:
    for path in folder.iterdir():
        if path.name.isdigit() and not path.is_symlink():
            path.unlink()
    folder.rmdir()
