"""Rectangles on the floor plan: where things stand, and how far apart they face each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from scorer.fit.room_plan import HAIR_IN, RoomPlan, Side


class Box(NamedTuple):
    """A rectangle on the floor [in]; x runs east, y runs south from the north-west corner."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share floor."""
        return (
            self.left < other.right - HAIR_IN
            and other.left < self.right - HAIR_IN
            and self.top < other.bottom - HAIR_IN
            and other.top < self.bottom - HAIR_IN
        )


class Thing(NamedTuple):
    """Something that takes floor; ``work`` if a person works in front of it."""

    name: str
    box: Box
    work: bool


def along_wall(plan: RoomPlan, wall: Side, offset: float, length: float, depth: float) -> Box:
    """Floor taken by something ``length`` long that stands ``depth`` deep against a wall."""
    if wall == "north":
        return Box(offset, 0.0, offset + length, depth)
    if wall == "south":
        return Box(offset, plan.width_in - depth, offset + length, plan.width_in)
    if wall == "west":
        return Box(0.0, offset, depth, offset + length)
    return Box(plan.length_in - depth, offset, plan.length_in, offset + length)


def standing(plan: RoomPlan) -> tuple[Thing, ...]:
    """Everything that stands on the floor along the walls."""
    things = [
        Thing(
            f"{run.kind} cabinets",
            along_wall(plan, run.wall, run.offset_in, run.length_in, run.depth_in),
            True,
        )
        for run in plan.cabinets
        if run.kind != "wall"
    ]
    things += [
        Thing(a.kind, along_wall(plan, a.wall, a.offset_in, a.width_in, a.depth_in), True)
        for a in plan.appliances
    ]
    return tuple(things)


def door_swings(plan: RoomPlan) -> tuple[Box, ...]:
    """Floor that door leaves sweep, as squares of the door's width."""
    return tuple(
        along_wall(plan, o.wall, o.offset_in, o.width_in, o.width_in)
        for o in plan.openings
        if o.kind == "door" and o.swing == "in"
    )


def open_doors(plan: RoomPlan) -> Iterator[tuple[str, Box]]:
    """Floor under the open doors of appliances."""
    for a in plan.appliances:
        if a.door_in > 0:
            deep = along_wall(plan, a.wall, a.offset_in, a.width_in, a.depth_in + a.door_in)
            yield a.kind, deep


class Gap(NamedTuple):
    """Free floor from one side of a piece to what faces it [in]."""

    side: Side
    distance: float
    facing: str
    work: bool


def gaps(plan: RoomPlan, piece: Box) -> tuple[Gap, ...]:
    """Distance from each side of a free-standing piece to the nearest thing or wall it faces."""
    nearest = {
        "north": Gap("north", piece.top, "wall", False),
        "south": Gap("south", plan.width_in - piece.bottom, "wall", False),
        "west": Gap("west", piece.left, "wall", False),
        "east": Gap("east", plan.length_in - piece.right, "wall", False),
    }
    for thing in standing(plan):
        box = thing.box
        beside = box.top < piece.bottom and piece.top < box.bottom
        ahead = box.left < piece.right and piece.left < box.right
        found = []
        if ahead and box.bottom <= piece.top + HAIR_IN:
            found.append(Gap("north", piece.top - box.bottom, thing.name, thing.work))
        if ahead and box.top >= piece.bottom - HAIR_IN:
            found.append(Gap("south", box.top - piece.bottom, thing.name, thing.work))
        if beside and box.right <= piece.left + HAIR_IN:
            found.append(Gap("west", piece.left - box.right, thing.name, thing.work))
        if beside and box.left >= piece.right - HAIR_IN:
            found.append(Gap("east", box.left - piece.right, thing.name, thing.work))
        for gap in found:
            if gap.distance < nearest[gap.side].distance + HAIR_IN:
                nearest[gap.side] = gap
    return tuple(nearest.values())


def free_stretches(plan: RoomPlan, wall: Side) -> tuple[tuple[float, float], ...]:
    """Stretches of a wall with no opening, cabinets or appliance: (offset, length) [in]."""
    taken = [(o.offset_in, o.offset_in + o.width_in) for o in plan.openings if o.wall == wall]
    length = plan.wall_in(wall)
    for thing in standing(plan):
        box = thing.box
        if wall in ("north", "south"):
            near = box.top <= 1.0 if wall == "north" else box.bottom >= plan.width_in - 1.0
            span = (box.left, box.right)
        else:
            near = box.left <= 1.0 if wall == "west" else box.right >= plan.length_in - 1.0
            span = (box.top, box.bottom)
        if near:
            taken.append(span)
    return tuple((start, end - start) for start, end in uncovered(0.0, length, taken))


def uncovered(
    start: float, end: float, taken: Iterable[tuple[float, float]]
) -> list[tuple[float, float]]:
    """What intervals leave of a stretch, in order: (start, end), in the unit of what is given."""
    left, at = [], start
    for first, last in [*sorted(taken), (end, end)]:
        if min(first, end) > at + HAIR_IN:
            left.append((at, min(first, end)))
        at = max(at, last)
    return left
