"""What the server holds: measured once, bounded, stopped when asked."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from artcheck.web import desk as desk_module
from artcheck.web.desk import ArtKey, Desk
from artcheck.web.worker import Seen, work
from tests.web.conftest import asked, drop, wait_for


@pytest.fixture
def desk() -> Iterator[Desk]:
    desk = Desk()
    yield desk
    desk.close()


class Pipe:
    """Keeps what a worker sends."""

    def __init__(self) -> None:
        self.sent: list[Any] = []

    def send(self, obj: Any) -> None:
        self.sent.append(obj)


def until(met: Callable[[], bool]) -> None:
    for _ in range(400):
        if met():
            return
        time.sleep(0.02)
    raise AssertionError("never came")


def test_a_worker_tells_its_stages_and_what_it_saw(art: bytes) -> None:
    pipe = Pipe()
    work(pipe, art, "a.png", "auto", 1)
    assert [value for kind, value in pipe.sent if kind == "doing"] == [
        "reading",
        "measuring",
        "drawing",
    ]
    kind, seen = pipe.sent[-1]
    assert kind == "seen"
    assert isinstance(seen, Seen)
    assert seen.measured.inks.count == 2
    assert seen.picture.data.startswith(b"\x89PNG")
    assert seen.removed is None


def test_a_broken_file_is_a_fault_in_words(art: bytes) -> None:
    pipe = Pipe()
    work(pipe, art[: len(art) // 2], "cut.png", "auto", 1)
    kind, words = pipe.sent[-1]
    assert kind == "fault"
    assert words.startswith("cut.png")


def test_a_bug_is_told_as_one_and_stops_nothing(
    art: bytes, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("artcheck.web.worker.examine", broken)
    pipe = Pipe()
    work(pipe, art, "a.png", "auto", 1)
    assert pipe.sent == [
        ("fault", "A fault in artcheck itself (ZeroDivisionError). Please report it.")
    ]
    assert "ZeroDivisionError" in capsys.readouterr().err


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


def test_cancel_ends_the_process(desk: Desk, art: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk_module, "work", _sleeps)
    task = desk.look(ArtKey(desk.receive(art)), "a.png")
    assert task is not None
    until(lambda: task.doing == "sleeping")
    process = task.process
    assert process is not None
    assert process.is_alive()
    desk.cancel(task.key.digest)
    until(task.ended.is_set)
    assert not process.is_alive()
    assert desk.seen(task.key) is None


def _sleeps(pipe: Any, *_: object) -> None:
    pipe.send(("doing", "sleeping"))
    time.sleep(60)


def _dies(*_: object) -> None:
    raise SystemExit(9)


def test_a_worker_that_dies_is_told(
    desk: Desk, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk_module, "work", _dies)
    task = desk.look(ArtKey(desk.receive(art)), "a.png")
    assert task is not None
    until(task.ended.is_set)
    assert task.fault is not None
    assert "ended without a result" in task.fault


def test_a_file_that_takes_too_long_is_given_up(
    desk: Desk, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk_module, "work", _sleeps)
    monkeypatch.setattr(desk_module, "MOST_SECONDS", 0.2)
    task = desk.look(ArtKey(desk.receive(art)), "a.png")
    assert task is not None
    until(task.ended.is_set)
    assert task.fault is not None
    assert "took longer than" in task.fault


def test_files_held_are_bounded() -> None:
    desk = Desk(most_bytes=100)
    digests = [desk.receive(bytes([n]) * 40) for n in range(5)]
    held = [digest for digest in digests if desk.file(digest) is not None]
    assert held == digests[-2:]
    desk.close()


def test_measurements_held_are_bounded(art: bytes) -> None:
    desk = Desk(most_held=1)
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
