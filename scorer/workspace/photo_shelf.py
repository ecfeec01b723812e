"""Readings of the homes' photos, kept by what is in the file and how it was read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from scorer.listing.listing import PhotoFile
from scorer.photos.decode import MAX_BYTES
from scorer.photos.reading import Reading
from scorer.screening.methods import reading_method
from scorer.store import Store, StoredHome

Key = tuple[str, str]
"""Content hash of a photo, and the method of reading with the room that it was said to show."""

Place = tuple[str, int, int]


class PhotoShelf:
    """Finds the reading of a photo, however often the photo was moved or imported again.

    Parameters
    ----------
    store
        Where readings are kept.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._hashes: dict[Place, str] = {}
        self._readings: dict[Key, Reading] = {}
        self._loaded: set[int] = set()

    def keys(self, home: StoredHome) -> dict[str, Key | None]:
        """Key of each photo by its name; None for a file that can't be read."""
        places = {photo.name: _place(photo.path) for photo in home.photos_to_read()}
        if home.id not in self._loaded:
            self._loaded.add(home.id)
            for name, (content, size, modified) in self.store.photo_files(home.id).items():
                known = places.get(name)
                if known is not None and known[1:] == (size, modified):
                    self._hashes[known] = content
        fresh = [place for place in places.values() if place and place not in self._hashes]
        for place in fresh:
            hashed = _content_hash(place)
            if hashed is not None:
                self._hashes[place] = hashed
        if fresh:
            files = {
                name: (self._hashes[at], at[1], at[2])
                for name, at in places.items()
                if at is not None and at in self._hashes
            }
            self.store.save_photo_files(home.id, files)
        keys: dict[str, Key | None] = {}
        for photo in home.photos_to_read():
            where = places[photo.name]
            held = None if where is None else self._hashes.get(where)
            method = f"{reading_method()} {photo.room_kind or 'any'}"
            keys[photo.name] = None if held is None else (held, method)
        return keys

    def find(self, key: Key) -> Reading | None:
        """The reading of these bytes by this method, if there is one."""
        if key not in self._readings:
            reading = self.store.reading(*key)
            if reading is None:
                return None
            self._readings[key] = reading
        return self._readings[key]

    def is_broken(self, path: str) -> bool:
        """Whether the worker that read a photo came back without it.

        Such a photo may break or hold up whatever decodes it, so it is not decoded again here.
        """
        place = _place(path)
        if place is None:
            return True
        held = self._hashes.get(place) or _content_hash(place)
        return held is None or self.store.only_failed(held, reading_method())

    def put(self, key: Key, reading: Reading) -> None:
        """Keep a reading."""
        self.store.save_reading(*key, reading)
        self._readings[key] = reading

    def readings(self, home: StoredHome) -> tuple[Reading, ...] | None:
        """One reading for each photo; None while some have not been read yet."""
        found = self.readings_so_far(home)
        return found if len(found) == len(home.photos_to_read()) else None

    def readings_so_far(self, home: StoredHome) -> tuple[Reading, ...]:
        """One reading for each photo that has been read, or that can't be."""
        found = []
        folders = {photo.name: Path(photo.path).parent for photo in home.photos_to_read()}
        for name, key in self.keys(home).items():
            reading = None if key is None else self.find(key)
            if key is None:
                reading = Reading(
                    file=name,
                    error=f"{name}: the file cannot be found or opened; put it back into "
                    f"{folders[name]}.",
                )
            if reading is not None:
                found.append(reading.model_copy(update={"file": name}))
        return tuple(found)

    def awaits_only_taken(self, home: StoredHome) -> bool:
        """Whether only photos that the user took have not been read yet."""
        keys = self.keys(home)
        listed = {photo.name for photo in home.listing.photos}
        waiting = [n for n, key in keys.items() if key is not None and self.find(key) is None]
        return bool(waiting) and listed.isdisjoint(waiting)

    def waiting(self, homes: Iterable[StoredHome]) -> list[tuple[StoredHome, dict[Key, PhotoFile]]]:
        """Homes with photos that have not been read, and those photos."""
        found = []
        seen: set[Key] = set()
        for home in homes:
            keys = self.keys(home)
            photos = {
                key: photo
                for photo in home.photos_to_read()
                if (key := keys[photo.name]) and key not in seen and self.find(key) is None
            }
            seen.update(photos)
            if photos:
                found.append((home, photos))
        return found


def _place(path: str) -> Place | None:
    try:
        state = Path(path).stat()
    except (OSError, ValueError):
        return None
    return path, state.st_size, state.st_mtime_ns


def _content_hash(place: Place) -> str | None:
    """Hash of a file's bytes; of what is never read (a pipe, too large) of its place alone."""
    path = Path(place[0])
    try:
        if not path.is_file() or place[1] > MAX_BYTES:
            return hashlib.sha256(repr(place).encode()).hexdigest()
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
