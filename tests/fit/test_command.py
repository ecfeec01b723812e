"""``value-add fit`` on a room in a JSON file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main

NARROW = {
    "length_in": 120,
    "width_in": 96,
    "cabinets": [{"wall": "north", "offset_in": 0, "length_in": 120}],
    "openings": [{"kind": "window", "wall": "east", "offset_in": 50, "width_in": 36}],
}


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "kitchen.json"
    path.write_text(json.dumps(NARROW))
    return path


def test_an_island_that_fails_names_what_fits_and_is_drawn(plan: Path):
    svg = plan.with_suffix(".svg")
    done = CliRunner().invoke(main, ["fit", str(plan), "--svg", str(svg)])
    assert done.exit_code == 1
    assert "island 60 by 36 in: fails" in done.stdout
    assert "instead: A table" in done.stdout
    assert svg.read_text().startswith("<svg")


def test_several_checks_as_json(plan: Path):
    asked = ["fit", str(plan), "--check", "kitchen", "--check", "screens", "--json"]
    lines = CliRunner().invoke(main, asked).stdout.splitlines()
    assert [json.loads(line)["idea"] for line in lines] == [
        "counters and storage",
        "window screens",
    ]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("[", "is not a JSON file"),
        ('{"length_in": -1, "width_in": 96}', "field length_in"),
        (
            '{"length_in": 90, "width_in": 96, "outlets": [{"wall": "north", "offset_in": 99}]}',
            "outlet on the north wall",
        ),
        (
            '{"length_in": 90, "width_in": 96, "lamps": []}',
            "field lamps: is not a field of a room plan; mend its spelling or take it out",
        ),
    ],
)
def test_a_bad_room_gets_one_sentence(plan: Path, content: str, words: str):
    plan.write_text(content)
    done = CliRunner().invoke(main, ["fit", str(plan)])
    assert done.exit_code == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_file_of_an_earlier_version_is_read_as_before(plan: Path):
    sink = {"kind": "sink", "wall": "north", "offset_in": 40, "width_in": 30}
    asked = ["fit", str(plan), "--check", "kitchen", "--json"]
    answers = []
    for appliance in (sink, {**sink, "in_run": True}):
        plan.write_text(json.dumps({**NARROW, "appliances": [appliance]}))
        answers.append(CliRunner().invoke(main, asked).stdout)
    assert answers[0] == answers[1] != ""
