"""The batch command as its user runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from artcheck.cli.run import run
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from tests.art import saved, two_inks


@pytest.fixture
def art(tmp_path: Path) -> Path:
    folder = tmp_path / "art"
    folder.mkdir()
    saved(two_inks(300), folder / "a.png")
    (folder / "b.png").write_text("no picture")
    return folder


def test_it_says_what_it_did_and_where(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    options = ["--out", str(out), "--width", "4in", "--quantity", "24", "--garment-color", "navy"]
    assert run(["batch", str(art), *options]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told == [
        "2 of 2 files, 1 with a fault",
        *(str(out / name) for name in (PAGE_NAME, TABLE_NAME, LINES_NAME)),
    ]
    good, bad = (json.loads(line) for line in (out / LINES_NAME).read_text().splitlines())
    assert good["report"]["printed"]["width_in"] == 4.0
    assert good["report"]["garment"]["colour"] == "navy"
    assert good["report"]["recommendation"]["method"]
    assert "no kind that artcheck reads" in bad["fault"]["text"]
    monkeypatch.chdir(tmp_path)
    assert run(["batch", "art", *options]) == 0
    assert capsys.readouterr().out.startswith("2 of 2 files, 2 of them before, 1 with a fault")


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--width", "0in"], 2, "width"),
        (["--workers", "2", "--cluster", "tcp://127.0.0.1:1"], 2, "--workers is for this machine"),
        (["--seconds", "0"], 2, "seconds"),
        (["--shop", "none.toml"], 4, "none.toml"),
    ],
)
def test_wrong_options_are_told_before_anything_is_made(
    art: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    code: int,
    words: str,
) -> None:
    assert run(["batch", str(art), "--out", str(tmp_path / "out"), *options]) == code
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_an_order_of_several_prints_is_refused(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    order = tmp_path / "order.toml"
    order.write_text('[[prints]]\nart = "a.png"\n[[prints]]\nart = "b.png"\n')
    assert run(["batch", str(art), "--out", str(tmp_path / "out"), "--order", str(order)]) == 2
    assert "several prints" in capsys.readouterr().err
