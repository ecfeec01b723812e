"""Everything the user typed, kept in one SQLite file in the user's data folder."""

from scorer.store.store import StaleError, Store, StoredHome, data_folder

__all__ = ["StaleError", "Store", "StoredHome", "data_folder"]
