"""Money, rents, areas, lengths and counts as people write them in a listing's cells."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from scorer.listing.values import WrongValue, as_count, as_number

FEET_IN_A_METER = 1 / 0.3048
SQUARE_FEET_IN_A_SQUARE_METER = 1 / 0.3048**2
"""The international foot is 0.3048 m exactly (NIST SP 811 (2008), appendix B.6)."""

PAYMENTS_PER_YEAR = {
    "annually": 1.0,
    "semiannually": 2.0,
    "quarterly": 4.0,
    "bimonthly": 6.0,
    "monthly": 12.0,
    "semimonthly": 24.0,
    "biweekly": 26.0,
    "weekly": 52.0,
    "daily": 365.0,
}
"""``LeaseAmountFrequency`` lookups (RESO ``FeeFrequency``); OneTime and Seasonal make no rent."""

LEAST_PRICE_USD, MOST_PRICE_USD = 1_000.0, 100_000_000.0
LEAST_RENT_MONTH_USD, MOST_RENT_MONTH_USD = 50.0, 100_000.0
LEAST_TAX_USD, MOST_TAX_USD = 10.0, 200_000.0
LEAST_AREA_SQFT, MOST_AREA_SQFT = 80.0, 100_000.0
"""Bounds between which a column that was swapped with another seldom lies; common practice, no
source. A derelict home may cost $1,000, and a tiny one have 80 sq ft."""

_PER = {
    "monthly": "mo|mos|mth|month|months|monthly|pcm|pm|p.m.",
    "annually": "yr|year|yearly|annum|annual|annually|pa|p.a.|12 months",
    "biweekly": "biweekly|bi-weekly|2 weeks|two weeks|fortnight",
    "weekly": "wk|week|weekly|pw|p.w.",
    "daily": "day|daily",
}
_PERIOD = re.compile(
    r"(?i)\s*(?:/|\bper\b|\ba\b|\beach\b|\bevery\b)?\s*(?:"
    + "|".join(
        f"(?P<{name}>{'|'.join(re.escape(word) for word in words.split('|'))})"
        for name, words in _PER.items()
    )
    + r")\.?$"
)
_THOUSAND = re.compile(r"(?i)(.*[0-9.]) ?k")
_SQUARE_FEET = re.compile(r"(?i)\s*(sq\.?\s*f(ee|oo)?t\.?|square[ -]f(ee|oo)t|s\.?f\.?|ft\^?[2²])$")
_SQUARE_METERS = re.compile(
    r"(?i)\s*(sq\.?\s*m(et(er|re)s?)?\.?|square[ -]met(er|re)s?|q?m\^?[2²]|qm)$"
)
_FEET = re.compile(r"(?i)\s*(feet|foot|ft\.?|')$")
_METERS = re.compile(r"(?i)\s*(met(er|re)s?|m\.?)$")
_FEET_INCHES = re.compile(
    r"(?i)([0-9]{1,3}) ?(?:'|ft\.?|feet|foot)[ -]?([0-9]{1,2}(?:\.[0-9]+)?)"
    r" ?(?:\"|''|in\.?|inch(?:es)?)?"
)
_MARKS = str.maketrans("’′″”", "''\"\"")
_FULL_AND_HALF = re.compile(
    r"(?i)([0-9]{1,2}) full(?: baths?)?(?:[ ,+&]{1,3}(?:and )?(1) half(?: baths?)?)?"
)
_LONGEST = 80
_NOT_LET = {"vacant", "empty", "not let", "not rented", "owner occupied", "owner-occupied"}
BEDS = r"br|bd|bds|beds?|bedrooms?|bdrms?"
"""Words for a bedroom that may follow its count."""
_SWAPPED = "is it another column's figure, or cut short?"


class Baths(NamedTuple):
    """Whole and part bathrooms; ``part`` is the RESO field that counts the part one, or empty."""

    full: int
    part: str = ""

    @property
    def total(self) -> int:
        """As ``BathroomsTotalInteger``: every bathroom counts as one."""
        return self.full + bool(self.part)


def price(value: Any) -> float:
    """Asking price [$]."""
    text, period = _without_period(value)
    if period is not None:
        raise WrongValue("is a figure for a time, not a price (write it like 84500)")
    return _dollars(text, LEAST_PRICE_USD, MOST_PRICE_USD, hint=_SWAPPED)


def yearly_tax(value: Any) -> float:
    """Tax [$/year]; read as yearly unless the cell says otherwise. It may be zero."""
    text, period = _without_period(value)
    times = PAYMENTS_PER_YEAR[period or "annually"]
    like = "write it like 1240 or $1,240/yr"
    amount = _dollars(text, 0.0, MOST_TAX_USD / times, like=like, hint=_SWAPPED)
    if 0.0 < amount * times < LEAST_TAX_USD:
        _dollars(text, LEAST_TAX_USD / times, MOST_TAX_USD / times, hint=_SWAPPED)
    return round(times * amount, 2)


def monthly_rent(value: Any, frequency: str = "", heading: str = "") -> float | None:
    """Rent [$/month]; None where the home isn't let (``0``, ``vacant``).

    Parameters
    ----------
    value
        The cell; it may name its own period (``$850/mo``, ``10,200 per year``).
    frequency
        A key of :data:`PAYMENTS_PER_YEAR` that another cell gives; empty if none does, which means
        monthly, as leases are quoted in the United States (common practice, no source).
    heading
        Name of that other cell's column.

    Raises
    ------
    WrongValue
        If the two periods differ, or the rent is none that a home has.
    """
    if isinstance(value, str) and value.strip().lower() in _NOT_LET:
        return None
    text, period = _without_period(value)
    if period and frequency and period != frequency:
        raise WrongValue(f"and {heading} {frequency} name two periods; make them agree")
    period = period or frequency or "monthly"
    to_month = PAYMENTS_PER_YEAR[period] / 12.0
    like = "write it like 850, $850/mo or $10,200/yr"
    amount = _dollars(text, 0.0, 1e9, like=like)
    if amount == 0.0:
        return None
    low, high = LEAST_RENT_MONTH_USD, MOST_RENT_MONTH_USD
    if not low <= amount * to_month <= high:
        _dollars(text, low / to_month, high / to_month, hint=_SWAPPED)
    return round(amount * to_month, 2)


def dollars(value: Any, low: float = 0.0, high: float = 1e9) -> float:
    """An amount of money between two bounds [$]: ``$6,000``, ``6k``.

    Raises
    ------
    WrongValue
        With the reason.
    """
    return _dollars(value, low, high, like="write it like 6000, $6,000 or 6k")


def _dollars(
    value: Any,
    low: float,
    high: float,
    like: str = "write it like 84500 or $84,500",
    hint: str = "",
) -> float:
    if isinstance(value, str) and (short := _THOUSAND.fullmatch(_stripped(value))):
        value = 1000 * as_number(short[1], low=-1e9, high=1e9, grouped=True, like=like)
    return as_number(value, low=low, high=high, unit="$", grouped=True, like=like, hint=hint)


def _without_period(value: Any) -> tuple[Any, str | None]:
    """An amount without the time that it is for, and that time."""
    if not isinstance(value, str):
        return value, None
    text = _stripped(value)
    found = _PERIOD.search(text)
    if found is None or not re.search("[0-9k$)]$", text[: found.start()]):
        return text, None
    return text[: found.start()], found.lastgroup


def area(value: Any, *, low: float, high: float, factor: float | None, heading: str) -> float:
    """Area [sq ft], rounded to a tenth.

    Parameters
    ----------
    value
        The cell; it may carry its own unit (``1,050 sq ft``, ``98 m²``).
    low, high
        Bounds [sq ft].
    factor
        Square feet in the unit that another cell names; None if none does.
    heading
        Name of that cell's column.
    """
    own: float | None = None
    if isinstance(value, str):
        value = _stripped(value)
        for unit, size in ((_SQUARE_FEET, 1.0), (_SQUARE_METERS, SQUARE_FEET_IN_A_SQUARE_METER)):
            if found := unit.search(value):
                value, own = value[: found.start()], size
                break
    if own is not None and factor is not None and own != factor:
        raise WrongValue(f"is in another unit than {heading} names; make them agree")
    size = own or factor or 1.0
    shown = "sq ft" if size == 1.0 else "sq m"
    like = "write it like 1050, 1,050 sq ft or 98 m²"
    number = as_number(
        value, low=low / size, high=high / size, unit=shown, grouped=True, like=like,
        hint=_SWAPPED if low >= LEAST_AREA_SQFT else "",
    )  # fmt: skip
    return round(number * size, 1)


def length(value: Any, *, low: float, high: float, factor: float | None, heading: str) -> float:
    """Length [ft], rounded to a hundredth; as :func:`area` does (``12' 6"``, ``3.8 m``)."""
    own: float | None = None
    if isinstance(value, str):
        value = _stripped(value).translate(_MARKS)
        if (both := _FEET_INCHES.fullmatch(value)) and float(both[2]) < 12:
            value, own = int(both[1]) + float(both[2]) / 12, 1.0
        else:
            for unit, size in ((_FEET, 1.0), (_METERS, FEET_IN_A_METER)):
                if found := unit.search(value):
                    value, own = value[: found.start()], size
                    break
    if own is not None and factor is not None and own != factor:
        raise WrongValue(f"is in another unit than {heading} names; make them agree")
    size = own or factor or 1.0
    like = "write it like 12, 12.5 or 12' 6\""
    return round(as_number(value, low=low / size, high=high / size, like=like) * size, 2)


def count(value: Any, *, low: int, high: int, words: str) -> int:
    """A whole number that one of ``words`` (a pattern) may follow: ``2 beds``."""
    return as_count(_without_word(value, words), low=low, high=high)


def year(value: Any) -> int:
    """A year; ``c. 1960`` is 1960."""
    return as_count(value, low=1600, high=2100, like="write it like 1962")


_PARTS_OF_A_BATHROOM = {
    0.25: "BathroomsOneQuarter",
    0.5: "BathroomsHalf",
    0.75: "BathroomsThreeQuarter",
}


def baths(value: Any) -> Baths:
    """Bathrooms: ``2``, ``1.5`` or ``1½`` (one and a half one), ``2 ba``."""
    if isinstance(value, str) and (both := _FULL_AND_HALF.fullmatch(value.strip())):
        value = f"{both[1]}.5" if both[2] else both[1]
    text = _without_word(value, r"ba|baths?|bathrooms?")
    if isinstance(text, str):
        text = re.sub(r"^([0-9]{0,2}) ?(½|1/2)$", lambda m: f"{m[1] or 0}.5", text)
    like = "write it like 1 or 1.5"
    number = as_number(text, low=0, high=200, like=like)
    full = int(number)
    if number == full:
        return Baths(full)
    part = _PARTS_OF_A_BATHROOM.get(number - full)
    if part is None:
        raise WrongValue("must be a whole number or end in a half, like 1.5")
    return Baths(full, part)


def _without_word(value: Any, words: str) -> Any:
    if not isinstance(value, str):
        return value
    return re.sub(rf"(?i)(?<=[0-9½.]) ?-?({words})\.?$", "", _stripped(value))


def _stripped(text: str) -> str:
    if len(text) > _LONGEST:
        raise WrongValue("is too long for a number")
    return text.strip()
