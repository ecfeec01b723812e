"""One home as a printed report that can be handed to a partner or a lender."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from itertools import groupby

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding
from scorer.money.home_money import HomeMoney
from scorer.money.rent_evidence import THIN_EVIDENCE
from scorer.records import Quantiles, Range
from scorer.report.deal import SOURCES as DEAL_SOURCES
from scorer.report.deal import deal_pages
from scorer.report.paper import MARGIN_MM, Paper
from scorer.report.table import (
    NEVER,
    NOT_AN_APPRAISAL,
    NOTHING,
    aim_words,
    days_of,
    hours_words,
    limits_words,
    money_words,
    most_to_pay_words,
    payback_of,
)
from scorer.report.viewing import PairPicture, ViewingPicture, pair_rows, viewing_strip
from scorer.scope.plan import Keep
from scorer.scope.purchases import packs_words
from scorer.settings import Settings
from scorer.shortlist.result import HomeResult

LICENSED_WORK = (
    "Work on wiring, gas, plumbing, lead paint, asbestos, mold or structure belongs to licensed "
    "people under local codes."
)


NEVER_WORDS = (
    "Payback never: in more than one of ten outcomes the rent rise does not pay for the work, or "
    "the middle outcome takes over 30 years."
)


def home_report_pdf(
    result: HomeResult,
    photos: Mapping[str, bytes],
    written_at: datetime,
    deal: HomeMoney | None = None,
    viewing: Sequence[ViewingPicture] = (),
    pairs: Sequence[PairPicture] = (),
    settings: Settings | None = None,
) -> bytes:
    """Write the report.

    Parameters
    ----------
    result
        The screened home; every figure is the record's own.
    photos
        JPEGs by the photo's name, upright and without metadata; photos that are missing are left
        out.
    written_at
        Printed at the foot; the same record, photos and time give the same bytes.
    deal
        Loan, taxes, and work now against letting as it is; left out if None.
    viewing
        Photos from the viewing; each stands below the findings of its room.
    pairs
        Photos of finished work, each beside one from before; left out if there are none.
    settings
        The limits that the work was chosen within, printed above it; left out if None.

    Returns
    -------
    bytes
        A PDF with selectable text and embedded fonts.
    """
    name = result.listing.address or result.home
    paper = Paper(name, written_at)
    _cover(paper, result, name, photos)
    _findings(paper, result, photos, viewing)
    _scope(paper, result, settings)
    _shopping(paper, result)
    _calendar(paper, result)
    if pairs:
        paper.heading("Before and after", room_mm=120.0)
        pair_rows(paper, pairs)
    _money(paper, result)
    if deal is not None:
        deal_pages(paper, deal)
    _unknown(paper, result, deal)
    return bytes(paper.output())


def _cover(paper: Paper, result: HomeResult, name: str, photos: Mapping[str, bytes]) -> None:
    paper.add_page()
    paper.heading(name, 20)
    facts = [fact.replace(" ", "\u00a0") for fact in _facts(result)]
    paper.words("  ·  ".join(facts) or "No facts given.")
    lead = next((photos[p.name] for p in result.listing.photos if p.name in photos), None)
    if lead is not None:
        width = paper.epw * 0.72
        paper.image(io.BytesIO(lead), w=width, alt_text=f"Photo of {name}")
        paper.ln(4)
    outcome, scope = result.outcome, result.scope
    most = max(outcome.cost_usd.p90, 1.0)
    lift_most = max(outcome.rent_lift_month_usd.p90, 1.0)
    paper.range_bar("Cost", *_three(outcome.cost_usd), most, _dollars(outcome.cost_usd))
    paper.range_bar(
        "Rent rise a month",
        *_three(outcome.rent_lift_month_usd),
        lift_most,
        _dollars(outcome.rent_lift_month_usd),
    )
    paper.ln(1)
    rows = [
        ("Checklist score, 0 to 100", f"{result.score:.0f}"),
        ("Payback", payback_of(result)),
        ("Chance that it pays back in time", f"{outcome.payback_within_limit:.0%}"),
        ("Most to pay for the target return", most_to_pay_words(result)),
        ("Own and hired hours", f"{hours_words(scope.hours)} h"),
        ("Weeks of work", _span(scope.weeks, "{:.1f}")),
    ]
    paper.grid(("Figure", "Estimate"), rows, (3, 2), right=(1,))
    paper.points(result.reasons, "No reasons.")
    paper.words(f"{NOT_AN_APPRAISAL} {THIN_EVIDENCE} {LICENSED_WORK}", 8.0)


def _facts(result: HomeResult) -> list[str]:
    facts = result.listing
    beds, baths, units = facts.bedrooms, facts.bathrooms, facts.units
    found = [
        (facts.list_price_usd, "asking ${:,.0f}"),
        (beds, "{} bedroom" if beds == 1 else "{} bedrooms"),
        (baths, "{} bathroom" if baths == 1 else "{} bathrooms"),
        (units if units and units > 1 else None, "{} units"),
        (facts.living_area_sqft, "{:,.0f} sq ft"),
        (facts.year_built, "built {}"),
        (facts.monthly_rent_usd, "rent now ${:,.0f} a month"),
        (facts.annual_tax_usd, "tax ${:,.0f} a year"),
    ]
    return [form.format(value) for value, form in found if value is not None]


def _findings(
    paper: Paper,
    result: HomeResult,
    photos: Mapping[str, bytes],
    viewing: Sequence[ViewingPicture],
) -> None:
    paper.add_page()
    paper.heading("What was found")
    paper.words(
        "A photo suggests, a person decides: what was tagged at the viewing outranks what a photo "
        "suggested. Severity runs from 1, slight, to 3, severe."
    )
    findings = sorted(result.findings, key=lambda f: (f.room, f.rejected, -f.severity))
    taken: dict[str, list[ViewingPicture]] = {}
    for picture in viewing:
        taken.setdefault(picture.room, []).append(picture)
    if not findings:
        paper.words("Nothing was found.")
    for room, group in groupby(findings, key=lambda f: f.room):
        rows = list(group)
        shown = dict.fromkeys(
            e.photo for f in rows for e in f.evidence if e.photo and e.photo in photos
        )
        paper.heading(room.capitalize(), 11, level=1, room_mm=105.0 if shown else 55.0)
        _strip(paper, [photos[str(photo)] for photo in list(shown)[:3]], room)
        paper.grid(
            ("Condition", "Severity", "How sure", "Evidence"),
            [_finding_row(f) for f in rows],
            (4, 1.3, 1.6, 6),
        )
        viewing_strip(paper, taken.pop(room, ()))
    for room, pictures in taken.items():
        paper.heading(room.capitalize(), 11, level=1, room_mm=105.0)
        viewing_strip(paper, pictures)


def _strip(paper: Paper, pictures: Sequence[bytes], room: str) -> None:
    if not pictures:
        return
    width, gap = (paper.epw - 8) / 3, 4.0
    if paper.get_y() > paper.h - 75:
        paper.add_page()
    top, lowest = paper.get_y(), 0.0
    for at, picture in enumerate(pictures):
        drawn = paper.image(
            io.BytesIO(picture),
            x=MARGIN_MM + at * (width + gap),
            y=top,
            w=width,
            h=width * 0.7,
            keep_aspect_ratio=True,
            alt_text=f"Photo of the {room}",
        )
        lowest = max(lowest, drawn.rendered_height)
    paper.set_y(top + lowest + 2)


def _finding_row(finding: Finding) -> tuple[str, str, str, str]:
    condition = load_conditions().get(finding.condition)
    label = condition.label if condition else finding.condition.replace("_", " ")
    if finding.rejected:
        sure = "looked: not so"
    elif finding.by_person:
        sure = "seen by a person"
    else:
        sure = f"{finding.certainty:.0%}"
    evidence = "; ".join(
        " ".join(part for part in (e.photo, e.figure) if part) for e in finding.evidence
    )
    note = condition is not None and condition.polarity == "note"
    grade = "a note" if note else "sound" if finding.severity == 0 else str(finding.severity)
    return label, grade, sure, evidence


def _scope(paper: Paper, result: HomeResult, settings: Settings | None) -> None:
    scope = result.scope
    paper.heading("Scope of work")
    if settings is not None:
        paper.words(f"Chosen for {aim_words(settings)}. {limits_words(settings)}")
    if scope.holds:
        paper.words("First, before any work that would cover it:")
        rows = [
            (h.room.capitalize(), h.label, h.who, _span(h.allowance_usd, "${:,.0f}"), h.caution)
            for h in scope.holds
        ]
        head = ("Room", "What", "Who must look", "Allowance", "Caution")
        paper.grid(head, rows, (1.6, 3.2, 2.2, 1.9, 4), right=(3,))
    if not scope.options:
        paper.words("No work is worth its cost within the limits given.")
        return
    options = [
        (
            o.room.capitalize(),
            o.label,
            _span(o.cost_usd, "${:,.0f}"),
            hours_words(o.hours),
            _span(o.rent_month_usd, "${:,.0f}"),
        )
        for o in scope.options
    ]
    total = (
        "All together",
        "",
        _span(scope.cost_usd, "${:,.0f}"),
        hours_words(scope.hours),
        _span(scope.rent_month_usd, "${:,.0f}"),
    )
    head = ("Room", "Work, in order", "Cost", "Hours", "Rent a month")
    paper.grid(head, [*options, total], (1.8, 5, 2.3, 1.4, 1.8), right=(2, 3, 4))
    paper.words(
        "All together is what it costs if all of it turns out to be needed; the figures on the "
        "first page weigh how sure that is.",
        8.0,
    )
    _keeps(paper, scope.keeps)
    cautions = list(dict.fromkeys(c for o in scope.options for c in o.cautions))
    if cautions:
        paper.heading("Cautions", 11, level=1)
        paper.points(cautions, "")
    if scope.left_out:
        paper.heading("Left out", 11, level=1)
        left_out = [
            f"{item.option.partition(':')[0].capitalize()}: {item.label}. {item.reason}"
            for item in scope.left_out[:20]
        ]
        paper.points(left_out, "")


def _keeps(paper: Paper, keeps: Sequence[Keep]) -> None:
    """What stays as it is, and what is made good instead of replaced; rooms alike on one line."""
    rooms: dict[str, list[Keep]] = {}
    for keep in keeps:
        rooms.setdefault(keep.label, []).append(keep)
    sound: list[str] = []
    made_good: list[str] = []
    for label, alike in rooms.items():
        line = f"{', '.join(k.room for k in alike).capitalize()}: {label}"
        saved = sum(k.saves_usd or 0.0 for k in alike)
        if alike[0].saves_usd is None:
            sound.append(line)
        else:
            made_good.append(f"{line} (saves about {money_words(saved)})")
    paper.heading("Sound: keep as it is", 11, level=1)
    paper.points(sound, "Nothing was found that is worth keeping as it is.")
    if made_good:
        paper.heading("Made good, not replaced", 11, level=1)
        paper.points(made_good, "")


def _shopping(paper: Paper, result: HomeResult) -> None:
    rows = [
        (
            p.label,
            _amount(p.quantity, p.unit),
            packs_words(p.buy, p.pack),
            _amount(p.left_over, p.unit),
            _span(p.cost_usd, "${:,.0f}"),
        )
        for p in result.scope.purchases
    ]
    if rows:
        paper.heading("Shopping list")
        head = ("Material", "Needed", "Buy", "Left over", "Cost")
        paper.grid(head, rows, (4.4, 2, 2.8, 1.8, 2.2), right=(1, 3, 4))


def _calendar(paper: Paper, result: HomeResult) -> None:
    tasks = result.scope.calendar
    if not tasks:
        return
    paper.heading("Calendar")
    rows = [
        (
            " to ".join(dict.fromkeys(str(day) for day in days_of(t))),
            t.room.capitalize(),
            t.label,
            hours_words(Range.exactly(t.hours)) if t.kind == "work" else "–",
        )
        for t in tasks
    ]
    paper.grid(("Days", "Room", "Work", "Hours"), rows, (1.4, 2, 7, 1.2), right=(3,))


def _money(paper: Paper, result: HomeResult) -> None:
    outcome = result.outcome
    paper.heading("What the money may earn", room_mm=75.0)
    payback = payback_of(result)
    told = payback in {NEVER, NOTHING}  # no figures where the first page has none
    months = ("–", payback, "–") if told else _figures(outcome.payback_months, "{:,.0f}".format)
    rows = [
        ("Cost", *_figures(outcome.cost_usd, money_words)),
        ("Rent rise a month", *_figures(outcome.rent_lift_month_usd, money_words)),
        ("Payback, months", *months),
        ("Return on cost a year", *_figures(outcome.return_on_cost, "{:.0%}".format)),
        ("Value created", *_figures(outcome.value_created_usd, money_words)),
        ("Net gain over the time you keep it", *_figures(outcome.net_gain_usd, money_words)),
        ("Rent lost during the work", "", f"${outcome.lost_rent_usd:,.0f}", ""),
    ]
    head = ("Figure", "1 in 10 below", "Middle", "1 in 10 above")
    paper.grid(head, rows, (4, 2, 2, 2), right=(1, 2, 3))
    if payback == NEVER:
        paper.words(NEVER_WORDS, 8.0)
    if outcome.drivers:
        paper.keep_room(80.0)
        paper.words("What moves the net gain most, from -1 to 1 (rank correlation over all draws):")
        rows_of = [(d.name, f"{d.correlation:+.2f}") for d in outcome.drivers[:8]]
        paper.grid(("What", "How strongly"), rows_of, (4, 1), right=(1,))


def _unknown(paper: Paper, result: HomeResult, deal: HomeMoney | None) -> None:
    paper.heading("What is not known")
    sentences = [*(u.sentence for u in result.unseen), *result.missing_facts, *result.errors]
    paper.points(sentences, "Every room was seen and no fact is missing.")
    sources = list(
        dict.fromkeys(
            [*(o.source for o in result.scope.options), *(h.source for h in result.scope.holds)]
        )
    )
    paper.heading("Sources", 11, level=1)
    paper.points([s for s in (*sources, *(DEAL_SOURCES if deal else ())) if s], "None.")


def _amount(value: float, unit: str) -> str:
    if not round(value, 1):
        return "–"
    words = f"{value:,.1f}".removesuffix(".0")
    return words if unit == "each" else f"{words} {unit}"


def _three(figure: Quantiles) -> tuple[float, float, float]:
    return figure.p10, figure.p50, figure.p90


def _dollars(figure: Quantiles) -> str:
    return (
        f"{money_words(figure.p10)} to {money_words(figure.p90)}, middle {money_words(figure.p50)}"
    )


def _figures(figure: Quantiles | None, words: Callable[[float], str]) -> tuple[str, str, str]:
    if figure is None:
        return "–", "–", "–"
    return words(figure.p10), words(figure.p50), words(figure.p90)


def _span(figure: Range, form: str) -> str:
    low, high = form.format(figure.low), form.format(figure.high)
    return low if low == high else f"{low} to {high}"
