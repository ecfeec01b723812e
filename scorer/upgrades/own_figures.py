"""A user's own figure in a row of the price book or of the wages."""

from __future__ import annotations

from datetime import date
from typing import Any

from scorer.conditions.data_file import AnyRecord, checked

STEPS = ("low", "typical", "high")


def with_own_figure(
    row: AnyRecord, field: str, value: object, label: str, on: date, source: str = "own figure"
) -> AnyRecord:
    """The row with one field changed, dated, and the user as its source.

    Where the figure is one of a low, a typical and a high one, the others give way as far as they
    must for the three to rise: who types a typical price above the high one has moved both.

    Parameters
    ----------
    row
        A :class:`~scorer.upgrades.price_rows.PriceRow` or ``Wage``.
    field
        Name of the field.
    label
        The row as an error should name it.
    on
        The day of the change.
    source
        Written as the row's source, unless that is the field that is changed.

    Raises
    ------
    InputError
        Naming row and field, if the value is not possible.
    """
    changed: dict[str, Any] = {
        **row.model_dump(),
        "source": source,
        "date": on.isoformat(),
        field: value,
    }
    parts = field.split("_")
    step = next((part for part in parts if part in STEPS), None)
    if step is not None and isinstance(value, int | float):
        for other in STEPS:
            name = "_".join(other if part == step else part for part in parts)
            bound = max if STEPS.index(other) > STEPS.index(step) else min
            changed[name] = value if other == step else bound(changed[name], value)
    return checked(type(row), changed, label)
