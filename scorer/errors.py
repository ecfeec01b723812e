"""The one error a user may see, and what is wrong with a field in the words of a person."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

MOST_CHARACTERS = 1_000
LONGEST_SHOWN = 40
"""Characters of a wrong value that a sentence shows."""
NEAR = 0.6
"""Likeness from which on a word is taken for a slip of another [0–1]."""


class InputError(ValueError):
    """Something the user gave cannot be used.

    The message is one plain sentence that says what is wrong, where (file, row, field), and how to
    mend it. Callers that work through a batch catch it, keep the sentence, and go on.

    Parameters
    ----------
    sentence
        What the user gave may be quoted in it: line ends and other control characters become
        blanks, and the middle of a very long sentence is left out.
    """

    def __init__(self, sentence: str) -> None:
        shown = "".join(c if c.isprintable() else " " for c in sentence).strip()
        if len(shown) > MOST_CHARACTERS:
            half = MOST_CHARACTERS // 2
            shown = f"{shown[:half]} … {shown[-half:]}"
        super().__init__(shown)


def wrong_field(error: ValidationError, known: Collection[str] = ()) -> str:
    """The first field that does not hold, why, and how to mend it: the end of a sentence.

    Parameters
    ----------
    known
        Names that a field may have, for one that is misspelled.

    Returns
    -------
    str
        Such as ``"field openings 2, wall: “up” is not known; use north, east, south or west"``;
        lists are counted from 1, as people do.
    """
    first, *others = error.errors(include_url=False)
    if first["type"] == "missing":  # it may be there, but misspelled
        first = next((e for e in others if e["type"] == "extra_forbidden"), first)
    place = place_words(first["loc"])
    return f"field {place}: {why(first, known)}" if place else why(first, known)


def place_words(loc: Sequence[str | int]) -> str:
    """Where a field stands: ``openings 2, wall``."""
    words: list[str] = []
    for part in loc:
        if isinstance(part, int) and words:
            words[-1] += f" {part + 1}"
        else:
            words.append(str(part + 1) if isinstance(part, int) else part)
    return ", ".join(words)


def why(error: ErrorDetails, known: Collection[str] = ()) -> str:
    """Why one field cannot be used, and what it must be."""
    kind, limits = error["type"], error.get("ctx", {})
    if kind == "missing":
        return "is missing; add it"
    if kind == "value_error":
        return error["msg"].removeprefix("Value error, ")
    if kind == "extra_forbidden":
        from difflib import get_close_matches

        near = get_close_matches(str(error["loc"][-1]), list(known), 1, NEAR)
        meant = f"; did you mean {near[0]}?" if near else "; mend its spelling or take it out"
        return f"is not a field here{meant}"
    for start, words in _WORDS.items():
        if kind.startswith(start):
            return f"{_shown(error['input'])} {words(limits)}"
    return f"{_shown(error['input'])} cannot be used ({error['msg'].lower()})"


def _one_of(limits: Mapping[str, Any]) -> str:
    return f"is not known; use {str(limits.get('expected', '')).replace(chr(39), '')}"


_WORDS: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "greater_than_equal": lambda limits: f"is too little; it must be {limits['ge']:,g} or more",
    "greater_than": lambda limits: f"is too little; it must be more than {limits['gt']:,g}",
    "less_than_equal": lambda limits: f"is too much; it must be {limits['le']:,g} or less",
    "less_than": lambda limits: f"is too much; it must be less than {limits['lt']:,g}",
    "float": lambda _: "is not a number; write it like 36 or 36.5",
    "finite": lambda _: "is not a number; write it like 36 or 36.5",
    "int": lambda _: "is not a whole number",
    "bool": lambda _: "is neither true nor false",
    "literal": _one_of,
    "enum": _one_of,
    "string_pattern": lambda _: "is not written as it must be; use small letters and underscores",
    "string_too_long": lambda limits: f"is longer than {limits['max_length']:,} characters",
    "string_too_short": lambda _: "is too short",
    "string": lambda _: "is not text",
    "tuple": lambda _: "must be a list, in [ and ]",
    "list": lambda _: "must be a list, in [ and ]",
    "too_short": lambda limits: f"has fewer entries than the {limits['min_length']:,} it needs",
    "too_long": lambda limits: f"has more entries than {limits['max_length']:,}",
    "model": lambda _: "must be fields with their values, in { and }",
    "dict": lambda _: "must be fields with their values, in { and }",
}
"""What is wrong, by the beginning of pydantic's name for it; the first that fits holds."""


def _shown(value: object) -> str:
    """The value as it was written, in quotes where it is text."""
    if isinstance(value, str):
        text = "".join(c if c.isprintable() else " " for c in value)
        return f"“{text[: LONGEST_SHOWN - 1]}…”" if len(text) > LONGEST_SHOWN else f"“{text}”"
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (RecursionError, ValueError):
        text = str(type(value).__name__)
    return f"{text[: LONGEST_SHOWN - 1]}…" if len(text) > LONGEST_SHOWN else text
