"""Options and holds made up for the tests of scope and money."""

from __future__ import annotations

import random
from typing import Any

from scorer.records import Range
from scorer.rooms import RoomKind
from scorer.scope.plan import Hold
from scorer.upgrades.option import Line, Option

KINDS = {
    "kitchen": RoomKind.KITCHEN,
    "bathroom": RoomKind.BATHROOM,
    "bedroom": RoomKind.BEDROOM,
    "front": RoomKind.FRONT,
    "whole home": RoomKind.WHOLE_HOME,
}


def spread(typical: float, share: float = 0.3) -> Range:
    return Range(low=typical * (1 - share), typical=typical, high=typical * (1 + share))


def option(name: str, room: str = "bedroom", **given: Any) -> Option:
    """An option; ``cost``, ``cash``, ``hours`` and ``rent`` are typical figures."""
    cost = float(given.pop("cost", 300.0))
    cash = float(given.pop("cash", cost))
    hours = float(given.pop("hours", 4.0))
    rent = float(given.pop("rent", 10.0))
    values: dict[str, Any] = {
        "id": f"{room}: {name}",
        "room": room,
        "room_kind": KINDS[room.rstrip("0123456789 ")],
        "upgrade": name,
        "label": name.replace("_", " ").capitalize(),
        "ladder": name,
        "rung": "paint",
        "family": "paint",
        "lines": (),
        "cost_usd": spread(cost),
        "cash_usd": spread(cash),
        "hours": spread(hours),
        "rent_month_usd": spread(rent, 0.5),
        "certainty": 1.0,
        "reasons": (name,),
        "durability_years": 10.0,
    }
    return Option(**{**values, **given})


def hired(trade: str, hours: float) -> Line:
    return Line(
        item=f"{trade}_labour",
        label=f"{trade} labour",
        kind="labour",
        unit="hour",
        quantity=spread(hours),
        cost_usd=spread(60 * hours),
        hours=spread(hours),
        trade=trade,
    )


def hold(kind: str = "water_leak", room: str = "bathroom", **given: Any) -> Hold:
    values: dict[str, Any] = {
        "id": f"{room}: {kind}",
        "kind": kind,
        "room": room,
        "label": kind,
        "who": "licensed plumber",
        "stops": (),
        "allowance_usd": Range(low=100, typical=400, high=2000),
        "caution": "Local codes apply.",
        "source": "invented for this test",
    }
    return Hold(**{**values, **given})


def random_case(seed: int, count: int = 10) -> tuple[list[Option], list[Hold]]:
    """A small home with ladders, needs, exclusions, required work and holds."""
    draw = random.Random(seed)
    rooms = ["kitchen", "bathroom", "bedroom 1"]
    options: list[Option] = []
    for number in range(count):
        room = draw.choice(rooms)
        earlier = [o.id for o in options]
        options.append(
            option(
                f"work_{number}",
                room,
                ladder=f"ladder_{draw.randrange(4)}" if draw.random() < 0.5 else f"work_{number}",
                cost=draw.uniform(20, 900),
                cash=draw.uniform(0, 700),
                hours=draw.uniform(0, 30),
                rent=draw.choice([0.0, draw.uniform(0, 30), draw.uniform(5, 30)]),
                certainty=draw.choice([1.0, draw.uniform(0.2, 1)]),
                durability_years=draw.choice([1.5, 5.0, 15.0]),
                required=draw.random() < 0.12,
                needs=tuple(draw.sample(earlier, 1)) if earlier and draw.random() < 0.15 else (),
                excludes=tuple(draw.sample(earlier, 1)) if earlier and draw.random() < 0.1 else (),
            )
        )
    ids = [o.id for o in options]
    holds = [
        hold(
            "water_leak",
            stops=tuple(draw.sample(ids, 3)),
            probability=draw.uniform(0.1, 1),
            cleared_by=tuple(draw.sample(ids, 1)) if draw.random() < 0.5 else (),
        ),
        hold("lead_paint", "whole home", stops=tuple(draw.sample(ids, 2)), only_if_disturbed=True),
    ]
    return options, holds[: draw.randrange(3)]
