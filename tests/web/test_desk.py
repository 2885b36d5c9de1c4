"""What the server holds: measured once, bounded, stopped when asked."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from artcheck.isolated import Limits
from artcheck.web import desk as desk_module
from artcheck.web.desk import ArtKey, Desk, Task
from artcheck.web.processes import Processes
from artcheck.web.worker import work
from tests.web import calls
from tests.web.conftest import asked, drop, wait_for


@pytest.fixture
def desk(processes: Processes) -> Iterator[Desk]:
    desk = Desk(processes=processes)
    yield desk
    desk.close()


def until(met: Callable[[], bool]) -> None:
    for _ in range(400):
        if met():
            return
        time.sleep(0.02)
    raise AssertionError("never came")


def ended(desk: Desk, data: bytes, name: str = "a.png") -> Task:
    task = desk.look(ArtKey(desk.receive(data)), name)
    assert task is not None
    until(task.ended.is_set)
    return task


def test_a_worker_tells_its_stages_and_what_it_saw(art: bytes) -> None:
    told: list[str] = []
    seen = work(told.append, art, "a.png", "auto", 1)
    assert told == ["reading", "measuring", "drawing"]
    assert seen.measured.inks.count == 2
    assert seen.picture.data.startswith(b"\x89PNG")
    assert seen.removed is None


def test_a_broken_file_is_a_fault_in_words(desk: Desk, art: bytes) -> None:
    fault = ended(desk, art[: len(art) // 2], "cut.png").fault
    assert fault is not None
    assert fault.startswith("cut.png")


def test_the_same_file_is_measured_once(desk: Desk, art: bytes) -> None:
    key = ArtKey(desk.receive(art))
    assert key.digest == desk.receive(art)
    first = desk.look(key, "a.png")
    assert first is not None
    assert desk.look(key, "again.png") is first
    until(first.ended.is_set)
    assert desk.look(key, "third.png") is first
    assert desk.seen(key) is first.seen


def test_paper_kept_is_another_measurement(client: TestClient, art: bytes) -> None:
    digest = drop(client, art)
    kept = wait_for(client, digest, name="a.png", background="keep")
    assert kept["state"] == "ready"
    assert client.get(f"/api/art/{digest}", params={"background": "burn"}).status_code == 422


def test_cancel_ends_the_process_and_the_next_file_gets_another(
    desk: Desk, art: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    note = tmp_path / "pid"
    monkeypatch.setattr(desk_module, "work", partial(calls.notes_and_sleeps, note=str(note)))
    task = desk.look(ArtKey(desk.receive(art)), "a.png")
    assert task is not None
    until(lambda: task.doing == "sleeping")
    pid = int(note.read_text())
    os.kill(pid, 0)
    desk.cancel(task.key.digest)
    until(task.ended.is_set)
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    assert desk.seen(task.key) is None
    monkeypatch.undo()
    assert ended(desk, art, "again.png").seen is not None


@pytest.mark.parametrize(
    ("harm", "words"),
    [
        (calls.dies, "a.png: Its process died (killed by SIGSEGV)"),
        (calls.takes_memory, "a.png: It needs more memory than one file may take"),
        (calls.sleeps, "a.png: It took longer than 4 s"),
        (calls.breaks, "a.png: A fault in artcheck itself (ZeroDivisionError"),
        (calls.fills_the_disk, "a.png: A fault in artcheck itself (OSError: [Errno 27]"),
    ],
)
def test_harm_is_one_files_fault(
    art: bytes,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    harm: Callable[..., None],
    words: str,
) -> None:
    """Harm done in place of measuring, by the real process under real limits."""
    limits = Limits(seconds=60, memory_bytes=256 * 1024**2, written_bytes=1024**2)
    processes = Processes(limits)
    desk = Desk(processes=processes)
    monkeypatch.chdir(tmp_path)
    assert ended(desk, art).seen is not None
    (process,) = processes._idle
    process.limits = replace(limits, seconds=4)  # its start is over
    monkeypatch.setattr(desk_module, "work", harm)
    fault = ended(desk, art + b"\0").fault
    process.limits = limits
    assert fault is not None
    assert fault.startswith(words)
    assert sum(path.stat().st_size for path in tmp_path.rglob("*.spill")) <= limits.written_bytes
    monkeypatch.undo()
    assert ended(desk, art + b"\0\0").seen is not None
    desk.close()
    processes.close()


def test_a_file_let_go_while_it_waits_is_told(
    art: bytes, monkeypatch: pytest.MonkeyPatch, processes: Processes
) -> None:
    """Files that wait are held once, within the budget, not by their tasks as well."""
    monkeypatch.setattr(desk_module, "WORKERS", 1)
    monkeypatch.setattr(desk_module, "work", calls.naps)
    desk = Desk(most_bytes=len(art), processes=processes)
    desk.look(ArtKey(desk.receive(art)), "first.png")
    waiting = desk.look(ArtKey(desk.receive(art + b"\0")), "second.png")
    desk.receive(art + b"\0\0")
    assert waiting is not None
    until(waiting.ended.is_set)
    assert waiting.fault == "second.png was let go while it waited. Drop it once more."
    desk.close()


def test_files_held_are_bounded() -> None:
    desk = Desk(most_bytes=100)
    digests = [desk.receive(bytes([n]) * 40) for n in range(5)]
    held = [digest for digest in digests if desk.file(digest) is not None]
    assert held == digests[-2:]
    desk.close()


def test_measurements_held_are_bounded(art: bytes, processes: Processes) -> None:
    desk = Desk(most_held=1, processes=processes)
    keys = [ArtKey(desk.receive(art + b"\0" * n)) for n in range(3)]
    for key in keys:
        task = desk.look(key, "a.png")
        assert task is not None
        until(task.ended.is_set)
    assert [desk.seen(key) is not None for key in keys] == [False, False, True]
    desk.close()


def test_ten_files_at_once_do_not_hold_up_an_answer(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art))
    digests = []
    for n in range(1, 11):
        told = client.put("/api/art", params={"name": f"{n}.png"}, content=art + b"\0" * n)
        digests.append(told.json()["art"])
        client.get(f"/api/art/{digests[-1]}", params={"name": f"{n}.png"})
    assert client.post("/api/evaluate", json=request).status_code == 200
    states = [client.get(f"/api/art/{digest}").json()["state"] for digest in digests]
    assert "measuring" in states
    assert [wait_for(client, digest)["state"] for digest in digests] == ["ready"] * 10
