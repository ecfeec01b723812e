"""Photos from the viewing in the printed report: three in a row, each with its words."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import NamedTuple

from PIL import Image

from scorer.report.paper import MARGIN_MM, Paper

IN_A_ROW = 3
GAP_MM = 4.0
HIGH_SHARE = 0.75
MOST_WORDS = 140


class ViewingPicture(NamedTuple):
    """A photo that was taken in a room: an upright JPEG without metadata, and its words."""

    room: str
    words: str
    jpeg: bytes


def viewing_strip(paper: Paper, pictures: Sequence[ViewingPicture]) -> None:
    """Draw the pictures of one room; a row never breaks over a page."""
    wide = (paper.epw - (IN_A_ROW - 1) * GAP_MM) / IN_A_ROW
    for start in range(0, len(pictures), IN_A_ROW):
        row = pictures[start : start + IN_A_ROW]
        if paper.get_y() > paper.h - (wide * HIGH_SHARE + 32):
            paper.add_page()
        top, lowest = paper.get_y(), 0.0
        for at, picture in enumerate(row):
            left = MARGIN_MM + at * (wide + GAP_MM)
            drawn = paper.image(
                io.BytesIO(picture.jpeg),
                x=left,
                y=top,
                w=wide if _lies(picture.jpeg) else 0,  # 0: follows from the other side
                h=0 if _lies(picture.jpeg) else wide * HIGH_SHARE,
                alt_text=f"Photo from the viewing: {picture.words}",
            )
            paper.set_xy(left, top + drawn.rendered_height + 1)
            paper.plain(7.5)
            words = picture.words
            if len(words) > MOST_WORDS:
                words = f"{words[: MOST_WORDS - 1].rstrip()}…"
            paper.multi_cell(wide, 3.6, words, align="L", new_x="LEFT", new_y="NEXT")
            lowest = max(lowest, paper.get_y() - top)
        paper.plain()
        paper.set_xy(paper.l_margin, top + lowest + 3)


def _lies(jpeg: bytes) -> bool:
    """Whether a picture as wide as its column is no higher than its row."""
    with Image.open(io.BytesIO(jpeg)) as image:
        return image.height <= HIGH_SHARE * image.width
