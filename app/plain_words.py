"""The library's figures and facts in the words of a landlord.

Files and the command line keep the library's own short words; what is not known here is shown as
it came.
"""

from __future__ import annotations

import re

WHITES = {
    "ceiling": "the ceiling",
    "trim": "the trim",
    "fixture": "a white fixture",
    "bright neutral": "something white in the picture",
    "photo": "the whole photo",
}
"""What stood for white, and how it is said."""

LRV = re.compile(
    r"wall LRV (?P<typical>\d+) \((?P<low>\d+)–(?P<high>\d+)\)(?:, reference (?P<white>[a-z ]+))?"
    r"(?P<more>, )?"
)
CHANCES = (
    (re.compile(r"\bphoto dark (\d+%), mean L\* (\d+)"),
     r"the photo itself is dark: \1 likely (lightness \2 of 100)"),
    (re.compile(r"\broom dim (\d+%)(?:, about (\d+) lx \((\d+)–(\d+)\))?"), None),
    (re.compile(r"\bfinishes dated (\d+%)"), r"the finishes look dated: \1 likely"),
    (re.compile(r"\bfloor seen as ([a-z ]+) (\d+%)"), r"the floor looks like \1: \2 likely"),
    (re.compile(r"\bwear not visible"), "a photo does not show its wear"),
    (re.compile(r"\bcabinet fronts ([a-z ]+) (\d+%)"), r"the fronts look like \1: \2 likely"),
    (re.compile(r"\bwall ([a-z -]+) #[0-9a-f]{6}, "), r"the wall is \1; "),
    (re.compile(r"(?<![a-z] )\b(dark|light and neutral|strong colour) (\d+%)(?! likely)"),
     r"\1: \2 likely"),
    (re.compile(r"\bwhere it is paint, not tile"), "if it is paint and not tile"),
    (re.compile(r"\bwall reflectance not known"), "how light the wall is can’t be told"),
)  # fmt: skip


def evidence_words(figure: str) -> str:
    """What was read in a photo, as a sentence.

    >>> evidence_words("wall LRV 6 (3–14), reference trim, dark 99%")
    'The wall gives back 6% of the light (3 to 14%), held against the trim; dark: 99% likely'
    """
    words = LRV.sub(_lrv, figure)
    for pattern, plain in CHANCES:
        words = pattern.sub(_dim if plain is None else plain, words)
    return words[:1].upper() + words[1:]


def _lrv(found: re.Match[str]) -> str:
    """The light reflectance value is a percentage of the light that falls on the wall."""
    words = f"the wall gives back {found['typical']}% of the light "
    words += f"({found['low']} to {found['high']}%)"
    white = (found["white"] or "").strip()
    if white:
        words += f", held against {WHITES.get(white, white)}"
    return words + ("; " if found["more"] else "")


def _dim(found: re.Match[str]) -> str:
    lux = f" (about {found[2]} lux, {found[3]} to {found[4]})" if found[2] else ""
    return f"the room is dim: {found[1]} likely{lux}"


def fact_words(sentence: str) -> str:
    """A sentence on what is missing, without headings of files, and with the page's own remedy."""
    sentence = re.sub(r": put the room into the file's name.*", ": choose it above.", sentence)
    return re.sub(r" \([A-Z][A-Za-z]+\)(?= is missing)", "", sentence)


def not_used(count: int) -> str:
    """That so many things of a home could not be used.

    >>> not_used(1)
    'One thing could not be used; open the home to see which.'
    """
    things = "One thing" if count == 1 else f"{count} things"
    return f"{things} could not be used; open the home to see which."
