"""Suggestions from readings and facts, and what a person's tags make of them."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.conditions.finding import Evidence, Finding, Tag
from scorer.conditions.findings import apply_tags, open_questions, suggest
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.photos.reading import (
    Cabinets,
    Colour,
    Exposure,
    Finish,
    FloorCover,
    Light,
    Reading,
    ToneProbability,
    Trust,
    Wall,
)
from scorer.records import Range
from scorer.rooms import WHOLE_HOME, Room, RoomKind
from scorer.upgrades.catalogue import load_catalogue
from scorer.upgrades.options import called_by

BEDROOM = Room(name="bedroom 1", kind=RoomKind.BEDROOM)
KITCHEN = Room(name="kitchen", kind=RoomKind.KITCHEN)
LISTING = Listing(home="demo", year_built=1995)
KINDS = {"bedroom 1": RoomKind.BEDROOM, "kitchen": RoomKind.KITCHEN}


def wall(dark: float, lrv: float = 12.0, bold: float = 0.1, fraction: float = 0.4) -> Wall:
    return Wall(
        fraction=fraction,
        tone="dark" if dark >= 0.5 else "light",
        tone_probability=ToneProbability(dark=dark, mid=0.0, light=1.0 - dark),
        lrv=Range(low=lrv / 2, typical=lrv, high=min(100.0, lrv * 1.5)),
        colour=Colour(hex="#556677", name="Dark Grayish Blue", lab=(42.0, -3.0, -11.0)),
        bold_probability=bold,
        reference="ceiling",
    )


def exposure(dark: float) -> Exposure:
    return Exposure(
        kind="dark" if dark >= 0.5 else "ok",
        dark_probability=dark,
        mean_lightness=22.0 if dark >= 0.5 else 60.0,
        mean_luminance=0.1,
        clipped_bright_share=0.0,
        clipped_dark_share=0.0,
    )


def light(dim: float) -> Light:
    return Light(kind="dim" if dim >= 0.5 else "ok", dim_probability=dim)


def found(*readings: Reading, room: Room = BEDROOM, listing: Listing = LISTING):
    return {f.condition: f for f in suggest([(r, room) for r in readings], listing)}


def test_a_dark_wall_is_suggested_with_its_figure() -> None:
    finding = found(Reading(file="a.jpg", wall=wall(0.9)))["dark_walls"]
    assert finding.room == "bedroom 1"
    assert finding.certainty == pytest.approx(0.9)
    assert finding.severity == 2  # LRV 12: below photographic mid-grey, 18 %
    assert finding.evidence[0].photo == "a.jpg"
    assert "wall LRV 12 (6–18), reference ceiling" in finding.evidence[0].figure


@pytest.mark.parametrize(("lrv", "severity"), [(5.0, 3), (12.0, 2), (25.0, 1)])
def test_the_darker_the_wall_the_graver(lrv: float, severity: int) -> None:
    assert found(Reading(file="a.jpg", wall=wall(0.9, lrv)))["dark_walls"].severity == severity


def test_a_dark_photo_of_a_light_wall_gives_a_note_to_look_and_no_dark_wall() -> None:
    conditions = found(
        Reading(file="a.jpg", exposure=exposure(0.95), light=light(0.2), wall=wall(0.05, 75.0))
    )
    assert "dark_walls" not in conditions
    assert "dim_room" not in conditions
    note = conditions["photo_too_dark"]
    assert note.severity == 0
    assert "photo dark 95%" in note.evidence[0].figure
    questions = open_questions(tuple(conditions.values()), KINDS)
    assert any(q.condition == "photo_too_dark" and q.why == "unsure photo" for q in questions)


def test_one_good_photo_lifts_the_note_about_dark_ones() -> None:
    conditions = found(
        Reading(file="a.jpg", exposure=exposure(0.95)),
        Reading(file="b.jpg", exposure=exposure(0.1)),
    )
    assert "photo_too_dark" not in conditions


def test_near_duplicates_count_once() -> None:
    dark, pale = wall(0.95), wall(0.05, 70.0)
    copies = [
        Reading(file=f"copy{i}.jpg", wall=dark, content_hash="00ff00ff00ff00ff") for i in range(4)
    ]
    other = Reading(file="other.jpg", wall=pale, content_hash="a5c39b7e12d4f068")
    once = found(copies[0], other)
    assert found(*copies, other) == once
    assert once["dark_walls"].certainty == pytest.approx(0.5)
    # Four photos that are not copies do count four times.
    different = [
        r.model_copy(update={"content_hash": f"{random.Random(i).getrandbits(64):016x}"})
        for i, r in enumerate(copies)
    ]
    assert found(*different, other)["dark_walls"].certainty == pytest.approx((4 * 0.95 + 0.05) / 5)


def test_a_photo_that_shows_little_wall_or_earns_less_trust_counts_less() -> None:
    near = found(
        Reading(file="a.jpg", wall=wall(0.9, fraction=0.6)),
        Reading(file="b.jpg", wall=wall(0.1, fraction=0.2)),
    )
    assert near["dark_walls"].certainty == pytest.approx((0.9 * 0.6 + 0.1 * 0.2) / 0.8)
    doubtful = Trust(width_px=200, height_px=150, reasons=("small",))
    less = found(
        Reading(file="a.jpg", wall=wall(0.9), trust=doubtful), Reading(file="b.jpg", wall=wall(0.3))
    )
    assert less["dark_walls"].certainty == pytest.approx((0.9 * 0.5 + 0.3) / 1.5)
    assert "less sure: small" in less["dark_walls"].evidence[0].figure
    assert "dark_walls" not in found(Reading(file="a.jpg", wall=wall(0.9, fraction=0.01)))


def test_one_strong_wall_among_plain_ones_is_an_accent_wall() -> None:
    conditions = found(
        Reading(file="a.jpg", wall=wall(0.1, 60.0, bold=0.9)),
        Reading(file="b.jpg", wall=wall(0.1, 70.0, bold=0.1)),
    )
    assert "accent_wall" in conditions
    assert "bold_walls" not in conditions
    assert [e.photo for e in conditions["accent_wall"].evidence] == ["a.jpg"]
    assert "bold_walls" in found(Reading(file="a.jpg", wall=wall(0.1, 60.0, bold=0.9)))


def test_kitchen_finishes_floor_and_cabinets() -> None:
    reading = Reading(
        file="k.jpg",
        finish=Finish(dated_probability=0.8),
        floor=FloorCover(kind="carpet", probability=0.9, fraction=0.2),
        cabinets=Cabinets(tone="dark_wood", probability=0.7, fraction=0.2),
        light=light(0.7),
    )
    conditions = found(reading, room=KITCHEN)
    assert set(conditions) == {"dated_kitchen", "carpet_in_wet_room", "dark_cabinets", "dim_room"}
    # Not dated is not yet done up: on the labelled photos most such kitchens are average ones.
    assert found(Reading(file="k.jpg", finish=Finish(dated_probability=0.1)), room=KITCHEN) == {}
    bedroom = found(reading)  # the same reading of a bedroom
    assert set(bedroom) == {"worn_carpet", "dim_room"}
    assert bedroom["worn_carpet"].certainty == pytest.approx(0.45)  # a photo cannot tell the wear


@pytest.mark.parametrize(
    ("probability", "expected"),
    [(0.57, None), (0.9, 0.25 * 9 / (1 + 0.25 * 9))],  # odds times a quarter
)
def test_a_listing_that_says_remodeled_is_weighed_in(probability, expected) -> None:
    # RESO Data Dictionary 2.0, PropertyCondition: UpdatedRemodeled.
    reading = Reading(file="k.jpg", finish=Finish(dated_probability=probability))
    said = LISTING.model_copy(update={"other": {"PropertyCondition": '["Updated Remodeled"]'}})
    conditions = found(reading, room=KITCHEN, listing=said)
    assert found(reading, room=KITCHEN)["dated_kitchen"].certainty == pytest.approx(probability)
    if expected is None:
        assert conditions == {}
    else:
        dated = conditions["dated_kitchen"]
        assert dated.certainty == pytest.approx(expected)
        assert dated.evidence[-1].source == "facts"


@pytest.mark.parametrize(
    ("year", "expected"),
    [
        (1977, {"built_before_1978", "built_by_1980"}),  # 40 CFR 745: before 1978
        (1978, {"built_by_1980"}),
        (1980, {"built_by_1980"}),  # 29 CFR 1926.1101(k): no later than 1980
        (1981, set()),
        (None, {"year_built_unknown"}),
    ],
)
def test_year_built_against_the_published_years(year: int | None, expected: set[str]) -> None:
    findings = suggest([], Listing(home="demo", year_built=year))
    assert {f.condition for f in findings} == expected
    assert all(f.room == WHOLE_HOME and f.evidence[0].source == "facts" for f in findings)


def test_unread_photos_and_photos_of_unknown_rooms_are_left_out() -> None:
    bad = Reading(file="bad.jpg", error="bad.jpg is not a picture.")
    assert suggest([(bad, BEDROOM)], LISTING) == ()
    assert suggest([(Reading(file="a.jpg", wall=wall(0.9)), None)], LISTING) == ()


# ---- tags

SUGGESTED = Finding(
    room="bedroom 1",
    condition="dark_walls",
    severity=2,
    certainty=0.7,
    evidence=(Evidence(source="photo", photo="a.jpg", figure="wall LRV 12"),),
)


def only(findings, condition="dark_walls"):
    return next(f for f in findings if f.condition == condition)


def test_a_tag_outranks_a_reading_and_keeps_it() -> None:
    tag = Tag(room="bedroom 1", condition="dark_walls", severity=3, note="nearly black")
    finding = only(apply_tags([SUGGESTED], [tag], KINDS))
    assert (finding.severity, finding.certainty, finding.rejected) == (3, 1.0, False)
    assert finding.evidence == (
        *SUGGESTED.evidence,
        Evidence(source="person", figure="nearly black"),
    )


def test_a_rejected_reading_is_kept_as_rejected() -> None:
    tag = Tag(room="bedroom 1", condition="dark_walls", present=False)
    finding = only(apply_tags([SUGGESTED], [tag], KINDS))
    assert finding.rejected
    assert finding.certainty == 0.0
    assert SUGGESTED.evidence[0] in finding.evidence


@given(st.permutations([0, 1, 2]))
def test_the_newest_tag_wins_in_any_order(order: list[int]) -> None:
    tags = [
        Tag(room="bedroom 1", condition="dark_walls", severity=1, tagged_at=""),
        Tag(
            room="bedroom 1",
            condition="dark_walls",
            severity=2,
            tagged_at="2026-05-30T18:00:00+02:00",
        ),
        Tag(room="bedroom 1", condition="dark_walls", present=False, tagged_at="2026-05-30T17:00"),
    ]
    # 17:00 without a zone is read as UTC, an hour later than 18:00+02:00.
    assert only(apply_tags([SUGGESTED], [tags[i] for i in order], KINDS)).rejected


def test_what_cannot_be_true_with_a_tag_is_rejected() -> None:
    tag = Tag(room="bedroom 1", condition="walls_light_neutral")
    findings = apply_tags([SUGGESTED], [tag], KINDS)
    assert only(findings).rejected
    assert "Walls light and neutral" in only(findings).evidence[-1].figure
    assert only(findings, "walls_light_neutral").severity == 0  # sound: nothing to do


@pytest.mark.parametrize(
    ("tag", "words"),
    [
        (Tag(room="attic", condition="dark_walls"), "no room 'attic'"),
        (Tag(room="kitchen", condition="purple"), "no condition 'purple'"),
        (Tag(room="kitchen", condition="tub_cracked"), "belongs to bathroom"),
        (Tag(room="kitchen", condition="dark_walls", tagged_at="noon"), "'noon' is not a time"),
    ],
)
def test_a_tag_that_cannot_be_used_gets_a_sentence(tag: Tag, words: str) -> None:
    with pytest.raises(InputError, match=words):
        apply_tags([], [tag], KINDS)


def test_the_whole_home_can_always_be_tagged() -> None:
    tag = Tag(room=WHOLE_HOME, condition="smell_smoke")
    assert apply_tags([], [tag], {})[0].certainty == 1.0


# ---- open questions


def test_questions_ask_what_stops_work_first_and_answered_ones_last() -> None:
    tag = Tag(room="kitchen", condition="leak_under_sink", severity=2)
    findings = apply_tags([SUGGESTED], [tag], KINDS)
    questions = open_questions(findings, KINDS)
    whys = [q.why for q in questions]
    order = ("stops work", "unsure photo", "not visible", "answered")
    assert whys == sorted(whys, key=order.index)
    assert set(whys) == set(order)
    assert [q.condition for q in questions if q.known] == ["leak_under_sink"]
    assert ("bedroom 1", "dark_walls") in {(q.room, q.condition) for q in questions}
    asked = {(q.room, q.condition) for q in questions if not q.known}
    assert ("kitchen", "dead_burner") in asked  # only a person can tell
    assert ("bedroom 1", "dead_burner") not in asked  # no burner in a bedroom
    assert (WHOLE_HOME, "gas_smell") in asked
    assert len(asked) == sum(not q.known for q in questions)  # each asked once


def covered_wall(covered: float | None, dark: float = 0.9, bold: float = 0.1) -> Wall:
    return wall(dark, bold=bold).model_copy(update={"covered_probability": covered})


BATHROOM = Room(name="bathroom 1", kind=RoomKind.BATHROOM)


def test_a_wall_that_is_likely_tile_is_not_offered_paint_but_a_look() -> None:
    conditions = found(Reading(file="a.jpg", wall=covered_wall(0.9, bold=0.8)), room=BATHROOM)
    assert set(conditions) == {"walls_covered"}
    note = conditions["walls_covered"]
    assert note.severity == 0
    assert note.certainty == pytest.approx(0.9)
    figure = note.evidence[0].figure
    assert "90% likely tile, panels or paper" in figure
    assert "dark 90%, strong colour 80%: worth a coat only if it is paint" in figure
    questions = open_questions(tuple(conditions.values()), {"bathroom 1": RoomKind.BATHROOM})
    assert any(q.condition == "walls_covered" and q.why == "unsure photo" for q in questions)
    catalogue = [u for u in load_catalogue() if u.ladder in {"walls", "wall_paneling"}]
    assert not [u.id for u in catalogue if called_by(u, BATHROOM, conditions.values())]


def test_a_pattern_makes_paint_less_certain_and_says_why() -> None:
    conditions = found(Reading(file="a.jpg", wall=covered_wall(0.3)))
    assert conditions["dark_walls"].certainty == pytest.approx(0.9 * 0.7)
    assert "30% likely not plain paint (tile, panels, paper): look first" in (
        conditions["dark_walls"].evidence[0].figure
    )
    assert conditions["walls_covered"].certainty == pytest.approx(0.3)


def test_plain_paint_stays_as_it_was() -> None:
    plain = found(Reading(file="a.jpg", wall=covered_wall(0.0)))
    unknown = found(Reading(file="a.jpg", wall=covered_wall(None)))
    assert plain == unknown
    assert set(plain) == {"dark_walls"}
    assert "tile" not in plain["dark_walls"].evidence[0].figure
    tiled = found(Reading(file="a.jpg", wall=covered_wall(0.02)), room=BATHROOM)
    assert set(tiled) == {"dark_walls"}
    assert "where it is paint, not tile" in tiled["dark_walls"].evidence[0].figure


def test_a_papered_wall_is_no_sound_light_paint() -> None:
    light = covered_wall(0.8, dark=0.05)
    assert set(found(Reading(file="a.jpg", wall=light))) == {"walls_covered"}
    assert set(found(Reading(file="a.jpg", wall=wall(0.05, 75.0)))) == {"walls_light_neutral"}


def test_a_patterned_photo_makes_no_accent_wall_of_a_plain_room() -> None:
    conditions = found(
        Reading(file="a.jpg", wall=covered_wall(0.9, dark=0.1, bold=0.9)),
        Reading(file="b.jpg", wall=wall(0.1, 70.0, bold=0.1)),
    )
    assert "accent_wall" not in conditions
    assert "bold_walls" not in conditions


@given(st.floats(0, 1), st.floats(0, 1))
def test_the_likelier_tile_the_less_certain_paint(first: float, second: float) -> None:
    low, high = sorted((first, second))

    def certainty(covered: float) -> float:
        finding = found(Reading(file="a.jpg", wall=covered_wall(covered))).get("dark_walls")
        return finding.certainty if finding else 0.0

    assert certainty(high) <= certainty(low)


def test_in_a_basement_what_is_not_paint_is_said_and_may_be_painted() -> None:
    basement = Room(name="basement", kind=RoomKind.BASEMENT)
    conditions = found(Reading(file="a.jpg", wall=covered_wall(0.8)), room=basement)
    assert set(conditions) == {"dark_walls", "walls_covered"}
    assert conditions["dark_walls"].certainty == pytest.approx(0.9)
    assert "80% likely not plain paint" in conditions["dark_walls"].evidence[0].figure
