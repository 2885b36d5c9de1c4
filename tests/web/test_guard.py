"""Strangers are kept out, and nothing of theirs is trusted."""

from __future__ import annotations

import contextlib
import re
import socket
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from artcheck.cli.run import run
from artcheck.web import app as app_module
from artcheck.web import bodies, create_app, heads
from artcheck.web.answer import shown_name
from artcheck.web.guard import is_loopback
from tests.web.conftest import ADDRESS, asked, drop, served, until


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.9", "", "["])
def test_other_names_of_this_computer_are_refused(client: TestClient, host: str) -> None:
    """A stranger's name may be pointed at 127.0.0.1 (DNS rebinding)."""
    assert client.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("host", ["127.0.0.1:8750", "localhost:8750", "[::1]:8750"])
def test_loopback_names_are_let_in(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
    ],
)
def test_pages_of_others_may_send_nothing(
    client: TestClient, art: bytes, headers: dict[str, str]
) -> None:
    assert client.put("/api/art", content=art, headers=headers).status_code == 403
    assert client.post("/api/evaluate", json={}, headers=headers).status_code == 403


def test_a_link_from_elsewhere_opens_the_page(client: TestClient) -> None:
    headers = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert client.get("/", headers=headers).status_code == 200
    assert client.post("/api/evaluate", json={}, headers=headers).status_code == 403


def test_own_page_may_send(client: TestClient, art: bytes) -> None:
    headers = {"origin": ADDRESS, "sec-fetch-site": "same-origin"}
    assert client.put("/api/art", content=art, headers=headers).status_code == 200


def test_on_the_network_addresses_answer_and_names_do_not() -> None:
    with TestClient(create_app(network=True), base_url="http://192.168.1.9:8750") as client:
        assert client.get("/").status_code == 200
        assert client.get("/", headers={"host": "evil.example"}).status_code == 403


@pytest.mark.parametrize("path", ["/", "/static/main.js", "/api/jobs", "/nowhere"])
def test_every_answer_carries_the_policy(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"


def test_the_page_asks_nobody_else(client: TestClient) -> None:
    page = client.get("/").text
    for name in ("main.js", "order.js", "arts.js", "form.js", "stage.js", "server.js", "page.css"):
        answer = client.get(f"/static/{name}")
        assert answer.status_code == 200
        page += answer.text
    assert "//" not in page.replace("// ", "").replace("//\n", "").replace('xmlns="http://', "")


@pytest.mark.parametrize(
    "name", ["../app.py", "%2e%2e/app.py", "..%2fapp.py", "page.css/x", "/app.py"]
)
def test_static_files_are_those_of_the_package(client: TestClient, name: str) -> None:
    assert client.get(f"/static/{name}").status_code == 404


def test_a_large_upload_is_given_up(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app_module, "MOST_UPLOAD_BYTES", 1024)
    told = client.put("/api/art", params={"name": "a.png"}, content=b"x" * 2048)
    streamed = client.put("/api/art", content=(b"x" * 512 for _ in range(8)))
    assert (told.status_code, streamed.status_code) == (413, 413)
    assert told.json()["faults"][0].startswith("a.png is larger than")


def test_a_slow_upload_is_let_go(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both who falls silent and who sends a little for ever, over a real connection."""
    monkeypatch.setattr(bodies, "MOST_SILENT_SECONDS", 0.4)
    monkeypatch.setattr(bodies, "MOST_SECONDS", 1.2)
    with served(client.app) as address:
        for pause, least in ((5.0, 0.4), (0.2, 1.2)):
            began = time.monotonic()
            told = drip(address, pause)
            assert told.startswith(b"HTTP/1.1 408")
            assert b"a.png came too slowly" in told
            assert least <= time.monotonic() - began
        assert state_of(client).under_way.held == 0


def answered_by(sender: socket.socket) -> bytes:
    """A whole answer, whichever packets it comes in: the list of jobs, of which there are none."""
    told = b""
    while not told.endswith(b"\r\n\r\n[]"):
        part = sender.recv(1 << 16)
        assert part, told
        told += part
    return told


@pytest.mark.parametrize("answered", [0, 1])
def test_a_slow_head_is_let_go(
    answered: int, client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a fresh connection and behind an answer; who sends whole heads is served all the time."""
    monkeypatch.setattr(heads, "MOST_SECONDS", 1.0)
    with served(client.app) as address, socket.create_connection(address, 20) as sender:
        host = b"Host: %s:%d\r\n" % (address[0].encode(), address[1])
        for _ in range(answered):
            sender.sendall(b"GET /api/jobs HTTP/1.1\r\n" + host + b"\r\n")
            assert answered_by(sender).startswith(b"HTTP/1.1 200")
        began = time.monotonic()
        with contextlib.suppress(ConnectionError):
            sender.sendall(b"GET /api/jobs HTTP/1.1\r\n" + host)
            while time.monotonic() - began < 15:
                sender.sendall(b"X-A: b\r\n")
                time.sleep(0.1)
        assert 0.9 <= time.monotonic() - began < 10


def test_whole_heads_are_served_longer_than_one_may_take(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(heads, "MOST_SECONDS", 0.5)
    with served(client.app) as address, socket.create_connection(address, 20) as sender:
        host = b"Host: %s:%d\r\n" % (address[0].encode(), address[1])
        for _ in range(6):
            sender.sendall(b"GET /api/jobs HTTP/1.1\r\n" + host + b"\r\n")
            assert answered_by(sender).startswith(b"HTTP/1.1 200")
            time.sleep(0.2)


def test_a_sender_that_hangs_up_is_no_fault_of_the_server(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    with served(client.app) as address:
        with socket.create_connection(address) as sender:
            sender.sendall(HEAD + b"10\r\n" + bytes(16) + b"\r\n")
            until(lambda: state_of(client).under_way.held == 16)
        until(lambda: state_of(client).under_way.held == 0)
    assert [record for record in caplog.records if record.levelname == "ERROR"] == []


def test_too_much_at_once_is_asked_to_come_again(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bodies, "MOST_UNDER_WAY_BYTES", 2 * len(art))
    state_of(client).under_way.held = len(art) + 1
    refused = client.put("/api/art", content=art)
    assert refused.status_code == 429
    assert refused.headers["retry-after"] == "5"
    state_of(client).under_way.held -= len(art) + 1
    assert state_of(client).under_way.held == 0
    assert client.put("/api/art", content=art).status_code == 200


HEAD = b"PUT /api/art?name=a.png HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"


def state_of(client: TestClient) -> Any:
    app: Any = client.app
    return app.state


def drip(address: tuple[str, int], pause: float) -> bytes:
    """Send a byte, wait, and again until the server speaks; what it said."""
    with socket.create_connection(address) as sender:
        sender.sendall(HEAD)
        sender.settimeout(pause)
        for _ in range(50):
            sender.sendall(b"1\r\nx\r\n")
            try:
                said = sender.recv(4096)
            except TimeoutError:
                continue
            sender.settimeout(10)
            while not whole(said):
                said += sender.recv(4096)
            return said
    raise AssertionError("the server never spoke")


def whole(said: bytes) -> bool:
    """Whether an answer has come with all that its head promises."""
    head, _, body = said.partition(b"\r\n\r\n")
    length = re.search(rb"content-length: (\d+)", head)
    return length is not None and len(body) >= int(length[1])


def test_a_large_order_is_given_up(client: TestClient) -> None:
    assert client.post("/api/evaluate", content=b" " * (1024 * 1024)).status_code == 413


def test_kind_is_told_by_content(client: TestClient, art: bytes) -> None:
    refused = client.put("/api/art", params={"name": "logo.png"}, content=b"MZ not a picture")
    assert refused.status_code == 422
    assert refused.json()["faults"][0].startswith("logo.png is of no kind that artcheck reads")
    assert client.put("/api/art", params={"name": "logo.exe"}, content=art).status_code == 200
    assert client.put("/api/art", params={"name": "logo.png"}, content=b"").status_code == 422


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\art\\logo.png", "logo.png"),
        ("a\u202egnp.exe", "a\\u202egnp.exe"),
        ("a\x00\x1b[2J.png", "a\\x00\\x1b[2J.png"),
        ("", "art"),
        ("/", "art"),
        ("x" * 999, "x" * 120),
    ],
)
def test_names_are_shown_and_never_used(name: str, shown: str) -> None:
    assert shown_name(name) == shown


def test_no_file_is_written_by_dropping_and_asking(
    client: TestClient, art: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing on a disk: nothing can be left there by a crash."""
    place = tmp_path / "tmp"
    place.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    before = sorted(tmp_path.rglob("*"))
    digest = drop(client, art, "../../a.png")
    assert client.post("/api/evaluate", json=asked(digest)).status_code == 200
    made = [path for path in sorted(tmp_path.rglob("*")) if path not in before]
    assert [path for path in made if path.is_file()] == []


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"{", b'{"order":1,"arts":[]}', b"\xff", b'{"arts":3}', b"[" * 9999]
)
def test_a_body_that_is_no_order(client: TestClient, body: bytes) -> None:
    assert client.post("/api/evaluate", content=body).status_code == 400


def test_art_that_is_not_held(client: TestClient) -> None:
    assert client.get(f"/api/art/{'0' * 64}").status_code == 404
    assert client.post("/api/evaluate", json=asked("0" * 64)).status_code == 404
    assert client.get(f"/api/art/{'0' * 64}/picture").status_code == 404


@pytest.mark.parametrize(
    ("host", "alone"),
    [
        ("127.0.0.1", True),
        ("127.9.9.9", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("192.168.1.9", False),
        ("print-room.local", False),
    ],
)
def test_what_is_loopback(host: str, alone: bool) -> None:
    assert is_loopback(host) is alone


def test_serve_refuses_the_network_and_says_what_it_means(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["serve", "--host", "0.0.0.0"]) == 2
    told = capsys.readouterr().err
    assert "no password" in told
    assert "--allow-network" in told


def test_serve_tells_of_a_port_that_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        assert run(["serve", "--port", str(taken.getsockname()[1])]) == 2
    assert "Choose another with --port" in capsys.readouterr().err
