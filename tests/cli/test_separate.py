"""The separate command as its user runs it."""

from __future__ import annotations

import errno
import json
from pathlib import Path
from xml.etree import ElementTree as ET

import pikepdf
import pytest
from PIL import Image

from artcheck.cli.run import run
from artcheck.report import files
from tests.art import on_white, photograph, saved, two_inks
from tests.report.test_job_files import content


@pytest.fixture
def art(tmp_path: Path) -> Path:
    return saved(two_inks(), tmp_path / "art.png")


def separated(art: Path, out: Path, *more: str) -> int:
    options = ["--width", "2in", "--quantity", "50", "--garment-color", "navy", "--out", str(out)]
    return run(["separate", str(art), *options, *more])


def test_folder_holds_report_and_job(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "job"
    assert separated(art, out, "--inks", "2", "--trap", "1pt") == 0
    told = capsys.readouterr().out
    assert told.startswith("art.png in 2 inks: Spot transfers, 2 x ")
    for words in ("Poppy", "(mixed)", "the art", "this version", "verdict", "price", "USD"):
        assert words in told
    written = content(out)
    assert {"report.html", "report.json", "manifest.json", "proof.png"} <= set(written)
    assert json.loads(written["manifest.json"])["trap_pt"] == pytest.approx(1.0)
    assert json.loads(written["report.json"])["artwork"]["file"] == "art.png"
    assert not list(tmp_path.glob(".artcheck-*"))


def test_two_runs_give_the_same_folder(art: Path, tmp_path: Path) -> None:
    assert separated(art, tmp_path / "one", "--inks", "1") == 0
    assert separated(art, tmp_path / "two", "--inks", "1") == 0
    assert content(tmp_path / "one") == content(tmp_path / "two")


def test_json_on_the_screen_is_the_manifest_alone(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "job"
    lock = ["--lock-ink", "team violet=lab(30 48 -62)"]
    assert separated(art, out, "--inks", "2", "--json", "-", *lock) == 0
    told = capsys.readouterr().out
    assert told == (out / "manifest.json").read_text()
    assert "team violet" in [ink["name"] for ink in json.loads(told)["inks"]]


def test_film_on_request(art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "job"
    options = ["--method", "film-area", "--soft-edges", "--knock-out-garment"]
    assert separated(art, out, *options) == 0
    assert "full colour" in capsys.readouterr().out.splitlines()[0]
    assert {"film.png", "film-white.png"} <= set(content(out))


def test_hostile_names_reach_neither_terminal_nor_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    art = saved(two_inks(), tmp_path / "[red]\x1b[2J\n&<x>.png")
    out = tmp_path / "job"
    name = "../\x1b[31m<&>\x00" + "long" * 50
    assert separated(art, out, "--inks", "1", "--lock-ink", f"{name}=#7a3f9d") == 0
    assert "\x1b" not in capsys.readouterr().out
    assert [p.name for p in (out / "plates").iterdir()] == [f"01-31m-{'long' * 14}.tif"]
    assert {p.name for p in tmp_path.iterdir()} == {art.name, "job"}
    assert b"\x1b" not in (out / "simplified.svg").read_bytes()
    ET.parse(out / "simplified.svg")
    with pikepdf.open(out / "separations.pdf") as document:
        assert document.check_pdf_syntax() == []


BAD = [
    (["--inks", "0"], 2, "Ask for 1 or more"),
    (["--inks", "-2"], 2, "Ask for 1 or more"),
    (["--inks", "3"], 2, "needs 2 inks at most"),
    (["--inks", "9"], 2, "prints 4 inks at most"),
    (["--inks", "2", "--method", "nothing"], 2, "No method is called"),
    (["--inks", "2", "--method", "film-area"], 2, "inks are not counted"),
    (["--inks", "1", "--lock-ink", "teal"], 2, "NAME=COLOUR"),
    (["--inks", "1", "--lock-ink", "teal=sky-ish"], 6, "sky-ish"),
    (["--inks", "1", "--lock-ink", "a=Poppy", "--lock-ink", "b=Royal"], 2, "allow more inks"),
    (["--inks", "1", "--trap", "wide"], 2, "not a length"),
    (["--inks", "1", "--trap", "-1pt"], 2, "more than zero"),
    (["--inks", "1", "--trap", "3in"], 2, "too wide"),
    (["--inks", "1", "--print", "2"], 2, "no print 2"),
    (["--inks", "1", "--width", "0.0001in"], 2, "--width"),
    (["--inks", "1", "--width", "190in"], 2, "million can be made"),
]


@pytest.mark.parametrize(("options", "code", "words"), BAD, ids=lambda v: str(v)[:40])
def test_options_that_cannot_be_used(
    options: list[str],
    code: int,
    words: str,
    art: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert separated(art, tmp_path / "job", *options) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert words in told.err
    assert told.err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["art.png"]


def test_art_that_cannot_be_separated(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "job"
    photo = saved(photograph(), tmp_path / "photo.png")
    assert separated(photo, out, "--inks", "3") == 2
    assert "is a photograph" in capsys.readouterr().err
    clear = saved(Image.new("RGBA", (40, 40)), tmp_path / "clear.png")
    assert separated(clear, out, "--inks", "1") == 3
    assert "fully transparent" in capsys.readouterr().err
    blank = saved(Image.new("RGB", (40, 40), "white"), tmp_path / "blank.png")
    assert separated(blank, out, "--inks", "1") == 3
    assert "nothing to print" in capsys.readouterr().err
    navy = saved(on_white(Image.new("RGBA", (60, 60), "#293047")), tmp_path / "navy.png")
    assert separated(navy, out, "--inks", "1", "--background", "keep") == 3
    assert "No ink is left" in capsys.readouterr().err
    assert not out.exists()


def test_folder_that_exists(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "job"
    assert separated(art, out, "--inks", "2") == 0
    before = content(out)
    with monkeypatch.context() as patch:
        patch.setattr("artcheck.pipeline.separate", pytest.fail)  # told before the long work
        assert separated(art, out, "--inks", "1") == 8
    assert "--overwrite" in capsys.readouterr().err
    assert content(out) == before
    assert separated(art, out, "--inks", "1", "--overwrite") == 0
    assert len([name for name in content(out) if name.startswith("plates/")]) == 1
    (out / "mine.txt").write_text("keep")
    assert separated(art, out, "--inks", "1", "--overwrite") == 8
    assert (out / "mine.txt").read_text() == "keep"


@pytest.mark.parametrize("after", [0, 1, 3, 6])
def test_full_disk_leaves_nothing(
    after: int,
    art: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    written: list[Path] = []
    really = files._write_synced

    def short(path: Path, data: bytes) -> None:
        if len(written) == after:
            path.write_bytes(data[: len(data) // 2])
            raise OSError(errno.ENOSPC, "No space left on device")
        written.append(path)
        really(path, data)

    monkeypatch.setattr(files, "_write_synced", short)
    assert separated(art, tmp_path / "job", "--inks", "2") == 8
    told = capsys.readouterr()
    assert "No space left" in told.err
    assert told.err.count("\n") == 1
    assert told.out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["art.png"]
