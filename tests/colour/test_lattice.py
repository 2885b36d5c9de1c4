"""The fit, the refinement and the interpolation of lattices."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from artcheck.colour.chart import Chart
from artcheck.colour.difference import delta_e_2000
from artcheck.colour.lattice import (
    STEPS,
    decode,
    encode,
    fit,
    held_out_delta_e_2000,
    interpolate,
    refine,
    thin,
)


def test_encode_and_back() -> None:
    lab = np.random.default_rng(0).uniform([1, -40, -40], [100, 40, 40], (500, 3))
    printable = lab[(encode(lab) > 0).all(axis=1)]
    assert decode(encode(printable)) == pytest.approx(printable, abs=1e-6)


def test_interpolation_agrees_with_scipy() -> None:
    rng = np.random.default_rng(4)
    lattice = rng.random((STEPS,) * 4 + (3,)).astype(np.float32)
    cmyk = np.vstack([rng.random((3000, 4)), rng.integers(0, 2, (50, 4))])
    axes = (np.linspace(0, 1, STEPS),) * 4
    expected = RegularGridInterpolator(axes, lattice)(cmyk)
    assert interpolate(lattice, cmyk) == pytest.approx(expected, abs=1e-5)


def test_interpolation_in_blocks() -> None:
    lattice = np.random.default_rng(4).random((STEPS,) * 4 + (3,)).astype(np.float32)
    cmyk = np.random.default_rng(5).random((40_000, 4))
    assert np.array_equal(interpolate(lattice, cmyk)[39_000:], interpolate(lattice, cmyk[39_000:]))


@pytest.mark.parametrize(("chart", "worst"), [("tr006_chart", 0.06), ("fogra39_chart", 0.3)])
def test_fit_gives_back_every_patch(
    chart: str, worst: float, request: pytest.FixtureRequest
) -> None:
    patches: Chart = request.getfixturevalue(chart)
    printed = decode(interpolate(fit(patches.cmyk, patches.lab), patches.cmyk))
    assert float(delta_e_2000(printed, patches.lab).max()) <= worst


# With all but 400 patches left out: what a user's shorter chart would foretell of the others.
def test_fit_to_an_irregular_quarter_foretells_the_rest(tr006_chart: Chart) -> None:
    cmyk, lab = tr006_chart.cmyk, tr006_chart.lab
    used = np.asarray(np.isin(cmyk, (0, 1)).all(axis=1))
    used[np.random.default_rng(12).permutation(len(cmyk))[:400]] = True
    foretold = decode(interpolate(fit(cmyk[used], lab[used]), cmyk[~used]))
    missed = delta_e_2000(foretold, lab[~used])
    assert float(np.mean(missed)) < 0.15
    assert float(np.percentile(missed, 95)) < 0.5


def test_held_out_is_what_a_second_fit_would_miss(tr006_chart: Chart) -> None:
    cmyk, lab = tr006_chart.cmyk[::4], tr006_chart.lab[::4]
    at_once = held_out_delta_e_2000(cmyk, lab)
    for left_out in (10, 150, 300):
        others = np.arange(len(cmyk)) != left_out
        alone = fit(cmyk[others], lab[others])
        foretold = decode(interpolate(alone, cmyk[left_out : left_out + 1]))
        # The second fit is read off the lattice, hence the tolerance.
        expected = float(delta_e_2000(foretold[0], lab[left_out]))
        assert at_once[left_out] == pytest.approx(expected, abs=0.1)


def test_held_out_tells_a_shifted_column(tr006_chart: Chart) -> None:
    lab = np.roll(tr006_chart.lab, 1, axis=0)
    assert np.median(held_out_delta_e_2000(tr006_chart.cmyk, tr006_chart.lab)) < 0.05
    assert np.median(held_out_delta_e_2000(tr006_chart.cmyk, lab)) > 2


def test_refined_lattice_keeps_its_nodes(tr006_chart: Chart) -> None:
    lattice = fit(tr006_chart.cmyk, tr006_chart.lab)
    refined = refine(thin(lattice))
    assert refined.dtype == np.float32
    assert thin(refined) == pytest.approx(thin(lattice), abs=1e-5)
    assert float(delta_e_2000(decode(refined), decode(lattice)).max()) < 0.15
