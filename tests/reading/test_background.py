"""Paper, evenly and unevenly lit, against pale ink on it."""

import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.reading.background import find_ground

SIDE = 400


def page(light: NDArray[np.floating], noise: float) -> NDArray[np.uint8]:
    """(400, 400, 3) paper under a light (0-255), with a red disc and noise."""
    rgb = np.repeat(light[..., None], 3, axis=2)
    rows, cols = np.mgrid[:SIDE, :SIDE]
    rgb[np.hypot(rows - 200, cols - 120) < 60] = (200, 30, 40)
    grain = np.random.default_rng(0).normal(0, noise, rgb.shape)
    return np.clip(np.rint(rgb + grain), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("noise", [0.0, 2.0])
def test_a_lamp_that_shades_the_page_is_taken_out(noise: float) -> None:
    rows, cols = np.mgrid[:SIDE, :SIDE] / SIDE - 0.5
    found = find_ground(page(250 - 40 * (rows**2 + cols**2), noise), None, "auto", "page")
    assert found.background.reason.startswith("unevenly lit paper")
    assert found.paper is not None
    assert 1 - found.paper.mean() == pytest.approx(np.pi * 60**2 / SIDE**2, rel=0.03)


@pytest.mark.parametrize("noise", [0.0, 1.0])
def test_pale_ink_in_the_middle_of_even_paper_is_no_shade(noise: float) -> None:
    rows, cols = np.mgrid[:SIDE, :SIDE]
    disc = np.hypot(rows - 200, cols - 200) < 170
    found = find_ground(page(np.where(disc, 238.0, 255.0), noise), None, "auto", "page")
    assert found.paper is not None
    assert 1 - found.paper.mean() == pytest.approx(disc.mean(), rel=0.03)
