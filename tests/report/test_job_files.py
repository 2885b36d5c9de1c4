"""A job folder, read back by others."""

from __future__ import annotations

import io
import json
import zipfile
from importlib import resources
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image

from artcheck.domain.manifest import Manifest
from artcheck.domain.order import Garment, Order, Print
from artcheck.domain.separating import SeparationOptions
from artcheck.errors import MissingToolError
from artcheck.pipeline import separate
from artcheck.report import job_files
from artcheck.report.data import MANIFEST_SCHEMA_FILE
from artcheck.report.files import LIST_NAME
from artcheck.report.job_files import write_job, zip_job
from artcheck.separation.job import SeparationJob
from artcheck.shop import load_shop
from tests.art import saved, two_inks

OPTIONS: dict[str, dict[str, object]] = {
    "spot": {"inks": 2, "method": "spot"},
    "film": {"method": "film-area"},
}


def job_of(folder: Path, **options: object) -> SeparationJob:
    art = saved(two_inks(), folder / "art.png")
    order = Order(
        garment=Garment(kind="tee", colour="navy", fabric="cotton", quantity=50),
        prints=(Print(art=str(art), width_in=2),),
    )
    return separate(order, load_shop(), SeparationOptions.model_validate(options))


@pytest.fixture(scope="module")
def spot(tmp_path_factory: pytest.TempPathFactory) -> SeparationJob:
    return job_of(tmp_path_factory.mktemp("art"), **OPTIONS["spot"])


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> SeparationJob:
    return job_of(tmp_path_factory.mktemp("art"), **OPTIONS["film"])


def content(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != LIST_NAME)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def test_files_of_an_ink_job(spot: SeparationJob, tmp_path: Path) -> None:
    manifest = write_job(spot, tmp_path)
    written = content(tmp_path)
    assert set(written) == {
        "report.html",
        "report.json",
        "manifest.json",
        "plates/01-poppy.tif",
        "plates/02-1e3cc8.tif",
        "proof.png",
        "separations.pdf",
        "simplified.pdf",
        "simplified.svg",
    }
    assert set(manifest.files) == set(written)
    assert Manifest.model_validate_json(written["manifest.json"]).inks[0].name == "Poppy"


def test_manifest_says_what_the_plates_hold(spot: SeparationJob, tmp_path: Path) -> None:
    write_job(spot, tmp_path)
    manifest = json.loads((tmp_path / "manifest.json").read_text())
    assert list(manifest)[:17] == [
        "schema_version",
        "artcheck_version",
        "artwork",
        "method",
        "garment",
        "width_in",
        "height_in",
        "ppi",
        "trap_pt",
        "choke_pt",
        "inks",
        "art_box_px",
        "loss",
        "changes",
        "warnings",
        "comparison",
        "files",
    ]
    assert (manifest["method"], manifest["ppi"], manifest["trap_pt"]) == ("spot", 600, 0.5)
    row0, col0, row1, col1 = manifest["art_box_px"]
    assert col1 - col0 == round(manifest["width_in"] * 600) == 1200
    assert row1 - row0 == round(manifest["height_in"] * 600)
    for ink in manifest["inks"]:
        with Image.open(tmp_path / ink["plate"]) as tiff:
            assert tiff.info["dpi"] == (600, 600)
            printed = ~np.asarray(tiff)[row0:row1, col0:col1]
        assert ink["area_in2"] == pytest.approx(printed.sum() / 600**2, abs=1e-3)
        assert ink["role"] == "ink"
    assert isinstance(manifest["comparison"]["after"]["total"], str)
    assert manifest["comparison"]["after"]["inks"] == 2


@pytest.mark.parametrize("kind", ["spot", "film"])
def test_manifest_keeps_to_the_shipped_schema(
    kind: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    write_job(request.getfixturevalue(kind), tmp_path)
    manifest = json.loads((tmp_path / "manifest.json").read_text())
    schema = json.loads((resources.files("artcheck.report") / MANIFEST_SCHEMA_FILE).read_text())
    jsonschema.Draft202012Validator(schema).validate(manifest)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(manifest | {"surplus": 1})


def test_proof_lies_on_the_garment_at_true_size(spot: SeparationJob, tmp_path: Path) -> None:
    manifest = write_job(spot, tmp_path)
    with Image.open(tmp_path / "proof.png") as image:
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.01)
        proof = np.asarray(image)
    assert proof.shape == (round(manifest.height_in * 300), 600, 3)
    garment = bytes.fromhex((manifest.garment.hex or "")[1:])
    assert (proof[0, 0] == list(garment)).all()
    inks = [list(bytes.fromhex(ink.hex[1:])) for ink in manifest.inks]
    assert all((proof == ink).all(axis=2).any() for ink in inks)


def test_files_of_a_film_job(film: SeparationJob, tmp_path: Path) -> None:
    manifest = write_job(film, tmp_path)
    report = {"report.html", "report.json", "manifest.json"}
    assert set(content(tmp_path)) == {"film.png", "film-white.png", "proof.png", *report}
    assert set(manifest.files) == set(content(tmp_path))
    data = (tmp_path / "film.png").read_bytes()
    assert data[data.index(b"pHYs") + 4 :][:9] == (11811).to_bytes(4) * 2 + b"\x01"
    with Image.open(tmp_path / "film.png") as image, Image.open(tmp_path / "film-white.png") as w:
        assert image.mode == "RGBA"
        assert image.size == w.size == (600, round(manifest.height_in * 300))
        alpha, white = np.asarray(image)[..., 3], 255 - np.asarray(w.convert("L"))
    assert set(np.unique(alpha)) == {0, 255}
    assert not (white > alpha).any()
    assert manifest.inks[0].area_in2 == pytest.approx(white.sum() / 255 / 300**2)
    assert manifest.art_box_px == (0, 0, *alpha.shape)


@pytest.mark.parametrize("kind", ["spot", "film"])
def test_two_runs_give_the_same_bytes(
    kind: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    first, again = tmp_path / "first", tmp_path / "again"
    write_job(request.getfixturevalue(kind), first)
    write_job(job_of(tmp_path, **OPTIONS[kind]), again)
    assert content(first) == content(again)


@pytest.mark.parametrize("kind", ["spot", "film"])
def test_a_zip_holds_what_the_folder_holds(
    kind: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    job = request.getfixturevalue(kind)
    manifest = write_job(job, tmp_path / "folder")
    same, packed = zip_job(job, "owl-fair")
    assert same == manifest
    with zipfile.ZipFile(io.BytesIO(packed)) as opened:
        assert opened.testzip() is None
        held = {name: opened.read(name) for name in opened.namelist()}
    assert held == {f"owl-fair/{n}": data for n, data in content(tmp_path / "folder").items()}
    assert zip_job(job, "owl-fair")[1] == packed


def test_without_cairo_the_rest_is_written(
    spot: SeparationJob, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(svg: str) -> bytes:
        raise MissingToolError("The Cairo library is not installed.")

    monkeypatch.setattr(job_files, "drawing_pdf", missing)
    manifest = write_job(spot, tmp_path)
    assert "simplified.pdf" not in manifest.files
    assert "simplified.svg" in manifest.files
    assert any("Cairo" in warning for warning in manifest.warnings)
