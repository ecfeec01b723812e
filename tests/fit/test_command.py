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
        ("[", "line 1: this is not JSON"),
        ("[", "`value-add fit --help` shows an example"),
        ('{"length_in": -1, "width_in": 96}', "field length_in: -1 is too little; it must be more"),
        ('{"width_in": 96}', "field length_in: is missing; add it."),
        ('{"length_in": "12 ft", "width_in": 96}', "field length_in: “12 ft” is not a number"),
        ('{"length_in": 90, "widht_in": 96}', "field widht_in: is not a field here; did you mean"),
        ('{"length_in": 90, "width_in": 96, "openings": {}}', "openings: {} must be a list, in ["),
        (
            '{"length_in": 90, "width_in": 96, "outlets": [{"wall": "up", "offset_in": 9}]}',
            "field outlets 1, wall: “up” is not known; use north, east, south or west.",
        ),
        (
            '{"length_in": 90, "width_in": 96, "appliances": [3]}',
            "field appliances 1: 3 must be fields with their values, in { and }",
        ),
        (
            '{"length_in": 90, "width_in": 96, "outlets": [{"wall": "north", "offset_in": 99}]}',
            "outlet on the north wall",
        ),
        (
            '{"length_in": 90, "width_in": 96, "lamps": []}',
            "field lamps: is not a field here; mend its spelling or take it out",
        ),
    ],
)
def test_a_bad_room_gets_one_sentence(plan: Path, content: str, words: str):
    plan.write_text(content, encoding="utf-8")
    done = CliRunner().invoke(main, ["fit", str(plan)])
    assert done.exit_code == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1


def test_the_example_of_the_help_runs_and_fits_on_a_screen(plan: Path):
    text = CliRunner().invoke(main, ["fit", "--help"], terminal_width=80).stdout
    assert max(map(len, text.splitlines())) <= 80
    plan.write_text(text[text.index("{") : text.rindex("}") + 1], encoding="utf-8")
    checks = ("island", "table", "kitchen", "outlets", "screens")
    asked = [word for check in checks for word in ("--check", check)]
    done = CliRunner().invoke(main, ["fit", str(plan), *asked])
    assert done.exit_code in {0, 1}
    assert done.stderr == ""
    assert done.stdout.count(": ") >= len(checks)


def test_a_bathroom_without_fixtures_is_no_pass(plan: Path):
    # its window alone is large enough, which says nothing of the toilet
    done = CliRunner().invoke(main, ["fit", str(plan), "--check", "bathroom"])
    assert done.exit_code == 1
    assert done.stdout.splitlines()[0] == "bathroom fixtures: can't be told"
    assert "pass  Glass of windows that open: 12 sq ft" in done.stdout
    assert "not checked: The room names no toilet, lavatory, tub or shower" in done.stdout


def test_what_a_room_does_not_name_is_said(plan: Path):
    toilet = {"kind": "toilet", "wall": "west", "offset_in": 60, "width_in": 20, "depth_in": 28}
    plan.write_text(json.dumps({**NARROW, "appliances": [toilet]}), encoding="utf-8")
    asked = ["fit", str(plan), "--check", "bathroom", "--check", "kitchen"]
    done = CliRunner().invoke(main, asked)
    assert done.stdout.startswith("bathroom fixtures: ")
    assert "can't be told" not in done.stdout
    said = [line for line in done.stdout.splitlines() if "not checked" in line]
    assert [line.split(",")[0] for line in said] == [
        f"  not checked: The room names no {kind}"
        for kind in ("lavatory", "sink", "range", "refrigerator")
    ]


def test_no_window_is_no_screened_window(plan: Path):
    plan.write_text('{"length_in": 90, "width_in": 96}', encoding="utf-8")
    done = CliRunner().invoke(main, ["fit", str(plan), "--check", "screens"])
    assert done.exit_code == 1
    assert "no window that opens" in done.stdout


def test_a_file_of_an_earlier_version_is_read_as_before(plan: Path):
    sink = {"kind": "sink", "wall": "north", "offset_in": 40, "width_in": 30}
    asked = ["fit", str(plan), "--check", "kitchen", "--json"]
    answers = []
    for appliance in (sink, {**sink, "in_run": True}):
        plan.write_text(json.dumps({**NARROW, "appliances": [appliance]}), encoding="utf-8")
        answers.append(CliRunner().invoke(main, asked).stdout)
    assert answers[0] == answers[1] != ""
