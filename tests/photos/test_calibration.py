"""Every feature that a shipped model weighs is measured."""

from __future__ import annotations

from scorer.photos.calibration import calibration
from scorer.photos.finish import finish_features
from scorer.photos.light import light_features, network_light
from scorer.photos.wall_features import wall_features
from scorer.photos.walls import wall_mask
from scorer.photos.white import estimate_white
from tests.photos.rooms import draw_room


def test_every_weighed_feature_is_measured():
    scene = draw_room(40)
    walls = set(wall_features(scene, wall_mask(scene), estimate_white(scene)))
    light = {*light_features(scene), *network_light(scene), *finish_features(scene)}
    for name, model in calibration().models.items():
        known = walls if name.startswith("wall") else light
        assert set(model.features) <= known, name
