"""The room network through its front: maps add up, follow the picture and admit not knowing."""

from __future__ import annotations

import subprocess
import sys
import threading

import cv2
import numpy as np
import pytest

from scorer.photos.surfaces import (
    SURFACES,
    RoomNet,
    answer_kind,
    kind_probability,
    room_net,
    surface_codes,
    upsample,
    working_size,
)

HEIGHT, WIDTH = 360, 520
WALL, CEILING, FLOOR, WINDOW, TRIM = 1, 2, 3, 4, 8


def draw_empty_room() -> tuple[np.ndarray, np.ndarray]:
    """An empty room in one-point perspective: RGB and its true surface codes.

    Light falls off to the sides, the floor is a carpet, the back wall has a window, all has noise.
    """
    back = np.array([[150, 90], [370, 90], [370, 240], [150, 240]])
    front = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]])
    rgb = np.zeros((HEIGHT, WIDTH, 3), np.float32)
    codes = np.zeros((HEIGHT, WIDTH), np.uint8)
    faces = (
        (back, WALL, (176, 190, 196)),
        (np.array([front[0], front[1], back[1], back[0]]), CEILING, (236, 235, 230)),
        (np.array([front[3], front[2], back[2], back[3]]), FLOOR, (168, 156, 138)),
        (np.array([front[0], back[0], back[3], front[3]]), WALL, (150, 163, 170)),
        (np.array([front[1], back[1], back[2], front[2]]), WALL, (190, 204, 210)),
    )
    for corners, code, colour in faces:
        cv2.fillPoly(codes, [corners.astype(np.int32)], code)
        cv2.fillPoly(rgb, [corners.astype(np.int32)], colour)
    pile = np.random.default_rng(1).normal(0, 9, (HEIGHT, WIDTH, 1)).astype(np.float32)
    rgb += cv2.GaussianBlur(pile, (0, 0), 0.8)[..., None] * (codes == FLOOR)[..., None]
    for grown, code, colour in ((6, TRIM, (228, 227, 222)), (0, WINDOW, (252, 253, 255))):
        corner, opposite = (215 - grown, 120 - grown), (305 + grown, 190 + grown)
        cv2.rectangle(rgb, corner, opposite, colour, -1)
        cv2.rectangle(codes, corner, opposite, code, -1)
    for y in (90, 240):  # crown and base board
        cv2.line(rgb, (150, y), (370, y), (225, 224, 220), 4)
    light = 1.05 - 0.3 * np.abs(np.linspace(-0.6, 1, WIDTH))[None, :, None]
    noise = np.random.default_rng(0).normal(0, 3, rgb.shape)
    return np.clip(rgb * light + noise, 0, 255).astype(np.uint8), codes


@pytest.fixture(scope="module")
def room() -> tuple[np.ndarray, np.ndarray]:
    return draw_empty_room()


@pytest.mark.parametrize("shape", [(400, 600), (600, 400), (300, 300), (97, 900), (40, 30)])
def test_probabilities_sum_to_one_in_any_shape(shape, room):
    rgb = cv2.resize(room[0], shape[::-1])
    seen = room_net().predict(rgb)
    assert seen.surfaces.dtype == np.float32
    assert seen.surfaces.shape == (len(SURFACES), *working_size(*shape))
    np.testing.assert_allclose(seen.surfaces.sum(axis=0), 1, atol=1e-4)
    assert seen.surfaces.min() >= 0
    answers = [seen.kind, seen.era, seen.floor, seen.cabinets, seen.lightness, seen.bold]
    for answer in (*answers, seen.exposure, seen.light):
        assert sum(answer.values()) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize(("height", "width"), [(683, 1024), (1024, 683), (3000, 4000), (500, 500)])
def test_working_size_keeps_the_shape(height, width):
    rows, columns = working_size(height, width)
    assert rows % 32 == columns % 32 == 0
    assert rows * columns == pytest.approx(544 * 384, rel=0.15)
    assert rows / columns == pytest.approx(height / width, rel=0.1)


def test_maps_come_at_the_size_asked_for(room):
    assert room_net().predict(room[0], size=(171, 256)).surfaces.shape == (10, 171, 256)


def test_a_drawn_room_is_read_as_drawn(room):
    rgb, truth = room
    codes = surface_codes(room_net().predict(rgb, size=truth.shape))
    assert codes.dtype == np.uint8
    assert codes.shape == truth.shape
    flat = (cv2.Laplacian(truth, cv2.CV_8U) == 0).astype(np.uint8)
    inner = cv2.erode(flat, np.ones((15, 15))) > 0
    # A drawing is far from a photo: its plain floor is the hardest for the network.
    for code, least in ((WALL, 0.9), (CEILING, 0.9), (FLOOR, 0.5)):
        found = codes[inner & (truth == code)] == code
        assert found.mean() > least, SURFACES[code]


def test_a_mirrored_picture_gives_a_mirrored_map(room):
    rgb = cv2.resize(room[0], (512, 352))
    plain = room_net().predict(rgb)
    turned = room_net().predict(np.ascontiguousarray(rgb[:, ::-1]))
    agree = surface_codes(plain) == surface_codes(turned)[:, ::-1]
    assert agree.mean() > 0.85
    assert np.abs(plain.surfaces - turned.surfaces[:, :, ::-1]).mean() < 0.05


@pytest.mark.parametrize("level", [0, 128, 255])
def test_a_blank_picture_is_unsure(level):
    seen = room_net().predict(np.full((300, 400, 3), level, np.uint8))
    assert answer_kind(seen.kind) == "unsure"


def test_static_is_unsure():
    noise = np.random.default_rng(1).integers(0, 256, (300, 400, 3)).astype(np.uint8)
    assert answer_kind(room_net().predict(noise).kind) == "unsure"


def test_a_picture_that_is_no_room_counts_as_unsure():
    kind = kind_probability(
        {"kitchen": 0.1, "bathroom": 0.1, "bedroom": 0.1, "front": 0.1, "other": 0.6}
    )
    assert sum(kind.values()) == pytest.approx(1)
    assert "other" not in kind
    assert answer_kind(kind) == "unsure"


@pytest.mark.parametrize(
    ("kitchen", "answer"), [(0.95, "kitchen"), (0.6, "kitchen"), (0.5, "unsure"), (0.35, "unsure")]
)
def test_a_weak_answer_counts_as_unsure(kitchen, answer):
    rest = (1 - kitchen) / 4
    names = ("bathroom", "bedroom", "front", "other")
    kind = kind_probability({"kitchen": kitchen} | dict.fromkeys(names, rest))
    assert answer_kind(kind) == answer


@pytest.mark.parametrize(
    "bad",
    [np.zeros((4, 4), np.uint8), np.zeros((4, 4, 3), np.float32), np.zeros((0, 4, 3), np.uint8)],
)
def test_what_is_no_picture_is_refused(bad):
    with pytest.raises(ValueError, match="rgb"):
        room_net().predict(bad)


def test_threads_share_one_network(room):
    """cv2.dnn keeps state between input and output; without a lock answers get mixed up."""
    net = RoomNet()
    pictures = [room[0], np.full_like(room[0], 40), np.ascontiguousarray(room[0][::-1])]
    alone = [net.predict(picture).surfaces for picture in pictures]
    together: dict[int, np.ndarray] = {}

    def read(index: int) -> None:
        together[index] = net.predict(pictures[index % 3]).surfaces

    threads = [threading.Thread(target=read, args=(index,)) for index in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for index, surfaces in together.items():
        np.testing.assert_array_equal(surfaces, alone[index % 3])


def test_upsampled_edges_follow_the_picture():
    """A blurred step in the map snaps to the sharp step of the guide (He and Sun 2015)."""
    guide = np.zeros((160, 160), np.uint8)
    guide[:, 82:] = 255
    left = np.tile(np.clip((24 - np.arange(40)) / 7, 0, 1).astype(np.float32), (40, 1))
    fine = upsample(np.stack([left, 1 - left]), guide, radius=4)
    plain = cv2.resize(left, (160, 160), interpolation=cv2.INTER_LINEAR)
    truth = (guide == 0).astype(np.float32)
    near = np.s_[:, 70:95]
    assert np.abs(fine[0] - truth)[near].mean() < 0.6 * np.abs(plain - truth)[near].mean()
    np.testing.assert_allclose(fine.sum(axis=0), 1, atol=1e-5)


def test_reading_needs_no_torch():
    """The run-time library answers without torch, onnx or scikit-learn ever being imported."""
    program = (
        "import sys, numpy as np\n"
        "import scorer.photos\n"
        "from scorer.photos.surfaces import room_net\n"
        "room_net().predict(np.zeros((64, 96, 3), np.uint8))\n"
        "assert not {'torch', 'onnx', 'sklearn'} & set(sys.modules), sorted(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)
