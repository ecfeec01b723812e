"""What the command line says to a person who mistypes, or asks for help."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scorer.commands import main
from scorer.listing.demo import demo_folder


def run(*arguments: object, width: int = 80) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in arguments], terminal_width=width)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


PROGRAMMERS_WORDS = ("should be", "valid integer", "valid float", "in the range", "Error:", "input")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("scren", "homes"), "There is no command “scren” (did you mean screen?)"),
        (("screen",), "FOLDER is missing; write it like this: main screen [OPTIONS] FOLDER."),
        (("screen", "h", "--budgt", "5"), "There is no option --budgt (did you mean --budget?)."),
        (("--versoin",), "There is no option --versoin (did you mean --version?)."),
        (("screen", "h", "--budget"), "Option --budget needs a value behind it."),
        (("screen", "my", "homes"), "“homes” is too much here; put a name with blanks in quotes."),
        (("screen", "h", "--workers", "x"), "it must be a whole number from 1 to 256."),
        (("screen", "h", "--top", "0"), "option --top: “0” cannot be used; it must be a whole"),
        (("screen", "h", "--aim", "retrun"), "(did you mean return?); use net_gain, rent_lift or"),
        (("screen", "h", "--comps", "."), "option --comps: “.” is a folder; give a file."),
        (("screen", "h", "--hours-per-week", "500"), "(a week has 168 hours)."),
        (("tag", "h", "kitchen", "dark_walls", "--severity", "7"), "a whole number from 0 to 3."),
        (("page", "--port", "abc"), "option --port: “abc” cannot be used"),
        (("fit", "a.json", "--size", "60"), "Option --size needs 2 values behind it."),
        (("fit", "a.json", "--check", "ilsand"), "(did you mean island?)"),
        (
            ("conditions", "kichen"),
            "(did you mean kitchen?); use one of kitchen, bathroom, bedroom",
        ),
        (("upgrades", "parlor"), "living room, hall"),
    ],
)
def test_a_slip_gets_one_sentence(arguments: tuple[str, ...], words: str) -> None:
    result = run(*arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert words in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert not any(word in result.stderr for word in PROGRAMMERS_WORDS)


def test_a_week_in_a_settings_file_has_168_hours(tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text("hours_per_week = 500\n")
    told = run("screen", tmp_path, "--settings", tmp_path / "s.toml").stderr
    assert "hours_per_week: 500 cannot be used" in told
    assert "at most 168 (a week has 168 hours)." in told


def test_the_list_of_commands_is_cut_nowhere() -> None:
    text = run("--help").stdout
    listed = text.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    assert all(line.rstrip().endswith(".") and "..." not in line for line in listed)
    assert max(map(len, text.splitlines())) <= 80
    assert [line.split()[0] for line in listed] == list(main.list_commands(None))  # type: ignore[arg-type]


@pytest.mark.parametrize("typed", ["living-room", "Living Room", "living_room"])
def test_a_kind_of_room_may_be_written_in_any_way(typed: str) -> None:
    listed = run("conditions", typed, "--json")
    rows = [json.loads(line) for line in listed.stdout.splitlines()]
    assert rows
    assert all("living_room" in row["room_kinds"] for row in rows)


DEMO = ("88-mill-pond-road", "207-quarry-road")


def money(text: str) -> list[int]:
    return [
        (-1 if sign else 1) * int(digits.replace(",", ""))
        for sign, digits in re.findall(r"(−?)\$([0-9][0-9,]*)", text)
    ]


def in_dollars(figure: dict[str, float]) -> list[int]:
    """Middle, low and high as the text writes them."""
    middle, low, high = (round(figure[name]) for name in ("p50", "p10", "p90"))
    return [middle] if middle == low == high else [middle, low, high]


@pytest.mark.parametrize("options", [(), ("--aim", "return", "--budget", "3000", "--helpers", "0")])
def test_text_json_and_csv_of_one_command_say_the_same(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    homes = tmp_path / "homes"
    homes.mkdir()
    for name in DEMO:
        (homes / name).symlink_to(demo_folder() / name, target_is_directory=True)
    table = tmp_path / "homes.csv"
    printed = json.loads(run("screen", homes, "--json", "--csv", table, *options).stdout)
    text = run("screen", homes, *options).stdout
    beside = run("compare", *(homes / home["home"] for home in printed), *options).stdout
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    assert [row["home"] for row in rows] == [home["home"] for home in printed]
    for place, (home, row) in enumerate(zip(printed, rows, strict=True)):
        start = text.index(f"{home['rank']:>4}  {home['home']}")
        figures = text[start : text.index("      - ", start)]
        parts = {} if "return" in options else {"net_gain": home["net_gain"]}
        parts |= {"cost": home["cost"], "rent_lift_month": home["rent_lift_month"]}
        assert money(figures) == [f for figure in parts.values() for f in in_dollars(figure)]
        for name, prefix, unit in (
            ("cost", "cost", "usd"),
            ("rent_lift_month", "rent_lift", "usd_month"),
        ):
            for level in ("p10", "p50", "p90"):
                assert round(home[name][level]) == float(row[f"{prefix}_{level}_{unit}"])
        assert round(home["net_gain"]["p50"]) == float(row["net_gain_p50_usd"])
        for label, name in (
            ("Cost", "cost"),
            ("Rent rise a month", "rent_lift_month"),
            ("Net gain", "net_gain"),
        ):
            (line,) = [part for part in beside.splitlines() if part.startswith(f"{label} ")]
            cells = re.split(r"  +", line)[1:]
            assert money(cells[place]) == in_dollars(home[name])
        assert all(reason in " ".join(text.split()) for reason in home["reasons"])
        for hold in home["holds"]:
            assert hold["label"] in " ".join(text.split())
        for item in home["missing_facts"]:
            assert item.partition(" is missing")[0].removeprefix("The ") in text
    assert "Ranked by the middle figure of" in text
