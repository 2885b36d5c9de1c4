"""Print models against the charts they were made from."""

from __future__ import annotations

import hashlib
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from artcheck.colour.chart import Chart
from artcheck.colour.difference import delta_e_2000
from artcheck.colour.print_model import (
    DEFAULT,
    PrintModel,
    packaged_conditions,
    packaged_model,
    read_print_model,
    stored_nodes,
)
from artcheck.errors import ChartError, ProfileError

CONDITIONS = pytest.mark.parametrize("condition", ["tr006", "fogra39"])

# Paper, solids and overprints as the two characterisations state them: ANSI CGATS/GRACoL
# TR 006-2007 and FOGRA39L (Fogra, December 2006), CIELAB D50, 2 degrees.
SOLIDS = {
    "tr006": {
        (0, 0, 0, 0): (95, -0.02, -1.96),
        (1, 0, 0, 0): (54.96, -37.12, -50),
        (0, 1, 0, 0): (47.93, 74.11, -3.01),
        (0, 0, 1, 0): (88.94, -5.02, 93.17),
        (0, 0, 0, 1): (14.95, 0.19, -0.14),
        (1, 1, 1, 1): (8.06, 0.44, 0.02),
    },
    "fogra39": {
        (0, 0, 0, 0): (95, 0, -2),
        (1, 0, 0, 0): (55, -37, -50),
        (0, 1, 0, 0): (48, 74, -3),
        (0, 0, 1, 0): (89, -5, 93),
        (0, 0, 0, 1): (16, 0, 0),
        (1, 1, 1, 1): (8.71, -0.07, 2.06),
    },
}


@CONDITIONS
def test_paper_and_solids(condition: str, request: pytest.FixtureRequest) -> None:
    model: PrintModel = request.getfixturevalue(condition)
    for cmyk, lab in SOLIDS[condition].items():
        assert float(delta_e_2000(model.lab(cmyk), lab)) < 0.1
    assert model.paper == pytest.approx(SOLIDS[condition][0, 0, 0, 0], abs=0.05)


# ISO 12647-2:2004/Amd 1:2007, table of CIELAB aims for paper types 1 and 2 on white backing
# (from memory): red, green, blue overprints. FOGRA39L was made to meet them.
@pytest.mark.parametrize(
    ("cmyk", "aim"),
    [((0, 1, 1, 0), (47, 68, 48)), ((1, 0, 1, 0), (50, -65, 27)), ((1, 1, 0, 0), (24, 22, -46))],
)
def test_overprints_of_the_standard(
    cmyk: tuple[int, ...], aim: tuple[int, ...], fogra39: PrintModel
) -> None:
    assert float(delta_e_2000(fogra39.lab(cmyk), aim)) < 0.5


@CONDITIONS
def test_every_patch_comes_back(condition: str, request: pytest.FixtureRequest) -> None:
    model: PrintModel = request.getfixturevalue(condition)
    chart: Chart = request.getfixturevalue(f"{condition}_chart")
    missed = delta_e_2000(model.lab(chart.cmyk), chart.lab)
    assert len(missed) == 1588
    assert float(missed.max()) <= 0.3
    assert float(missed.mean()) <= 0.02


@CONDITIONS
def test_ramps_are_monotone(condition: str, request: pytest.FixtureRequest) -> None:
    """More of one ink alone is darker; so is more black over anything."""
    model: PrintModel = request.getfixturevalue(condition)
    ramp = np.linspace(0, 1, 101)
    for ink in range(4):
        tones = np.zeros((101, 4))
        tones[:, ink] = ramp
        assert np.diff(model.lab(tones)[:, 0]).max() < 0
    for base in product((0, 0.5, 1), repeat=3):
        tones = np.column_stack([np.tile(base, (101, 1)), ramp])
        assert np.diff(model.lab(tones)[:, 0]).max() < 0


@CONDITIONS
def test_no_ink_lightens(condition: str, request: pytest.FixtureRequest) -> None:
    """Between any two nodes L* rises by no more than measurements scatter.

    Yellow over dark overprints is measured up to some tenths lighter in both charts.
    """
    model: PrintModel = request.getfixturevalue(condition)
    lightness = model.node_lab[:, 0].reshape((11,) * 4)
    for axis in range(4):
        assert np.diff(lightness, axis=axis).max() < 0.3


def test_stored_lattice_can_be_made_again(tr006_chart: Chart) -> None:
    path = Path(__file__).parent.parent.parent / "artcheck" / "colour" / "data" / "tr006.npy"
    packaged = np.load(path).astype(int)
    made = stored_nodes(tr006_chart).astype(int)
    # Another linear algebra library may round otherwise in the last places.
    assert np.abs(packaged - made).max() <= 8
    assert float(np.median(np.abs(packaged - made))) <= 1


def test_fogra39_is_shipped_unmodified(fogra39_file: Path) -> None:
    digest = hashlib.sha256(fogra39_file.read_bytes()).hexdigest()
    assert digest == "e44e6dfa81633588db98b5613a821d4a936d3d9438d2eb983083c3232df393fa"


def test_conditions_say_honestly_what_they_are() -> None:
    assert packaged_conditions() == ("tr006", "fogra39")
    assert packaged_model() is packaged_model(DEFAULT)
    for model in (packaged_model("tr006"), packaged_model("fogra39")):
        assert "offset on coated paper" in model.description
        assert model.description.endswith("a stand-in for a film printer nobody has measured")


def test_model_is_read_only_and_keeps_shapes(tr006: PrintModel) -> None:
    assert tr006.lab([0, 0, 0, 0]).shape == (3,)
    assert tr006.lab(np.zeros((2, 5, 4))).shape == (2, 5, 3)
    with pytest.raises(ValueError, match="read-only"):
        tr006.lattice[0] = 0
    with pytest.raises(ValueError, match="read-only"):
        tr006.node_lab[0] = 0


def test_nodes_are_in_scan_order(tr006: PrintModel) -> None:
    tones = np.array(list(product(np.linspace(0, 1, 11), repeat=4)))
    assert tr006.lab(tones) == pytest.approx(tr006.node_lab, abs=1e-3)


def test_arithmetic_cmyk_is_no_print(tr006: PrintModel) -> None:
    """Why colormath's CMYK is not used: on solids it is 7 to 33 CIEDE2000 off the print."""
    from colormath.color_conversions import convert_color
    from colormath.color_objects import CMYKColor, LabColor

    for cmyk in ((1, 0, 0, 0), (0, 1, 0, 0), (1, 1, 0, 0), (0, 0, 0, 1)):
        naive = convert_color(CMYKColor(*cmyk), LabColor, target_illuminant="d50")
        assert float(delta_e_2000(tr006.lab(cmyk), naive.get_value_tuple())) > 6


def test_a_users_chart_becomes_a_model(tr006_file: Path, tr006: PrintModel) -> None:
    model = read_print_model(tr006_file.read_bytes(), "own.txt")
    tones = np.random.default_rng(8).random((500, 4))
    assert float(delta_e_2000(model.lab(tones), tr006.lab(tones)).max()) < 0.15
    assert "1588 patches" in model.description
    assert model.warnings == ()


def test_a_chart_with_an_ink_limit_says_so(tr006_file: Path) -> None:
    head, _, rows = tr006_file.read_text().partition("BEGIN_DATA\n")
    kept = [row for row in rows.splitlines() if _total(row) <= 300]
    model = read_print_model((head + "BEGIN_DATA\n" + "\n".join(kept)).encode(), "limited.txt")
    assert model.largest_total_ink == pytest.approx(3)
    warning = (
        "limited.txt holds no patch with more than 300 % of ink: colours that need more are not "
        "considered."
    )
    assert model.warnings == (warning,)


def _total(row: str) -> float:
    cells = row.split()
    return sum(float(cell) for cell in cells[1:5]) if len(cells) == 11 else 0


def test_measurements_beside_the_wrong_tones_are_refused(tr006_file: Path) -> None:
    head, _, rows = tr006_file.read_text().partition("BEGIN_DATA\n")
    cells = [row.split() for row in rows.splitlines() if len(row.split()) == 11]
    shifted = [
        [*one[:5], *other[5:]] for one, other in zip(cells, [*cells[1:], cells[0]], strict=True)
    ]
    text = head + "BEGIN_DATA\n" + "\n".join(map(" ".join, shifted)) + "\nEND_DATA\n"
    with pytest.raises(ChartError, match=r"^The patches of own\.txt contradict each other: nine"):
        read_print_model(text.encode(), "own.txt")


def test_what_is_neither_profile_nor_chart_is_refused() -> None:
    with pytest.raises(ChartError, match=r"^notes\.txt is no measured chart in CGATS text form"):
        read_print_model(b"hello", "notes.txt")
    with pytest.raises(ProfileError, match=r"^half\.icc is no ICC profile, or only the beginning"):
        read_print_model(b"\0\0\0", "half.icc")
