"""The user's assumptions of loan and taxes, kept, and what they make of a home."""

from __future__ import annotations

from pydantic import ValidationError

from scorer.money.home_money import HomeMoney, MoneyInput, home_money
from scorer.workspace.workspace import Screened, Workspace

ASSUMPTIONS = "loan and tax assumptions"
PRICES = "prices to pay"


def money_input(space: Workspace) -> MoneyInput:
    """The user's assumptions; the usual ones if there are none."""
    try:
        return MoneyInput.model_validate(space.store.value(ASSUMPTIONS) or {})
    except ValidationError:  # kept by another version of the program
        return MoneyInput()


def save_money_input(space: Workspace, given: MoneyInput) -> None:
    """Keep the assumptions; they hold for all homes."""
    space.store.save_value(ASSUMPTIONS, given.model_dump())


def price_to_pay(space: Workspace, item: Screened) -> float | None:
    """What the user would pay for a home [$], else the asking price; None if neither is known."""
    prices = space.store.value(PRICES) or {}
    own: float | None = prices.get(item.home.listing.home)
    return item.home.listing.list_price_usd if own is None else own


def save_price_to_pay(space: Workspace, item: Screened, price_usd: float | None) -> None:
    """Keep what the user would pay for a home; None goes back to the asking price."""
    space.store.change_value(PRICES, {item.home.listing.home: price_usd})


def money_of(space: Workspace, item: Screened) -> HomeMoney | None:
    """Loan, depreciation, and work now or never, of a home; None without a price or a rent."""
    result = item.result
    return home_money(
        result.listing,
        result.scope,
        result.outcome,
        space.evidence(result).present_rent_usd.typical,
        space.store.settings(),
        money_input(space),
        price_to_pay(space, item),
    )
