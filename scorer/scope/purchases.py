"""The shopping list: whole packs over all rooms."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from scorer.records import Range
from scorer.scope.plan import Purchase
from scorer.upgrades.option import Line, Option
from scorer.upgrades.pricing import packs_of
from scorer.upgrades.spread import product
from scorer.upgrades.takeoff_materials import whole_packs

SINGLY = "1 each"
"""The pack of what is bought one by one."""


def merge_purchases(options: Iterable[Option]) -> tuple[Purchase, ...]:
    """Materials of all options, item by item, in whole packs bought for the whole home.

    What one room leaves over serves the next, so the list never asks for more packs than the
    options do one by one. ``cost_usd`` is for the whole packs at low, typical and high quantity;
    where finished work corrected the price of a pack in one kind of work and not in another, it is
    the mean price by quantity.
    """
    by_item: dict[str, list[Line]] = {}
    for option in options:
        for line in option.lines:
            if line.kind == "material":
                by_item.setdefault(line.item, []).append(line)
    return tuple(p for lines in by_item.values() if (p := _purchase(lines)).buy > 0)


def packs_words(count: float, pack: str, number: Callable[[float], str] = "{:,.0f}".format) -> str:
    """How many of a pack to buy: ``3 × 1 gal can``, ``2 kits``; singly sold, the number.

    Parameters
    ----------
    number
        Writes the count; a place has its own way.
    """
    if pack in {"", SINGLY}:
        return number(count)
    word = pack.removeprefix("1 ")
    if count == 1 and word != pack:
        return pack
    if word != pack and word.isalpha():
        return f"{number(count)} {word}s"
    return f"{number(count)} × {pack}"


def _purchase(lines: list[Line]) -> Purchase:
    first = lines[0]
    amount = sum((line.quantity for line in lines), start=Range.exactly(0.0))
    buy = whole_packs(amount.typical, first.pack_size)
    return Purchase(
        item=first.item,
        label=first.label,
        unit=first.unit,
        quantity=amount.typical,
        buy=buy,
        pack=first.pack,
        left_over=max(0.0, buy * first.pack_size - amount.typical),
        cost_usd=product(_pack_usd(lines), packs_of(amount, first.pack_size)),
    )


def _pack_usd(lines: list[Line]) -> Range:
    """Price of one pack: the lines' own where they agree, else their mean by quantity [$]."""
    first = lines[0].pack_usd
    needed = sum(line.quantity.typical for line in lines)
    if needed <= 0 or all(line.pack_usd == first for line in lines):
        return first
    return sum(
        (line.pack_usd.scaled(line.quantity.typical / needed) for line in lines),
        start=Range.exactly(0.0),
    )
