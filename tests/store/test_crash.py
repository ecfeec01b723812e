"""A pulled plug: processes that write to the store are killed at random points, again and again.

``SIGKILL`` can't be caught [1]_, so nothing is tidied up: what the next start finds is what SQLite
had in the file and its write-ahead log at that moment [2]_.

References
----------
.. [1] IEEE Std 1003.1-2017 (POSIX), 2.4.3 "Signal Actions".
.. [2] "Atomic Commit In SQLite" and "Write-Ahead Logging", sqlite.org.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, suppress
from copy import deepcopy
from pathlib import Path
from typing import NamedTuple

import pytest

from scorer.listing.listing import Listing
from scorer.store import Brought, Store
from scorer.store.care import back_up
from scorer.store.photo_files import is_whole
from scorer.store.schema import MIGRATIONS
from scorer.store.taken import PHOTO_FOLDER
from tests.store.crash_books import Books
from tests.store.crash_server import KINDS, tag

pytestmark = pytest.mark.skipif(os.name == "nt", reason="needs fork and SIGKILL")

ROOT = Path(__file__).parents[2]
CYCLES = 300
MORE_CYCLES = 60
FIRST_CHANGES = 4
"""A child lives no longer than this many changes take here, from its start."""


class Killer:
    """Starts works in children of a fork server, and kills them."""

    def __init__(self) -> None:
        self.child = 0
        self.server = subprocess.Popen(
            [sys.executable, "-m", "tests.store.crash_server"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, "OMP_NUM_THREADS": "1"},
        )

        assert self.line() == "ready"

    def start(self, work: str, **asked: object) -> int:
        """Process id of a child that has begun a work."""
        assert self.server.stdin is not None
        self.server.stdin.write(json.dumps({"work": work, **asked}, default=str) + "\n")
        self.server.stdin.flush()
        word, number = self.line().split()
        assert word == "child"
        self.child = int(number)
        return self.child

    def line(self) -> str:
        assert self.server.stdout is not None
        line = self.server.stdout.readline()
        assert line, "the fork server has ended"
        assert not line.startswith("failed"), line
        if line.strip() == "ended":
            self.child = 0
        return line.strip()

    def until(self, last: str) -> list[str]:
        """All that is said up to a line, which is left out."""
        said = []
        while (line := self.line()) != last:
            said.append(line)
        return said

    def kill_after(self, seconds: float, work: str, **asked: object) -> list[str]:
        """What a child said before it was killed."""
        child = self.start(work, **asked)
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        return self.until("ended")

    def finish(self, work: str, **asked: object) -> tuple[list[str], float]:
        """What a child said that came to its end, and how long it took [s]."""
        started = time.perf_counter()
        child = self.start(work, **asked)
        said = self.until("done")
        seconds = time.perf_counter() - started
        os.kill(child, signal.SIGKILL)
        self.until("ended")
        return said, seconds

    def kill_by_itself(self, work: str, **asked: object) -> None:
        """Let a child come to its end, or to where it was told to kill itself."""
        child = self.start(work, **asked)
        while (line := self.line()) != "ended":
            if line == "done":
                os.kill(child, signal.SIGKILL)

    def close(self) -> None:
        """End the server, and the child that is there."""
        if self.child:
            with suppress(ProcessLookupError):
                os.kill(self.child, signal.SIGKILL)
        assert self.server.stdin is not None
        self.server.stdin.close()
        self.server.wait(10)
        assert self.server.stdout is not None
        self.server.stdout.close()


@pytest.fixture(scope="module")
def killer() -> Iterator[Killer]:
    killer = Killer()
    yield killer
    killer.close()


def looked_over(path: Path) -> sqlite3.Connection:
    """The store, opened by the program first and then by plain SQLite; whole by both."""
    with Store(path) as store:
        assert store.problems() == ()
    plain = sqlite3.connect(path)
    assert plain.execute("pragma integrity_check").fetchall() == [("ok",)]
    assert plain.execute("pragma foreign_key_check").fetchall() == []
    assert plain.execute("pragma user_version").fetchone() == (len(MIGRATIONS),)
    return plain


class Tally(NamedTuple):
    """What the cycles hit."""

    kept: Counter[str]
    interrupted: Counter[str]
    kept_unsaid: Counter[str]


def check_cycle(said: list[str], books: Books, store: Path, backups: Path, tally: Tally) -> Books:
    """The books after a child was killed; they must be what the store holds, to the row.

    Every operation that was acknowledged is in them. The one that was under way is in the store as
    a whole (it was kept, and the word of it did not get out) or not at all.
    """
    under_way: tuple[int, str, int] | None = None
    copies: dict[int, Books] = {}
    for line in said:
        word, number, *more = line.split()
        if word == "began":
            under_way = (int(number), more[0], int(more[1]))
            if more[0] == "backup":
                copies[int(number)] = deepcopy(books)
            continue
        assert under_way is not None
        assert (word, int(number)) == ("kept", under_way[0])
        books.write(*under_way)
        tally.kept[under_way[1]] += 1
        if under_way[1] == "backup":
            assert (backups / f"{number}.sqlite").is_file()
        under_way = None
    with closing(looked_over(store)) as file:
        there = Books.of(file)
        for (photo,) in file.execute("select taken ->> 'file' from taken_photo"):
            assert is_whole(store.parent / PHOTO_FOLDER / photo)
    if under_way is not None:
        tally.interrupted[under_way[1]] += 1
        if there != books:
            books.write(*under_way)
            tally.kept_unsaid[under_way[1]] += 1
    assert there == books, f"after {said[-1:]}"
    for copy in backups.iterdir():
        if copy.suffix == ".sqlite":  # acknowledged or not: a file of that name is a whole copy
            with closing(looked_over(copy)) as file:
                assert Books.of(file) == copies[int(copy.stem)]
        copy.unlink()
    return books


def test_every_acknowledged_change_survives_300_pulled_plugs(
    killer: Killer, tmp_path: Path
) -> None:
    path, backups = tmp_path / "homes.sqlite", tmp_path / "backups"
    backups.mkdir()
    with Store(path) as store:
        store.add_home(Listing(home="first"))
    draw = random.Random(20_261_125)
    books, number, tally = Books(), 1, Tally(Counter(), Counter(), Counter())
    longest = 0.0
    for cycle in range(CYCLES + MORE_CYCLES + 1):
        if cycle > CYCLES:
            if all(tally.kept[kind] for kind in (*KINDS, "backup")):
                break
            longest *= 1.1  # a busy machine: the longest changes must come through too
        child = killer.start(
            "save and import", path=path, backups=backups, first=number, seed=draw.random()
        )
        said = []
        if cycle == 0:  # how quick is this disk?
            started = time.perf_counter()
            said = [killer.line() for _ in range(2 * FIRST_CHANGES)]
            longest = time.perf_counter() - started
        time.sleep(draw.uniform(0.0, longest))
        os.kill(child, signal.SIGKILL)
        said += killer.until("ended")
        books = check_cycle(said, books, path, backups, tally)
        number += sum(line.startswith("began") for line in said)
    print(f"{sum(tally.kept.values())} changes kept, {sum(tally.interrupted.values())} cut short")
    assert sum(tally.interrupted.values()) > CYCLES / 4, tally  # most died in the midst of a change
    assert min(tally.kept[kind] for kind in (*KINDS, "backup")) > 0, tally


# A store of an earlier version -----------------------------------------------------------------

OLD_HOMES = 200


def old_store(path: Path, version: int) -> None:
    """A store as the program of an earlier version left it."""
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("pragma journal_mode = wal")
        for step in MIGRATIONS[:version]:
            file.executescript(step)
        file.execute("begin")
        for home in range(1, OLD_HOMES + 1):
            listing = Listing(home=f"home {home}").model_dump_json()
            row = (home, f"home {home}", listing, f"note {home}")
            file.execute("insert into home (id, name, listing, note) values (?, ?, ?, ?)", row)
            said = tag(home).model_dump_json()
            file.execute("insert into tag (home_id, tag) values (?, ?)", (home, said))
        file.execute(f"pragma user_version = {version}")
        file.execute("commit")


def check_old_homes(path: Path) -> int:
    """All that was typed is there after the migration; returns the version before this start."""
    with closing(sqlite3.connect(path)) as file:
        version = int(file.execute("pragma user_version").fetchone()[0])
    looked_over(path).close()
    with Store(path) as store:
        homes = store.homes()
        assert [home.note for home in homes] == [f"note {at}" for at in range(1, OLD_HOMES + 1)]
        assert [home.tags for home in homes] == [(tag(at),) for at in range(1, OLD_HOMES + 1)]
    return version


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_a_migration_cut_at_any_instruction_is_done_by_the_next_start(
    killer: Killer, tmp_path: Path, version: int
) -> None:
    """SQLite itself calls the killer, after so many instructions of its virtual machine."""
    first = tmp_path / "whole.sqlite"
    old_store(first, version)
    copy = tmp_path / "homes.sqlite"
    shutil.copy(first, copy)
    said, _ = killer.finish("open", path=copy, instructions=0)
    instructions = int(said[-1].split()[1])
    assert instructions > 100
    left_at = set()
    for cut in range(1, instructions + 1, max(1, instructions // 40)):
        shutil.copy(first, copy)
        killer.kill_by_itself("open", path=copy, instructions=cut)
        left_at.add(check_old_homes(copy))
        copy.unlink()
    assert left_at >= set(range(version, len(MIGRATIONS)))  # cut within each step of the way


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_a_migration_cut_at_any_time_is_done_by_the_next_start(
    killer: Killer, tmp_path: Path, version: int
) -> None:
    first, copy = tmp_path / "whole.sqlite", tmp_path / "homes.sqlite"
    old_store(first, version)
    shutil.copy(first, copy)
    _, seconds = killer.finish("open", path=copy)
    draw = random.Random(version)
    for _ in range(20):
        shutil.copy(first, copy)
        killer.kill_after(draw.uniform(0, 1.2 * seconds), "open", path=copy)
        check_old_homes(copy)
        copy.unlink()


# A backup put back -----------------------------------------------------------------------------


def test_a_restore_cut_at_any_time_leaves_the_old_content_or_the_new(
    killer: Killer, tmp_path: Path
) -> None:
    before, backup = tmp_path / "before.sqlite", tmp_path / "backup.sqlite"
    with Store(before) as store:
        store.add_homes(
            Brought(Listing(home=f"{at} {'x' * 180}"), tuple(tag(at, n) for n in range(4)))
            for at in range(1, 1_000)
        )
        back_up(before, backup)
        store.remove_home(1, 1)
        store.type_note(2, {""}, "typed after the backup")
    with closing(sqlite3.connect(before)) as file:
        old = Books.of(file)
    draw = random.Random(7)
    folder = tmp_path / "data"
    folder.mkdir()
    path = folder / "homes.sqlite"
    shutil.copy(before, path)
    _, seconds = killer.finish("restore", path=path, backup=backup)
    with closing(looked_over(path)) as file:
        new = Books.of(file)
    assert new != old
    met: Counter[bool] = Counter()
    for delay in (0.0, *(draw.uniform(0, 1.1 * seconds) for _ in range(24))):
        shutil.rmtree(folder)
        folder.mkdir()
        shutil.copy(before, path)
        killer.kill_after(delay, "restore", path=path, backup=backup)
        with closing(looked_over(path)) as file:
            there = Books.of(file)
        met[there == new] += 1
        assert there in (old, new)
        kept = list(folder.glob("homes before *.sqlite"))
        assert len(kept) == 1 or there == old  # nothing is put in its place before it is kept
        for copy in kept:
            with closing(looked_over(copy)) as file:
                assert Books.of(file) == old
        if there == old:  # what was left lying is no hindrance the next time
            killer.finish("restore", path=path, backup=backup)
            with closing(looked_over(path)) as file:
                assert Books.of(file) == new
            assert not [left for left in folder.iterdir() if ".part" in left.name]
    print(f"cut before the end: {met[False]}, after it: {met[True]}")


# Two writers -----------------------------------------------------------------------------------


RACE = 60


def run_race(path: Path, *writers: str) -> list[list[str]]:
    """What each of the processes said that changed home 1 at the same time."""
    with Store(path) as store:
        store.add_home(Listing(home="first"))
    running = [Killer() for _ in writers]
    try:
        together = time.time() + 0.5  # else the first could be done before the second has begun
        for writer, by in zip(running, writers, strict=True):
            writer.start("race", path=path, by=by, times=RACE, begin=together)
        return [writer.until("done") for writer in running]
    finally:
        for writer in running:
            writer.close()


def test_two_processes_that_race_on_one_home_lose_no_word(tmp_path: Path) -> None:
    path = tmp_path / "homes.sqlite"
    said = run_race(path, "a", "b")
    kept = [[line.split()[1] for line in lines if line.startswith("kept")] for lines in said]
    assert kept == [[f"{name}{at}" for at in range(RACE)] for name in "ab"]
    with Store(path) as store:
        home = store.home(1)
        words = [sentence for _, sentence in store.decisions(1)]
    assert sorted(words) == sorted(kept[0] + kept[1])  # every word that was acknowledged, once
    for mine in kept:
        assert [word for word in words if word in set(mine)] == mine
    assert home.version == 1 + len(words)
    # They did meet, and the slower one was told.
    assert any(line.startswith("stale") for lines in said for line in lines)


def test_a_tab_and_an_import_that_race_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "homes.sqlite"
    said, _ = run_race(path, "a", "import")
    with Store(path) as store:
        home = store.home(1)
        words = [sentence for _, sentence in store.decisions(1)]
    assert words == [f"a{at}" for at in range(RACE)]
    assert home.tags == tuple(tag(at) for at in range(RACE))
    assert home.listing.bedrooms == (RACE - 1) % 20
    assert home.version == 1 + 2 * RACE
    assert any(line.startswith("stale") for line in said)  # the tab was told of the import
