"""A process of its own per call: limits, deaths, and who outlives whom."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from artcheck.isolated import Fault, Limits, Process
from tests.batch import calls

MB = 1024**2


@pytest.fixture
def process() -> Iterator[Process]:
    made = Process(Limits(seconds=20, memory_bytes=300 * MB))
    yield made
    made.close()


def gone(pid: int) -> bool:
    for _ in range(200):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.02)
    return False


def test_a_value_comes_back_and_words_on_the_way(process: Process) -> None:
    told: list[str] = []
    assert process.call(calls.double, 21, tell=told.append) == 42
    assert told == ["doubling"]


def test_the_process_is_another_and_is_kept(process: Process) -> None:
    first = process.call(calls.process_id)
    assert first != os.getpid()
    assert process.call(calls.process_id) == first


def test_a_reader_out_of_memory_is_told_as_that(process: Process) -> None:
    fault = process.call(calls.too_large)
    assert fault == Fault("memory", "art.png needs more memory. Send it smaller.", 3)


def test_an_error_of_ours_keeps_its_words_and_code(process: Process) -> None:
    first = process.call(calls.process_id)
    fault = process.call(calls.damaged)
    assert fault == Fault("art", "art.png breaks off. Ask for it again.", 3)
    assert process.call(calls.process_id) == first


def test_too_long_is_a_fault_and_the_next_call_works() -> None:
    process = Process(Limits(seconds=0.5, memory_bytes=None))  # its start takes longer
    assert process.call(calls.double, 1) == 2
    fault = process.call(calls.sleep, 30)
    assert isinstance(fault, Fault)
    assert fault.kind == "time"
    assert "0.5 s" in fault.text
    assert process.call(calls.double, 2) == 4
    process.close()


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="counts from the idle process")
def test_memory_is_counted_from_the_idle_process(process: Process) -> None:
    assert process.call(calls.fill, 200 * MB) == 200 * MB
    fault = process.call(calls.fill, 400 * MB)
    assert isinstance(fault, Fault)
    assert fault.kind == "memory"
    assert process.call(calls.fill, 200 * MB) == 200 * MB


def test_opencv_out_of_memory_is_told_as_that(process: Process) -> None:
    assert process.call(calls.fill_with_opencv, 9) == 100
    fault = process.call(calls.fill_with_opencv, 30_000)
    assert isinstance(fault, Fault)
    assert fault.kind == "memory"


def test_a_death_is_a_fault_and_the_next_call_works(process: Process) -> None:
    fault = process.call(calls.kill_self)
    assert isinstance(fault, Fault)
    assert fault.kind == "died"
    assert "SIGKILL" in fault.text
    assert process.call(calls.double, 3) == 6


def test_a_bug_is_told_as_one(process: Process, capfd: pytest.CaptureFixture[str]) -> None:
    fault = process.call(calls.bug)
    assert isinstance(fault, Fault)
    assert (fault.kind, fault.code) == ("bug", 70)
    assert "KeyError: 'lost'" in capfd.readouterr().err


def test_stop_ends_a_call_at_once(process: Process) -> None:
    assert process.call(calls.double, 1) == 2
    began = time.monotonic()
    threading.Timer(0.2, process.stop).start()
    fault = process.call(calls.sleep, 15)
    assert isinstance(fault, Fault)
    assert fault.kind == "stopped"
    assert time.monotonic() - began < 10
    again = process.call(calls.double, 1)
    assert isinstance(again, Fault)
    assert again.kind == "stopped"


def test_nothing_outlives_a_caller_that_is_killed(tmp_path: Path) -> None:
    note = tmp_path / "pid"
    code = (
        "from artcheck.isolated import Limits, Process; from tests.batch import calls\n"
        f"Process(Limits()).call(calls.start_and_tell, {str(note)!r})"
    )
    caller = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2])
    for _ in range(500):
        if note.exists() and note.read_text():
            break
        time.sleep(0.02)
    pid = int(note.read_text())
    assert not gone_now(pid)
    caller.send_signal(signal.SIGKILL)
    caller.wait()
    assert gone(pid)


def test_words_for_a_caller_that_went_end_the_process_quietly() -> None:
    code = (
        "from multiprocessing import Pipe; from artcheck.isolated import _send\n"
        "ours, theirs = Pipe(); theirs.close(); _send(ours, ('began', '')); print('still here')"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (ended.stdout, ended.stderr) == ("", "")


def gone_now(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


def test_a_working_folder_is_not_trusted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A customer's folder may hold a file named like a module."""
    (tmp_path / "artcheck.py").write_text("raise SystemExit(9)")
    (tmp_path / "select.py").write_text("raise SystemExit(9)")
    monkeypatch.chdir(tmp_path)
    process = Process(Limits(seconds=20))
    assert process.call(calls.double, 4) == 8
    process.close()
