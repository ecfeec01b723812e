"""A cluster gives what one machine gives, bit for bit, also when a worker dies on the way."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main
from scorer.errors import InputError
from scorer.report import to_json
from scorer.screening import Progress, ScreenedFolder, screen_folder
from scorer.screening import cluster as module
from scorer.screening.cluster import OtherVersion, cluster_at
from scorer.screening.pool import Job, read_photos
from scorer.shortlist.result import HomeResult
from tests.homes import DARK_RED, LIGHT, make_home
from tests.screening import deeds

distributed = pytest.importorskip(
    "distributed", reason="the extra “cluster” (Dask's distributed) is not installed"
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


@pytest.fixture
def homes(tmp_path: Path) -> Path:
    for number in range(6):
        make_home(tmp_path / f"home {number}", DARK_RED if number % 2 else LIGHT, number)
    (tmp_path / "home 3" / "broken.jpg").write_bytes(b"no photo")
    return tmp_path


def plain(screened: ScreenedFolder) -> list[HomeResult]:
    """Without the only thing that two runs differ in: how long each photo took."""
    return [
        home.model_copy(
            update={"readings": tuple(r.model_copy(update={"seconds": 0}) for r in home.readings)}
        )
        for home in screened.homes
    ]


def test_results_equal_those_of_one_machine_with_a_worker_killed(
    homes: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(homes.parent)  # a path from here means nothing to a worker
    folder = homes.relative_to(homes.parent)
    local = screen_folder(folder, workers=1)
    with distributed.Client(address, set_as_default=False) as client:
        before = set(client.run(os.getpid).values())
    assert len(before) == 2
    killed = []

    def kill_one(progress: Progress) -> None:
        if progress.photos_done == 3:
            killed.append(min(before))
            os.kill(killed[0], signal.SIGKILL)

    with cluster_at(address) as cluster:
        assert cluster.workers == 2
        far = screen_folder(folder, executor=cluster.executor, on_progress=kill_one)
    assert killed
    assert len(local.homes) == 6
    assert plain(far) == plain(local)
    assert to_json(far.homes) == to_json(local.homes)
    assert far.problems == local.problems


def test_the_command_prints_the_same(homes: Path, address: str) -> None:
    command = ["screen", str(homes), "--json", "--quiet", "--no-cache"]
    local = CliRunner().invoke(main, command)
    far = CliRunner().invoke(main, [*command, "--cluster", address])
    assert local.exit_code == far.exit_code == 1  # one photo is broken
    assert far.stdout == local.stdout
    assert far.stderr == local.stderr


def test_a_worker_of_another_version_is_refused(address: str) -> None:
    with distributed.Client(address, set_as_default=False) as client:
        client.run(deeds.be_of_another_version)
        try:
            with pytest.raises(OtherVersion, match="another version"), cluster_at(address):
                pass
        finally:
            client.run(deeds.be_of_this_version)


def test_a_worker_that_joins_late_with_another_version_is_refused(
    homes: Path, address: str
) -> None:
    read: list[Progress] = []

    def joins(progress: Progress) -> None:
        read.append(progress)
        if progress.photos_done == 3:
            client.run(deeds.be_of_another_version)

    with distributed.Client(address, set_as_default=False) as client:
        try:
            with (
                pytest.raises(OtherVersion, match="another version of this program"),
                cluster_at(address) as cluster,
            ):
                screen_folder(homes, executor=cluster.executor, on_progress=joins)
        finally:
            client.run(deeds.be_of_this_version)
    assert 3 <= len(read) < 25


def test_a_photo_costs_itself_only_there_too(address: str) -> None:
    names = ["a.jpg", "deadly.jpg", "b.jpg", "endless.jpg", "c.jpg"]
    jobs = [Job(f"/nowhere/{name}", name) for name in names]
    with distributed.Client(address, set_as_default=False) as client:
        before = set(client.run(os.getpid).values())
        with cluster_at(address) as cluster:
            readings = list(
                read_photos(jobs, 5, cluster.executor, read_one=deeds.read_deadly, seconds=2.0)
            )
        assert set(client.run(os.getpid).values()) == before  # no worker of the cluster died
    assert [reading.file for reading in readings] == names
    errors = {reading.file: reading.error for reading in readings if reading.error}
    assert list(errors) == ["deadly.jpg", "endless.jpg"]
    assert "broke the program that decodes it" in errors["deadly.jpg"]
    assert "took longer than 2 seconds" in errors["endless.jpg"]


# Workers that lack the program ------------------------------------------------------------------

WITHOUT_IT = "import sys; sys.modules['scorer'] = None; "
WORKER = "from distributed.cli.dask_worker import main; main()"
LACKS = "can't run this program (ModuleNotFoundError: "


class Machines:
    """A scheduler, and workers as other machines would start them."""

    def __init__(self, address: str, client: distributed.Client) -> None:
        self.address = address
        self.client = client
        self.started: list[subprocess.Popen[bytes]] = []

    def join(self, *, able: bool) -> subprocess.Popen[bytes]:
        """Start a worker, and wait until it has joined."""
        there = len(self.client.nthreads())
        code = WORKER if able else WITHOUT_IT + WORKER
        options = [self.address, "--no-nanny", "--nthreads", "1", "--no-dashboard"]
        worker = subprocess.Popen([sys.executable, "-c", code, *options], stderr=subprocess.DEVNULL)
        self.started.append(worker)
        self.client.wait_for_workers(there + 1, timeout=60)
        return worker


@pytest.fixture
def machines() -> Iterator[Machines]:
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=":0") as cluster,
        distributed.Client(cluster, set_as_default=False) as client,
    ):
        found = Machines(cluster.scheduler_address, client)
        yield found
        for worker in found.started:
            worker.kill()
            worker.wait()


def test_a_worker_without_the_program_that_joins_late_is_left_out(
    homes: Path, machines: Machines
) -> None:
    joined = []

    def joins(progress: Progress) -> None:
        if progress.photos_done == 3:
            joined.append(machines.join(able=False))

    local = screen_folder(homes, workers=1)
    machines.join(able=True)
    with cluster_at(machines.address) as cluster:
        far = screen_folder(homes, executor=cluster.executor, on_progress=joins)
    assert plain(far) == plain(local)
    assert far.problems == local.problems
    assert len(cluster.problems) == 1
    assert LACKS in cluster.problems[0]
    assert joined[0].poll() is None  # it lives on, for whom it is of use


def test_a_worker_without_the_program_is_told_in_one_sentence_and_the_others_work(
    homes: Path, machines: Machines
) -> None:
    machines.join(able=False)
    command = ["screen", str(homes), "--json", "--no-cache", "--quiet"]
    command += ["--cluster", machines.address]
    nobody = CliRunner().invoke(main, command)
    assert nobody.exit_code == 2
    assert "none of the cluster's workers can run this program" in nobody.stderr
    assert len(nobody.stderr.splitlines()) == 1
    machines.join(able=True)
    some = CliRunner().invoke(main, command)
    assert some.exit_code == 1  # one photo is broken
    assert len(json.loads(some.stdout)) == 6
    assert [LACKS in line for line in some.stderr.splitlines()] == [True, False]


@pytest.mark.parametrize("another", [True, False])
def test_when_the_last_able_worker_dies_another_takes_over_or_the_run_ends(
    homes: Path, machines: Machines, monkeypatch: pytest.MonkeyPatch, another: bool
) -> None:
    monkeypatch.setattr(module, "ASK_AGAIN_SECONDS", 0.5)

    def dies(progress: Progress) -> None:
        if progress.photos_done == 3:
            able.kill()
            able.wait()
            if another:
                machines.join(able=True)

    machines.join(able=False)
    able = machines.join(able=True)
    with cluster_at(machines.address) as cluster:
        if another:
            far = screen_folder(homes, executor=cluster.executor, on_progress=dies)
            assert len(far.homes) == 6
            assert far.photos_read == 24
        else:
            with pytest.raises(InputError, match="none of the cluster's workers can run"):
                screen_folder(homes, executor=cluster.executor, on_progress=dies)


def test_nobody_at_the_address_is_one_sentence(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "CONNECT_SECONDS", 1)
    for wrong in ("tcp://127.0.0.1:9", "nonsense://x"):
        result = CliRunner().invoke(main, ["screen", str(homes), "--cluster", wrong])
        assert result.exit_code == 2
        assert "no cluster's scheduler answers there" in result.stderr
