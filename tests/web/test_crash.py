"""The server is killed in the middle of its work: nothing of a customer's stays behind."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from tests.web.conftest import asked

BAKERY = resources.files("artcheck") / "demo" / "art" / "2-bakery.png"


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The command with temporary and current folder of its own; its address."""
    (tmp_path / "tmp").mkdir()
    environment = os.environ | {
        "PYTHONUNBUFFERED": "1",
        "COLUMNS": "200",
        "TMPDIR": str(tmp_path / "tmp"),
    }
    command = [sys.executable, "-m", "artcheck", "serve", "--port", "0"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, cwd=tmp_path, env=environment
    ) as process:
        assert process.stdout is not None
        address = re.search(r"http://\S+/", process.stdout.readline())
        assert address is not None
        yield address[0], process
        process.kill()


def told(address: str, method: str = "GET", data: bytes | None = None) -> dict[str, Any]:
    with urllib.request.urlopen(urllib.request.Request(address, data, method=method)) as answer:
        found: dict[str, Any] = json.load(answer)
        return found


def until(met: Callable[[], bool]) -> None:
    for _ in range(600):
        if met():
            return
        time.sleep(0.05)
    raise AssertionError("never came")


def children(parent: int) -> list[int]:
    """Processes that a process has started (proc(5): the fourth field after the name is theirs)."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:  # ended meanwhile
            continue
        if int(fields[1]) == parent:
            found.append(int(stat.parent.name))
    return found


def is_over(pid: int) -> bool:
    """Gone, or ended and not yet cleared away (state Z)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc to see processes in")
def test_a_killed_server_leaves_no_file_and_no_separation_running(
    served: tuple[str, subprocess.Popen[str]], tmp_path: Path
) -> None:
    address, process = served
    data = BAKERY.read_bytes()
    art = told(f"{address}api/art?name=a.png", "PUT", data)["art"]
    until(lambda: told(f"{address}api/art/{art}?name=a.png")["state"] == "ready")
    before = set(children(process.pid))
    request = asked(art, width_in=12) | {"separations": [{"inks": 1}]}
    key = told(f"{address}api/separations", "POST", json.dumps(request).encode())["key"]
    until(lambda: told(f"{address}api/separations/{key}")["doing"] != "waiting")
    (separating,) = set(children(process.pid)) - before

    process.send_signal(signal.SIGKILL)
    process.wait()
    until(lambda: is_over(separating))
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
