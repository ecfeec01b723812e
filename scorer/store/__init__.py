"""Everything the user typed, kept in one SQLite file in the user's data folder."""

from scorer.store.changing import StaleError
from scorer.store.facts import FACTS
from scorer.store.file import data_folder
from scorer.store.store import Brought, Choice, Mark, Source, Store, StoredHome
from scorer.store.taken import TakenPhoto

__all__ = [
    "FACTS",
    "Brought",
    "Choice",
    "Mark",
    "Source",
    "StaleError",
    "Store",
    "StoredHome",
    "TakenPhoto",
    "data_folder",
]
