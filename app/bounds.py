"""Least and most of a field of numbers, as the record that keeps it has them."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel


def bounds(record: type[BaseModel], field: str, step: float = 1.0) -> dict[str, Any]:
    """What ``st.number_input`` needs for a field of a record: bounds, step and format.

    Parameters
    ----------
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
    if kind["type"] == "integer":
        return {"min_value": int(least), "max_value": int(kind["maximum"]), "step": int(step)}
    digits = 0 if step == round(step) else 1
    return {
        "min_value": float(least), "max_value": float(kind["maximum"]), "step": float(step),
        "format": f"%.{digits}f",
    }  # fmt: skip
