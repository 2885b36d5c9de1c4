"""The papers over the page: the command's own files, told faults, nothing by a path."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from artcheck.cli.run import run
from artcheck.report.papers import NAMES
from artcheck.web import papers as papers_module
from artcheck.web.guard import KEPT_PAGE_POLICY
from tests.web import calls
from tests.web.conftest import asked, drop

ORDER = """
name = "Owl Parish Fair"
customer = "Owl Parish"
number = "77"
date = 2026-11-26
[garment]
kind = "tee"
colour = "black"
fabric = "cotton"
quantity = 24
[[prints]]
art = "0.png"
width_in = 4
"""


def request_of(digest: str, **garment: Any) -> dict[str, Any]:
    """What `ORDER` says."""
    request = asked(digest, **garment)
    words = {"name": "Owl Parish Fair", "customer": "Owl Parish"}
    request["order"] |= words | {"number": "77", "date": "2026-11-26"}
    return request


def made(client: TestClient, request: dict[str, Any]) -> str:
    answer = client.post("/api/papers", json=request)
    assert answer.status_code == 200, answer.text
    key: str = answer.json()["key"]
    return key


def test_the_papers_are_those_that_the_command_writes(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    (tmp_path / "0.png").write_bytes(art)
    (tmp_path / "order.toml").write_text(ORDER)
    assert run(["quote", str(tmp_path / "order.toml"), "--out", str(tmp_path / "folder")]) == 0
    papers = {f"{name}.{ending}" for name in NAMES for ending in ("pdf", "html")} | {"quote.json"}
    written = {name: (tmp_path / "folder" / name).read_bytes() for name in papers}

    key = made(client, request_of(drop(client, art)))
    for name, data in written.items():
        answer = client.get(f"/api/papers/{key}/{name}")
        assert answer.content == data, name
        assert answer.headers["content-type"].startswith(
            {"pdf": "application/pdf", "html": "text/html", "json": "application/json"}[
                name.rpartition(".")[2]
            ]
        )
        if name.endswith("html"):
            assert answer.headers["content-security-policy"] == KEPT_PAGE_POLICY
    page = client.post("/api/evaluate", json=request_of(drop(client, art))).json()
    quote = json.loads(written["quote.json"])
    each = quote["price_per_piece"]
    assert f"{quote['price']} USD for 24 pieces ({each} each)" in page["headlines"][0]
    packed = client.get(f"/api/papers/{key}/77-owl-parish-fair.zip").content
    with zipfile.ZipFile(io.BytesIO(packed)) as zipped:
        assert zipped.testzip() is None
        held = {name: zipped.read(name) for name in zipped.namelist()}
    assert held == {f"77-owl-parish-fair/{name}": data for name, data in written.items()}


def test_a_kept_job_holds_the_papers_of_the_same_order_alone(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    digest = drop(client, art)
    made(client, request_of(digest))
    job = client.post("/api/jobs", json=request_of(digest)).json()["job"]
    other = client.post("/api/jobs", json=request_of(digest, quantity=25)).json()["job"]
    names = [{path.name for path in (tmp_path / "jobs" / one).iterdir()} for one in (job, other)]
    papers = {f"{name}.pdf" for name in NAMES} | {"quote.json"}
    assert papers <= names[0]
    assert not papers & names[1]
    repeated = client.post(f"/api/jobs/{job}/repeat").json()["order"]
    assert (repeated["customer"], repeated["number"]) == ("Owl Parish", "77")
    assert repeated["date"] == "2026-11-26"


def test_plates_do_not_depend_on_what_papers_say(client: TestClient, art: bytes) -> None:
    digest = drop(client, art)
    undated = request_of(digest)
    undated["order"] |= {"number": "", "date": None, "needed_by": "2026-12-24"}
    keys = [
        client.post("/api/evaluate", json=one).json()["separation"][0]
        for one in (request_of(digest), undated)
    ]
    assert keys[0] == keys[1]
    assert made(client, request_of(digest)) != made(client, undated)


@pytest.mark.parametrize(
    ("garment", "words"),
    [({"quantity": None}, "how many pieces"), ({"fabric": "polypropylene"}, "polypropylene")],
)
def test_what_has_no_price_says_why(
    garment: dict[str, Any], words: str, client: TestClient, art: bytes
) -> None:
    answer = client.post("/api/papers", json=request_of(drop(client, art), **garment))
    assert answer.status_code == 422
    assert words in " ".join(answer.json()["faults"])


def test_a_fault_there_takes_nothing_down(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    request = request_of(drop(client, art))
    monkeypatch.setattr(papers_module, "make_papers", calls.refuses)
    answer = client.post("/api/papers", json=request)
    assert (answer.status_code, answer.json()) == (422, {"faults": ["No ink is left to print."]})
    monkeypatch.undo()
    made(client, request)


def test_old_papers_are_let_go(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(papers_module, "MOST_HELD", 1)
    digest = drop(client, art)
    keys = [made(client, request_of(digest, quantity=n)) for n in (24, 25)]
    found = [client.get(f"/api/papers/{key}/quote.json").status_code for key in keys]
    assert found == [404, 200]


@pytest.mark.parametrize("file", ["quote.exe", "..%2fquote.pdf", "order.zip", "quote"])
def test_what_was_not_made_is_not_there(file: str, client: TestClient, art: bytes) -> None:
    key = made(client, request_of(drop(client, art)))
    assert client.get(f"/api/papers/{key}/{file}").status_code == 404
    assert client.get(f"/api/papers/{'0' * 64}/quote.pdf").status_code == 404
