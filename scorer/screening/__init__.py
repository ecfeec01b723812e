"""The whole flow over one home, or over a folder of homes."""

from scorer.screening.folder import Progress, ScreenedFolder, readings_of, screen_folder, screen_one
from scorer.screening.home import findings_of, screen_home
from scorer.screening.rooms import RoomPlan, rooms_of
from scorer.screening.tagging import append_tag
from scorer.screening.tags import match_rooms, read_tags
from scorer.shortlist.ranking import rank_homes

__all__ = [
    "Progress",
    "RoomPlan",
    "ScreenedFolder",
    "append_tag",
    "findings_of",
    "match_rooms",
    "rank_homes",
    "read_tags",
    "readings_of",
    "rooms_of",
    "screen_folder",
    "screen_home",
    "screen_one",
]
