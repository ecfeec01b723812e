"""Whose hours an option takes: the owner's spare time, or a hired trade's."""

from __future__ import annotations

from scorer.records import Range
from scorer.settings import Settings
from scorer.upgrades.option import Option

WEEKS_PER_MONTH = 52.0 / 12.0


def own_hours(option: Option) -> Range:
    """Hours of the owner and helpers [h]; all of them where the option has no lines."""
    if not option.lines:
        return option.hours
    total = Range.exactly(0.0)
    for line in option.lines:
        if line.trade == "own":
            total += line.hours
    return total


def hired_hours(option: Option) -> dict[str, Range]:
    """Hours of each hired trade [h]."""
    hours: dict[str, Range] = {}
    for line in option.lines:
        if line.trade != "own" and line.hours.high > 0:
            hours[line.trade] = hours.get(line.trade, Range.exactly(0.0)) + line.hours
    return hours


def spare_hours_per_week(settings: Settings) -> float:
    """Spare hours of owner and helpers together [h/week]."""
    return settings.hours_per_week * (1 + settings.helpers)


def spare_hours(settings: Settings) -> float:
    """Spare hours of owner and helpers in the weeks that the home may stand empty [h]."""
    return settings.weeks * spare_hours_per_week(settings)
