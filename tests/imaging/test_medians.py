"""The median is numpy's, to the bit."""

from __future__ import annotations

import numpy as np
import pytest

from artcheck.imaging.medians import median


@pytest.mark.parametrize("size", [1, 2, 3, 8, 61])
@pytest.mark.parametrize("kind", [np.float32, np.float64, np.uint8, np.int16])
def test_it_is_what_numpy_gives(size: int, kind: type[np.generic]) -> None:
    values = (np.random.default_rng(size).random((size, 4)) * 200).astype(kind)
    for axis in (None, 0, 1):
        found, want = median(values, axis=axis), np.median(values, axis=axis)
        assert np.array_equal(found, want)
        assert np.asarray(found).dtype == np.asarray(want).dtype
