"""What the command line says to a person who mistypes, or asks for help."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scorer.commands import main


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
