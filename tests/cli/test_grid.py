"""The grid command: table, JSON, page, picture, and what it refuses."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from artcheck.cli.run import run
from artcheck.domain.grid import GridReport
from artcheck.domain.order import Garment
from artcheck.pipeline.grid import method_grid
from artcheck.report.data import schema_of
from artcheck.report.grid_page import grid_page
from artcheck.report.grid_text import render_grid_text
from artcheck.shop import load_shop

NAVY = ["grid", "--width", "9in", "--garment", "tee", "--garment-colour", "navy"]
SHOP = load_shop()


def shown(capsys: pytest.CaptureFixture[str], *options: str) -> str:
    assert run([*NAVY, "--fabric", "cotton", *options]) == 0
    return capsys.readouterr().out


def report(capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    return json.loads(shown(capsys, "--json", "-", *options))  # type: ignore[no-any-return]


def test_json_has_the_promised_keys(capsys: pytest.CaptureFixture[str]) -> None:
    data = report(capsys)
    jsonschema.Draft202012Validator(schema_of(GridReport)).validate(data)
    cells = [cell for row in data["rows"] for cell in row["cells"]]
    assert len(cells[0]) >= 4
    assert {"method", "price_per_piece", "second", "margin_to_second"} <= set(cells[0])
    assert isinstance(cells[0]["price_per_piece"], str)
    assert data["inks"] == [1, 2, 3, 4]
    assert data["height_in"] == 9
    assert GridReport.model_validate(data).shop == "Brindlefenn Print Room"


def test_nothing_else_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NAVY, "--json", "-"]) == 0
    assert capsys.readouterr().out.startswith("{")


def test_table_cuts_no_name_on_a_narrow_terminal() -> None:
    from rich.console import Console

    grid = method_grid(9, 9, Garment(kind="tee", fabric="cotton"), SHOP)
    for width in (40, 80, 200):
        written = io.StringIO()
        render_grid_text(grid, Console(file=written, width=width))
        text = written.getvalue()
        assert "…" not in text
        prices = re.findall(r"\d+\.\d\d (?:spot|film-area|cut-film)", text)
        assert len(prices) >= 2 * 4 * len(grid.rows) - 8  # every cell, nearly all with a second
        for number in ("1 ink ", "2 inks", "3 inks", "4 inks"):
            assert text.count(number) == 1


def test_a_margin_below_a_cent_does_not_look_like_a_tie(
    capsys: pytest.CaptureFixture[str],
) -> None:
    cells = [cell for row in report(capsys)["rows"] for cell in row["cells"]]
    near = [c for c in cells if c["margin_to_second"] == "0.00" and not c["tie"]]
    assert near  # 130 pieces in four inks
    text = shown(capsys)
    assert "+0.00" not in text
    assert f"+{near[0]['order_margin_to_second']} in all" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_page_is_one_pdf_page_with_every_price(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], paper: str
) -> None:
    out = tmp_path / "wall.pdf"
    data = report(capsys, "--out", str(out), "--paper", paper)
    with pikepdf.open(out) as pdf:
        (page,) = pdf.pages
        size = {"a4": (841.89, 595.28), "letter": (792, 612)}[paper]  # ISO 216; ANSI Y14.1
        assert [float(n) for n in page.mediabox[2:]] == pytest.approx(size)
        assert "CreationDate" not in str(pdf.docinfo)
    with pypdfium2.PdfDocument(out) as document:
        text = document[0].get_textpage().get_text_range()
    for row in data["rows"]:
        for cell in row["cells"]:
            assert cell["price_per_piece"] in text
    assert text.count("Full-colour film by area") >= sum(
        cell["method"] == "film-area" for row in data["rows"] for cell in row["cells"]
    )
    assert "Full-colour film by the roll" in text  # left out, by its name
    assert "film-roll" not in text
    assert "…" not in text


def test_words_stay_inside_their_cells() -> None:
    grid = method_grid(9, 9, Garment(), SHOP)
    page = grid_page(grid)
    assert all(0 <= p.x <= page.width and 0 <= p.y <= page.height for p in page.parts)


def test_two_runs_give_the_same_bytes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for ending in ("pdf", "svg", "png"):
        files = [tmp_path / f"{n}.{ending}" for n in (1, 2)]
        for file in files:
            shown(capsys, "--out", str(file))
        assert files[0].read_bytes() == files[1].read_bytes()


def test_png_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "wall.png"
    shown(capsys, "--out", str(out))
    with Image.open(out) as image:
        assert image.width == 2000
        tones = image.convert("L").getextrema()
    assert tones == (0, 255)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--width", "0"], "width"),
        (["--width", "wide"], "width"),
        (["--width", "500in"], "no print's"),
        (["--width", "5in", "--height=-3"], "height"),
        (["--width", "5in", "--fabric", "coton"], "Did you mean cotton"),
        (["--width", "5in", "--paper", "a5"], "a4 or letter"),
        (["--width", "5in", "--out", "wall.doc"], "ends so"),
        (["--width", "25in"], "larger than the press"),
        ([], "--width"),
    ],
)
def test_bad_input_is_one_line_and_leaves_nothing(
    options: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    out = [] if "--out" in options else ["--out", "wall.pdf"]
    assert run(["grid", *options, *out]) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert told.out == ""
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_told_before_the_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*NAVY, "--out", str(tmp_path / "none" / "wall.pdf")]) > 2
    assert "none" in capsys.readouterr().err
