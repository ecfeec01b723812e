"""Money, numbers and dates as CLDR writes them in some places.

Expected forms: Unicode CLDR charts, "Number patterns" and "Date" of each locale
(https://cldr.unicode.org); the Canadian and French signs for the US dollar are CLDR's too.
"""

from __future__ import annotations

import pytest

from app import figures
from scorer.records import Quantiles, Range

NBSP, THIN = "\u00a0", "\u202f"


@pytest.fixture
def place(monkeypatch: pytest.MonkeyPatch):
    class Context:
        locale: str | None = "en-US"
        timezone: str | None = "America/New_York"

    context = Context()
    monkeypatch.setattr(figures.st, "context", context)
    return context


@pytest.mark.parametrize(
    ("tag", "words"),
    [
        ("en-US", "$12,346"),
        ("en-CA", "US$12,346"),
        ("de-DE", f"12.346{NBSP}$"),
        ("fr-FR", f"12{THIN}346{NBSP}$US"),
        ("hi-IN", "$12,346"),
        ("de-CH", f"${NBSP}12'346"),
        ("xx-unknown", "$12,346"),
        ("", "$12,346"),
        (None, "$12,346"),
    ],
)
def test_money_is_dollars_written_as_the_reader_does(place, tag: str | None, words: str):
    place.locale = tag
    # The Swiss apostrophe is a curly one in some releases of CLDR and a straight one in others.
    assert figures.money(12_345.6).replace("’", "'") == words


def test_a_loss_has_a_true_minus_and_zero_none(place):
    assert figures.money(-770) == "−$770"
    assert figures.money(-0.3) == "$0"
    assert figures.number(-1234.56, 1) == "−1,234.6"
    assert figures.money(12.5, cents=True) == "$12.50"


def test_ranges(place):
    assert figures.money_range(Quantiles(p10=977, p50=2110, p90=3568)) == "$2,110 ($977 to $3,568)"
    assert figures.money_span(Range(low=5, typical=5.2, high=5.4)) == "$5"
    assert figures.months(Quantiles(p10=10, p50=24.4, p90=60)) == "24 months"
    assert figures.months(None) == "never"


def test_a_day_is_that_of_the_readers_clock(place):
    late = "2026-11-25T02:30:00.000+00:00"
    assert figures.day(late) == "Nov 24, 2026"
    place.timezone, place.locale = "Europe/Berlin", "de-DE"
    assert figures.day(late) == "25 Nov 2026"
    place.timezone = "Nowhere/Atall"
    assert figures.day(late) == "25 Nov 2026"


@pytest.mark.parametrize(
    ("tag", "words", "form"),
    [
        ("en-US", "Mar 3, 2026", "MM/DD/YYYY"),
        ("en-GB", "3 Mar 2026", "DD/MM/YYYY"),
        ("de-DE", "3 Mar 2026", "DD/MM/YYYY"),
        ("fr-FR", "3 Mar 2026", "DD/MM/YYYY"),
        ("es-US", "3 Mar 2026", "DD/MM/YYYY"),
        ("ar-EG", "3 Mar 2026", "DD/MM/YYYY"),
        ("ja-JP", "2026 Mar 3", "YYYY/MM/DD"),
        ("hu-HU", "2026 Mar 3", "YYYY/MM/DD"),
        ("lv-LV", "2026 Mar 3", "YYYY/MM/DD"),
    ],
)
def test_months_are_in_english_and_the_order_is_the_places(place, tag: str, words: str, form: str):
    """Order of day, month and year: Unicode CLDR, "Date & Time", medium date of each locale."""
    place.locale = tag
    assert figures.day("2026-03-03T12:00:00+00:00") == words
    assert figures.day_form() == form


def test_every_place_has_an_order_that_is_known():
    from babel.core import Locale
    from babel.localedata import locale_identifiers

    assert {figures._first(Locale.parse(name)) for name in locale_identifiers()} == set("dMy")


def test_the_librarys_sentences_are_rewritten_but_not_code_sections(place):
    sentence = (
        "About $1,180.50, loses −$1,200; 33.5 in of 44 in; 1,040 sq ft (40 CFR 745.83, 29 CFR "
        "1926.1101)."
    )
    assert figures.local(sentence) == sentence
    place.locale = "de-DE"
    assert figures.local(sentence) == (
        f"About 1.180,50{NBSP}$, loses −1.200{NBSP}$; 33,5 in of 44 in; 1.040 sq ft (40 CFR "
        "745.83, 29 CFR 1926.1101)."
    )


def test_quantities_shares_and_charts(place):
    assert [figures.amount(v) for v in (0.0, 0.04, 1.0, 12.7, 1_259.2)] == [
        "–", "–", "1", "12.7", "1,259.2",
    ]  # fmt: skip
    assert (figures.percent(0.452), figures.percent(-0.463)) == ("45%", "−46%")
    rates = [figures.rate(v) for v in (0.075, 0.08, 0.1429, -0.0316, -0.0001)]
    assert rates == ["7.5%", "8%", "14.3%", "−3.2%", "0%"]
    assert figures.chart_label() == 'replace(datum.label, /,/g, ",")'
    place.locale = "de-DE"
    assert figures.percent(0.452) == f"45{NBSP}%"
    assert figures.rate(0.075) == f"7,5{NBSP}%"
    assert figures.chart_label() == 'replace(datum.label, /,/g, ".")'
