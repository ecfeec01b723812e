"""Screened homes as CSV, JSON and text."""

from scorer.report.contract import home_object, to_json
from scorer.report.spreadsheet import safe_cell, to_csv
from scorer.report.table import ranked_table, side_by_side

__all__ = ["home_object", "ranked_table", "safe_cell", "side_by_side", "to_csv", "to_json"]
