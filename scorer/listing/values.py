"""One cell of a listing file turned into a number, a whole number or a word."""

from __future__ import annotations

import json
import math
import re
from functools import lru_cache
from typing import Any

_NUMBER = re.compile(r"[+-]?([0-9]+|[0-9]{1,3}(,[0-9]{3})+)(\.[0-9]*)?([eE][+-]?[0-9]{1,3})?")
_SPACES = str.maketrans("", "", " \t\u00a0\u2009\u202f'")
_MISSING = {"", "na", "n/a", "nan", "null", "none", "-", "--", "—", "?", "unknown", "#n/a"}


class WrongValue(ValueError):
    """Why a cell cannot be used, as the second half of a sentence."""


def as_text(value: Any) -> str:
    """Any cell as it was written; lists and objects as JSON."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool | int | float):
        return str(value)
    try:
        return json.dumps(value, ensure_ascii=False, default=str)
    except (RecursionError, ValueError):
        return ""


def one_line(text: str) -> str:
    """Text without line ends and other control characters, to stand inside a sentence."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def is_missing(value: Any) -> bool:
    """Empty, or one of the ways in which people and programs write "not known"."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return True
    return isinstance(value, str) and value.strip().lower() in _MISSING


def as_number(value: Any, *, low: float, high: float, unit: str = "") -> float:
    """A finite number between two bounds, bounds included.

    ``$``, thousands separators and blanks are taken off first; ``(500)`` is read as −500.

    Raises
    ------
    WrongValue
        With the reason.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise WrongValue("is not a number")
    if isinstance(value, str):
        text = value.strip().translate(_SPACES).replace("−", "-")
        text = re.sub(r"(?i)^([(+-]?)(us\$|usd|\$)", r"\1", text)
        text = re.sub(r"(?i)(usd|sqft|sq\.?ft\.?|sf)$", "", text)
        if text.startswith("(") and text.endswith(")"):
            text = "-" + text[1:-1]
        text = re.sub(r"^-\$", "-", text)
        if text.lower().lstrip("+-") in {"inf", "infinity"}:
            raise WrongValue("is not a finite number")
        if not _NUMBER.fullmatch(text):
            raise WrongValue("is not a number (write it like 84500 or 84,500.00)")
        value = text.replace(",", "")
    try:
        number = float(value)
    except (OverflowError, ValueError):
        raise WrongValue("is not a number that can be used") from None
    if not math.isfinite(number):
        raise WrongValue("is not a finite number")
    if low == 0 and number < 0:
        raise WrongValue("cannot be negative")
    if not low <= number <= high:
        unit = f" {unit}" if unit else ""
        raise WrongValue(f"must lie between {_short(low)} and {_short(high)}{unit}")
    return number


def as_count(value: Any, *, low: int, high: int) -> int:
    """A whole number between two bounds."""
    number = as_number(value, low=low, high=high)
    if number != int(number):
        raise WrongValue("must be a whole number")
    return int(number)


def _short(number: float) -> str:
    return f"{number:.0f}" if 1000 <= number < 10_000 else f"{number:,.10g}"


@lru_cache(maxsize=10_000)
def plain(name: str) -> str:
    """A field name or lookup with case, blanks and underscores taken off."""
    return re.sub(r"[^a-z0-9]", "", name.lower())
