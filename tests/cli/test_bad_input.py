"""Bad input: one clear line, the right exit code, nothing written."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from artcheck.cli.run import run
from tests.art import drawn, on_white, saved, svg, two_inks


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds no pixels."""
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    chunk = struct.pack(">I", 13) + body + struct.pack(">I", zlib.crc32(body))
    return b"\x89PNG\r\n\x1a\n" + chunk


def locked_pdf(path: Path) -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.save(path, encryption=pikepdf.Encryption(owner="a", user="b"))


def bad_art(folder: Path) -> dict[str, Path]:
    files = {}

    def put(name: str, data: bytes) -> None:
        (folder / name).write_bytes(data)
        files[name] = folder / name

    png = saved(two_inks(), folder / "good.png").read_bytes()
    jpeg = saved(on_white(two_inks()), folder / "good.jpg").read_bytes()
    put("empty.png", b"")
    put("text.png", b"this is a letter, not a picture")
    put("half.png", png[: len(png) // 2])
    put("half.jpg", jpeg[: len(jpeg) // 2])
    put("huge.png", png_header(100_000, 100_000))
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10">'
    put("files.svg", f'{head}<image href="file:///etc/hostname"/></svg>'.encode())
    put("network.svg", f'{head}<image href="http://example.org/a.png"/></svg>'.encode())
    put("style.svg", f"{head}<style>@import url(http://example.org/a.css);</style></svg>".encode())
    laughs = '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
    put("entities.svg", f"{laughs}{head}<text>&b;</text></svg>".encode())
    put("clear.png", saved(Image.new("RGBA", (40, 40)), folder / "c.png").read_bytes())
    put("page.png", saved(Image.new("RGB", (40, 40), "white"), folder / "w.png").read_bytes())
    put("drawing.eps", b"%!PS-Adobe-3.0 EPSF-3.0\n")
    locked_pdf(folder / "locked.pdf")
    files["locked.pdf"] = folder / "locked.pdf"
    return files


WORDS = {
    "empty.png": "is empty",
    "text.png": "no kind that artcheck reads",
    "half.png": "damaged or breaks off",
    "half.jpg": "damaged or breaks off",
    "huge.png": "100000 x 100000 pixels",
    "files.svg": "outside itself",
    "network.svg": "outside itself",
    "style.svg": "outside itself",
    "entities.svg": "declares entities",
    "clear.png": "fully transparent",
    "page.png": "nothing to print",
    "drawing.eps": "PostScript",
    "locked.pdf": "password",
}


@pytest.mark.parametrize("name", WORDS)
def test_art_that_gives_no_picture(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    art = bad_art(tmp_path)[name]
    out = tmp_path / "out"
    assert run(["check", str(art), "--width", "4in", "--out", str(out)]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert WORDS[name] in told.err
    assert name in told.err
    assert not out.exists()
    assert not list(tmp_path.glob(".artcheck-*"))


OPTIONS = [
    (["--width", "0in"], "more than zero"),
    (["--width", "-3in"], "more than zero"),
    (["--width", "wide"], "not a length"),
    (["--width", "4in", "--height", "4in"], "Give one"),
    (["--quantity", "0"], "--quantity"),
    (["--quantity", "-4"], "--quantity"),
    (["--quantity", "1000000001"], "--quantity"),
    (["--brand", "teal"], "NAME=COLOUR"),
]


@pytest.mark.parametrize(("options", "words"), OPTIONS, ids=lambda v: " ".join(v)[:24])
def test_options_that_cannot_be_used(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    art = saved(two_inks(), tmp_path / "art.png")
    assert run(["check", str(art), *options]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert words in told.err
    assert told.err.count("\n") == 1


def test_unknown_option_and_no_art(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--nonsense"]) == 2
    assert run(["check"]) == 2
    assert "No art is named" in capsys.readouterr().err


def test_missing_file_and_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(tmp_path / "none.png")]) == 3
    assert run(["check", str(tmp_path)]) == 3
    assert "not a regular file" in capsys.readouterr().err


def test_bad_brand_colour(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    art = saved(two_inks(), tmp_path / "art.png")
    assert run(["check", str(art), "--width", "4in", "--brand", "teal=sky-ish"]) == 6
    assert capsys.readouterr().err.count("\n") == 1


def test_shop_file_tells_every_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(
        'currency = "dollars"\n[limits.line_spot]\nchnge = 1\n[prices.spares]\nleast = -1\n'
    )
    art = saved(two_inks(), tmp_path / "art.png")
    assert run(["check", str(art), "--shop", str(shop)]) == 4
    told = capsys.readouterr().err
    assert "3 faults" in told
    for words in (
        "currency",
        "limits.line_spot.chnge",
        "did you mean change",
        "prices.spares.least",
    ):
        assert words in told


def test_output_is_looked_at_before_measuring(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    art = saved(two_inks(), tmp_path / "art.png")
    monkeypatch.setattr("artcheck.pipeline.measure_file", pytest.fail)
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert run(["check", str(art), "--json", str(blocked / "r.json")]) == 8
    assert run(["check", str(art), "--out", str(blocked)]) == 8
    full = tmp_path / "full"
    full.mkdir()
    (full / "keep").write_text("mine")
    assert run(["check", str(art), "--out", str(full)]) == 8
    assert "--overwrite" in capsys.readouterr().err
    assert (full / "keep").read_text() == "mine"


def test_a_bug_is_one_line_and_its_own_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise RuntimeError("two\nlines")

    art = saved(two_inks(), tmp_path / "art.png")
    monkeypatch.setattr("artcheck.pipeline.measure_file", broken)
    assert run(["check", str(art)]) == 70
    assert capsys.readouterr().err.count("\n") == 1


def test_hostile_name_cannot_write_to_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "a\x1b[31m\nb.png"
    bad.write_bytes(b"")
    assert run(["check", str(bad)]) == 3
    told = capsys.readouterr().err
    assert "\x1b" not in told
    assert told.count("\n") == 1
    good = saved(drawn('<rect width="50" height="50"/>'), tmp_path / "[red]\x1b[2J.png")
    assert run(["check", str(good), "--width", "3in"]) == 0
    assert "\x1b" not in capsys.readouterr().out


@pytest.mark.parametrize("closed", ["2>&-", ">&- 2>&-", "<&- >&- 2>&-"])
@pytest.mark.parametrize("kind", ["svg", "tif"])
def test_closed_standard_streams_cost_nothing(closed: str, kind: str, tmp_path: Path) -> None:
    """As a service may start it; the readers of both kinds silence their native parts."""
    art = saved(two_inks(), tmp_path / "a.tif")
    if kind == "svg":
        art = tmp_path / "a.svg"
        art.write_text(svg('<rect width="300" height="200" fill="#c81e28"/>'))
    line = f'"$0" -m artcheck check "$1" --width 4in --quantity 24 --out "$2" {closed}'
    out = tmp_path / "out"
    command = ["/bin/sh", "-c", line, sys.executable, str(art), str(out)]
    assert subprocess.run(command, check=False).returncode == 0
    assert json.loads((out / "report.json").read_text())["printed"]["width_in"] == 4
