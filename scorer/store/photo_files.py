"""Files of the photos that the user took: checked as any photo, named by their content."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from scorer.errors import InputError
from scorer.listing.uploads import MOST_FILE_BYTES

_JPEG = b"\xff\xd8\xff"
_USUAL = {_JPEG: "jpg", b"\x89PNG\r\n\x1a\n": "png"}
"""How a file begins, and the ending that it gets."""
_PART = ".part"
CHECK_PX = 64
"""A photo is decoded to this size to see that it can be; large ones at reduced scale."""
FRESH_SECONDS = 3_600.0
"""A file younger than this may belong to a change that is being written."""


def keep_photo_file(folder: Path, content: bytes, name: str) -> str:
    """As :func:`keep_photo_files` for one photo; its file name.

    Raises
    ------
    InputError
        If it is no photo, is too large or damaged, or can't be written.
    """
    kept, problems = keep_photo_files(folder, [(name, content)])
    if problems:
        raise InputError(problems[0])
    return kept[0]


def keep_photo_files(
    folder: Path, files: Iterable[tuple[str, bytes]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Write photos (name, content) into the folder; their file names, and problems.

    What is inside decides on the kind of file, not its name. A photo is decoded before it is kept,
    with the limits of :func:`scorer.photos.decode.decode`: JPEG and PNG here, rarer kinds in a
    worker process, so that one that breaks its decoder costs itself only. It is kept as it came, so
    that what the camera noted of the light can be read; whatever leaves the program is made anew
    from its pixels. The same photo is written once.
    """
    kept: list[str] = []
    problems: list[str] = []
    rare = []
    for name, content in files:
        try:
            if len(content) > MOST_FILE_BYTES:
                raise InputError(f"{name} is larger than {MOST_FILE_BYTES // 10**6} MB; shrink it.")
            if content.startswith(tuple(_USUAL)):
                kept.append(_keep_usual(folder, content, name))
            else:
                rare.append((name, content))
        except InputError as error:
            problems.append(str(error))
    for found in _keep_rare(folder, rare) if rare else ():
        (problems if isinstance(found, InputError) else kept).append(str(found))
    return tuple(kept), tuple(problems)


def is_jpeg(content: bytes) -> bool:
    """Whether the bytes begin as a JPEG does."""
    return content.startswith(_JPEG)


def _keep_usual(folder: Path, content: bytes, name: str) -> str:
    from scorer.photos.decode import decode

    decode(content, longest_px=CHECK_PX, name=name)
    ending = next(ending for start, ending in _USUAL.items() if content.startswith(start))
    return _put(folder, content, ending, name)


def _keep_rare(folder: Path, files: Sequence[tuple[str, bytes]]) -> Iterator[str | InputError]:
    from scorer.screening.pool import Job, read_photos

    with TemporaryDirectory() as scratch:
        jobs = [
            Job(str(Path(scratch) / str(number)), name) for number, (name, _) in enumerate(files)
        ]
        for job, (_, content) in zip(jobs, files, strict=True):
            Path(job.path).write_bytes(content)
        readings = read_photos(jobs, len(jobs), isolate=True)
        for (name, content), reading in zip(files, readings, strict=True):
            try:
                if reading.error is not None:
                    raise InputError(reading.error)
                yield _put(folder, content, _rare_ending(content, name), name)
            except InputError as error:
                yield error


def _rare_ending(content: bytes, name: str) -> str:
    """Ending for a photo that a worker could decode."""
    start = content[:64]
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return "webp"
    if start[4:8] == b"ftyp":
        return "avif" if start[8:12] in {b"avif", b"avis"} else "heic"
    raise InputError(f"{name} is no JPEG, PNG, WebP or HEIC photo; save it as JPEG.")


def _put(folder: Path, content: bytes, ending: str, name: str) -> str:
    file = f"{hashlib.sha256(content).hexdigest()}.{ending}"
    path = folder / file
    part = folder / f"{file}.{os.getpid()}{_PART}"
    try:
        if is_whole(path):
            os.utime(path)  # not one of the files that nothing speaks of, for now
            return file
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
