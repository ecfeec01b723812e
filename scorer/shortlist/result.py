"""One home, screened: everything the page and the command line show of it."""

from __future__ import annotations

from scorer.conditions.finding import Finding
from scorer.listing.listing import Listing
from scorer.money.outcome import Outcome
from scorer.photos.reading import Reading
from scorer.records import Record
from scorer.rooms import Room, RoomKind
from scorer.scope.plan import Scope
from scorer.upgrades.option import Option


class Unseen(Record):
    """Something the photos do not show, and what that costs in certainty.

    Attributes
    ----------
    photographed
        Whether a photo shows the room all the same, but leaves it in doubt.
    """

    room: str
    sentence: str
    photographed: bool = False


class HomeResult(Record):
    """One home's result; ``rank`` is 1 for the best of the batch, None before ranking.

    Attributes
    ----------
    score
        Checklist score [0–100]: share of the attainable lift that is still open, weighed by
        certainty (see :func:`scorer.shortlist.score.checklist_score`).
    reasons
        The three reasons in plain words.
    missing_facts
        Sentences: which facts the listing lacks and what that costs in certainty.
    errors
        Sentences about photos or rows that could not be used.
    """

    home: str
    rank: int | None = None
    score: float
    listing: Listing
    rooms: tuple[Room, ...]
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    options: tuple[Option, ...]
    scope: Scope
    outcome: Outcome
    reasons: tuple[str, ...]
    unseen: tuple[Unseen, ...]
    missing_facts: tuple[str, ...] = ()
    errors: tuple[str, ...] = ()

    @property
    def rooms_not_seen(self) -> tuple[Room, ...]:
        """Rooms that no photo shows."""
        names = {item.room for item in self.unseen if not item.photographed}
        return tuple(
            room
            for room in self.rooms
            if room.name in names and room.kind is not RoomKind.WHOLE_HOME
        )
