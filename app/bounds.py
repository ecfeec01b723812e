"""Least and most of a field of numbers, as the record that keeps it has them."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel


def bounds(
    record: type[BaseModel], field: str, value: float | None = None, step: float = 1.0
) -> dict[str, Any]:
    """What ``st.number_input`` needs for a field of a record: bounds, value, step and format.

    Parameters
    ----------
    value
        What stands in the field; None is empty.
    step
        Of the field's buttons; where the least value itself is left out (above zero), the least
        that can be typed lies one above it.

    Returns
    -------
    dict
        All whole numbers where the record wants a whole number, else none.
    """
    schema = record.model_json_schema()["properties"][field]
    kinds = [schema, *schema.get("anyOf", ())]  # a field that may be unknown has its kinds there
    kind = next(k for k in kinds if k.get("type") in {"integer", "number"})
    least = kind["minimum"] if "minimum" in kind else kind["exclusiveMinimum"] + 1
    number = int if kind["type"] == "integer" else float
    found: dict[str, Any] = {
        "min_value": number(least),
        "max_value": number(kind["maximum"]),
        "value": None if value is None else number(value),
        "step": number(step),
    }
    if number is float:
        found["format"] = "%.0f" if step == round(step) else "%.1f"
    return found
