"""Small separations that tests draw themselves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, Loss, Separated, SpotInk

NO_LOSS = Loss(mean_delta_e_2000=0, p95_delta_e_2000=0, worst_region_delta_e_2000=0)

LABS: dict[str, Lab] = {
    "Poppy": (47, 68, 46),
    "Royal": (33, 16, -58),
    "Lemon": (89, -6, 82),
    "Coal": (17, 0, 0),
}


def ink(name: str) -> SpotInk:
    return SpotInk(name=name, hex=lab_to_hex(LABS[name]), lab=LABS[name], stock=True)


def separated(
    labels: NDArray[np.uint8],
    names: tuple[str, ...] = tuple(LABS),
    ppi: float = 300.0,
    tints: tuple[NDArray[np.uint8] | None, ...] | None = None,
) -> Separated:
    height, width = labels.shape
    return Separated(
        inks=tuple(ink(name) for name in names),
        labels=labels,
        tints=tints or (None,) * len(names),
        ppi=ppi,
        width_in=width / ppi,
        height_in=height / ppi,
        loss=NO_LOSS,
    )


def shapes(height: int = 220, width: int = 300, inks: int = 4) -> NDArray[np.uint8]:
    """Touching areas of every ink, a thin line, a hole, and open garment around."""
    rows, cols = np.mgrid[:height, :width]
    labels = np.full((height, width), NO_INK, np.uint8)
    labels[20:-20, 20 : width // 2] = 0
    labels[40 : height - 40, width // 2 : width - 20] = 1 % inks
    labels[(rows - height / 2) ** 2 + (cols - width / 2) ** 2 < (height / 4) ** 2] = 2 % inks
    labels[(rows - height / 2) ** 2 + (cols - width / 2) ** 2 < (height / 9) ** 2] = NO_INK
    labels[height // 3 : height // 3 + 5, 30 : width - 30] = 3 % inks
    return labels


def random_labels(seed: int, inks: int, size: int = 48) -> NDArray[np.uint8]:
    """Blocks and discs of random inks over one another, on open garment."""
    random = np.random.default_rng(seed)
    rows, cols = np.mgrid[:size, :size]
    labels = np.full((size, size), NO_INK, np.uint8)
    for _ in range(random.integers(2, 12)):
        value = NO_INK if random.random() < 0.2 else random.integers(inks)
        row, col = random.integers(-5, size, 2)
        tall, wide = random.integers(1, size // 2, 2)
        if random.random() < 0.5:
            labels[max(row, 0) : row + tall, max(col, 0) : col + wide] = value
        else:
            labels[(rows - row) ** 2 + (cols - col) ** 2 < tall**2] = value
    return labels
