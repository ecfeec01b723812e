"""Many results in little memory: each is packed, and unpacked when somebody looks at it."""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Iterator, Sequence
from typing import NamedTuple, overload

from scorer.settings import Aim
from scorer.shortlist.ranking import RankKey, rank_key
from scorer.shortlist.result import HomeResult


class _Packed(NamedTuple):
    """One result as compressed bytes; a thirtieth of its size as records."""

    content: bytes
    rank: int

    def unpacked(self) -> HomeResult:
        result: HomeResult = pickle.loads(zlib.decompress(self.content))
        return result.model_copy(update={"rank": self.rank})


class PackedHomes(Sequence[HomeResult]):
    """Ranked results, best first; each look at one unpacks it anew."""

    def __init__(self, packed: Sequence[_Packed] = ()) -> None:
        self._packed = tuple(packed)

    def __len__(self) -> int:
        return len(self._packed)

    @overload
    def __getitem__(self, index: int) -> HomeResult: ...

    @overload
    def __getitem__(self, index: slice) -> PackedHomes: ...

    def __getitem__(self, index: int | slice) -> HomeResult | PackedHomes:
        if isinstance(index, slice):
            return PackedHomes(self._packed[index])
        return self._packed[index].unpacked()

    def __iter__(self) -> Iterator[HomeResult]:
        return (packed.unpacked() for packed in self._packed)


class Packer:
    """Takes results as they come, and ranks them at the end.

    Parameters
    ----------
    aim
        As for :func:`scorer.shortlist.ranking.rank_homes`.
    """

    def __init__(self, aim: Aim) -> None:
        self._aim = aim
        self._taken: list[tuple[RankKey, bytes]] = []

    def add(self, result: HomeResult) -> None:
        """Pack one result."""
        content = zlib.compress(pickle.dumps(result, protocol=5), 1)
        self._taken.append((rank_key(result, self._aim), content))

    def ranked(self) -> PackedHomes:
        """All of them, best first, with ``rank`` set from 1."""
        ordered = sorted(self._taken, key=lambda taken: taken[0])
        return PackedHomes([_Packed(c, place) for place, (_, c) in enumerate(ordered, start=1)])
