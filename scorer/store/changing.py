"""Changes of a home: each names the version that it was made on, and is one transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from scorer.errors import InputError
from scorer.store.file import StoreFile


class StaleError(InputError):
    """The home was changed elsewhere (another tab, an import) since it was opened here."""


class ChangingStore(StoreFile):
    """A store whose homes carry a version; see :class:`~scorer.store.file.StoreFile`."""

    @contextmanager
    def _change(self, home_id: int, version: int) -> Iterator[sqlite3.Connection]:
        """A change to one home that was made on ``version`` of it."""
        with self._transaction() as connection:
            done = connection.execute(
                "update home set version = version + 1 where id = ? and version = ?",
                (home_id, version),
            )
            if done.rowcount != 1:
                raise StaleError(
                    "This home was changed in another tab or by an import; it is shown anew here. "
                    "Make your change again."
                )
            yield connection
