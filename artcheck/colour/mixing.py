"""Colours seen together: fine dots beside one another add up as light, not as codes."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import encoded_light, linearised

_LIGHT_STEPS = 4095
"""Steps of light in the table that leads back to codes: none is wider than a code but the first."""


def light_of(codes: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Linear light, 0-1, of sRGB codes, of the same shape."""
    return np.asarray(_light()[codes], np.float32)


def codes_of(light: NDArray[np.floating]) -> NDArray[np.uint8]:
    """Linear light, 0-1, to the nearest sRGB codes, of the same shape."""
    steps = (np.clip(light, 0, 1) * _LIGHT_STEPS + 0.5).astype(np.int32)
    return np.asarray(_codes()[steps], np.uint8)


def blends(
    under: tuple[int, int, int], over: tuple[int, int, int], steps: int
) -> NDArray[np.uint8]:
    """(steps, 3) sRGB codes from all of one colour to all of the other, in even shares of area."""
    share = np.linspace(0, 1, steps, dtype=np.float32)[:, None]
    one, other = (light_of(np.array(codes, np.uint8)) for codes in (under, over))
    return codes_of((1 - share) * one + share * other)


@lru_cache(maxsize=1)
def _light() -> NDArray[np.float32]:
    return linearised(np.arange(256) / 255).astype(np.float32)


@lru_cache(maxsize=1)
def _codes() -> NDArray[np.uint8]:
    light = np.arange(_LIGHT_STEPS + 1) / _LIGHT_STEPS
    return np.rint(255 * np.clip(encoded_light(light), 0, 1)).astype(np.uint8)
