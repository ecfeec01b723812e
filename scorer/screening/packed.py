"""Many results in little memory: packed, put on disk, and unpacked when somebody looks at them."""

from __future__ import annotations

import json
import pickle
import zlib
from collections.abc import Iterator, Sequence
from tempfile import SpooledTemporaryFile
from threading import Lock
from typing import Any, NamedTuple, Self, overload

from pydantic import ValidationError
from pydantic_core import PydanticSerializationError

from scorer.settings import Aim
from scorer.shortlist.ranking import RankKey, rank_key
from scorer.shortlist.result import HomeResult

IN_MEMORY_BYTES = 16_000_000
"""Packed results up to this size stay in memory, further ones go to a temporary file."""

BULK = ("readings", "options")
"""What the ranked table, CSV and JSON need nothing of, and most of a result."""


class Packed(NamedTuple):
    """One result as bytes, and what must be known of it without looking inside.

    Attributes
    ----------
    home
        Its name.
    order
        What it is ranked by (:func:`scorer.shortlist.ranking.rank_key`).
    photos_read
        How many of its photos could be read.
    errors
        As :attr:`scorer.shortlist.result.HomeResult.errors`.
    shown, rest
        Compressed JSON of the result without its bulk (:data:`BULK`), and of the bulk.
    exact
        The JSON says all. Else ``shown`` and ``rest`` are pickles, and must not be kept.
    """

    home: str
    order: RankKey
    photos_read: int
    errors: tuple[str, ...]
    shown: bytes
    rest: bytes
    exact: bool = True

    @classmethod
    def of(cls, head: list[Any], shown: bytes, rest: bytes) -> Self:
        """As it was, of its :attr:`head` and content; ValueError or TypeError where it isn't."""
        home, (unseen, value, score, name), photos_read, errors = head
        order = (bool(unseen), float(value), float(score), str(name))
        return cls(str(home), order, int(photos_read), tuple(map(str, errors)), shown, rest)

    @property
    def head(self) -> list[Any]:
        """What :meth:`of` needs beside the content, as JSON values."""
        return [self.home, self.order, self.photos_read, self.errors]


def pack(result: HomeResult, aim: Aim) -> Packed:
    """Pack a result for ranking by an aim."""
    parts = _as_json(result)
    exact = parts is not None
    if parts is None:
        short = result.model_copy(update=dict.fromkeys(BULK, ()))
        parts = (pickle.dumps(short, protocol=5), pickle.dumps(result, protocol=5))
    shown, rest = (zlib.compress(part, 6) for part in parts)
    return Packed(
        home=result.home,
        order=rank_key(result, aim),
        photos_read=sum(reading.error is None for reading in result.readings),
        errors=result.errors,
        shown=shown,
        rest=rest,
        exact=exact,
    )


def _as_json(result: HomeResult) -> tuple[bytes, bytes] | None:
    """A result without its bulk, and the bulk; None where JSON doesn't say all of it.

    It has no word for an infinite figure, nor for a file's name that is no text.
    """
    try:
        shown = result.model_dump_json(exclude=set(BULK)).encode()
        rest = result.model_dump_json(include=set(BULK)).encode()
        return (shown, rest) if _whole(shown, rest) == result else None
    except (ValidationError, PydanticSerializationError):
        return None


def _whole(shown: bytes, rest: bytes) -> HomeResult:
    return HomeResult.model_validate_json(shown[:-1] + b"," + rest[1:])


def _unpacked(shown: bytes, rest: bytes | None, exact: bool) -> HomeResult:
    """The result; without its bulk where ``rest`` is None."""
    if not exact:  # made by this process or its workers: nothing else is unpickled
        result: HomeResult = pickle.loads(zlib.decompress(shown if rest is None else rest))
        return result
    return _whole(zlib.decompress(shown), _NO_BULK if rest is None else zlib.decompress(rest))


_NO_BULK = json.dumps(dict.fromkeys(BULK, ())).encode()


class _Place(NamedTuple):
    """Where a packed result lies in the file, and what is known of it without looking there."""

    home: str
    start: int
    shown: int
    rest: int
    exact: bool
    rank: int


class _Shelf:
    """Content of packed results, on disk where it is much; gone with the last who looks at it."""

    def __init__(self) -> None:
        self._file = SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115
        self._lock = Lock()
        self._size = 0

    def put(self, packed: Packed) -> _Place:
        with self._lock:
            start = self._size
            self._file.seek(start)
            self._size += self._file.write(packed.shown) + self._file.write(packed.rest)
        return _Place(packed.home, start, len(packed.shown), len(packed.rest), packed.exact, 0)

    def get(self, place: _Place, *, bulk: bool) -> HomeResult:
        with self._lock:
            self._file.seek(place.start)
            shown = self._file.read(place.shown)
            rest = self._file.read(place.rest) if bulk else None
        return _unpacked(shown, rest, place.exact).model_copy(update={"rank": place.rank})


class PackedHomes(Sequence[HomeResult]):
    """Ranked results, best first; each look at one unpacks it anew."""

    def __init__(self, shelf: _Shelf, places: Sequence[_Place], *, bulk: bool = True) -> None:
        self._shelf = shelf
        self._places = tuple(places)
        self._bulk = bulk

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the homes."""
        return tuple(place.home for place in self._places)

    def __len__(self) -> int:
        return len(self._places)

    @overload
    def __getitem__(self, index: int) -> HomeResult: ...

    @overload
    def __getitem__(self, index: slice) -> PackedHomes: ...

    def __getitem__(self, index: int | slice) -> HomeResult | PackedHomes:
        if isinstance(index, slice):
            return PackedHomes(self._shelf, self._places[index], bulk=self._bulk)
        return self._shelf.get(self._places[index], bulk=self._bulk)

    def __iter__(self) -> Iterator[HomeResult]:
        return (self._shelf.get(place, bulk=self._bulk) for place in self._places)

    def shown(self) -> PackedHomes:
        """The same homes, unpacked several times as fast: ``readings`` and ``options`` are empty.

        All that table, CSV and JSON show is there.
        """
        return PackedHomes(self._shelf, self._places, bulk=False)


class Packer:
    """Takes packed results as they come, and ranks them at the end."""

    def __init__(self) -> None:
        self._shelf = _Shelf()
        self._taken: list[tuple[RankKey, _Place]] = []

    def add(self, packed: Packed) -> None:
        """Put one result away."""
        self._taken.append((packed.order, self._shelf.put(packed)))

    def ranked(self) -> PackedHomes:
        """All of them, best first, with ``rank`` set from 1."""
        self._taken.sort(key=lambda taken: taken[0])
        places = [place._replace(rank=rank) for rank, (_, place) in enumerate(self._taken, start=1)]
        return PackedHomes(self._shelf, places)
