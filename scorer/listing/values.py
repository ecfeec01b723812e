"""One cell of a listing file turned into a number, a whole number or a word."""

from __future__ import annotations

import json
import math
import re
from functools import lru_cache
from typing import Any

_SPACES = str.maketrans(dict.fromkeys("\t\u00a0\u2009\u202f", " ") | {"−": "-", "’": "'"})
_MISSING = {
    "",
    "na",
    "n/a",
    "nan",
    "null",
    "none",
    "-",
    "--",
    "—",
    "?",
    "unknown",
    "#n/a",
    "n.a.",
    "tbd",
    "tba",
}
_ABOUT = re.compile(r"(?i)(circa|ca\.?|c\.?|about|approximately|approx\.?|est\.?|~|≈)\s*(?=[$\d])")
_PLAIN = re.compile(r"([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_AMERICAN = re.compile(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]*)?")
_SPACED = re.compile(r"[0-9]{1,3}([ '])[0-9]{3}(\1[0-9]{3})*([.,][0-9]{1,2})?")
_DOTTED = re.compile(r"[0-9]{1,3}((\.[0-9]{3})+,[0-9]{0,2}|(\.[0-9]{3}){2,})")
_DECIMAL_COMMA = re.compile(r"[0-9]+,[0-9]{1,2}")
_EITHER = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
LIKE = "write it like 84500 or 84,500.00"


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


def as_number(
    value: Any,
    *,
    low: float,
    high: float,
    unit: str = "",
    grouped: bool = False,
    like: str = LIKE,
    hint: str = "",
) -> float:
    """A finite number between two bounds, bounds included.

    Thousands may be set apart by commas (``84,500.00``), blanks or apostrophes (``84 500``), or by
    points where a comma or a second point makes that sure (``84.500,00``). ``(500)`` is −500, and
    ``$``, ``about`` and ``c.`` in front are taken off.

    Parameters
    ----------
    value
        The cell.
    low, high
        The bounds, in ``unit``.
    unit
        As it is shown in sentences; ``$`` stands in front.
    grouped
        The field holds thousands: ``84.500`` may mean 84500, and is refused unless only 84.5 lies
        between the bounds. Elsewhere it is 84.5.
    like
        How to write it, where it is no number.
    hint
        What else to look for, where it is out of bounds.

    Raises
    ------
    WrongValue
        With the reason.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise WrongValue(f"is not a number ({like})")
    try:
        number = _written(value, high, grouped, like) if isinstance(value, str) else float(value)
    except (OverflowError, ValueError) as error:
        if isinstance(error, WrongValue):
            raise
        raise WrongValue("is not a number that can be used") from None
    if not math.isfinite(number):
        raise WrongValue("is not a finite number")
    if low >= 0 and number < 0:
        raise WrongValue("cannot be negative")
    if not low <= number <= high:
        if grouped and isinstance(value, float) and low <= 1000 * number <= high:
            # JSON and TOML read 84.500 as 84.5; as text it would have been refused above.
            whole = f"{1000 * number:.10g}"
            raise WrongValue(
                f"is too little, as a point begins the decimals; write {whole} if meant"
            )
        raise WrongValue(f"must lie between {_span(low, high, unit)}{hint and f' ({hint})'}")
    return number


def _written(text: str, high: float, grouped: bool, like: str) -> float:
    """The number that a text stands for."""
    text = " ".join(text.translate(_SPACES).split())
    text = _ABOUT.sub("", text, count=1) if _ABOUT.match(text) else text
    negative = re.fullmatch(r"\((.*)\)", text)
    text = "-" + negative[1] if negative else text
    text = re.sub(r"(?i)^([+-]?) ?(us ?\$|usd|\$) ?", r"\1", text)
    text = re.sub(r"(?i) ?(us dollars|dollars|usd|us ?\$|\$)$", "", text)
    sign = -1.0 if text[:1] == "-" else 1.0
    digits = text[1:].strip() if text[:1] in {"-", "+"} else text
    if digits.lower() in {"inf", "infinity"}:
        raise WrongValue("is not a finite number")
    if grouped and _EITHER.fullmatch(digits) and float(digits.replace(".", "")) <= high:
        whole = digits.replace(".", "")
        part = f"{float(digits):.10g}"
        raise WrongValue(f"could mean {whole} or {part}; write {whole}")
    if _PLAIN.fullmatch(digits):
        return sign * float(digits)
    if _AMERICAN.fullmatch(digits):
        return sign * float(digits.replace(",", ""))
    if _SPACED.fullmatch(digits):
        return sign * float(re.sub("[ ']", "", digits).replace(",", "."))
    if _DOTTED.fullmatch(digits):
        return sign * float(digits.replace(".", "").replace(",", "."))
    if _DECIMAL_COMMA.fullmatch(digits):
        return sign * float(digits.replace(",", "."))
    if re.match(r"(?i)[€£¥]|(eur|gbp|cad|chf|aud)\b", digits):
        raise WrongValue("is not in US dollars (convert it, and write it like 84500)")
    raise WrongValue(f"is not a number ({like})")


def as_count(value: Any, *, low: int, high: int, like: str = "write it like 3") -> int:
    """A whole number between two bounds."""
    number = as_number(value, low=low, high=high, like=like)
    if number != int(number):
        raise WrongValue("must be a whole number")
    return int(number)


def _span(low: float, high: float, unit: str) -> str:
    if unit == "$":
        return f"${low:,.10g} and ${high:,.10g}"
    return f"{_short(low)} and {_short(high)}{unit and f' {unit}'}"


def _short(number: float) -> str:
    if number < 1000:
        return f"{number:.4g}"
    return f"{number:.0f}" if number < 10_000 else f"{number:,.0f}"


@lru_cache(maxsize=10_000)
def plain(name: str) -> str:
    """A field name or lookup with case, blanks and underscores taken off."""
    return re.sub(r"[^a-z0-9]", "", name.lower().replace("²", "2"))
