"""The check command as its user runs it."""

from __future__ import annotations

import json
import re
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from artcheck.cli.run import run
from tests.art import saved, two_inks


@pytest.fixture
def art(tmp_path: Path) -> Path:
    return saved(two_inks(1200), tmp_path / "art.png", dpi=(300, 300))


def report_of(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict:  # type: ignore[type-arg]
    assert run(["check", *arguments, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def test_json_keeps_to_the_shipped_schema(art: Path, capsys: pytest.CaptureFixture[str]) -> None:
    schema = json.loads((resources.files("artcheck.report") / "report.schema.json").read_text())
    options = ["--width", "4in", "--quantity", "24", "--garment-color", "black"]
    options += ["--brand", "blue=#1e3cc8", "--critical-brand", "red=#c81e28"]
    report = report_of([str(art), *options], capsys)
    jsonschema.validate(report, schema)
    assert report["inks"]["count"] == 2
    assert report["tone"]["class"] == "flat"
    assert [b["found_in_art"] for b in report["brand_colours"]] == [True, True]
    assert {m["id"] for m in report["methods"]} == {"spot", "film-area", "film-roll", "cut-film"}
    assert all(isinstance(m["cost"]["total"], str) for m in report["methods"] if m["cost"])


def test_same_run_same_bytes(art: Path, tmp_path: Path) -> None:
    for name in ("a.json", "b.json"):
        options = ["--width", "4in", "--quantity", "30", "--json", str(tmp_path / name)]
        assert run(["check", str(art), *options]) == 0
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()


def test_first_line_is_the_answer(art: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(art), "--width", "4in", "--quantity", "12"]) == 0
    first = capsys.readouterr().out.splitlines()[0]
    assert first.startswith(("Full-colour film", "Spot transfers", "Film cut"))


def test_missing_facts_are_asked_for(art: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = " ".join(report_of([str(art)], capsys)["questions"])
    for word in ("pieces", "wide", "colour", "made of", "children"):
        assert word in asked


def test_without_quantity_there_is_no_price_but_there_are_flips(
    art: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = report_of([str(art), "--width", "4in"], capsys)
    assert all(m["cost"] is None for m in report["methods"])
    flips = report["recommendation"]["flips"]
    assert flips[0]["from_quantity"] == 1
    assert flips[-1]["to_quantity"] == 10_000
    others = report["recommendation"]["alternatives"]
    assert any(other["why_not"] == "No price yet: say how many pieces." for other in others)


def test_without_quantity_the_answer_names_where_it_begins(
    art: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["check", str(art), "--width", "4in"]) == 0
    answer = capsys.readouterr().out.splitlines()[0]
    assert re.search(r"(from \d+|for 1 to \d+) pieces", answer), answer
    assert "10000" not in answer


def test_fail_on(art: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unreadable = ["--width", "4in", "--quantity", "12", "--garment-colour", "#b41c24"]
    assert run(["check", str(art), *unreadable, "--fail-on", "change"]) == 1
    assert run(["check", str(art), *unreadable]) == 0
    capsys.readouterr()


def test_folder_holds_the_report(
    art: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "job"
    assert run(["check", str(art), "--width", "4in", "--quantity", "24", "--out", str(out)]) == 0
    names = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    assert names == {"report.html", "report.json"}
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "<html" in page
    assert '<img src="data:image/png;base64,' in page
    assert run(["check", str(art), "--out", str(out)]) == 8
    assert run(["check", str(art), "--width", "4in", "--out", str(out), "--overwrite"]) == 0
    capsys.readouterr()


def test_copies_and_colour_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        run(["copies", "--sheet", "12x15", "--piece", "5x3", "--gutter", "0.25", "--json", "-"])
        == 0
    )
    layout = json.loads(capsys.readouterr().out)
    assert (layout["copies"], layout["proven"], len(layout["layout"])) == (10, True, 10)
    assert run(["colour", "--lab", "52,-38,-12", "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["verdict"] == "match"
    assert found["delta_e_2000"] <= 0.1
    assert found["nearest_ink"]["name"] == "Lagoon"


def test_shop_file_round_trip(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "shop.toml"
    assert run(["shop", "init", str(shop)]) == 0
    assert run(["shop", "init", str(shop)]) == 8
    capsys.readouterr()
    assert run(["shop", "show", "--shop", str(shop), "--json", "-"]) == 0
    own = json.loads(capsys.readouterr().out)
    assert run(["shop", "show", "--json", "-"]) == 0
    assert own == json.loads(capsys.readouterr().out)
