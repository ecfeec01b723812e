"""The user's words on a home: its note, and the log of what was decided."""

from __future__ import annotations

from collections.abc import Collection

from scorer.errors import InputError
from scorer.store.file import now
from scorer.store.taken import TakenStore


class NotesStore(TakenStore):
    """A note, which is kept while it is typed, and decisions, which are only added to."""

    def type_note(self, home_id: int, typed_over: Collection[str], note: str) -> str:
        """Keep a note that is still being typed; returns what is kept now.

        It names the texts that it may take the place of, and no version: no other change of the
        home stops it, and it stops none. Where the note is none of these texts, another window or
        an import wrote it meanwhile, and both stay, one below the other.
        """
        with self._transaction() as connection:
            there = self._note(home_id)
            if there not in typed_over and there not in note:
                note = note_below(there, note)
            if note != there:
                connection.execute("update home set note = ? where id = ?", (note, home_id))
        return note

    def _note(self, home_id: int) -> str:
        row = self._connection.execute("select note from home where id = ?", (home_id,)).fetchone()
        if row is None:
            raise InputError("This home is not in the store any more; go back to the list.")
        return str(row[0])

    def add_decision(self, home_id: int, version: int, sentence: str) -> None:
        """Add a line to the decision log."""
        if not sentence.strip():
            raise InputError("Write what you decided first.")
        with self._change(home_id, version) as connection:
            connection.execute(
                "insert into decision (home_id, decided_at, sentence) values (?, ?, ?)",
                (home_id, now(), sentence.strip()),
            )

    def decisions(self, home_id: int) -> tuple[tuple[str, str], ...]:
        """Decision log of a home: (time, sentence), oldest first."""
        rows = self._connection.execute(
            "select decided_at, sentence from decision where home_id = ? order by id", (home_id,)
        )
        return tuple((str(time), str(sentence)) for time, sentence in rows)


def note_below(note: str, more: str) -> str:
    """A note with more words below it; the note alone if they are in it already."""
    return note if more in note else "\n".join(part for part in (note, more) if part)
