"""The look: rules that the theme can't express, and small drawings made of plain boxes."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from app.figures import local, money_range, number
from scorer.records import Quantiles
from scorer.report.bars import place_on_scale, range_bar
from scorer.report.table import days_of
from scorer.scope.plan import Task

CSS = """
.block-container { max-width: 78rem; padding-top: 1rem; padding-bottom: 4.5rem; }
[data-testid="stHeader"] { background: none; pointer-events: none; }
.st-key-pages { gap: .3rem !important; border-bottom: 1px solid light-dark(#c9c5b8, #4b5450);
  padding-bottom: .5rem; }
.st-key-pages a { padding: .45rem .8rem; border-radius: .5rem; }
div[class*="st-key-page_now_"] a { background: light-dark(#efece3, #27332f); }
div[class*="st-key-page_now_"] a p { font-weight: 650; }
:is(.st-key-pages a, [data-testid="stPageLink"] a):focus-visible { border-radius: .5rem;
  outline: 2px solid light-dark(#1f5f4d, #8fd0b8) !important; outline-offset: 1px; }
.st-key-drafts { display: none; }
.stApp { font-variant-numeric: tabular-nums; }
h1 { font-size: 1.9rem !important; padding: 0 0 .5rem 0 !important; }
h2 { font-size: 1.35rem !important; } h3 { font-size: 1.12rem !important;
  padding: .3rem 0 .35rem 0 !important; }
div[data-testid="stMetricValue"] { font-size: 1.45rem; }
div[data-testid="stImage"] img { border-radius: .5rem; object-fit: cover; }
div[class*="st-key-lead_"] img { aspect-ratio: 3 / 2; width: 100%; }
button[data-selected="true"], button[data-selected="true"] p {
  color: light-dark(#1f5f4d, #8fd0b8) !important; }
button[data-variant] { min-height: 2.5rem; }
.st-key-plan img { background: #ffffff; padding: .5rem; }
button[kind] { min-height: 2.75rem; }
.va-reasons { margin: .1rem 0 .4rem 0; padding-left: 1.1rem; }
.va-reasons li { margin: .15rem 0; line-height: 1.4; }
.va-quiet { opacity: .78; font-size: .9rem; margin: .1rem 0; }
.va-figure { margin: .15rem 0 .05rem 0; font-size: .92rem; display: flex;
  justify-content: space-between; gap: .6rem; flex-wrap: wrap; }
.va-figure b { font-weight: 600; }
.va-track { position: relative; height: .7rem; margin: .15rem 0 .6rem 0; }
.va-track span { position: absolute; background: currentColor; }
.va-line { left: 0; right: 0; top: calc(50% - .5px); height: 1px; opacity: .3; }
.va-range { top: .1rem; bottom: .1rem; border-radius: .25rem; opacity: .45; min-width: 3px; }
.va-middle { top: 0; bottom: 0; width: 3px; margin-left: -1px; border-radius: 1px; }
.va-zero { top: -.1rem; bottom: -.1rem; width: 1px; opacity: .7; }
.va-gain { color: light-dark(#1d4b5c, #a9d3e0); }
.va-cost { color: light-dark(#8a5a1d, #e3b678); } .va-rent { color: light-dark(#1f5f4d, #8fd0b8); }
.va-badge { display: inline-block; border: 1px solid currentColor; border-radius: .8rem;
  padding: .05rem .65rem; font-size: .86rem; margin: .3rem .3rem .3rem 0; }
.va-stop { color: light-dark(#9b2c1c, #f2a898); }
.va-days { display: grid; grid-template-columns: minmax(9rem, 17rem) 1fr; gap: .15rem .8rem;
  font-size: .9rem; align-items: center; }
.va-day { position: relative; height: 1.1rem; border-left: 1px solid currentColor; }
.va-day span { position: absolute; top: .15rem; bottom: .15rem; min-width: 4px;
  border-radius: .2rem; background: light-dark(#1f5f4d, #8fd0b8); }
.va-day .va-look { background: light-dark(#9b2c1c, #f2a898); }
.va-side { display: grid; grid-template-columns: repeat(var(--homes), minmax(0, 1fr));
  column-gap: 2rem; }
.va-side section { display: grid; grid-row: span var(--rows); grid-template-rows: subgrid;
  row-gap: 0; }
.va-side section > div { min-width: 0; } .va-side h3 { margin: 0; }
.va-side .va-figure { flex-wrap: nowrap; } .va-side .va-figure span { text-align: right; }
.va-table { border-collapse: collapse; width: 100%; max-width: 46rem; font-size: .95rem; }
.va-table th, .va-table td { padding: .35rem .5rem; border-bottom: 1px solid
  light-dark(#c9c5b8, #4b5450); text-align: right; font-weight: 400; }
.va-table thead th { font-weight: 600; vertical-align: bottom; }
.va-table th:first-child { text-align: left; padding-left: 0; }
[data-testid="stFileUploaderDropzoneInstructions"] * { white-space: normal !important; }
div[class*="st-key-written_"] { margin: -.75rem 0 -.25rem .8rem; }
div:has(> .st-key-said) { position: absolute; }
.st-key-said { position: fixed; bottom: .8rem; left: 0; right: 0; margin: 0 auto; z-index: 99;
  width: fit-content !important; max-width: min(44rem, calc(100vw - 1.6rem)); }
.st-key-said > * { background: light-dark(#fbfaf6, #1b211f); border-radius: .5rem; }
.st-key-undo_bar { border: 1px solid light-dark(#1f5f4d, #8fd0b8); border-radius: .5rem;
  padding: .4rem .8rem; box-shadow: 0 2px 10px rgba(0, 0, 0, .25); }
div[class*="st-key-home_now_"] { outline: 2px solid light-dark(#1f5f4d, #8fd0b8);
  outline-offset: 2px; border-radius: .5rem; }
[data-testid="stCaptionContainer"], [data-testid="stCaptionContainer"] p,
[data-testid="stImageCaption"] { color: light-dark(#4d5955, #c3c5bd) !important; opacity: 1; }
input::placeholder, textarea::placeholder { color: light-dark(#56615d, #b9bcb4) !important;
  opacity: 1; }
@media (max-width: 640px) {
  .st-key-keys { display: none; }
  :is(.st-key-limits, .st-key-facts, .st-key-numbers, .st-key-assumed, .st-key-room, .st-key-idea,
  .st-key-rent_figures, div[class*="st-key-sizes_"],
  div[class*="st-key-side_"]) [data-testid="stColumn"] {
    min-width: 44% !important; flex: 1 1 44% !important; }
  div[class*="st-key-side_"] [data-testid="stHorizontalBlock"] { gap: .8rem; }
  div[class*="st-key-side_"] [data-testid="stColumn"] { max-width: calc(50% - .4rem); }
  .block-container { padding: .8rem .9rem 4.5rem .9rem; }
  .st-key-pages { display: grid !important; grid-template-columns: repeat(3, 1fr);
    grid-auto-rows: 2.75rem; gap: .4rem !important; }
  .st-key-pages > div, .st-key-pages .stElementContainer { width: 100% !important; }
  .st-key-pages a { justify-content: center; height: 2.75rem; padding: .3rem .2rem;
    border: 1px solid light-dark(#c9c5b8, #4b5450); }
  .va-side { grid-template-columns: 1fr; row-gap: 1.4rem; }
  .va-side section { display: block; }
  .va-days { grid-template-columns: 1fr; } .va-day { margin-bottom: .4rem; }
}
@media (prefers-reduced-motion: reduce) { * { transition: none !important; } }
"""


def reasons_list(reasons: tuple[str, ...]) -> str:
    """The reasons as a short list."""
    items = "".join(f"<li>{escape(local(reason))}</li>" for reason in reasons)
    return f'<ul class="va-reasons">{items}</ul>'


def badge(words: str, kind: str = "") -> str:
    """A few words in a frame; ``kind`` is ``stop`` for what stops the work."""
    return f'<span class="va-badge va-{kind or "plain"}">{escape(words)}</span>'


def quiet(words: str) -> str:
    """A line of lesser weight."""
    return f'<p class="va-quiet">{escape(words)}</p>'


def figure_lines(rows: Sequence[tuple[str, str]]) -> str:
    """Names on the left, figures on the right."""
    return "".join(
        f'<div class="va-figure"><b>{escape(name)}</b><span>{escape(figure)}</span></div>'
        for name, figure in rows
    )


def figure_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A small table; the first column names the rows, the others hold figures."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    lines = "".join(
        f'<tr><th scope="row">{escape(name)}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in cells)
        + "</tr>"
        for name, *cells in rows
    )
    return f'<table class="va-table"><thead><tr>{top}</tr></thead><tbody>{lines}</tbody></table>'


def money_bar(label: str, figure: Quantiles, most: float, kind: str, least: float = 0.0) -> str:
    """A figure in words over its bar; all bars of a kind have one scale.

    Parameters
    ----------
    most, least
        Ends of the scale [$]; where it begins below zero, zero is marked.
    kind
        ``cost``, ``rent`` or ``gain``.
    """
    bar = range_bar(figure, most, least)
    zero = ""
    if least < 0:
        zero = f'<span class="va-zero" style="left:{place_on_scale(0.0, most, least):.2f}%"></span>'
    words = money_range(figure)
    return (
        f'<div class="va-figure"><b>{escape(label)}</b><span>{escape(words)}</span></div>'
        f'<div class="va-track va-{kind}" role="img" aria-label="{escape(f"{label}: {words}")}">'
        f'<span class="va-line"></span>{zero}'
        f'<span class="va-range" style="left:{bar.left:.2f}%;width:{bar.width:.2f}%"></span>'
        f'<span class="va-middle" style="left:{bar.middle:.2f}%"></span></div>'
    )


def side_by_side(columns: Sequence[Sequence[str]]) -> str:
    """Columns of pieces of HTML whose first pieces stand in one row, and so on; stacked on a phone.

    All columns have as many pieces.
    """
    sections = "".join(
        f"<section>{''.join(f'<div>{piece}</div>' for piece in column)}</section>"
        for column in columns
    )
    size = f"--homes:{len(columns)};--rows:{max(map(len, columns), default=1)}"
    return f'<div class="va-side" style="{size}">{sections}</div>'


def days(calendar: tuple[Task, ...]) -> str:
    """The calendar as bars over days; what must be looked at stands out."""
    end = max((task.end_day for task in calendar), default=0.0) or 1.0
    rows = []
    for task in calendar:
        left, width = 100 * task.start_day / end, 100 * (task.end_day - task.start_day) / end
        words = f"{task.room.capitalize()}: {task.label}"
        first, last = (number(day) for day in days_of(task))
        span = f"day {first}" if first == last else f"day {first} to {last}"
        # Whoever must look comes from elsewhere: those hours are not the user's.
        quieter = f"{span}, {number(task.hours, 1)} h" if task.hours else span
        kind = "va-look" if task.kind == "look" else "va-work"
        rows.append(
            f'<div>{escape(words)}<br><span style="opacity:.75">{quieter}</span></div>'
            f'<div class="va-day" role="img" aria-label="{escape(words)}, {span}">'
            f'<span class="{kind}" style="left:{left:.1f}%;width:{width:.1f}%"></span></div>'
        )
    return f'<div class="va-days">{"".join(rows)}</div>'
