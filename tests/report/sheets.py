"""Sheets of a workbook whose formulas are worked out by a program that is not ours."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import numpy_financial as npf
import openpyxl

FUNCTIONS: dict[str, Callable[..., Any]] = {
    "PMT": lambda rate, count, present: float(npf.pmt(rate, count, present)),
    "FV": lambda rate, count, paid, present: float(npf.fv(rate, count, paid, present)),
    "NPV": lambda rate, flows: float(npf.npv(rate, [0.0, *flows])),
    "IRR": lambda flows: float(npf.irr(flows)),
    "IF": lambda test, yes, no: yes if test else no,
    "OR": lambda *tests: any(tests),
    "MIN": min,
    "MAX": max,
    "SUM": sum,
}


class Sheet:
    """A sheet whose formulas are worked out anew, with numpy-financial for Excel's functions.

    Excel's NPV discounts its first flow by a year, numpy-financial's does not.
    """

    def __init__(self, content: bytes, name: str) -> None:
        self.cells = openpyxl.load_workbook(io.BytesIO(content))[name]

    def __getitem__(self, place: str) -> Any:
        value = self.cells[place].value
        if not isinstance(value, str) or not value.startswith("="):
            return value
        text = value[1:].replace("$", "").replace("^", "**")
        text = re.sub(r"([A-Z])(\d+):([A-Z])(\d+)", r"several('\1', \2, \4)", text)
        text = re.sub(r"(?<![\w'])([A-Z]\d+)\b", r"one('\1')", text)
        with np.errstate(divide="ignore", invalid="ignore"):  # Excel skips what IF does not take
            return eval(text, {**FUNCTIONS, "one": self.one, "several": self.several})

    def one(self, place: str) -> Any:
        value = self[place]
        return np.float64(value) if isinstance(value, int | float) else value

    def several(self, column: str, first: int, last: int) -> list[float]:
        return [self[f"{column}{row}"] for row in range(first, last + 1)]

    def row(self, name: str) -> int:
        rows = [c.row for c in self.cells["A"] if c.value == name]
        assert rows, name
        return rows[0]

    def formulas(self) -> Iterator[str]:
        """Places of all formulas."""
        for row in self.cells.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    yield cell.coordinate
