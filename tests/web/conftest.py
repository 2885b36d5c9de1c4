"""A server for tests: the app behind its own address, with a workspace of its own."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx2
import pytest
import uvicorn
from fastapi.testclient import TestClient

from artcheck.web import create_app
from artcheck.web.desk import LIMITS, Desk
from artcheck.web.heads import TimedHeads
from artcheck.web.processes import Processes
from tests.art import saved, two_inks

ADDRESS = "http://127.0.0.1:8750"

Drop = Callable[..., str]


@pytest.fixture(scope="session")
def processes() -> Iterator[Processes]:
    """Started once for all tests: what they are for is tested on its own."""
    made = Processes(LIMITS)
    yield made
    made.close()


@pytest.fixture
def client(tmp_path: Path, processes: Processes) -> Iterator[TestClient]:
    app = create_app(workspace=tmp_path / "jobs", desk=Desk(processes=processes))
    with TestClient(app, base_url=ADDRESS) as client:
        yield client


@pytest.fixture
def art(tmp_path: Path) -> bytes:
    return saved(two_inks(), tmp_path / "a.png", dpi=(300, 300)).read_bytes()


def wait_for(client: httpx2.Client, digest: str, **query: Any) -> dict[str, Any]:
    """The end of a measurement."""
    for _ in range(600):
        state: dict[str, Any] = client.get(f"/api/art/{digest}", params=query).json()
        if state.get("state") != "measuring":
            return state
        time.sleep(0.05)
    raise AssertionError("measuring never ended")


def drop(client: httpx2.Client, data: bytes, name: str = "a.png") -> str:
    """A file on the page, measured; its hash."""
    answer = client.put("/api/art", params={"name": name}, content=data)
    assert answer.status_code == 200, answer.text
    digest: str = answer.json()["art"]
    assert wait_for(client, digest, name=name)["state"] == "ready"
    return digest


def asked(*digests: str, width_in: float = 4, **garment: Any) -> dict[str, Any]:
    """An order of one print for each file."""
    cloth = {"kind": "tee", "colour": "black", "fabric": "cotton", "quantity": 24} | garment
    prints = [{"art": f"{n}.png", "width_in": width_in} for n, _ in enumerate(digests)]
    return {"arts": list(digests), "order": {"garment": cloth, "prints": prints}}


@contextmanager
def served(app: Any) -> Iterator[tuple[str, int]]:
    """The app behind a socket, as the command serves it."""
    config = uvicorn.Config(app, http=TimedHeads, log_level="warning", lifespan="off")
    server = uvicorn.Server(config)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        until(lambda: server.started)
        try:
            yield listener.getsockname()[:2]
        finally:
            server.should_exit = True
            thread.join()


def until(met: Callable[[], bool]) -> None:
    for _ in range(500):
        if met():
            return
        time.sleep(0.02)
    raise AssertionError("never came")
