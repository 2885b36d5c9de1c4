"""Pixels in bands are the pixels that Pillow hands over whole."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from artcheck.reading import arrays
from tests.art import noise


@pytest.mark.parametrize("mode", ["L", "LA", "RGB", "RGBA"])
@pytest.mark.parametrize("band_bytes", [1, 400, 1024**2])
def test_bands_are_the_whole(mode: str, band_bytes: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """One row a band, several with a rest, and all at once; against Pillow's own conversion."""
    monkeypatch.setattr(arrays, "_BAND_BYTES", band_bytes)
    image = Image.fromarray(noise((23, 17, 4))).convert(mode)
    assert np.array_equal(arrays.rgb_array(image), np.asarray(image.convert("RGB")))
    if mode.endswith("A"):
        assert np.array_equal(arrays.alpha_array(image), np.asarray(image.getchannel("A")))
    if mode == "RGBA":
        rgb, alpha = arrays.rgb_and_alpha(image)
        assert np.array_equal(np.dstack([rgb, alpha]), np.asarray(image))
