"""Screened homes as CSV, JSON, text, PDF and Excel."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scorer.report.contract import home_object, json_parts, to_json
    from scorer.report.pdf import home_report_pdf
    from scorer.report.spreadsheet import csv_parts, safe_cell, to_csv
    from scorer.report.table import ranked_table, side_by_side
    from scorer.report.workbook import home_workbook

# Imported on first use, so that the command line starts without what draws PDF.
_HOME = {
    "csv_parts": "spreadsheet",
    "home_object": "contract",
    "home_report_pdf": "pdf",
    "home_workbook": "workbook",
    "json_parts": "contract",
    "ranked_table": "table",
    "safe_cell": "spreadsheet",
    "side_by_side": "table",
    "to_csv": "spreadsheet",
    "to_json": "contract",
}

__all__ = [
    "csv_parts",
    "home_object",
    "home_report_pdf",
    "home_workbook",
    "json_parts",
    "ranked_table",
    "safe_cell",
    "side_by_side",
    "to_csv",
    "to_json",
]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
