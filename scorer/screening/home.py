"""One home through every stage: facts, readings and tags in, the whole result out."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding, Tag
from scorer.conditions.findings import apply_tags, suggest
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.listing.missing import missing_facts
from scorer.money import outcome_of
from scorer.money.comps import Comp
from scorer.money.learned_rent import evidence_with_catalogue, options_with_evidence
from scorer.money.lettings import RentCorrection, options_after_lettings
from scorer.photos.reading import Reading
from scorer.rooms import Room
from scorer.scope import ScopeInput, plan_scope
from scorer.screening.rooms import RoomPlan, rooms_of
from scorer.screening.tags import match_rooms
from scorer.settings import Settings
from scorer.shortlist.reasons import three_reasons, why_not_judged
from scorer.shortlist.result import HomeResult
from scorer.shortlist.score import checklist_score, families_shown
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.learning import Corrections, correct
from scorer.upgrades.options import build_options
from scorer.upgrades.pricebook import PriceBook, load_price_book
from scorer.upgrades.upgrade import Upgrade


def findings_of(
    listing: Listing, readings: Sequence[Reading], tags: Sequence[Tag], plan: RoomPlan
) -> tuple[tuple[Finding, ...], tuple[str, ...]]:
    """What photos and facts suggest, as a person's tags left it; sentences about unusable tags."""
    rooms = {room.name: room for room in plan.rooms}
    kinds = {room.name: room.kind for room in plan.rooms}
    shots: list[tuple[Reading, Room | None]] = [
        (reading, rooms.get(plan.photo_rooms.get(reading.file, "")))
        for reading in readings
        if reading.error is None
    ]
    matched, problems = match_rooms(tags, plan.rooms)
    usable, sentences = [], [f"{listing.home}/{problem}" for problem in problems]
    for tag in matched:
        try:
            apply_tags((), [tag], kinds)
        except InputError as error:
            sentences.append(f"{listing.home}: {error}")
        else:
            usable.append(tag)
    told = apply_tags((), usable, kinds)
    painted = {f.room for f in told if f.condition == "walls_covered" and f.rejected}
    return apply_tags(suggest(shots, listing, painted), usable, kinds), tuple(sentences)


def screen_home(
    listing: Listing,
    readings: Sequence[Reading],
    tags: Sequence[Tag],
    settings: Settings | None = None,
    catalogue: Sequence[Upgrade] | None = None,
    price_book: PriceBook | None = None,
    comps: Sequence[Comp] | None = None,
    *,
    must: Collection[str] = (),
    must_not: Collection[str] = (),
    corrections: Corrections | None = None,
    rent_correction: RentCorrection | None = None,
    errors: Sequence[str] = (),
) -> HomeResult:
    """Everything the program can say of one home; the same input gives the same result.

    Parameters
    ----------
    listing
        Facts of the home, each of which may be missing.
    readings
        One for each photo, ``Reading.file`` equal to ``PhotoFile.name``.
    tags
        What a person said; a tag outranks a reading. One that cannot be used leaves a sentence.
    settings
        The user's limits and assumptions; usual ones if None.
    catalogue, price_book
        Those of the package if None.
    comps
        Comparable rents that the user collected; none if None.
    must, must_not
        Option ids that the user wants in or out of the scope.
    corrections
        What finished work taught about cost and hours (:func:`scorer.upgrades.learning.learn`).
    rent_correction
        What lettings after finished work taught about rent rises
        (:func:`scorer.money.lettings.learn_rent`).
    errors
        Sentences about what could not be used so far; kept in the result.
    """
    settings = settings or Settings()
    catalogue = load_catalogue() if catalogue is None else catalogue
    price_book = load_price_book() if price_book is None else price_book
    plan = rooms_of(listing, readings, tags)
    findings, wrong_tags = findings_of(listing, readings, tags, plan)
    rent = evidence_with_catalogue(listing, comps or (), catalogue)
    options = build_options(
        findings, plan.rooms, catalogue, price_book, settings, rent.present_rent_usd
    )
    options = options_with_evidence(options, rent)
    if rent_correction is not None:
        options = options_after_lettings(options, rent_correction)
    if corrections is not None:
        options = tuple(correct(option, corrections) for option in options)
    given = ScopeInput(
        options,
        findings,
        plan.rooms,
        listing,
        must,
        must_not,
        rent_ceiling_usd=rent.ceiling_usd,
        monthly_rent_usd=rent.present_rent_usd,
    )
    scope = plan_scope(given, settings)
    kinds = {room.name: room.kind for room in plan.rooms}
    outcome = outcome_of(
        scope,
        listing,
        settings,
        rent.present_rent_usd,
        unseen={name: kinds[name] for name in plan.unseen_rooms},
    )
    labels = {condition.id: condition.label for condition in load_conditions().values()}
    shown = families_shown(options, plan.rooms, catalogue)
    unreadable = [f"{listing.home}/{r.error}" for r in readings if r.error is not None]
    return HomeResult(
        home=listing.home,
        score=checklist_score(options, plan.rooms, catalogue),
        listing=listing,
        rooms=plan.rooms,
        readings=tuple(readings),
        findings=findings,
        options=tuple(options),
        scope=scope,
        outcome=outcome,
        reasons=three_reasons(
            options,
            scope,
            outcome,
            plan.unseen,
            shown,
            labels,
            why_not_judged(readings, plan.photo_rooms, findings),
        ),
        unseen=plan.unseen,
        missing_facts=missing_facts(listing),
        errors=(*errors, *unreadable, *wrong_tags),
    )
