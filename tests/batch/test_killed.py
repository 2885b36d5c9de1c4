"""`artcheck batch` as a process of its own, killed in the middle."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from artcheck.report.journal import JOURNAL_NAME
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from tests.art import saved, two_inks
from tests.batch.test_isolated import gone

NAMES = [f"{n:02}.png" for n in range(12)]
RESULTS = (LINES_NAME, TABLE_NAME, PAGE_NAME)


def begun(art: Path, out: Path) -> subprocess.Popen[bytes]:
    """The command, in a session of its own as a shell would start it."""
    command = [sys.executable, "-m", "artcheck", "batch", str(art), "--out", str(out)]
    command += ["--workers", "2", "--quantity", "24", "--width", "4in"]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, start_new_session=True)


def noted(out: Path) -> list[str]:
    """Files whose whole line stands in the journal."""
    try:
        data = (out / JOURNAL_NAME).read_bytes()
    except FileNotFoundError:
        return []
    entries = [json.loads(line) for line in data.split(b"\n")[:-1]]
    return [entry["name"] for entry in entries if "name" in entry]


def wait_for(count: int, out: Path, run: subprocess.Popen[Any]) -> None:
    for _ in range(3000):
        if len(noted(out)) >= count:
            return
        assert run.poll() is None
        time.sleep(0.01)
    pytest.fail(f"{count} files were never finished")


def children(pid: int) -> list[int]:
    found = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(child) for file in found for child in file.read_text().split()]


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="asks the system for its children")
def test_killed_in_the_middle_nothing_is_lost_and_nothing_done_twice(tmp_path: Path) -> None:
    art, out = tmp_path / "art", tmp_path / "out"
    art.mkdir()
    for n, name in enumerate(NAMES):
        saved(two_inks(150 + 10 * n), art / name)

    run = begun(art, out)
    wait_for(3, out, run)
    at_work = children(run.pid)
    run.kill()
    run.wait()
    assert at_work
    assert all(gone(pid) for pid in at_work)
    before = noted(out)
    assert 3 <= len(before) < len(NAMES)
    assert not any((out / name).exists() for name in RESULTS)

    assert begun(art, out).wait(timeout=60) == 0
    assert noted(out)[: len(before)] == before
    assert Counter(noted(out)) == Counter(NAMES)
    assert sorted(path.name for path in out.iterdir()) == sorted([*RESULTS, JOURNAL_NAME])
    lines = [json.loads(line) for line in (out / LINES_NAME).read_text().splitlines()]
    assert [line["file"] for line in lines] == NAMES
    assert [line["report"]["artwork"]["pixels"][0] for line in lines] == [
        150 + 10 * n for n in range(len(NAMES))
    ]
