"""Whether the finishes of a kitchen or bathroom look dated: a hint with its probability.

The room network sorts finishes into dated, average and updated; how far its answer leans from
updated to dated tells more than the chance of dated alone.
"""

from __future__ import annotations

import math

from scorer.photos.calibration import calibration
from scorer.photos.reading import Finish, RoomGuess
from scorer.photos.scene import Scene
from scorer.rooms import RoomKind

FINISHED = frozenset({RoomKind.KITCHEN, RoomKind.BATHROOM})


def finish_features(scene: Scene) -> dict[str, float]:
    """``net_age``: chance of dated less that of updated [−1 to 1]; NaN without a network."""
    return {"net_age": scene.head("era", "dated") - scene.head("era", "updated")}


def read_finish(scene: Scene, room: RoomGuess) -> Finish | None:
    """The hint for a kitchen or bathroom; None for other rooms and without a network."""
    features = finish_features(scene)
    if room.kind not in FINISHED or not math.isfinite(features["net_age"]):
        return None
    return Finish(dated_probability=round(calibration().models["dated"].probability(features), 4))
