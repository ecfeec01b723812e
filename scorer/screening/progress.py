"""How far a batch has come, and how long the rest may take."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import NamedTuple

RECENT_SECONDS = 20.0
"""The rate is that of so many seconds past: long enough to be steady, short enough to follow."""

MARK_SECONDS = 1.0
"""How often the count is noted down for that."""


class Progress(NamedTuple):
    """How far a batch has come; ``home`` is the home whose photo was done last.

    ``photos_known`` of the photos done needed no reading: an earlier run had read them, or the
    same picture stood elsewhere. ``photos_per_second`` is the recent rate [1/s] of all photos;
    None before there is one.
    """

    home: str
    photos_done: int
    photos_total: int
    homes_done: int
    homes_total: int
    photos_known: int = 0
    photos_per_second: float | None = None

    @property
    def seconds_left(self) -> float | None:
        """Time left at the recent rate [s]; None before there is one."""
        if not self.photos_per_second:
            return None
        return (self.photos_total - self.photos_done) / self.photos_per_second


OnProgress = Callable[[Progress], None]


class Meter:
    """Counts what is done of a batch.

    What is left is taken to go on as of late: where pictures repeat, part of it is known too. The
    known photos before the first that had to be read say nothing about it (a run that is taken up
    again passes over them at once) and don't count for the rate.

    Parameters
    ----------
    photos, homes
        How many there are.
    clock
        Gives the time [s].
    """

    def __init__(
        self, photos: int, homes: int, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._clock = clock
        self._total = photos, homes
        self._photos = self._known = self._homes = 0
        self._last = clock()
        self._marks = deque([(self._last, 0)])

    def count(self, home: str, photos: int = 1, *, known: bool = False, whole: bool) -> Progress:
        """Count photos of a home.

        Parameters
        ----------
        known
            They needed no reading.
        whole
            The home is done with them.
        """
        now = self._clock()
        if not known and self._known == self._photos:
            self._marks = deque([(self._last, self._photos)])
        self._photos += photos
        self._known += photos if known else 0
        self._homes += whole
        self._last = now
        if now - self._marks[-1][0] >= MARK_SECONDS:
            self._marks.append((now, self._photos))
        while len(self._marks) > 1 and now - self._marks[1][0] >= RECENT_SECONDS:
            self._marks.popleft()
        since, before = self._marks[0]
        rate = (self._photos - before) / (now - since) if now > since else None
        all_photos, all_homes = self._total
        return Progress(home, self._photos, all_photos, self._homes, all_homes, self._known, rate)
