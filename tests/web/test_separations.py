"""The separation panel's server: the command's own folder, made apart, bounded, stopped."""

from __future__ import annotations

import io
import json
import math
import re
import tempfile
import time
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient
from PIL import Image

from artcheck.cli.run import run
from artcheck.report.files import LIST_NAME
from artcheck.web import separations as separations_module
from tests.art import photograph, saved
from tests.web import calls
from tests.web.conftest import asked, drop

TWO_INKS: dict[str, Any] = {"separations": [{"inks": 2}]}


def begun(client: TestClient, request: dict[str, Any]) -> str:
    answer = client.post("/api/separations", json=request)
    assert answer.status_code == 200, answer.text
    key: str = answer.json()["key"]
    return key


def ended(client: TestClient, key: str) -> dict[str, Any]:
    for _ in range(1200):
        state: dict[str, Any] = client.get(f"/api/separations/{key}").json()
        if state.get("state") != "making":
            return state
        time.sleep(0.05)
    raise AssertionError("separating never ended")


def content(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != LIST_NAME)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def test_the_zip_is_the_folder_that_the_command_writes(
    client: TestClient, art: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "tmp"
    place.mkdir()
    monkeypatch.setenv("TMPDIR", str(place))
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    (tmp_path / "0.png").write_bytes(art)
    options = "--inks 2 --width 2in --quantity 24 --garment tee --garment-colour black"
    command = ["separate", str(tmp_path / "0.png"), *options.split(), "--fabric", "cotton"]
    assert run([*command, "--out", str(tmp_path / "folder")]) == 0
    written = content(tmp_path / "folder")

    key = begun(client, asked(drop(client, art), width_in=2) | TWO_INKS)
    seen = ended(client, key)
    assert seen["state"] == "ready"
    with zipfile.ZipFile(io.BytesIO(client.get(f"/api/separations/{key}/0.zip").content)) as zipped:
        assert zipped.testzip() is None
        held = {name: zipped.read(name) for name in zipped.namelist()}
    assert held == {f"0/{name}": data for name, data in written.items()}
    assert [path for path in place.rglob("*") if path.is_file()] == []

    manifest = json.loads(written["manifest.json"])
    for n, ink in enumerate(manifest["inks"], 1):
        plate = Image.open(io.BytesIO(client.get(f"/api/separations/{key}/plates/{n}").content))
        black = 1 - np.asarray(plate.convert("L")).mean() / 255
        print_in2 = manifest["width_in"] * manifest["height_in"]
        assert black * print_in2 == pytest.approx(ink["area_in2"], rel=0.01)
    proof = Image.open(io.BytesIO(client.get(f"/api/separations/{key}/proof").content))
    assert proof.mode == "RGBA"
    for wrong in ("plates/0", "plates/3", "other.zip", "..%2f0.zip"):
        assert client.get(f"/api/separations/{key}/{wrong}").status_code == 404


def test_a_key_stands_for_all_that_the_folder_depends_on(client: TestClient, art: bytes) -> None:
    digest = drop(client, art)
    asks = [
        asked(digest) | TWO_INKS,
        asked(digest) | {"separations": [{"inks": 1}]},
        asked(digest, quantity=25) | TWO_INKS,
        asked(digest, width_in=3) | TWO_INKS,
        asked(digest, colour="white") | TWO_INKS,
        asked(digest) | {"separations": [{"inks": 2, "trap_pt": 1}]},
    ]
    told = [client.post("/api/evaluate", json=one).json()["separation"] for one in asks]
    assert len({key for key, _ in told}) == len(asks)
    assert {state for _, state in told} == {"none"}


def test_a_kept_job_holds_the_plates_that_are_made(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    request = asked(drop(client, art), width_in=1) | TWO_INKS
    key = begun(client, request)
    assert ended(client, key)["state"] == "ready"
    with zipfile.ZipFile(io.BytesIO(client.get(f"/api/separations/{key}/0.zip").content)) as zipped:
        made = {name.removeprefix("0/"): zipped.read(name) for name in zipped.namelist()}
    job = client.post("/api/jobs", json=request).json()["job"]
    kept = content(tmp_path / "jobs" / job)
    assert made.items() <= kept.items()
    assert set(kept) - set(made) == {"job.json", "art-1.png"}
    again = client.post(f"/api/jobs/{job}/repeat").json()
    assert again["separations"][0]["inks"] == 2

    changed = asked(drop(client, art), width_in=1, quantity=25) | TWO_INKS
    job = client.post("/api/jobs", json=changed).json()["job"]
    assert "manifest.json" not in content(tmp_path / "jobs" / job)


def test_plates_of_several_prints_lie_in_a_folder_each(
    client: TestClient, art: bytes, tmp_path: Path
) -> None:
    digest = drop(client, art)
    request = asked(digest, digest, width_in=1) | {"shown": 1, "separations": [{}, {"inks": 1}]}
    key = begun(client, request)
    assert client.post("/api/evaluate", json=request).json()["separation"][0] == key
    assert ended(client, key)["state"] == "ready"
    assert client.get(f"/api/separations/{key}/1-print-2.zip").status_code == 200
    job = client.post("/api/jobs", json=request).json()["job"]
    kept = content(tmp_path / "jobs" / job)
    assert {"print-2/manifest.json", "print-2/proof.png", "report.json", "art-2.png"} <= set(kept)
    assert not any(name.startswith("print-1/") for name in kept)


@pytest.fixture
def sleeping(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(separations_module, "make", calls.sleeps)


@pytest.mark.usefixtures("sleeping")
def test_a_separation_blocks_nothing_and_is_cancelled(client: TestClient, art: bytes) -> None:
    request = asked(drop(client, art)) | TWO_INKS
    key = begun(client, request)
    assert begun(client, request) == key
    while client.get(f"/api/separations/{key}").json()["doing"] != "sleeping":
        time.sleep(0.05)
    answer = client.post("/api/evaluate", json=request)
    assert answer.json()["separation"] == [key, "making"]
    assert client.get(f"/api/separations/{key}/proof").status_code == 404
    client.delete(f"/api/separations/{key}")
    assert client.get(f"/api/separations/{key}").status_code == 404
    assert client.post("/api/evaluate", json=request).json()["separation"] == [key, "none"]


def test_a_refusal_is_told_and_tried_anew(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(separations_module, "make", calls.refuses)
    request = asked(drop(client, art)) | TWO_INKS
    key = begun(client, request)
    assert ended(client, key) == {"state": "fault", "faults": ["No ink is left to print."]}
    monkeypatch.setattr(separations_module, "make", calls.sleeps)
    assert begun(client, request) == key
    assert client.get(f"/api/separations/{key}").json()["state"] == "making"


def test_old_separations_are_let_go(
    client: TestClient, art: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = drop(client, art)
    first = begun(client, asked(digest, width_in=1) | TWO_INKS)
    assert ended(client, first)["state"] == "ready"
    monkeypatch.setattr(separations_module, "MOST_HELD_BYTES", 1)
    second = begun(client, asked(digest, width_in=1) | {"separations": [{"inks": 1}]})
    assert ended(client, second)["state"] == "ready"
    left = [client.get(f"/api/separations/{key}").status_code for key in (first, second)]
    assert left == [404, 200]


def test_a_photograph_is_offered_no_number_of_inks(client: TestClient, tmp_path: Path) -> None:
    file = saved(photograph(), tmp_path / "photo.png").read_bytes()
    parts = client.post("/api/evaluate", json=asked(drop(client, file))).json()["parts"]
    assert "is a photograph" in parts["choice"]
    assert 'data-plate="knock"' in parts["choice"]
    assert 'data-plate="k"' not in parts["choice"]
    bare = client.post("/api/evaluate", json=asked(drop(client, file), colour=None)).json()["parts"]
    assert 'data-plate="knock"' not in bare["choice"]


def test_the_ladder_is_drawn_in_its_inks_alone(client: TestClient, art: bytes) -> None:
    """`two_inks` is a red disc and a blue bar: in one ink both are that ink."""
    digest = drop(client, art)
    parts = client.post("/api/evaluate", json=asked(digest)).json()["parts"]
    rungs = re.findall(r'data-inks="([^"]+)" data-garment="([^"]+)"', parts["choice"])
    assert [inks.count("#") for inks, _ in rungs] == [1, 2]
    for inks, garment in rungs:
        query = {"inks": inks, "garment": garment}
        data = client.get(f"/api/ladder/{digest}", params=query).content
        drawn = np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))
        assert drawn.shape[:2] == (300, 390)  # the art trimmed: it is no larger than its file
        solid = drawn[drawn[..., 3] == 255][:, :3]
        colours, counts = np.unique(solid, axis=0, return_counts=True)
        large = ["#{:02x}{:02x}{:02x}".format(*c) for c in colours[counts > 0.01 * len(solid)]]
        assert sorted(large) == sorted(inks.split(","))


def test_what_is_near_the_garment_is_left_open(client: TestClient, art: bytes) -> None:
    digest = drop(client, art)
    query = {"inks": "#1e3cc8", "garment": "#c81e28"}
    data = client.get(f"/api/ladder/{digest}", params=query).content
    drawn = np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))
    bar, both = 40 * 220, 40 * 220 + math.pi * 150**2
    whole = client.get(f"/api/ladder/{digest}", params={"inks": "#1e3cc8"}).content
    inked = np.asarray(Image.open(io.BytesIO(whole)).convert("RGBA"))[..., 3].sum()
    assert drawn[..., 3].sum() / inked == pytest.approx(bar / both, rel=0.05)


@pytest.mark.parametrize("inks", ["", "red", "#12345", "#ffffff;", ",".join(["#ffffff"] * 25)])
def test_only_colours_are_taken_for_inks(client: TestClient, art: bytes, inks: str) -> None:
    digest = drop(client, art)
    assert client.get(f"/api/ladder/{digest}", params={"inks": inks}).status_code == 422
    assert client.get("/api/ladder/x", params={"inks": "#ffffff"}).status_code == 404


@pytest.mark.parametrize(
    ("wanted", "fault"),
    [({"trap_pt": 99}, "trap_pt"), ({"inks": "x"}, "inks"), ({"out": "/etc"}, "out")],
)
def test_faults_of_the_wishes_are_told(
    client: TestClient, art: bytes, wanted: dict[str, Any], fault: str
) -> None:
    request = asked(drop(client, art)) | {"separations": [wanted]}
    answer = client.post("/api/separations", json=request)
    assert answer.status_code == 422
    assert answer.json()["faults"][0].startswith(fault)


@pytest.mark.parametrize("key", ["0" * 64, "..", "..%2f..%2fetc", "x"])
def test_what_nobody_asked_for_is_not_there(client: TestClient, key: str) -> None:
    paths = [f"/api/separations/{key}{rest}" for rest in ("", "/proof", "/plates/1", "/a.zip")]
    assert all(client.get(path).status_code == 404 for path in paths)
