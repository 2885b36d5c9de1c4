"""`artcheck batch --cluster` against a real scheduler and workers, each a process of its own."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from artcheck.cli.run import run
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from tests.art import saved, two_inks
from tests.batch.test_isolated import gone
from tests.batch.test_killed import children, noted, wait_for

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None, reason="needs the extra 'cluster'"
)

NAMES = [f"{n:02}.png" for n in range(12)]
ORDER = ["--quantity", "24", "--width", "4in"]


class Cluster:
    """A scheduler and two workers of one thread each, on this machine."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = folder / "scheduler.json"
        self._logs = (folder / "log").open("wb")
        bound = ["--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
        self.scheduler = self._started("scheduler", *bound)
        alone = ["--no-nanny", "--nthreads", "1", "--local-directory", str(folder)]
        self.workers = [self._started("worker", "--no-dashboard", *alone) for _ in range(2)]

    def _started(self, part: str, *options: str) -> subprocess.Popen[bytes]:
        module = f"distributed.cli.dask_{part}"
        command = [sys.executable, "-m", module, "--scheduler-file", str(self._file), *options]
        return subprocess.Popen(command, stdout=self._logs, stderr=self._logs, cwd=self._folder)

    @property
    def address(self) -> str:
        for _ in range(1000):
            try:
                return str(json.loads(self._file.read_text())["address"])
            except (OSError, ValueError):
                time.sleep(0.02)
        raise AssertionError((self._folder / "log").read_text())

    def close(self) -> None:
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()
        self._logs.close()


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    folder = tmp_path / "cluster"
    folder.mkdir()
    made = Cluster(folder)
    yield made
    made.close()


def begun(art: Path, out: Path, *options: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "artcheck", "batch", str(art), "--out", str(out), *ORDER]
    return subprocess.Popen(
        [*command, *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def test_a_worker_dies_then_the_scheduler_and_nothing_is_lost_or_twice(
    tmp_path: Path, cluster: Cluster
) -> None:
    art = tmp_path / "art"
    art.mkdir()
    for n, name in enumerate(NAMES):
        saved(two_inks(150 + 10 * n), art / name)
    there = ["--cluster", cluster.address]

    first = begun(art, tmp_path / "first", *there)
    wait_for(3, tmp_path / "first", first)
    at_work = [pid for worker in cluster.workers for pid in children(worker.pid)]
    assert len(at_work) == 2, "both workers have a process for files"
    cluster.workers[0].kill()
    cluster.workers[0].wait()
    assert len(noted(tmp_path / "first")) < len(NAMES)
    told, complained = first.communicate(timeout=60)
    assert first.returncode == 0, complained
    assert told.startswith("12 of 12 files\n")
    assert gone(at_work[0])
    assert Counter(noted(tmp_path / "first")) == Counter(NAMES)

    second = begun(art, tmp_path / "second", *there)
    wait_for(3, tmp_path / "second", second)
    cluster.scheduler.kill()
    cluster.scheduler.wait()
    _, complained = second.communicate(timeout=60)
    assert second.returncode == 10, complained
    assert "went away" in complained.splitlines()[-1]
    before = noted(tmp_path / "second")
    assert 3 <= len(before) < len(NAMES)

    # Gone on with by this machine alone: one code, the same bytes.
    assert run(["batch", str(art), "--out", str(tmp_path / "second"), *ORDER]) == 0
    assert noted(tmp_path / "second")[: len(before)] == before
    assert Counter(noted(tmp_path / "second")) == Counter(NAMES)
    for name in (LINES_NAME, TABLE_NAME, PAGE_NAME):
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "second" / name).read_bytes()


def test_no_scheduler_is_one_line(tmp_path: Path) -> None:
    saved(two_inks(150), tmp_path / "a.png")
    for address in ("nonsense", "tcp://127.0.0.1"):
        process = begun(tmp_path / "a.png", tmp_path / "out", "--cluster", address)
        told, complained = process.communicate(timeout=60)
        assert (process.returncode, told) == (10, "")
        assert complained.count("\n") == 1
        assert f"No cluster answers at {address}" in complained
    assert not (tmp_path / "out").exists()
