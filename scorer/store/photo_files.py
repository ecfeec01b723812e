"""Files of the photos that the user took: checked as any photo, named by their content."""

from __future__ import annotations

import hashlib
import io
import os
import time
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from scorer.errors import InputError
from scorer.listing.uploads import MOST_FILE_BYTES

_ENDINGS = {
    "JPEG": "jpg",
    "MPO": "jpg",
    "PNG": "png",
    "WEBP": "webp",
    "HEIF": "heic",
    "AVIF": "avif",
}
_PART = ".part"
CHECK_PX = 64
"""A photo is decoded to this size to see that it can be; large ones at reduced scale."""
FRESH_SECONDS = 3_600.0
"""A file younger than this may belong to a change that is being written."""


def keep_photo_file(folder: Path, content: bytes, name: str) -> str:
    """Write a photo into the folder and return its file name; the same photo is written once.

    What is inside decides on the kind of file, not its name. It is decoded before it is kept, with
    the limits of :func:`scorer.photos.decode.decode`, and kept as it came, so that what the camera
    noted of the light can be read; whatever leaves the program is made anew from its pixels.

    Raises
    ------
    InputError
        If it is no photo, is too large or damaged, or can't be written.
    """
    if len(content) > MOST_FILE_BYTES:
        raise InputError(f"{name} is larger than {MOST_FILE_BYTES // 10**6} MB; shrink it.")
    file = f"{hashlib.sha256(content).hexdigest()}.{_ending(content, name)}"
    path = folder / file
    if is_whole(path):
        os.utime(path)  # not one of the files that nothing speaks of, for now
        return file
    part = folder / f"{file}.{os.getpid()}{_PART}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())  # the row that speaks of it is on the disk after it
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise InputError(
            f"{name} can't be written ({error.strerror or error}); make room on the disk."
        ) from error
    return file


def keep_photo_files(
    folder: Path, files: Iterable[tuple[str, bytes]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """As :func:`keep_photo_file` for several (name, content); file names, and problems."""
    kept, problems = [], []
    for name, content in files:
        try:
            kept.append(keep_photo_file(folder, content, name))
        except InputError as error:
            problems.append(str(error))
    return tuple(kept), tuple(problems)


def _ending(content: bytes, name: str) -> str:
    from PIL import Image

    from scorer.photos.decode import FORMATS, decode

    decode(content, longest_px=CHECK_PX, name=name)
    loaded = [name for name in FORMATS if name in Image.OPEN]
    with Image.open(io.BytesIO(content), formats=loaded) as image:
        ending = _ENDINGS.get(image.format or "")
    if ending is None:
        raise InputError(f"{name} is no JPEG, PNG, WebP or HEIC photo; save it as JPEG.")
    return ending


def is_whole(path: Path) -> bool:
    """Whether a file holds what its name says."""
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest() == path.name.partition(".")[0]
    except OSError:
        return False


def loose_files(folder: Path, known: Collection[str]) -> Iterator[Path]:
    """Files of the folder that no row speaks of, left by a change that was not finished."""
    if not folder.is_dir():
        return
    for path in sorted(folder.iterdir()):
        old = time.time() - path.stat().st_mtime > FRESH_SECONDS
        if path.is_file() and path.name not in known and old:
            yield path
