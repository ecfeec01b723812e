"""Money, numbers and dates as the reader's browser writes them; the currency stays US dollars.

What a program reads (CSV, JSON) and what is printed (PDF, workbook) is the same in every place.
"""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, tzinfo
from functools import cache
from zoneinfo import ZoneInfo

import streamlit as st
from babel import Locale, UnknownLocaleError
from babel.numbers import format_currency, format_decimal, format_percent

from scorer.records import Quantiles, Range
from scorer.report.table import LONGEST_PAYBACK_MONTHS
from scorer.scope.purchases import packs_words

HOME = Locale("en", "US")
MONTHS: dict[int, str] = dict(HOME.months["format"]["wide"])
"""The page is in English, so months are too, also where the reader's own language has others."""
SHORT_MONTHS: dict[int, str] = dict(HOME.months["format"]["abbreviated"])
CURRENCY = "USD"
MINUS = "−"
UNITS = r"(?:in|ft|sq ft|gal|qt|h|lb|sheets?|weeks?|months?|years?)\b"
WRITTEN = re.compile(
    rf"(?P<minus>−)?\$(?P<money>\d[\d,]*(?:\.\d+)?)"
    rf"|(?<![\w.,/])(?P<number>\d[\d,]*\.\d+|\d{{1,3}}(?:,\d{{3}})+)(?=\s(?:to\s[\d.,]+\s)?{UNITS})"
)
"""Dollars, and numbers with a unit, in the library's sentences; not code sections."""


@cache
def locale_named(name: str) -> Locale:
    """The locale of a browser's language tag, or that of its language; else the home's."""
    for tag in (name, name.split("-")[0]):
        try:
            found = Locale.parse(tag, sep="-")
        except (UnknownLocaleError, ValueError, TypeError):
            continue
        if found is not None:
            return found
    return HOME


def reader() -> Locale:
    """Locale of the window that is looking."""
    return locale_named(st.context.locale or "en-US")


def money(value: float, *, cents: bool = False) -> str:
    """Dollars, whole ones unless ``cents``."""
    return _money(float(value), cents, reader())


@cache
def _money_pattern(locale: Locale, cents: bool) -> str:
    pattern = locale.currency_formats["standard"].pattern
    return pattern if cents else re.sub(r"[.,]0+", "", pattern)


def _money(value: float, cents: bool, locale: Locale) -> str:
    whole = round(value, 2 if cents else None) or 0.0  # no minus before a zero
    words: str = format_currency(
        abs(whole),
        CURRENCY,
        format=_money_pattern(locale, cents),
        locale=locale,
        currency_digits=False,
    )
    return MINUS + words if whole < 0 else words


def money_range(figure: Quantiles | Range) -> str:
    """The middle, then low to high; one figure where all are the same in whole dollars."""
    low, middle, high = _three(figure)
    return low if low == high else f"{middle} ({low} to {high})"


def money_span(figure: Quantiles | Range) -> str:
    """Low to high; one figure where both are the same in whole dollars."""
    low, _, high = _three(figure)
    return low if low == high else f"{low} to {high}"


def _three(figure: Quantiles | Range) -> tuple[str, str, str]:
    if isinstance(figure, Range):
        return money(figure.low), money(figure.typical), money(figure.high)
    return money(figure.p10), money(figure.p50), money(figure.p90)


def number(value: float, digits: int = 0) -> str:
    """A number with so many digits after the point."""
    return _number(float(value), digits, reader())


def _number(value: float, digits: int, locale: Locale) -> str:
    whole = round(value, digits) or 0.0
    pattern = "#,##0" + ("." + "0" * digits if digits else "")
    words: str = format_decimal(abs(whole), format=pattern, locale=locale)
    return MINUS + words if whole < 0 else words


def amount(value: float) -> str:
    """A quantity with one digit after the point where it has one; a dash for none."""
    if round(value, 1) == 0:
        return "–"
    return number(value, 0 if round(value, 1) == round(value) else 1)


def packs(count: float, pack: str) -> str:
    """How many of a pack to buy: ``3 × 1 gal can``, ``2 kits``; singly sold, the number."""
    return packs_words(count, pack, number)


def needed(quantity: float, unit: str) -> str:
    """A quantity with its unit; things that are counted have none."""
    return amount(quantity) if unit == "each" else f"{amount(quantity)} {unit}"


def percent(share: float) -> str:
    """A share [0–1] in whole percent."""
    whole = round(share, 2)
    words: str = format_percent(abs(whole), locale=reader())
    return MINUS + words if whole < 0 else words


def rate(share: float) -> str:
    """A yearly rate or other share [0–1] in percent, with one digit where it has one: 7.5%."""
    tenths = round(share, 3)
    words: str = format_percent(abs(tenths), locale=reader(), decimal_quantization=False)
    return MINUS + words if tenths < 0 else words


def chart_label() -> str:
    """Vega expression that writes a whole number below an axis as the reader does."""
    group = str(reader().number_symbols["latn"]["group"])
    return f"replace(datum.label, /,/g, {json.dumps(group)})"


def months(figure: Quantiles | None) -> str:
    """Payback in words; beyond the longest that is counted, never."""
    if figure is None or figure.p50 > LONGEST_PAYBACK_MONTHS:
        return "never"
    return f"{number(figure.p50)} months"


def day(moment: str | date) -> str:
    """A date, or the date of a moment (ISO 8601) in the reader's time zone.

    The month is in English, like the sentence around it; the order is that of the reader's place.
    """
    if isinstance(moment, str):
        moment = datetime.fromisoformat(moment)
    if isinstance(moment, datetime):
        aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        moment = aware.astimezone(_zone(st.context.timezone or "UTC")).date()
    month, day_of_month, year = SHORT_MONTHS[moment.month], moment.day, moment.year
    first = _first(reader())
    if first == "M":
        return f"{month} {day_of_month}, {year}"
    return f"{year} {month} {day_of_month}" if first == "y" else f"{day_of_month} {month} {year}"


def day_form() -> str:
    """The order of a date in figures, as Streamlit's field of a date wants it."""
    return {"M": "MM/DD/YYYY", "y": "YYYY/MM/DD"}.get(_first(reader()), "DD/MM/YYYY")


@cache
def _first(locale: Locale) -> str:
    """What stands first in a date: ``d`` day, ``M`` month or ``y`` year (Unicode CLDR)."""
    pattern = re.sub("'[^']*'", "", locale.date_formats["medium"].pattern).replace("L", "M")
    return next(letter for letter in pattern if letter in "dMy")


def today() -> date:
    """The day it is where the reader is."""
    return datetime.now(_zone(st.context.timezone or "UTC")).date()


@cache
def _zone(name: str) -> tzinfo:
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, KeyError):  # unknown, or this machine has no table of zones
        return UTC


def local(sentence: str) -> str:
    """A sentence of the library with its dollars and numbers as the reader writes them."""
    locale = reader()
    if locale == HOME:
        return sentence

    def write(found: re.Match[str]) -> str:
        text = (found["money"] or found["number"]).replace(",", "")
        digits = len(text.partition(".")[2])
        if found["money"]:
            words = _money(float(text), digits == 2, locale)
            return (found["minus"] or "") + words
        return _number(float(text), digits, locale)

    return WRITTEN.sub(write, sentence)


def plain(words: str) -> str:
    """Words for Markdown: a dollar sign is no formula, and no name is a picture or a link."""
    return words.replace("$", "\\$").replace("](", "] (")
