"""Job folders: kept whole, found by their art, never by a name from outside."""

from __future__ import annotations

import io
import json
import re
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from artcheck.web.folders import slug
from tests.art import saved, svg, two_inks
from tests.web.conftest import asked, drop, wait_for

REPORTS = ("report.html", "report.json")


def kept(client: TestClient, art: bytes, name: str = "Owl Parish Fair") -> str:
    request = asked(drop(client, art))
    request["order"]["name"] = name
    job: str = client.post("/api/jobs", json=request).json()["job"]
    return job


def test_a_job_folder_is_plain_and_whole(client: TestClient, art: bytes, tmp_path: Path) -> None:
    job = kept(client, art)
    folder = tmp_path / "jobs" / "owl-parish-fair"
    assert job == folder.name
    names = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
    assert names == {"report.html", "report.json", "job.json", "art-1.png"}
    assert (folder / "art-1.png").read_bytes() == art
    report = json.loads((folder / "report.json").read_text())
    assert report["recommendation"]["headline"] in client.get("/api/jobs").text
    assert "data:image/png;base64" in (folder / "report.html").read_text()


def test_a_second_job_takes_another_name(client: TestClient, art: bytes) -> None:
    assert [kept(client, art), kept(client, art)] == ["owl-parish-fair", "owl-parish-fair-2"]


def test_jobs_kept_at_the_same_time_take_names_of_their_own(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art))
    request["order"]["name"] = "Owl Parish Fair"
    with ThreadPoolExecutor(6) as threads:
        answers = list(threads.map(lambda _: client.post("/api/jobs", json=request), range(6)))
    assert [answer.status_code for answer in answers] == [200] * 6
    assert len({answer.json()["job"] for answer in answers}) == 6
    assert len(client.get("/api/jobs").json()) == 6


def test_a_job_is_repeated_with_its_order(client: TestClient, art: bytes) -> None:
    job = kept(client, art)
    data = client.post(f"/api/jobs/{job}/repeat").json()
    assert data["order"]["garment"]["quantity"] == 24
    assert wait_for(client, data["arts"][0], name="a.png")["state"] == "ready"
    answer = client.post("/api/evaluate", json=data | {"shown": 0})
    assert answer.status_code == 200


def test_the_same_art_in_another_file_finds_its_job(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    job = kept(client, art)
    same = wait_for(client, drop(client, art), name="a.png")["before"]
    assert [(one["job"], one["same"]) for one in same] == [(job, True)]
    smaller = saved(two_inks(420), tmp_path / "smaller.webp", quality=80).read_bytes()
    alike = wait_for(client, drop(client, smaller), name="b.webp")["before"]
    assert [(one["job"], one["same"]) for one in alike] == [(job, False)]


def test_art_that_was_changed_in_the_folder_is_not_repeated(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    job = kept(client, art)
    (tmp_path / "jobs" / job / "art-1.png").write_bytes(art + b"\0")
    answer = client.post(f"/api/jobs/{job}/repeat")
    assert answer.status_code == 404
    assert "was changed" in answer.json()["faults"][0]


def test_the_zip_holds_the_folder_and_is_the_same_twice(client: TestClient, art: bytes) -> None:
    job = kept(client, art)
    packed = client.get(f"/jobs/{job}/{job}.zip").content
    assert packed == client.get(f"/jobs/{job}/{job}.zip").content
    with zipfile.ZipFile(io.BytesIO(packed)) as opened:
        assert opened.testzip() is None
        assert f"{job}/report.json" in opened.namelist()


HOSTILE = ("../../evil", "..\\..\\evil", "/etc/evil", "C:\\evil", "evil\x00\n", "\u202egnp.evil")


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_leads_out_of_the_zip(
    name: str, client: TestClient, art: bytes, tmp_path: Path
) -> None:
    """Of the order, the customer and the art; and of a file that was put into the folder."""
    request = asked(drop(client, art, f"{name}.png"))
    request["order"] |= {"name": name, "customer": name}
    request["order"]["prints"][0]["art"] = f"{name}.png"
    job = client.post("/api/jobs", json=request).json()["job"]
    folder = tmp_path / "jobs" / job
    assert folder.parent == tmp_path / "jobs"
    (folder / "..\\..\\planted").write_text("x")
    with zipfile.ZipFile(io.BytesIO(client.get(f"/jobs/{job}/{job}.zip").content)) as opened:
        names = opened.namelist()
    assert sorted(names) == [f"{job}/{n}" for n in ("art-1.png", "job.json", *REPORTS)]
    assert re.fullmatch(r"[a-z0-9-]+", job)


def test_script_in_art_is_never_sent_to_run(client: TestClient) -> None:
    """A drawing with script, and a name that is markup: only pictures of it are shown."""
    bad = "<script>alert(1)</script>"
    body = f'{bad}<rect onload="alert(1)" width="9" height="9" fill="#c81e28"/>'
    drawing = svg(body, 10, 10).encode()
    name = f"{bad}.svg"
    digest = drop(client, drawing, name)
    request = asked(digest)
    request["order"] |= {"name": bad, "customer": bad}
    request["order"]["prints"][0]["art"] = name
    job = client.post("/api/jobs", json=request).json()["job"]
    for path in ("/", "/api/jobs", f"/api/art/{digest}", f"/jobs/{job}/report.html"):
        answer = client.get(path, params={"name": name} if "art/" in path else None)
        assert answer.status_code == 200
        kind = answer.headers["content-type"]
        assert kind.startswith("application/json") or bad not in answer.text
        assert answer.headers["x-content-type-options"] == "nosniff"
    for path in (
        f"/jobs/{job}/art-1.svg",
        f"/api/art/{digest}/file",
        f"/api/art/{digest}/art-1.svg",
    ):
        assert client.get(path).status_code in (404, 405, 422)


def test_a_kept_page_runs_nothing(client: TestClient, art: bytes, tmp_path: Path) -> None:
    job = kept(client, art)
    page = tmp_path / "jobs" / job / "report.html"
    page.write_text("<script>alert(1)</script>")
    policy = client.get(f"/jobs/{job}/report.html").headers["content-security-policy"]
    assert "sandbox" in policy
    assert "script" not in policy


@pytest.mark.parametrize(
    "name", ["..", "../secret", "..%2Fsecret", "secret", ".hidden", "link", ""]
)
def test_nothing_outside_the_workspace_is_read(
    client: TestClient, art: bytes, tmp_path: Path, name: str
) -> None:
    kept(client, art)
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "report.html").write_text("secret")
    (tmp_path / "jobs" / "link").symlink_to(secret)
    (tmp_path / "jobs" / ".hidden").mkdir()
    (tmp_path / "jobs" / ".hidden" / "report.html").write_text("secret")
    answers = [
        client.get(f"/jobs/{name}/report.html"),
        client.get(f"/jobs/{name}/{name}.zip"),
        client.post(f"/api/jobs/{name}/repeat"),
    ]
    assert all(answer.status_code in (404, 405) for answer in answers)


def test_a_linked_file_is_not_followed(client: TestClient, art: bytes, tmp_path: Path) -> None:
    job = kept(client, art)
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    page = tmp_path / "jobs" / job / "report.html"
    page.unlink()
    page.symlink_to(secret)
    assert client.get(f"/jobs/{job}/report.html").status_code == 404
    assert b"secret.txt" not in client.get(f"/jobs/{job}/{job}.zip").content


def test_foreign_folders_are_passed_over(client: TestClient, art: bytes, tmp_path: Path) -> None:
    job = kept(client, art)
    for name, text in (("notes", ""), ("broken", "{"), ("other", '{"written_by":"me"}')):
        (tmp_path / "jobs" / name).mkdir()
        (tmp_path / "jobs" / name / "job.json").write_text(text)
    assert [one["job"] for one in client.get("/api/jobs").json()] == [job]


def test_a_job_file_is_read_again_only_when_it_changed(
    client: TestClient, art: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = kept(client, art)
    read: list[str] = []
    really = Path.read_bytes

    def counted(path: Path) -> bytes:
        read.append(path.name)
        return really(path)

    monkeypatch.setattr(Path, "read_bytes", counted)
    assert [len(client.get("/api/jobs").json()) for _ in range(5)] == [1] * 5
    assert read.count("job.json") == 1
    file = tmp_path / "jobs" / job / "job.json"
    held = json.loads(file.read_text()) | {"headline": "Another answer."}
    file.write_text(json.dumps(held))
    assert "Another answer." in client.get("/api/jobs").text


def test_a_workspace_that_cannot_be_made_is_told(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    (tmp_path / "jobs").write_text("a file")
    answer = client.post("/api/jobs", json=asked(drop(client, art)))
    assert answer.status_code == 422
    assert "--workspace" in answer.json()["faults"][0]


@pytest.mark.parametrize(
    ("name", "folder"),
    [("../x", "x"), ("CON ", "con"), ("Ünï", "n"), ("…", "job"), ("a" * 99, "a" * 60)],
)
def test_folder_names_are_plain(name: str, folder: str) -> None:
    assert slug(name) == folder
