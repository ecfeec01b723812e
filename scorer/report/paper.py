"""The look of the printed report: fonts, headings, tables and range bars."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from importlib.resources import files

from fpdf import FPDF
from fpdf.enums import TableBordersLayout, VAlign, XPos, YPos
from fpdf.fonts import FontFace

INK = (34, 48, 44)
SOFT = (232, 239, 233)
MARK = (31, 95, 77)
LINE = (201, 197, 184)
FAMILY = "report"
MARGIN_MM = 18.0


class Paper(FPDF):
    """Letter-size pages with the home's name and page numbers at the foot."""

    def __init__(self, title: str, written_at: datetime) -> None:
        super().__init__(orientation="portrait", unit="mm", format="letter")
        fonts = files("scorer.report").joinpath("fonts")
        self.add_font(FAMILY, "", str(fonts.joinpath("DejaVuSans.ttf")))
        self.add_font(FAMILY, "B", str(fonts.joinpath("DejaVuSans-Bold.ttf")))
        self.set_title(title)
        self.set_lang("en-US")
        self.set_creation_date(written_at)
        self.set_margins(MARGIN_MM, MARGIN_MM, MARGIN_MM)
        self.c_margin = 0.0  # text begins where pictures and tables do
        self.set_auto_page_break(True, margin=20.0)
        self.foot = f"{title} · {written_at:%Y-%m-%d} · estimates, not appraisals"
        self.plain()

    def footer(self) -> None:
        """Called by the library at the end of every page."""
        self.set_y(-14)
        self.plain(7.5)
        self.cell(self.epw - 20, 5, self.foot)
        self.cell(20, 5, f"{self.page_no()} / {{nb}}", align="R")

    def plain(self, size: float = 9.5, bold: bool = False) -> None:
        """Back to running text."""
        self.set_font(FAMILY, "B" if bold else "", size)
        self.set_text_color(*INK)

    def heading(self, text: str, size: float = 14.0, level: int = 0, room_mm: float = 55.0) -> None:
        """A heading and outline entry, on a new page if less than ``room_mm`` is left below."""
        self.keep_room(room_mm)
        self.start_section(text, level=level)
        self.ln(3)
        self.plain(size, bold=True)
        self.set_text_color(*MARK)
        self.multi_cell(0, size * 0.5, text, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.plain()
        self.ln(1)

    def keep_room(self, room_mm: float) -> None:
        """Go on at the top of a new page if less than ``room_mm`` is left below."""
        if self.get_y() > self.h - room_mm:
            self.add_page()

    def words(self, text: str, size: float = 9.5) -> None:
        """A paragraph."""
        self.plain(size)
        self.multi_cell(0, size * 0.5, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(1)

    def points(self, sentences: Sequence[str], none: str) -> None:
        """A list, or the words that say that it is empty."""
        for sentence in sentences or (none,):
            self.plain()
            left = self.l_margin
            self.set_x(left)
            self.cell(4, 4.8, "–" if sentences else "")
            self.multi_cell(0, 4.8, sentence, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(1)

    def grid(
        self,
        head: Sequence[str],
        rows: Sequence[Sequence[str]],
        widths: Sequence[float],
        right: Sequence[int] = (),
    ) -> None:
        """A table with ruled rows; ``right`` names the columns of figures."""
        aligns = tuple("RIGHT" if at in right else "LEFT" for at in range(len(head)))
        self.plain(8.0)
        self.set_draw_color(*LINE)
        with self.table(
            col_widths=tuple(widths),
            text_align=aligns,
            borders_layout=TableBordersLayout.HORIZONTAL_LINES,
            headings_style=FontFace(emphasis="BOLD", fill_color=SOFT, color=INK),
            line_height=4.4,
            padding=(0.7, 1.2),
            v_align=VAlign.T,
        ) as table:
            for cells in [head, *rows]:
                row = table.row()
                for cell in cells:
                    row.cell(cell)
        self.plain()
        self.ln(2)

    def range_bar(
        self, label: str, low: float, middle: float, high: float, most: float, text: str
    ) -> None:
        """A bar from the 10th to the 90th percentile, with a tick at the middle."""
        if self.get_y() > self.h - 30:
            self.add_page()
        self.plain(8.5)
        top, left, room = self.get_y(), self.l_margin + 48, self.epw - 48 - 62
        self.cell(48, 6, label)
        self.set_draw_color(*LINE)
        self.line(left, top + 3, left + room, top + 3)
        scale = room / most if most > 0 else 0.0
        start, end = max(low, 0.0) * scale, max(high, 0.0) * scale
        self.set_fill_color(*MARK)
        self.rect(left + start, top + 1.6, max(end - start, 0.6), 2.8, style="F")
        self.set_fill_color(255, 255, 255)
        self.rect(left + max(middle, 0.0) * scale - 0.35, top + 1.6, 0.7, 2.8, style="F")
        self.set_xy(left + room + 3, top)
        self.cell(59, 6, text, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
