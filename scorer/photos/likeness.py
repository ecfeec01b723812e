"""Near-duplicate photos: a perceptual hash, and groups of photos whose hashes are close.

References
----------
.. [1] N. Krawetz, "Looks Like It", 2011: low frequencies of the cosine transform, a bit each:
   equal pictures differ in 0 bits, similar ones in up to 5, others in 10 or more.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from scorer.photos.colour import ByteArray
from scorer.photos.reading import Reading

NEAR_BITS = 10  # on 347 photos of 213 houses no two others came nearer than 13
MIRRORED_BITS = 5
"""As `NEAR_BITS`, for the mirrored picture: dwellings built as mirror images of each other come as
near as 9, while the mirror of a picture is at 0, and at 2 or less once it is encoded again."""
_SIDE, _KEPT = 32, 8


def content_hash(rgb: ByteArray) -> str:
    """64-bit perceptual hash as 16 hex digits [1]_; ``rgb`` is (h, w, 3) 8-bit or (h, w) grey.

    Each bit is the sign of a frequency (the published form compares with the median, which lies
    near zero), so that the hash of the mirrored picture follows exactly from this one. The mean
    brightness has no say.
    """
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY) if rgb.ndim == 3 else rgb
    small = cv2.resize(grey, (_SIDE, _SIDE), interpolation=cv2.INTER_AREA).astype(np.float32)
    low = cv2.dct(small)[:_KEPT, :_KEPT].ravel()
    low[0] = 0.0
    bits = low > 0
    return np.packbits(bits).tobytes().hex()


def mirrored_hash(hash_hex: str) -> str:
    """Hash of the same picture turned left to right.

    Mirroring changes the sign of the odd horizontal frequencies and of nothing else.
    """
    bits = np.unpackbits(np.frombuffer(bytes.fromhex(hash_hex), np.uint8)).reshape(_KEPT, _KEPT)
    bits[:, 1::2] ^= 1
    return np.packbits(bits.ravel()).tobytes().hex()


def _words(hashes: Sequence[str]) -> NDArray[np.uint64]:
    return np.array([int(h, 16) for h in hashes], dtype=np.uint64)


def hamming(first: str, second: str) -> int:
    """Number of bits in which two hashes differ [0–64]."""
    return (int(first, 16) ^ int(second, 16)).bit_count()


def group_duplicates(
    readings: Sequence[Reading], *, near_bits: int = NEAR_BITS
) -> tuple[tuple[str, ...], ...]:
    """Groups of files that show nearly the same picture, mirrored copies among them.

    Returns
    -------
    tuple of tuples of ``Reading.file``, in the given order; only groups of two or more.
    """
    known = [r for r in readings if r.content_hash]
    if len(known) < 2:
        return ()
    words = _words([r.content_hash or "" for r in known])
    mirrors = _words([mirrored_hash(r.content_hash or "") for r in known])
    group = list(range(len(known)))

    def root(index: int) -> int:
        while group[index] != index:
            group[index] = group[group[index]]
            index = group[index]
        return index

    for index in range(len(known) - 1):
        rest = words[index + 1 :]
        near = np.bitwise_count(rest ^ words[index]) <= near_bits
        near |= np.bitwise_count(rest ^ mirrors[index]) <= min(near_bits, MIRRORED_BITS)
        for other in np.flatnonzero(near):
            group[root(index + 1 + int(other))] = root(index)
    members: dict[int, list[str]] = {}
    for index, reading in enumerate(known):
        members.setdefault(root(index), []).append(reading.file)
    return tuple(tuple(files) for files in members.values() if len(files) > 1)
