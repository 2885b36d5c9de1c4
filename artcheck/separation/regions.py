"""The art as regions at printed size: every pixel one ink, edges where the art has them."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Lab
from artcheck.domain.separation import NO_INK, InkPlan, Separated
from artcheck.errors import UsageError
from artcheck.separation.shares import ink_shares

Bytes = NDArray[np.uint8]


def separate_regions(
    cutout: Cutout,
    plan: InkPlan,
    *,
    ppi: float,
    width_in: float,
    garment_lab: Lab | None,
    knock_out_within: float = 0.0,
) -> Separated:
    """The art with one ink of the plan at every pixel, as many pixels as are printed.

    Parameters
    ----------
    cutout
        The art freed from its background.
    plan
        The inks.
    ppi
        The method's output resolution.
    width_in
        Printed width of the art's box; its height follows.
    garment_lab
        The garment's colour where the garment itself may show for a colour that is near to it;
        None where nothing is knocked out.
    knock_out_within
        CIEDE2000 to the garment within which a colour is left to it.

    Raises
    ------
    UsageError
        The art has no ink, or the print would have no pixel.

    Notes
    -----
    Lines, gaps and specks that the method does not hold are left as they are, and ``loss`` is the
    plan's.
    """
    row0, col0, row1, col1 = cutout.box
    if row1 <= row0 or col1 <= col0 or not cutout.coverage[row0:row1, col0:col1].any():
        raise UsageError("This art has no ink: there is nothing to separate. Check its background.")
    height_in = width_in * (row1 - row0) / (col1 - col0)
    size = round(width_in * ppi), round(height_in * ppi)
    if min(size) < 1:
        raise UsageError(
            f"A print of {width_in:g} x {height_in:g} in at {ppi:g} ppi has no pixel: print larger."
        )
    shares = ink_shares(cutout, plan.inks, garment_lab, knock_out_within)
    labels = enlarged(shares, size)
    return Separated(
        inks=plan.inks,
        labels=labels,
        tints=(None,) * len(plan.inks),
        ppi=ppi,
        width_in=width_in,
        height_in=height_in,
        loss=plan.loss,
    )


def enlarged(planes: Bytes, size: tuple[int, int]) -> Bytes:
    """The ink that covers most at each output pixel.

    Parameters
    ----------
    planes
        (k + 1, h, w) uint8 shares of each ink and of bare cloth.
    size
        Width and height of the output in pixels.

    Returns
    -------
    (height, width) uint8, index of the ink or `NO_INK`.
    """
    how = cv2.INTER_CUBIC if size[0] >= planes.shape[2] else cv2.INTER_AREA
    best = np.asarray(cv2.resize(planes[-1], size, interpolation=how), np.uint8)
    labels = np.full((size[1], size[0]), NO_INK, np.uint8)
    for number, plane in enumerate(planes[:-1]):
        here = np.asarray(cv2.resize(plane, size, interpolation=how), np.uint8)
        more = np.asarray(cv2.compare(here, best, cv2.CMP_GT), np.uint8)
        np.copyto(labels, np.uint8(number), where=more > 0)
        cv2.max(here, best, dst=best)
    return labels
