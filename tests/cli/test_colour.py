"""The colour command: one colour, several, a brand file, the user's own print condition."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from artcheck.cli.run import run

CHART = Path(__file__).parents[1] / "data" / "colour" / "TR006.ti3"


def asked(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict:  # type: ignore[type-arg]
    assert run(["colour", *arguments, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


# The invented story's brand colours: differences from print under FOGRA39L and from the shelf,
# reckoned by a separate program with linear interpolation, to half a unit.
STORY = [
    ("65,60,78", 6.9, "another colour", "Tangerine", 3.3),
    ("30,48,-62", 7.3, "another colour", "Plum", 9.5),
    ("52,-38,-12", 0.0, "match", "Lagoon", 2.6),
    ("46,66,42", 0.0, "match", "Poppy", 1.7),
    ("78,12,76", 0.2, "match", "Goldenrod", 1.9),
    ("50,-66,36", 2.5, "close", "Meadow", 3.5),
    ("36,14,-62", 2.8, "close", "Royal", 3.8),
    ("80,-40,74", 7.9, "another colour", "Lemon", 18.0),
]


@pytest.mark.parametrize(("lab", "reach", "verdict", "ink", "off"), STORY)
def test_brand_colours_of_the_story(
    lab: str,
    reach: float,
    verdict: str,
    ink: str,
    off: float,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('[print_condition]\npackaged = "fogra39"\n')
    found = asked([f"--lab={lab}", "--shop", str(shop)], capsys)
    assert found["delta_e_2000"] == pytest.approx(reach, abs=0.5)
    assert found["verdict"] == verdict
    assert found["nearest_ink"]["name"] == ink
    assert found["nearest_ink"]["delta_e_2000"] == pytest.approx(off, abs=0.3)
    assert "FOGRA39L" in found["print_condition"]


def test_several_colours_and_a_brand_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "brand.toml"
    file.write_text('[colours]\nteal = "lab(52 -38 -12)"\nviolet = "#6023AA"\n')
    found = asked(["--colour", "gold=Goldenrod", "--file", str(file)], capsys)
    assert [entry["name"] for entry in found["colours"]] == ["gold", "teal", "violet"]
    assert found["colours"][0]["nearest_ink"]["delta_e_2000"] == 0
    file.write_text("[colours]\nteal = 3\n")
    assert run(["colour", "--file", str(file)]) == 5
    assert "colours.teal" in capsys.readouterr().err


def test_own_chart_replaces_the_print_condition(capsys: pytest.CaptureFixture[str]) -> None:
    packaged = asked(["--hex", "#0e51ba"], capsys)
    own = asked(["--hex", "#0e51ba", "--profile", str(CHART)], capsys)
    assert "your measured chart" in own["print_condition"]
    assert own["delta_e_2000"] == pytest.approx(packaged["delta_e_2000"], abs=0.02)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ([], 2),
        (["--hex", "#12"], 6),
        (["--lab", "300,0,0"], 6),
        (["--colour", "sky-ish"], 6),
        (["--hex", "#123456", "--profile", "none.icc"], 6),
    ],
)
def test_what_cannot_be_read(
    arguments: list[str], code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["colour", *arguments]) == code
    assert capsys.readouterr().err.count("\n") == 1
