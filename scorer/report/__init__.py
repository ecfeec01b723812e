"""Screened homes as CSV, JSON, text, PDF and Excel."""

from scorer.report.contract import home_object, json_parts, to_json
from scorer.report.pdf import home_report_pdf
from scorer.report.spreadsheet import safe_cell, to_csv
from scorer.report.table import ranked_table, side_by_side
from scorer.report.workbook import home_workbook

__all__ = [
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
