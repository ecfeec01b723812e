"""The viewing sheet: one file to take along, filled in without a network, and merged back."""

from scorer.sheet.answers import Conflict, Merged, SheetAnswers, merge_answers, read_answers
from scorer.sheet.build import viewing_sheet_html
from scorer.sheet.printed import viewing_sheet_pdf

__all__ = [
    "Conflict",
    "Merged",
    "SheetAnswers",
    "merge_answers",
    "read_answers",
    "viewing_sheet_html",
    "viewing_sheet_pdf",
]
