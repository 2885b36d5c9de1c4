"""A background is taken out of the rim by the mixture itself: a ink + (1 - a) background."""

from __future__ import annotations

import numpy as np
import pytest

from artcheck.imaging.rims import ink_part

INK = np.array((200.0, 30.0, 40.0))
COVERAGE = np.arange(256, dtype=np.uint8)[None]
SHARE = COVERAGE[..., None] / 255


@pytest.mark.parametrize("behind", [(0, 255, 0), (255, 255, 255), (12, 40, 200)])
def test_the_background_is_taken_out(behind: tuple[int, int, int]) -> None:
    mixed = np.rint(SHARE * INK + (1 - SHARE) * np.array(behind)).astype(np.uint8)
    part = ink_part(mixed, COVERAGE, behind)
    assert np.abs(part - SHARE * INK).max() <= 1
    assert not part[0, 0].any()


def test_the_inks_own_colour_is_only_weighted() -> None:
    rgb = np.broadcast_to(INK.astype(np.uint8), (1, 256, 3)).copy()
    assert np.abs(ink_part(rgb, COVERAGE, None) - SHARE * INK).max() <= 0.5
