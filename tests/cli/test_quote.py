"""The quote command on the packaged orders, from the file to the papers."""

from __future__ import annotations

import html
import json
import re
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import typst

from artcheck.cli.run import run
from artcheck.report.papers import pdf
from artcheck.shop import packaged_shop_text
from tests.art import saved, two_inks
from tests.report.papers.test_pdf import texts

ORDERS = Path(str(resources.files("artcheck"))) / "demo" / "orders"
DATED = ("--date", "2026-11-26", "--number", "1042")


def order_file(folder: Path, garment: str = "quantity = 30", before: str = "") -> Path:
    saved(two_inks(), folder / "art.png")
    path = folder / "order.toml"
    path.write_text(
        f'{before}\n[garment]\nkind = "tee"\ncolour = "navy"\nfabric = "cotton"\n{garment}\n'
        '[[prints]]\nart = "art.png"\nwidth_in = 4\n',
        encoding="utf-8",
    )
    return path


def page_text(file: Path) -> str:
    """What a reader sees of an HTML file, on one line."""
    body = re.sub(r"<(style|title)>.*?</\1>", "", file.read_text(encoding="utf-8"), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())


def shown(amount: str) -> str:
    return f"{Decimal(amount):,f}"


SIZES = """customer = "Żółw & Αθήνα"
rush = true
[garment]
kind = "tee"
colour = "navy"
fabric = "cotton"
sizes = [{ size = "S", quantity = 13 }, { size = "XL", quantity = 1200 }]
"""
"""A customer whose name no code page holds, sizes, a rush, three prints."""


def three_prints(folder: Path) -> Path:
    saved(two_inks(), folder / "art.png")
    path = folder / "order.toml"
    places = ('placement = "left chest"', 'placement = "back"', "art_minutes = 20")
    prints = [
        f'[[prints]]\nart = "art.png"\nwidth_in = {n + 3}\n{place}\n'
        for n, place in enumerate(places)
    ]
    path.write_text(SIZES + "".join(prints), encoding="utf-8")
    return path


@pytest.mark.parametrize("prints", [1, 3])
def test_pdf_html_and_json_agree(prints: int, tmp_path: Path) -> None:
    out = tmp_path / "job"
    order = order_file(tmp_path) if prints == 1 else three_prints(tmp_path)
    assert run(["quote", str(order), "--out", str(out), *DATED]) == 0
    quote: dict[str, Any] = json.loads((out / "quote.json").read_text())
    report: dict[str, Any] = json.loads((out / "report.json").read_text())
    if "quote" in report:
        price, each = report["quote"]["price"], report["quote"]["price_per_piece"]
    else:
        chosen = report["recommendation"]["method"]
        cost = next(m["cost"] for m in report["methods"] if m["id"] == chosen)
        price, each = cost["price_total"], cost["price_per_piece"]
    assert (quote["price"], quote["price_per_piece"]) == (price, each)
    for text in (" ".join(texts((out / "quote.pdf").read_bytes())), page_text(out / "quote.html")):
        assert f"Total {shown(price)}" in text
        assert f"{shown(each)} USD a piece" in text
        for line in quote["lines"]:
            count = "" if line["pieces"] is None else f" {line['pieces']:,}"
            assert f"{line['what']}{count} {shown(line['amount'])}" in text
        for other in quote["alternatives"]:
            assert f"{shown(other['price'])} {shown(other['price_per_piece'])}" in text
        for size in quote["sizes"]:
            assert f"{size['size']} {size['quantity']:,}" in text
        assert quote["customer"] in text
        assert f"{shown(quote['deposit'])} USD (50%)" in text
        assert "1042" in text
        assert "Date 26 November 2026 Valid until 26 December 2026" in text
        for words in (*quote["terms"], *quote["to_settle"], quote["turnaround"]):
            assert words in text


def test_json_alone_writes_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["quote", str(ORDERS / "2-bakery.toml"), "--json", "-"]) == 0
    quote = json.loads(capsys.readouterr().out)
    assert (quote["price"], quote["price_per_piece"]) == ("345.50", "11.52")
    assert quote["date"] is None


def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    order = order_file(tmp_path)
    for name in ("a", "b"):
        assert run(["quote", str(order), "--out", str(tmp_path / name), *DATED]) == 0
    for file in (tmp_path / "a").iterdir():
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes(), file.name


def test_blank_lines_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = [
        line
        for line in packaged_shop_text().splitlines()
        if not re.match(r"(quote_valid_days|deposit|turnaround|tax_line|terms) =", line)
    ]
    shop = tmp_path / "shop.toml"
    shop.write_text("\n".join(kept), encoding="utf-8")
    out = tmp_path / "job"
    order = order_file(tmp_path)
    assert run(["quote", str(order), "--shop", str(shop), "--out", str(out)]) == 0
    told = capsys.readouterr().err
    for name in ("quote number", "date", "validity", "deposit", "turnaround", "tax line", "terms"):
        assert f"blank line for the {name} (" in told
    (text,) = texts((out / "quote.pdf").read_bytes())
    assert "Tax Deposit Turnaround" in text
    assert "days" not in text


def test_a_name_that_no_font_has_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pdf, "_fonts", lambda: typst.Fonts(include_system_fonts=False))
    order = order_file(tmp_path, before='customer = "茶房"')
    assert run(["quote", str(order), "--out", str(tmp_path / "job"), *DATED]) == 0
    assert "quote.pdf shows empty boxes for 茶房" in capsys.readouterr().err
    assert "茶房" in (tmp_path / "job" / "quote.html").read_text(encoding="utf-8")


def test_orders_that_cannot_be_quoted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"

    def refused(order: Path, *options: str) -> tuple[int, str]:
        code = run(["quote", str(order), "--out", str(out), *options])
        told = capsys.readouterr().err
        assert told.count("\n") == 1
        assert not out.exists()
        return code, told

    assert refused(order_file(tmp_path, ""))[0] == 2
    assert refused(order_file(tmp_path), "--date", "26.11.2026")[0] == 2
    assert refused(tmp_path / "none.toml")[0] == 5
    order = order_file(tmp_path)
    order.write_text(order.read_text().replace('"cotton"', '"non-woven polypropylene"'))
    code, told = refused(order)
    assert code == 7
    assert "polypropylene" in told


def test_an_existing_folder_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, order = tmp_path / "job", order_file(tmp_path)
    command = ["quote", str(order), "--out", str(out)]
    assert run([*command, "--number", "1"]) == 0
    before = (out / "quote.pdf").read_bytes()
    assert run([*command, "--number", "2"]) == 8
    assert (out / "quote.pdf").read_bytes() == before
    assert run([*command, "--number", "2", "--overwrite"]) == 0
    assert (out / "quote.pdf").read_bytes() != before
