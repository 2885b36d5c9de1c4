"""A drawn chequerboard: transparency as a screen shows it, saved or photographed as pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

WINDOW_PX = 512
"""Side of the four corner windows that are looked at: 8 squares and more of the usual boards."""

NEUTRAL_CODES = 12
"""Most difference of channels in a board's greys, JPEG included."""

TONE_CODES = 6
"""A board's grey as saved by JPEG stays this near its own code."""

TONES_APART = (8, 90)
"""Codes between a board's two greys: less is noise, more is a flag or a pattern that is meant."""

LEAST_TONE_SHARE = 0.15
"""Part of the border that each grey must take: half each where nothing hides the board."""

SQUARE_PX = (3, 100)
"""Sides of squares that are looked for, in pixels."""

AGREEING = 0.7
"""Correlation from which squares alternate: 1 on a clean board, 0.85 on one of JPEG 60."""

LEAST_VALID = 0.1
"""Part of the windows that the board must cover."""

_ROW_STEP = 8
"""Rows between those in which the squares' size is looked for first."""

Signs = NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class Chequerboard:
    """Its two greys, lighter first, and the side of its squares in pixels."""

    light: int
    dark: int
    square_px: int

    @property
    def words(self) -> str:
        """The board as a report names it."""
        return (
            f"a chequerboard of {_hex(self.light)} and {_hex(self.dark)} in squares of"
            f" {self.square_px} px"
        )


def find_chequerboard(rgb: NDArray[np.uint8], ring: NDArray[np.uint8]) -> Chequerboard | None:
    """The board behind the art, if there is one.

    Parameters
    ----------
    rgb
        (H, W, 3) uint8 sRGB.
    ring
        (N, 3) uint8, the picture's border.
    """
    tones = _two_greys(ring)
    if tones is None:
        return None
    windows = [_signs(part, tones) for part in _corners(rgb)]
    square = _square_px(windows)
    if square is None:
        return None
    return Chequerboard(max(tones), min(tones), square)


def _hex(grey: int) -> str:
    return f"#{grey:02x}{grey:02x}{grey:02x}"


def _two_greys(ring: NDArray[np.uint8]) -> tuple[int, int] | None:
    """The border's two commonest greys, where both are common and as far apart as boards' are."""
    values = ring.astype(np.int16)
    neutral = np.ptp(values, axis=1) <= NEUTRAL_CODES
    counts = np.bincount(values[neutral].mean(axis=1).round().astype(int), minlength=256)
    near = np.convolve(counts, np.ones(2 * TONE_CODES + 1, int), mode="same")
    first = _peak(counts, near)
    apart = np.abs(np.arange(256) - first)
    allowed = (apart >= TONES_APART[0]) & (apart <= TONES_APART[1])
    second = _peak(np.where(allowed, counts, 0), np.where(allowed, near, 0))
    if min(near[first], near[second]) < LEAST_TONE_SHARE * len(ring) or not counts[second]:
        return None
    return first, second


def _peak(counts: NDArray[np.int64], near: NDArray[np.int64]) -> int:
    """The code with most pixels near it; of equals the fullest itself."""
    return int(np.lexsort((counts, near))[-1])


def _corners(rgb: NDArray[np.uint8]) -> list[NDArray[np.uint8]]:
    height, width = (min(side, WINDOW_PX) for side in rgb.shape[:2])
    rows = {0: slice(height), 1: slice(rgb.shape[0] - height, None)}
    columns = {0: slice(width), 1: slice(rgb.shape[1] - width, None)}
    one = [0] if rgb.shape[0] == height and rgb.shape[1] == width else [0, 1]
    return [rgb[rows[r], columns[c]] for r in one for c in one]


def _signs(part: NDArray[np.uint8], tones: tuple[int, int]) -> Signs:
    """(h, w) int8: 1 where the first grey stands, -1 the second, 0 neither."""
    values = part.astype(np.int16)
    neutral = np.ptp(values, axis=2) <= NEUTRAL_CODES
    grey = values.mean(axis=2)
    reach = min(TONE_CODES, (abs(tones[0] - tones[1]) - 1) / 2)
    first, second = (np.abs(grey - tone) <= reach for tone in tones)
    return np.asarray((first & neutral).astype(np.int8) - (second & neutral).astype(np.int8))


def _square_px(windows: list[Signs]) -> int | None:
    """Side of the squares, where signs alternate both ways and agree along the diagonal."""
    covered = sum(int(np.count_nonzero(w)) for w in windows) / sum(w.size for w in windows)
    if covered < LEAST_VALID:
        return None
    thin = [window[::_ROW_STEP] for window in windows]
    longest = min(SQUARE_PX[1], min(min(w.shape) for w in windows) // 2)
    across = {p: _agreement(thin, 0, p) for p in range(SQUARE_PX[0], longest + 1)}
    if not across:
        return None
    square = min(across, key=lambda p: across[p])
    alternates = max(across[square], _agreement(windows, square, 0)) <= -AGREEING
    repeats = _agreement(windows, square, square) >= AGREEING
    return square if alternates and repeats else None


def _agreement(windows: list[Signs], down: int, across: int) -> float:
    """Mean product of signs this far apart, over pairs where both stand on the board."""
    total = pairs = 0
    for window in windows:
        height, width = window.shape
        products = window[: height - down, : width - across] * window[down:, across:]
        total += int(products.sum(dtype=np.int64))
        pairs += int(np.count_nonzero(products))
    return total / pairs if pairs else 0.0
