"""Measured charts in CGATS text form: what is read, and why the rest is refused."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.colour.chart import MAX_PATCHES, MIN_PATCHES, Chart, read_chart
from artcheck.colour.print_model import PrintModel, read_print_model
from artcheck.colour.spaces import lab_to_xyz
from artcheck.errors import ChartError

FIELDS = "SAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B"


def rows_of(model: PrintModel, tones: tuple[float, ...] = (0, 0.4, 1)) -> list[list[str]]:
    """A regular chart as a print model would be measured."""
    cmyk = np.array(list(product(tones, repeat=4)))
    lab = model.lab(cmyk)
    return [
        [str(number), *(f"{100 * tone:g}" for tone in ink), *(f"{value:.2f}" for value in colour)]
        for number, (ink, colour) in enumerate(zip(cmyk, lab, strict=True), start=1)
    ]


def text_of(rows: list[list[str]], fields: str = FIELDS, header: str = "CGATS.17") -> bytes:
    body = "\n".join(" ".join(row) for row in rows)
    return (
        f"{header}\nNUMBER_OF_FIELDS {len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n{body}\nEND_DATA\n"
    ).encode()


@pytest.fixture(scope="module")
def rows(tr006: PrintModel) -> list[list[str]]:
    return rows_of(tr006)


def test_the_packaged_charts(tr006_chart: Chart, fogra39_chart: Chart) -> None:
    for chart in (tr006_chart, fogra39_chart):
        assert chart.cmyk.shape == (1588, 4)  # 1,617 patches, 29 of them printed twice
        assert chart.lab.shape == (1588, 3)
        assert chart.largest_total_ink == 4
    assert fogra39_chart.name == "FOGRA39L"
    assert tr006_chart.name.startswith("Color Characterization Data for GRACoL")
    assert fogra39_chart.paper.tolist() == [95, 0, -2]


def test_smallest_regular_chart(rows: list[list[str]], tr006: PrintModel) -> None:
    assert len(rows) == MIN_PATCHES
    model = read_print_model(text_of(rows), "own.txt")
    nodes = np.array(list(product((0, 0.4, 1), repeat=4)))
    assert model.lab(nodes) == pytest.approx(tr006.lab(nodes), abs=0.05)
    assert model.name == "own.txt"
    assert model.description == "your measured chart 'own.txt' (81 patches)"


def test_order_and_line_ends_do_not_matter(rows: list[list[str]]) -> None:
    plain = read_chart(text_of(rows), "own.txt")
    shuffled = [rows[index] for index in np.random.default_rng(0).permutation(len(rows))]
    for data in (
        text_of(shuffled),
        text_of(rows).replace(b"\n", b"\r\n"),
        text_of(rows).replace(b"\n", b"\r"),
        text_of(rows).replace(b" ", b"\t"),
        b"\xef\xbb\xbf" + text_of(rows),
        text_of(rows).replace(b"LAB_L", b"Lab_L").replace(b"CMYK_C", b"cmyk_c"),
    ):
        other = read_chart(data, "own.txt")
        assert np.array_equal(plain.cmyk, other.cmyk)
        assert np.array_equal(plain.lab, other.lab)


def test_names_comments_and_decimal_commas(rows: list[list[str]]) -> None:
    named = [[f'"patch {row[0]} A"', *row[1:]] for row in rows]
    named[3][5] = named[3][5].replace(".", ",")
    data = text_of(named).replace(b"BEGIN_DATA\n", b"BEGIN_DATA\n# first row\n\n")
    assert np.array_equal(read_chart(data, "own.txt").lab, read_chart(text_of(rows), "x").lab)


@pytest.mark.parametrize("scale", [1, 100])
def test_xyz_on_either_scale(rows: list[list[str]], scale: int) -> None:
    with_xyz = []
    for row in rows:
        xyz = lab_to_xyz([float(value) for value in row[5:]]) * scale
        with_xyz.append([*row[:5], *(f"{value:.7f}" for value in xyz)])
    fields = FIELDS.replace("LAB_L LAB_A LAB_B", "XYZ_X XYZ_Y XYZ_Z")
    expected = read_chart(text_of(rows), "lab.txt")
    found = read_chart(text_of(with_xyz, fields), "xyz.txt")
    assert found.lab == pytest.approx(expected.lab, abs=1e-3)


def test_patches_printed_twice_are_averaged(rows: list[list[str]]) -> None:
    brighter = [*rows[5][:5], f"{float(rows[5][5]) + 2:.2f}", *rows[5][6:]]
    chart = read_chart(text_of([*rows, brighter]), "own.txt")
    plain = read_chart(text_of(rows), "own.txt")
    assert len(chart.cmyk) == len(plain.cmyk)
    raised = chart.lab[:, 0] - plain.lab[:, 0]
    assert sorted(raised.round(6).tolist())[-2:] == [0, 1]


def test_arrays_are_read_only(tr006_chart: Chart) -> None:
    with pytest.raises(ValueError, match="read-only"):
        tr006_chart.lab[0] = 0


Rows = list[list[str]]
BAD: dict[str, Callable[[Rows], bytes]] = {
    "no text": lambda _: b"\x89PNG\r\n\x1a\n" + bytes(100),
    "no end": lambda rows: text_of(rows)[:-30],
    "short row": lambda rows: text_of([*rows[:7], rows[7][:-1], *rows[8:]]),
    "words": lambda rows: text_of([*rows[:7], [*rows[7][:-1], "n/a"], *rows[8:]]),
    "infinite": lambda rows: text_of([*rows[:7], [*rows[7][:-1], "inf"], *rows[8:]]),
    "RGB": lambda rows: text_of([row[:4] + row[5:] for row in rows], "ID RGB_R RGB_G RGB_B X Y Z"),
    "densities": lambda rows: text_of(rows, FIELDS.replace("LAB_", "D_")),
    "256 steps": lambda rows: text_of(
        [[row[0], *(str(2.55 * float(tone)) for tone in row[1:5]), *row[5:]] for row in rows]
    ),
    "few": lambda rows: text_of(rows[:60]),
    "no paper": lambda rows: text_of([*rows[1:], ["99", "1", "2", "3", "4", "90", "0", "0"]]),
    "no solid": lambda rows: text_of(
        [[*row[:4], str(0.8 * float(row[4])), *row[5:]] for row in rows]
    ),
    "D65": lambda rows: text_of(rows, header='CGATS.17\nILLUMINANT "D65"'),
    "weighting": lambda rows: text_of(
        rows, header='CGATS.17\nWEIGHTING_FUNCTION "ILLUMINANT, D65"'
    ),
    "10 degrees": lambda rows: text_of(rows, header='CGATS.17\nOBSERVER "10 degree"'),
    "empty": lambda _: text_of([]),
}
REASONS = {
    "no text": "own.txt is no measured chart in CGATS text form (no BEGIN_DATA_FORMAT and "
    "BEGIN_DATA). Export the measurements as CGATS text.",
    "no end": "own.txt breaks off before END_DATA. Export or copy it again.",
    "short row": "Row 8 of own.txt has 7 values for 8 fields. Export or copy it again.",
    "words": "own.txt has words where LAB_B belongs: could not convert string to float: 'n/a'. "
    "Correct the row.",
    "infinite": "own.txt holds values that are not finite numbers. Correct or measure them again.",
    "RGB": "own.txt has no fields CMYK_C, CMYK_M, CMYK_Y, CMYK_K (it has: RGB_R, RGB_G, RGB_B). "
    "Print and measure a CMYK chart.",
    "densities": "own.txt holds neither LAB_L, LAB_A, LAB_B nor XYZ_X, XYZ_Y, XYZ_Z. Export "
    "colours (D50, 2 degrees) beside the CMYK values, not spectra or densities alone.",
    "256 steps": "own.txt has CMYK values from 0 to 255. They must be percent, 0 to 100.",
    "few": f"own.txt has 60 different patches. Use a chart of {MIN_PATCHES} to {MAX_PATCHES}, "
    "with the tones of all four inks mixed.",
    "no paper": "own.txt has no patch of bare paper (CMYK 0 0 0 0). Measure one.",
    "no solid": "own.txt shows K only up to 80 %. Use a chart with the solid inks.",
    "D65": "own.txt was computed for illuminant D65. Export it for D50, 2 degrees.",
    "weighting": "own.txt was computed for illuminant D65. Export it for D50, 2 degrees.",
    "10 degrees": "own.txt was computed for the 10 degree observer. Export it for D50, 2 degrees.",
    "empty": "own.txt has no rows between BEGIN_DATA and END_DATA. Export it again.",
}


@pytest.mark.parametrize("case", BAD)
def test_refusals_say_why(case: str, rows: list[list[str]]) -> None:
    with pytest.raises(ChartError) as caught:
        read_chart(BAD[case](rows), "own.txt")
    assert str(caught.value) == REASONS[case]


def test_a_chart_too_large_is_refused() -> None:
    tones = [f"{step:g}" for step in np.linspace(0, 100, 9)]
    many = [[str(n), *cmyk, "50", "0", "0"] for n, cmyk in enumerate(product(tones, repeat=4))]
    with pytest.raises(ChartError, match=r"^own\.txt has 6561 different patches\. Use a chart of"):
        read_chart(text_of(many), "own.txt")


@given(cut=st.integers(0, 4000), junk=st.binary(max_size=12))
@settings(max_examples=150, deadline=None)
def test_damaged_charts_are_charts_or_one_line(cut: int, junk: bytes) -> None:
    data = Path(__file__).parent.parent.joinpath("data", "colour", "TR006.ti3").read_bytes()[:9000]
    data += b"END_DATA\n"
    try:
        said = read_chart(data[:cut] + junk + data[cut:], "own.txt").name
    except ChartError as error:
        said = str(error)
    assert said
    assert "\n" not in said
