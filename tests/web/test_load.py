"""Many clients for a few seconds, then a stop in the middle: the load benchmark in small."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.benchmarks.bench_load import EXPECTED, run

MOST_BYTES = 2 * 1024**3
"""Server and workers together: far less than the bodies that all clients would send."""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc to weigh processes in")
def test_rude_clients_and_a_stop_lose_nothing(tmp_path: Path) -> None:
    seen = run(tmp_path / "jobs", seconds=6, clients=32)
    assert seen.server_faults() == 0
    assert seen.told == ""
    assert seen.refused == []
    assert seen.measured > 0
    assert set(seen.statuses) >= EXPECTED
    assert seen.all_bytes < MOST_BYTES
    assert seen.jobs
    assert seen.broken_jobs == []
    assert seen.exit_code in (0, -signal.SIGTERM)  # raised anew once all is shut
    assert seen.stopped_in < 40
    assert seen.left == []
