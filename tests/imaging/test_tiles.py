import numpy as np

from artcheck.imaging.tiles import sums_along


def test_sums_are_those_of_the_columns_between() -> None:
    values = np.random.default_rng(1).integers(0, 256, (7, 5000), np.uint8)
    spans = [(0, 5000), (0, 1), (17, 300), (250, 4999)]
    assert sums_along(values, spans) == [int(values[:, a:b].sum()) for a, b in spans]
