"""The viewing sheet on paper, to be filled in with a pen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from scorer.conditions.checklist import load_conditions
from scorer.conditions.findings import OpenQuestion
from scorer.report.paper import INK, LINE, Paper
from scorer.rooms import Room

BOX_MM = 3.6


def viewing_sheet_pdf(
    home: str,
    questions: Sequence[OpenQuestion],
    rooms: Sequence[Room],
    written_at: datetime,
    address: str = "",
) -> bytes:
    """Write the same questions as :func:`scorer.sheet.viewing_sheet_html`, room by room.

    Returns
    -------
    bytes
        A PDF with a box to tick for every answer and a line for notes.
    """
    paper = Paper(f"Viewing sheet: {address or home}", written_at)
    paper.add_page()
    paper.heading(f"Viewing sheet: {address or home}", 16)
    paper.words(
        "Tick what you see, graded from slight to severe. Don't touch suspect wiring, flooring or "
        "mold; leave gas, structure and the breaker panel to licensed people."
    )
    sizes = {room.name: room for room in rooms}
    by_room: dict[str, list[OpenQuestion]] = {name: [] for name in sizes}
    for question in questions:
        by_room.setdefault(question.room, []).append(question)
    for name, asked in by_room.items():
        paper.heading(name.capitalize(), 12, level=1)
        if name in sizes:
            paper.words(_size_line(sizes[name]))
        for question in asked:
            _ask(paper, question)
    return bytes(paper.output())


def _size_line(room: Room) -> str:
    parts = []
    for label, value in (
        ("length", room.length_ft),
        ("width", room.width_ft),
        ("height", room.height_ft),
    ):
        parts.append(f"{label} {value:g} ft" if value else f"{label} ______ ft")
    return ", ".join(parts).capitalize()


def _ask(paper: Paper, question: OpenQuestion) -> None:
    condition = load_conditions()[question.condition]
    if paper.get_y() > paper.h - 42:
        paper.add_page()
    paper.plain(9, bold=True)
    paper.multi_cell(0, 4.6, question.label, new_x="LMARGIN", new_y="NEXT")
    paper.plain(8.5)
    paper.multi_cell(0, 4.2, question.question, new_x="LMARGIN", new_y="NEXT")
    answers = ("Yes",) if not condition.severities else condition.severities
    for answer in ("Not so" if condition.severities else "No", *answers):
        top = paper.get_y()
        paper.set_draw_color(*INK)
        paper.rect(paper.l_margin + 1, top + 0.5, BOX_MM, BOX_MM)
        paper.set_x(paper.l_margin + BOX_MM + 3)
        paper.multi_cell(0, 4.6, answer, new_x="LMARGIN", new_y="NEXT")
    paper.set_draw_color(*LINE)
    line = paper.get_y() + 5
    paper.line(paper.l_margin, line, paper.w - paper.r_margin, line)
    paper.ln(7)
