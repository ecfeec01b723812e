"""Write a home's open questions as one self-contained HTML file."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from datetime import datetime
from html import escape
from importlib.resources import files

from scorer.conditions.checklist import load_conditions
from scorer.conditions.findings import OpenQuestion
from scorer.rooms import Room
from scorer.sheet.answers import (
    FORMAT,
    MOST_FILE_BYTES,
    MOST_PHOTO_CHARACTERS,
    MOST_PHOTOS,
    PHOTO_PX,
    PHOTO_QUALITY,
    VERSION,
)

_WHY = {
    "stops work": "Could stop the work",
    "unsure photo": "A photo suggests it",
    "not visible": "No photo can show it",
    "answered": "Answered before",
}


def viewing_sheet_html(
    home: str,
    questions: Sequence[OpenQuestion],
    rooms: Sequence[Room],
    written_at: datetime,
    address: str = "",
    photos: Mapping[str, bytes] | None = None,
) -> str:
    """A sheet for the viewing that works on a phone without a network.

    It keeps every answer in the browser as it is typed, and every photo as it is taken, scaled down
    and without what the camera noted in it. It exports them as a JSON file that
    :func:`scorer.sheet.read_answers` reads.

    Parameters
    ----------
    home, address
        The home's unique name and its address.
    questions
        In the order to be asked within each room, unknowns first.
    rooms
        Sizes that are known are filled in.
    written_at
        Marks this sheet; answers of another sheet of the same home are kept apart.
    photos
        Small JPEGs by room name, one each, without any metadata.

    Returns
    -------
    str
        The HTML; what users typed is escaped, and its policy forbids any request.
    """
    conditions = load_conditions()
    by_room: dict[str, list[dict[str, object]]] = {room.name: [] for room in rooms}
    for question in questions:
        condition = conditions[question.condition]
        by_room.setdefault(question.room, []).append(
            {
                "condition": question.condition,
                "label": question.label,
                "question": question.question,
                "why": _WHY.get(question.why, question.why),
                "sound": condition.polarity == "sound",
                "levels": list(condition.severities),
            }
        )
    sizes = {room.name: room for room in rooms}
    data = {
        "format": FORMAT,
        "version": VERSION,
        "home": home,
        "sheet": written_at.isoformat(),
        "photo": {
            "side_px": PHOTO_PX,
            "quality": PHOTO_QUALITY,
            "most_characters": MOST_PHOTO_CHARACTERS,
            "most_photos": MOST_PHOTOS,
            "most_characters_in_all": MOST_FILE_BYTES - 5_000_000,
        },
        "rooms": [
            {
                "name": name,
                "measure": name in sizes,
                "length_ft": sizes[name].length_ft if name in sizes else None,
                "width_ft": sizes[name].width_ft if name in sizes else None,
                "height_ft": sizes[name].height_ft if name in sizes else None,
                "photo": _data_address((photos or {}).get(name)),
                "questions": asked,
            }
            for name, asked in by_room.items()
            if asked or name in sizes
        ],
    }
    # "<" is written as an escape so that no text of a user can end the script element.
    embedded = json.dumps(data, ensure_ascii=False).replace("<", "\\u003c")
    embedded = embedded.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    template = files("scorer.sheet").joinpath("viewing_sheet.html").read_text(encoding="utf-8")
    title = escape(address or home)
    return template.replace("{{TITLE}}", title).replace("{{DATA}}", embedded)


def _data_address(jpeg: bytes | None) -> str | None:
    if jpeg is None:
        return None
    return "data:image/jpeg;base64," + b64encode(jpeg).decode("ascii")
