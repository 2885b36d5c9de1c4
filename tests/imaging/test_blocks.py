import numpy as np
import pytest

from artcheck.imaging.blocks import BLOCK_PX, blocks


@pytest.mark.parametrize("shape", [(1, 1), (40, BLOCK_PX), (BLOCK_PX + 1, 2 * BLOCK_PX + 7)])
def test_blocks_tile_a_picture_once(shape: tuple[int, int]) -> None:
    seen = np.zeros(shape, np.int64)
    for block in blocks(shape, 16):
        seen[block.own] += 1
    assert (seen == 1).all()


def test_inner_part_of_the_surroundings_is_the_block() -> None:
    picture = np.arange(700 * 900).reshape(700, 900)
    for block in blocks(picture.shape, 16):
        assert np.array_equal(picture[block.around][block.inner], picture[block.own])


def test_margins_end_at_the_edge() -> None:
    first = next(iter(blocks((1000, 1000), 20)))
    assert first.around == (slice(0, BLOCK_PX + 20), slice(0, BLOCK_PX + 20))
