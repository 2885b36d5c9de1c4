"""Plates of flat art: what prints where, at another resolution than the file's."""

from __future__ import annotations

import numpy as np

from artcheck.domain.artwork import Cutout
from artcheck.separation.flat_plates import flat_plates

RED, BLUE = (200, 30, 40), (30, 60, 200)


def halves() -> Cutout:
    """Left half red, right half blue, the lowest quarter empty; 40 x 40 px of a 60 x 50 file."""
    rgb = np.zeros((50, 60, 3), np.uint8)
    rgb[:, :30], rgb[:, 30:] = RED, BLUE
    coverage = np.zeros((50, 60), np.uint8)
    coverage[5:35, 10:50] = 255
    return Cutout(rgb=rgb, coverage=coverage, box=(5, 10, 45, 50))


def test_each_pixel_is_on_the_plate_of_its_ink() -> None:
    red, blue = flat_plates(halves(), ["#c81e28", "#1e3cc8"], (40, 40))
    assert red[:30, :20].all()
    assert blue[:30, 20:].all()
    assert red.sum() + blue.sum() == 30 * 40
    assert not (red & blue).any()


def test_finer_plates_keep_their_shares_and_never_overlap() -> None:
    red, blue = flat_plates(halves(), ["#c81e28", "#1e3cc8"], (400, 400))
    assert red.shape == (400, 400)
    assert not (red & blue).any()
    assert abs(red.mean() - 0.375) < 0.01
    assert abs(blue.mean() - 0.375) < 0.01


def test_one_ink_takes_everything_that_is_covered() -> None:
    (only,) = flat_plates(halves(), ["#ffffff"], (20, 20))
    assert only[:15].all()
    assert not only[15:].any()
