"""One invented home with everything that a report has to show."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from scorer.conditions.finding import Evidence, Finding
from scorer.listing.listing import Listing, PhotoFile
from scorer.money.outcome import Driver, Outcome
from scorer.records import Quantiles, Range
from scorer.rooms import Room, RoomKind
from scorer.scope.plan import Hold, Keep, LeftOut, Purchase, Scope, Task
from scorer.shortlist.result import HomeResult, Unseen
from scorer.upgrades.option import Line, Option


def spread(low: float, typical: float, high: float) -> Range:
    return Range(low=low, typical=typical, high=high)


def option(number: int) -> Option:
    line = Line(
        item="wall_paint",
        label="Wall paint",
        kind="material",
        unit="gal",
        quantity=spread(2, 2.5, 3),
        buy=3,
        pack="1 gal can",
        left_over=0.5,
        cost_usd=spread(60, 90, 120),
        hours=Range.exactly(0),
    )
    work = line.model_copy(
        update={
            "item": "paint_walls",
            "label": "Paint walls",
            "kind": "labour",
            "unit": "sq ft",
            "buy": 0,
            "cost_usd": spread(80, 110, 160),
            "hours": spread(4, 5.5, 8),
        }
    )
    return Option(
        id=f"bedroom {number}: paint_walls_neutral",
        room=f"bedroom {number}",
        room_kind=RoomKind.BEDROOM,
        upgrade="paint_walls_neutral",
        label="Paint the walls a light neutral – two coats",
        ladder="walls",
        rung="paint",
        family="paint",
        lines=(line, work),
        cost_usd=spread(140, 200, 280),
        cash_usd=spread(60, 90, 120),
        hours=spread(4, 5.5, 8),
        rent_month_usd=spread(0, 9, 20),
        certainty=0.9,
        reasons=("dark_walls",),
        cautions=("Keep three points of contact on a ladder.",),
        source="common practice, no source",
    )


@pytest.fixture
def photos() -> dict[str, bytes]:
    picture = np.zeros((240, 360, 3), np.uint8)
    picture[..., 1] = np.linspace(40, 220, 360)
    buffer = io.BytesIO()
    Image.fromarray(picture).save(buffer, "JPEG")
    return {"bedroom1.jpg": buffer.getvalue()}


@pytest.fixture
def home() -> HomeResult:
    options = tuple(option(n) for n in range(1, 9))
    many = spread(1120, 1600, 2240)
    return HomeResult(
        home="14-alder-court",
        rank=1,
        score=57.3,
        listing=Listing(
            home="14-alder-court",
            address="14 Alder Court – Millbrook",
            list_price_usd=84_000,
            bedrooms=8,
            photos=(PhotoFile(path="/nowhere/bedroom1.jpg", name="bedroom1.jpg"),),
        ),
        rooms=tuple(Room(name=f"bedroom {n}", kind=RoomKind.BEDROOM) for n in range(1, 9)),
        readings=(),
        findings=tuple(
            Finding(
                room=f"bedroom {n}",
                condition="dark_walls",
                severity=2,
                certainty=0.9,
                evidence=(
                    Evidence(source="photo", photo="bedroom1.jpg", figure="wall LRV 12 (6–21)"),
                    Evidence(source="person", figure="=HYPERLINK(1)"),
                ),
            )
            for n in range(1, 9)
        ),
        options=options,
        scope=Scope(
            options=options,
            holds=(
                Hold(
                    id="bathroom: water_leak",
                    room="bathroom",
                    label="Water leak below the bath",
                    who="licensed plumber",
                    stops=(),
                    allowance_usd=spread(150, 500, 2500),
                    caution="Shut the water off.",
                    source="HUD NSPIRE v3.0 (2023), leak – water",
                ),
            ),
            keeps=(Keep(room="kitchen", label="Cabinets sound", saves_usd=3200),),
            left_out=(LeftOut(option="x", label="New counter", reason="over the budget"),),
            purchases=(
                Purchase(
                    item="wall_paint",
                    label="Wall paint",
                    unit="gal",
                    quantity=20,
                    buy=20,
                    pack="1 gal can",
                    left_over=0,
                    cost_usd=spread(480, 720, 960),
                ),
            ),
            calendar=tuple(
                Task(
                    option=o.id,
                    label=o.label,
                    room=o.room,
                    start_day=n,
                    end_day=n + 1,
                    hours=5.5,
                )
                for n, o in enumerate(options)
            ),
            cost_usd=many,
            cash_usd=many,
            hours=spread(32, 44, 64),
            rent_month_usd=spread(0, 50, 120),
            weeks=spread(2, 3, 4),
        ),
        outcome=Outcome(
            cost_usd=Quantiles(p10=1200, p50=1650, p90=2600),
            rent_lift_month_usd=Quantiles(p10=8, p50=48, p90=110),
            payback_months=Quantiles(p10=14, p50=34, p90=200),
            return_on_cost=Quantiles(p10=0.05, p50=0.33, p90=0.8),
            value_created_usd=Quantiles(p10=900, p50=6700, p90=15_000),
            net_gain_usd=Quantiles(p10=-700, p50=1100, p90=4600),
            lost_rent_usd=700,
            most_to_pay_usd=88_000,
            payback_within_limit=0.55,
            drivers=(Driver(name="rent lift", correlation=0.83),),
        ),
        reasons=("Bedroom 1: dark walls; about $200 of work.",),
        unseen=(Unseen(room="bathroom", sentence="No photo shows the bathroom."),),
        missing_facts=("The year built is not given: lead paint can't be ruled out.",),
        errors=("broken.jpg is cut short.",),
    )
