"""The gang command on the packaged orders, from the file to the folder."""

from __future__ import annotations

import json
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pikepdf
import pytest
import resvg_py

from artcheck.cli.run import run
from artcheck.domain.gang import GangReport
from artcheck.report.data import schema_of
from tests.art import saved, two_inks

ORDERS = Path(str(resources.files("artcheck"))) / "demo" / "orders"


def ganged(order: Path, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert run(["gang", str(order), "--json", "-", *options]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def method(report: dict[str, Any], method_id: str) -> dict[str, Any]:
    return next(m for m in report["methods"] if m["id"] == method_id)


def test_league_is_cheaper_on_one_roll_than_by_area(capsys: pytest.CaptureFixture[str]) -> None:
    report = ganged(ORDERS / "1-league.toml", capsys)
    jsonschema.Draft202012Validator(schema_of(GangReport)).validate(report)
    roll = method(report, "film-roll")
    assert (roll["cost"], roll["cost_alone"], roll["saving"]) == ("54.00", "63.00", "9.00")
    assert report["order_decoration"] == "61.00"  # 10.00 and 51.00, by area
    assert report["cheapest"] == "film-roll"
    assert {out["design"] for out in method(report, "spot")["left_out"]} == {
        "1-league-logo",
        "1-league-name",
        "1-league-number",
    }


def test_folder_holds_picture_and_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "job"
    report = ganged(ORDERS / "3-wheelers.toml", capsys, "--out", str(out))
    spot = method(report, "spot")
    assert [(c["design"], c["made"], c["free"]) for c in spot["layouts"][0]["copies"]] == [
        ("3-wheelers", 56, False),
        ("neck tag", 280, True),
    ]
    assert Decimal(spot["cost"]) == Decimal("122.00")
    with pikepdf.open(out / "spot-1.pdf") as pdf:
        page = pdf.pages[0]
        assert [float(n) for n in page.mediabox] == [0, 0, 864, 1080]
        names = {str(space[1]) for space in dict(page.obj.Resources.ColorSpace).values()}
        assert names == {"/Pewter", "/All"}
    assert resvg_py.svg_to_bytes(svg_string=(out / "spot-1.svg").read_text())
    assert json.loads((out / "gang.json").read_text()) == report


def order_file(folder: Path, garment: str) -> Path:
    saved(two_inks(), folder / "art.png")
    path = folder / "order.toml"
    path.write_text(f'[garment]\n{garment}\n[[prints]]\nart = "art.png"\nwidth_in = 4\n')
    return path


def test_orders_that_cannot_be_ganged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert run(["gang", str(order_file(tmp_path, "")), "--out", str(out)]) == 2
    assert "no quantity" in capsys.readouterr().err
    assert not out.exists()
    assert run(["gang", str(tmp_path / "none.toml")]) == 5
    (tmp_path / "shop.toml").write_text("[[methods]]\n")
    assert (
        run(
            [
                "gang",
                str(order_file(tmp_path, "quantity = 9")),
                "--shop",
                str(tmp_path / "shop.toml"),
            ]
        )
        == 4
    )
    assert run(["gang", str(order_file(tmp_path, "quantity = 0"))]) == 5


def test_too_many_pieces_for_a_free_layout_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = ganged(order_file(tmp_path, "quantity = 20000"), capsys)
    roll = method(report, "film-roll")
    assert roll["cost"] is None
    assert "too many" in roll["left_out"][0]["why"]
    assert method(report, "spot")["cost"] is not None


def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    order = order_file(tmp_path, "quantity = 30")
    for name in ("a", "b"):
        assert run(["gang", str(order), "--out", str(tmp_path / name)]) == 0
    for file in (tmp_path / "a").iterdir():
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes()


def test_a_small_print_with_art_is_printed_in_the_sheets_ink(tmp_path: Path) -> None:
    """The tag's red and blue art comes out in Pewter, the sheet's only ink."""
    from artcheck.shop import packaged_shop_text

    saved(two_inks(), tmp_path / "tag.png")
    text = packaged_shop_text().replace('name = "neck tag"', 'name = "neck tag"\nart = "tag.png"')
    (tmp_path / "shop.toml").write_text(text)
    order = ORDERS / "3-wheelers.toml"
    out = tmp_path / "job"
    assert run(["gang", str(order), "--shop", str(tmp_path / "shop.toml"), "--out", str(out)]) == 0
    with pikepdf.open(out / "spot-1.pdf") as pdf:
        resources_ = pdf.pages[0].obj.Resources
        assert len(dict(resources_.XObject)) == 2
        assert {str(s[1]) for s in dict(resources_.ColorSpace).values()} == {"/Pewter", "/All"}
