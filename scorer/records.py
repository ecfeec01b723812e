"""Building blocks that every stage's records share."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Probability = Annotated[float, Field(ge=0.0, le=1.0)]


class Record(BaseModel):
    """A small frozen record that can be written to JSON and read back unchanged."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Range(Record):
    """A low, typical and high figure; the unit is in the name of the field that holds it.

    Low and high are meant as the 10th and 90th percentile, not as the worst and best case.
    """

    low: float
    typical: float
    high: float

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.typical <= self.high:
            raise ValueError(
                f"low, typical and high must rise: {self.low:g}, {self.typical:g}, {self.high:g}"
            )
        return self

    @classmethod
    def exactly(cls, value: float) -> Range:
        """A figure known without doubt."""
        return cls(low=value, typical=value, high=value)

    def __add__(self, other: Range) -> Range:
        return Range(
            low=self.low + other.low,
            typical=self.typical + other.typical,
            high=self.high + other.high,
        )

    def scaled(self, factor: float) -> Range:
        """Every figure times a factor that is not negative."""
        if factor < 0:
            raise ValueError(f"factor must not be negative: {factor:g}")
        return Range(low=self.low * factor, typical=self.typical * factor, high=self.high * factor)

    def times(self, other: Range) -> Range:
        """Product of two ranges of figures that are not negative (low with low, high with high)."""
        if self.low < 0 or other.low < 0:
            raise ValueError("both ranges must not be negative")
        return Range(
            low=self.low * other.low,
            typical=self.typical * other.typical,
            high=self.high * other.high,
        )


class Quantiles(Record):
    """The 10th, 50th and 90th percentile of a figure that is drawn at random."""

    p10: float
    p50: float
    p90: float
