"""The command line but for ``read``: contract, exit codes, and what it does with bad input."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from scorer import __version__
from scorer.commands.options import settings_options
from scorer.commands.screen import MOST_SENTENCES, tell_sentences
from scorer.conditions.checklist import load_conditions
from tests.command_line import bad_photos, lines, run
from tests.homes import DARK_RED, make_home, save_photo


@pytest.fixture
def batch(tmp_path: Path) -> Path:
    folder = tmp_path / "homes"
    make_home(folder / "dark house", DARK_RED)
    make_home(folder / "light house", seed=1)
    return folder


SCREEN_KEYS = {
    "home",
    "rank",
    "score",
    "cost",
    "rent_lift_month",
    "payback_months",
    "return_on_cost",
    "findings",
    "upgrades",
    "unseen",
    "holds",
    "errors",
}


def test_screen_prints_the_documented_array(batch: Path, tmp_path: Path) -> None:
    table, stored = tmp_path / "out" / "r.csv", tmp_path / "r.json"
    result = run("screen", batch, "--json", "--csv", table, "--json-file", stored)
    assert result.exit_code == 0, result.stderr
    homes = json.loads(result.stdout)
    assert json.loads(stored.read_text()) == homes
    assert [home["rank"] for home in homes] == [1, 2]
    assert {home["home"] for home in homes} == {"dark house", "light house"}
    for home in homes:
        assert set(home) >= SCREEN_KEYS
        assert 0 <= home["score"] <= 100
        for name in ("cost", "rent_lift_month"):
            figure = home[name]
            assert figure["p10"] <= figure["p50"] <= figure["p90"]
        for name in ("payback_months", "return_on_cost"):
            assert home[name] is None or set(home[name]) == {"p10", "p50", "p90"}
        assert home["unseen"][0]["sentence"]
        assert 1 <= len(home["reasons"]) <= 3
        assert home["errors"] == []
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    assert [row["home"] for row in rows] == [home["home"] for home in homes]


def test_screen_prints_a_ranked_table(batch: Path) -> None:
    result = run("screen", batch, "--budget", "5000", "--top", "1")
    assert result.exit_code == 0
    assert "Rank" in result.stdout
    assert "Limits: $5,000 a home" in result.stdout
    (home, *_) = json.loads(run("screen", batch, "--budget", "5000", "--json").stdout)
    gain = home["net_gain"]["p50"]
    assert f"{'−' if round(gain) < 0 else ''}${abs(gain):,.0f}" in result.stdout
    assert "not appraisals" in result.stdout
    assert len([line for line in result.stdout.splitlines() if " house " in line]) == 1


def test_screen_gives_the_same_every_time_and_in_worker_processes(batch: Path) -> None:
    for number in range(2, 5):
        make_home(batch / f"home {number}", seed=number)
    once = run("screen", batch, "--json", "--workers", "1")
    again = run("screen", batch, "--json", "--workers", "2")
    assert once.exit_code == again.exit_code == 0
    assert once.stdout == again.stdout


def test_screen_goes_on_past_bad_homes_photos_and_rows(batch: Path) -> None:
    bad_photos(batch / "bad photos")
    (batch / "nothing here").mkdir()
    (batch / "light house" / "listing.csv").write_text("ListPrice,YearBuilt\n-5,1950\n")
    (batch / "light house" / "tags.csv").write_text("room,condition\nkitchen,no_such_thing\n")
    result = run("screen", batch, "--json")
    assert result.exit_code == 1
    homes = {home["home"]: home for home in json.loads(result.stdout)}
    assert set(homes) == {"dark house", "light house", "bad photos", "nothing here"}
    assert len(homes["bad photos"]["errors"]) == 3
    assert "no photo was found" in homes["nothing here"]["errors"][0]
    errors = " ".join(homes["light house"]["errors"])
    assert "light house/listing.csv, row 2: ListPrice “-5” cannot be negative" in errors
    assert "tags.csv, row 2: “no_such_thing” is no condition" in errors
    assert {homes[name]["rank"] for name in ("bad photos", "nothing here")} == {3, 4}
    for sentence in (error for home in homes.values() for error in home["errors"]):
        assert sentence in result.stderr


def test_a_sentence_names_the_home_of_its_photo_and_the_json_has_those_of_no_home(
    batch: Path,
) -> None:
    for home in ("first", "second"):
        bad_photos(batch / home)
    save_photo(batch / "beside.jpg")
    (batch.parent / "comps.csv").write_text("rent_usd_month,beds,date\nmuch,2,2026-01-01\n")
    result = run("screen", batch, "--json", "--comps", batch.parent / "comps.csv")
    assert result.exit_code == 1
    ranked = json.loads(result.stdout)
    homes = {home["home"]: home for home in ranked}
    for name in ("first", "second"):
        told = homes[name]["errors"]
        assert len(told) == 3
        assert all(sentence.startswith(f"{name}/") for sentence in told)
    assert [sentence[:10] for sentence in ranked[0]["folder_errors"]] == [
        "comps.csv,",
        "beside.jpg",
    ]
    assert not any("folder_errors" in home for home in ranked[1:])
    every = [*ranked[0]["folder_errors"], *(e for home in ranked for e in home["errors"])]
    assert sorted(result.stderr.splitlines()) == sorted(every)


def test_a_screen_full_of_sentences_says_where_the_others_are(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told = [f"home {number}/a.jpg: is no photo." for number in range(MOST_SENTENCES + 7)]
    tell_sentences(told, in_json=True)
    assert capsys.readouterr().err.splitlines() == told  # a file or a pipe gets every one
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    for in_json, where in ((True, "“folder_errors” of the first"), (False, "--json-file FILE")):
        tell_sentences(told, in_json)
        *shown, last = capsys.readouterr().err.splitlines()
        assert shown == told[:MOST_SENTENCES]
        assert last.startswith("… and 7 more: ")
        assert where in last


def test_screen_where_nothing_can_be_used(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert run("screen", tmp_path / "empty").exit_code == 2
    assert "no home was found" in run("screen", tmp_path / "empty").stderr
    assert run("screen", tmp_path / "missing").exit_code == 2
    bad_photos(tmp_path / "homes" / "bad")
    result = run("screen", tmp_path / "homes", "--json")
    assert result.exit_code == 2
    assert len(json.loads(result.stdout)) == 1


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("budget_usd = -1", "settings.toml, budget_usd: -1 cannot be used"),
        ("cap_rate = 8", "more than 0 and at most 0.5 (a share: 0.08 is 8 %)."),
        ("weeks = [6]", "settings.toml, weeks: [6] cannot be used; it must be a number"),
        ("budget_usd = 6.000", "settings.toml, budget_usd: $6 buys no work; write 6000"),
        ('aim = "profit"', "profit cannot be used; use net_gain, rent_lift or return."),
        ('budget_usd = "6.000"', "“6.000” could mean 6000 or 6; write 6000."),
        ("budgt = 1", "settings.toml, budgt: no such setting; use budget_usd"),
        ("budget_usd = ", "settings.toml, line 1: this is not TOML at “budget_usd =”: write num"),
    ],
)
def test_wrong_settings_name_file_and_field(batch: Path, text: str, sentence: str) -> None:
    (batch.parent / "settings.toml").write_text(text)
    result = run("screen", batch, "--settings", batch.parent / "settings.toml")
    assert result.exit_code == 2
    assert sentence in result.stderr


def test_a_wrong_option_is_named(batch: Path) -> None:
    for option, sentence in (
        ("--budget=-5", "option --budget: “-5” cannot be negative."),
        ("--budget=much", "“much” is not a number (write it like 6000, $6,000 or 6k)."),
        ("--budget=6.000", "option --budget: “6.000” could mean 6000 or 6; write 6000."),
        ("--weeks=0", "option --weeks: 0 cannot be used; it must be a number more than 0"),
        ("--weeks=soon", "option --weeks: “soon” is not a number (write it like 4.5)."),
        ("--helpers=1.5", "option --helpers: “1.5” must be a whole number."),
        ("--own-hour=5,000", "“5,000” must lie between $0 and $1,000."),
        ("--hours-per-week=-1", "option --hours-per-week: “-1” cannot be negative."),
    ):
        result = run("screen", batch, option)
        assert (result.exit_code, result.stdout) == (2, "")
        assert sentence in result.stderr
        assert len(result.stderr.splitlines()) == 1
    assert run("nonsense").exit_code == 2


@pytest.mark.parametrize("written", ["$6,000", "6k", "6000", "6 000", "$6k"])
def test_a_budget_is_read_as_people_write_it(written: str) -> None:
    seen: list[dict[str, Any]] = []

    @click.command()
    @settings_options
    def command(**given: Any) -> None:
        seen.append(given)

    result = CliRunner().invoke(command, ["--budget", written, "--own-hour", "$22.500"])
    assert result.exit_code == 0
    # $22,500 an hour is no wage, so 22.500 has one reading only.
    assert (seen[0]["budget_usd"], seen[0]["own_hour_usd"]) == (6_000, 22.5)


def test_settings_are_used(batch: Path) -> None:
    (batch.parent / "s.toml").write_text("budget_usd = 0\n")
    (home, *_) = json.loads(
        run("screen", batch, "--json", "--settings", batch.parent / "s.toml").stdout
    )
    assert home["upgrades"] == []


def test_a_tag_outranks_the_photo(batch: Path) -> None:
    home = batch / "light house"
    condition = next(c for c in load_conditions().values() if c.hold and "bathroom" in c.room_kinds)
    result = run("tag", home, "bathroom", condition.id, "--severity", "3", "--note", "wet")
    assert result.exit_code == 0
    assert condition.label in result.stdout
    homes = {h["home"]: h for h in json.loads(run("screen", batch, "--json").stdout)}
    found = [f for f in homes["light house"]["findings"] if f["condition"] == condition.id]
    assert [(f["room"], f["severity"], f["certainty"]) for f in found] == [("bathroom 1", 3, 1.0)]
    assert homes["light house"]["holds"]
    wrong = run("tag", home, "bathroom", "no_such_thing")
    assert wrong.exit_code == 2
    assert "no condition of the checklist" in wrong.stderr


def test_compare_puts_homes_side_by_side(batch: Path) -> None:
    result = run("compare", batch / "dark house", batch / "light house")
    assert result.exit_code == 0
    assert "dark house" in result.stdout.splitlines()[0]
    assert "light house" in result.stdout.splitlines()[0]
    assert run("compare", batch / "no").exit_code == 2


def test_compare_says_of_a_home_what_screen_says(batch: Path) -> None:
    make_home(batch / "without facts", DARK_RED)
    (batch / "listings.csv").write_text(
        "ListingId,ListPrice,BedroomsTotal,LeaseAmount,LivingArea\n"
        "dark house,85000,2,900,850\nlight house,91000,3,1100,1000\nanother,1,1,1,1\n"
    )
    run("tag", batch / "dark house", "bathroom", "leak_below_bath")
    screened = {h["home"]: h for h in json.loads(run("screen", batch, "--json").stdout)}
    names = ("dark house", "light house", "without facts")
    compared = json.loads(run("compare", *(batch / name for name in names), "--json").stdout)
    assert {home["home"] for home in compared} == set(names)
    for home in compared:
        asked = screened[home["home"]]
        assert {k: v for k, v in home.items() if k != "rank"} == {
            k: v for k, v in asked.items() if k not in {"rank", "folder_errors"}
        }
    assert [h["home"] for h in compared] == [h for h in screened if h in names]


def test_lists() -> None:
    conditions = lines(run("conditions", "--json"))
    assert len(conditions) == len(load_conditions()) >= 70
    assert len(lines(run("conditions", "bathroom", "--json"))) < len(conditions)
    upgrades = lines(run("upgrades", "--json"))
    assert len(upgrades) >= 60
    assert run("upgrades", "kitchen").stdout
    assert run("conditions", "spaceship").exit_code == 2


def test_help_and_version_name_the_exit_codes() -> None:
    assert __version__ in run("--version").stdout
    text = run("--help").stdout
    assert "Exit codes: 0 all well" in text
    for command in ("screen", "read", "page", "tag", "compare", "conditions", "upgrades"):
        assert command in text
        assert run(command, "--help").exit_code == 0


def test_the_installed_program_keeps_stdout_clean(batch: Path) -> None:
    program = Path(sys.executable).parent / "value-add"
    done = subprocess.run(
        [program, "screen", batch, "--json", "--workers", "2"],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals")
def test_ctrl_c_ends_quietly(tmp_path: Path) -> None:
    photo = save_photo(tmp_path / "kitchen.jpg")
    for number in range(400):
        home = tmp_path / "homes" / f"h{number}"
        home.mkdir(parents=True)
        for copy in range(5):
            (home / f"kitchen {copy}.jpg").hardlink_to(photo)
    program = Path(sys.executable).parent / "value-add"
    with subprocess.Popen(
        [program, "screen", tmp_path / "homes", "--workers", "2"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # Where the tests run in the background, Ctrl+C is ignored, and children inherit that.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as running:
        time.sleep(4)
        os.killpg(running.pid, signal.SIGINT)
        try:
            out, errors = running.communicate(timeout=60)
        finally:
            if running.poll() is None:
                os.killpg(running.pid, signal.SIGKILL)
    assert (running.returncode, out) == (130, "")
    assert "Traceback" not in errors
    assert "Stopped." in errors


def test_starting_is_light() -> None:
    code = (
        "import sys; from scorer.commands import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print(sorted({'numpy', 'cv2', 'pandas', 'scipy', 'streamlit'} & set(sys.modules)),"
        " file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
