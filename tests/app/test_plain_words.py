"""What a photo's figures and missing facts are called on the page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from app.plain_words import evidence_words, fact_words, not_used
from scorer.listing.listing import Listing
from scorer.listing.missing import missing_facts
from scorer.screening.unseen import what_is_unseen
from scorer.store import Store
from scorer.workspace import Workspace
from tests.app.test_pages import words
from tests.app.test_pages_after import page_of

JARGON = re.compile(r"L\*|\bLRV \d|\breference [a-z]|#[0-9a-f]{6}|[a-z]_[a-z]+(?!\.jpg)\b")


@pytest.mark.parametrize(
    ("figure", "sentence"),
    [
        (
            "wall LRV 6 (3–14), reference bright neutral, dark 99%; where it is paint, not tile",
            "The wall gives back 6% of the light (3 to 14%), held against something white in the "
            "picture; dark: 99% likely; if it is paint and not tile",
        ),
        (
            "photo dark 93%, mean L* 44; wall LRV 81 (54–94), reference trim",
            "The photo itself is dark: 93% likely (lightness 44 of 100); the wall gives back 81% "
            "of the light (54 to 94%), held against the trim",
        ),
        ("room dim 97%", "The room is dim: 97% likely"),
        (
            "room dim 70%, about 40 lx (20–90)",
            "The room is dim: 70% likely (about 40 lux, 20 to 90)",
        ),
        (
            "wall deep red #7e292d, strong colour 99%",
            "The wall is deep red; strong colour: 99% likely",
        ),
        (
            "floor seen as carpet 91%; wear not visible",
            "The floor looks like carpet: 91% likely; a photo does not show its wear",
        ),
        ("cabinet fronts dark wood 80%", "The fronts look like dark wood: 80% likely"),
        (
            "fine pattern all over the wall, 87% likely tile, panels or paper; dark 60%, strong "
            "colour 55%: worth a coat only if it is paint",
            "Fine pattern all over the wall, 87% likely tile, panels or paper; dark: 60% likely, "
            "strong colour: 55% likely: worth a coat only if it is paint",
        ),
        ("the listing says updated or remodeled", "The listing says updated or remodeled"),
        ("something new 12%", "Something new 12%"),
    ],
)
def test_a_figure_is_said_in_a_landlords_words(figure: str, sentence: str):
    assert evidence_words(figure) == sentence


def test_no_figure_of_a_reading_keeps_the_programs_words(data: Path):
    space = Workspace(Store(data / "homes.sqlite"))
    figures = {
        e.figure
        for item in space.screen_all()
        for finding in item.result.findings
        for e in finding.evidence
    }
    assert len(figures) > 3
    for figure in figures:
        assert not JARGON.search(evidence_words(figure)), figure


def test_a_missing_fact_names_no_heading_of_a_file():
    sentences = [fact_words(s) for s in missing_facts(Listing(home="here"))]
    assert sentences[1].startswith("The present rent is missing: ")
    assert not any(re.search(r"[a-z][A-Z]", sentence) for sentence in sentences)


def test_the_walk_through_names_no_heading_of_a_file(data: Path):
    shown = words(page_of("walk", 2))
    assert "The present rent is missing" in shown
    assert "LeaseAmount" not in shown


def test_a_photo_without_a_room_is_told_where_to_choose_one(data: Path):
    item = next(i for i in Workspace(Store(data / "homes.sqlite")).screen_all() if i.home.id == 2)
    readings = {reading.file: reading for reading in item.result.readings}
    told = what_is_unseen(item.home.listing, [], {}, readings)
    (sentence,) = [one.sentence for one in told if "could not be told" in one.sentence]
    assert fact_words(sentence).endswith("): choose it above.")


def test_what_could_not_be_used_is_counted_in_words():
    assert not_used(1).startswith("One thing could not")
    assert not_used(2).startswith("2 things could not")
