"""The art as regions at printed size: every pixel one ink, edges where the art has them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Cutout
from artcheck.domain.base import Box, Lab
from artcheck.domain.separation import NO_INK, Change, InkPlan, Separated, SpotInk
from artcheck.errors import UsageError
from artcheck.separation.cleaning import Holds, cleaned
from artcheck.separation.fades import Tints, enlarged_tints, keep_fades
from artcheck.separation.loss import measured_loss
from artcheck.separation.places import changes_of
from artcheck.separation.shares import ink_shares
from artcheck.separation.standing_alone import printed_alone

Bytes = NDArray[np.uint8]


def separate_regions(
    cutout: Cutout,
    plan: InkPlan,
    *,
    ppi: float,
    width_in: float,
    garment_lab: Lab | None,
    knock_out_within: float = 0.0,
    all_seen: bool = False,
    fades: NDArray[np.bool_] | None = None,
    dots: bool = True,
    holds: Holds | None = None,
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
    all_seen
        Whether the order wants the whole art in these inks: what has the garment's colour and
        stands on the cloth alone then prints in the only ink.
    fades
        (a, b) bool over the art's box at any size: where it fades; None: nowhere.
    dots
        Whether fades are kept as tints; else every pixel gets the ink that is nearest.
    holds
        What the method holds: finer detail is mended or told. None where it is left as it is.

    Raises
    ------
    UsageError
        The art has no ink, or the print would have no pixel.

    Notes
    -----
    ``loss`` is measured on the result.
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
    shown, alone = cutout, tuple[Box, ...]()
    if all_seen:
        shown, alone = printed_alone(cutout, plan.inks, garment_lab, knock_out_within)
    shares, opened = ink_shares(shown, plan.inks, garment_lab, knock_out_within)
    kept = None
    if fades is not None and fades.any():
        kept = keep_fades(cutout, plan.inks, fades, shares, dots=dots)
    labels = enlarged(shares, size)
    del shares
    across = size[0] / (col1 - col0), size[1] / (row1 - row0)
    told = [(OPENED, box) for box in opened]
    told += [(ALONE.format(plan.inks[0].name), box) for box in alone]
    changes = changes_of([(what, _scaled(box, across)) for what, box in told], ppi)
    if kept:
        changes += tuple(_fade_changes(kept, plan.inks, across))
    if holds is not None:
        labels, mended = cleaned(labels, plan.inks, holds, ppi)
        changes = (*changes, *mended)
    count = len(plan.inks)
    result = Separated(
        inks=plan.inks,
        labels=labels,
        tints=enlarged_tints(kept, labels, count) if kept else (None,) * count,
        ppi=ppi,
        width_in=width_in,
        height_in=height_in,
        loss=plan.loss,
        changes=changes,
    )
    return replace(result, loss=measured_loss(cutout, result, garment_lab))


OPENED = "Amid ink, an area nearer to the garment's colour than to any ink left open"
ALONE = "In the garment's colour and on the cloth alone, so printed in {} to be seen"


def _fade_changes(
    kept: Tints, inks: Sequence[SpotInk], across: tuple[float, float]
) -> Iterator[Change]:
    """What became of each fade."""
    for box, under, over in kept.kept:
        on = "the garment" if under == NO_INK else inks[under].name
        what = f"Fade printed as dots of {inks[over].name} on {on}"
        yield Change(what=what, where=_scaled(box, across))
    for box in kept.flattened:
        yield Change(what="Fade printed in flat inks", where=_scaled(box, across))


def _scaled(box: Box, across: tuple[float, float]) -> Box:
    """A box of the art's pixels in the output's, whose number to each is given across and down."""
    row0, col0, row1, col1 = box
    wide, tall = across
    last = [math.ceil(edge * scale - 1e-6) for edge, scale in ((row1, tall), (col1, wide))]
    return int(row0 * tall), int(col0 * wide), last[0], last[1]


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
