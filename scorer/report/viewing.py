"""The user's own photos in the printed report: three in a row, or before and after in pairs."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import NamedTuple

from PIL import Image

from scorer.report.paper import MARGIN_MM, Paper

IN_A_ROW = 3
GAP_MM = 4.0
HIGH_SHARE = 0.75
UPRIGHT_SHARE = 1.2
"""Height over the width of a column that a pair may take."""
MOST_WORDS = 140


class ViewingPicture(NamedTuple):
    """A photo that was taken in a room: an upright JPEG without metadata, and its words."""

    room: str
    words: str
    jpeg: bytes


class PairPicture(NamedTuple):
    """A photo of finished work and, where there is one, the photo from before.

    Both are upright JPEGs of one size without metadata; ``words`` say what was done.
    """

    words: str
    before_words: str
    before: bytes | None
    after: bytes


def pair_rows(paper: Paper, pairs: Sequence[PairPicture]) -> None:
    """Draw pairs, before on the left; a pair never breaks over a page."""
    wide = (paper.epw - GAP_MM) / 2
    for pair in pairs:
        shape = _height_share(pair.after)
        high = wide * min(shape, UPRIGHT_SHARE)
        if paper.get_y() > paper.h - (high + 38):
            paper.add_page()
        paper.plain(9.0, bold=True)
        paper.multi_cell(0, 4.6, _cut(pair.words), align="L", new_x="LMARGIN", new_y="NEXT")
        top, lowest = paper.get_y() + 1, 0.0
        sides = [(pair.before_words, pair.before), ("After", pair.after)]
        for at, (words, jpeg) in enumerate(side for side in sides if side[1]):
            left = MARGIN_MM + at * (wide + GAP_MM)
            drawn = paper.image(
                io.BytesIO(jpeg or b""),
                x=left,
                y=top,
                w=high / shape,
                h=high,
                alt_text=f"{words}: {pair.words}",
            )
            paper.set_xy(left, top + drawn.rendered_height + 1)
            paper.plain(7.5)
            paper.multi_cell(wide, 3.6, _cut(words), align="L", new_x="LEFT", new_y="NEXT")
            lowest = max(lowest, paper.get_y() - top)
        paper.plain()
        paper.set_xy(paper.l_margin, top + lowest + 4)


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
            paper.multi_cell(wide, 3.6, _cut(picture.words), align="L", new_x="LEFT", new_y="NEXT")
            lowest = max(lowest, paper.get_y() - top)
        paper.plain()
        paper.set_xy(paper.l_margin, top + lowest + 3)


def _cut(words: str) -> str:
    return words if len(words) <= MOST_WORDS else f"{words[: MOST_WORDS - 1].rstrip()}…"


def _lies(jpeg: bytes) -> bool:
    """Whether a picture as wide as its column is no higher than its row."""
    return _height_share(jpeg) <= HIGH_SHARE


def _height_share(jpeg: bytes) -> float:
    """Height over width."""
    with Image.open(io.BytesIO(jpeg)) as image:
        return image.height / image.width
