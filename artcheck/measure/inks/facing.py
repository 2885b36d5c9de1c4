"""What an ink lies beside: the open ground around the art, or other inks."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from artcheck.measure.inks.palette import Palette
from artcheck.measure.inks.working import Picture

Bytes = NDArray[np.uint8]

OPEN_COVERAGE = 128
"""Coverage under which a pixel shows more of the ground than of ink."""


def open_outline(palette: Palette, picture: Picture) -> NDArray[np.float64]:
    """Share of each ink's outline that faces open ground: 1 where it stands alone, 0 inside others.

    Blended pixels belong to what lies nearest. The picture's own edge is open ground: what is cut
    off there is printed up to its edge.

    Returns
    -------
    (n,) float64, 0-1
        By the palette's inks; 1 for an ink that no pixel shows unmixed.
    """
    count = len(palette.area) + 1
    owner = _owners(palette, picture)
    pairs = np.zeros((count, count), np.int64)
    for first, second in ((owner[1:], owner[:-1]), (owner[:, 1:], owner[:, :-1])):
        both = first.astype(np.intp) * count + second
        pairs += np.bincount(both[first != second], minlength=count**2).reshape(count, count)
    outline = pairs + pairs.T
    total = outline.sum(axis=1)
    return np.where(total > 0, outline[:, 0] / np.maximum(total, 1), 1.0)[1:]


def _owners(palette: Palette, picture: Picture) -> Bytes:
    """(h + 2, w + 2) uint8: each pixel's nearest ink, from 1; 0 on open ground and all around."""
    labels = np.asarray(palette.labels, np.int32)
    if palette.has_paper:
        labels = np.where(labels == 1, 0, labels)
    is_open = (picture.coverage < OPEN_COVERAGE) | (picture.paper > 0)
    known = is_open | (labels > 0)
    ink = np.where(is_open, 0, labels).astype(np.uint8)
    if known.any() and not known.all():
        _, nearest = cv2.distanceTransformWithLabels(
            (~known).view(np.uint8), cv2.DIST_L1, 3, labelType=cv2.DIST_LABEL_PIXEL
        )
        of = np.zeros(int(nearest.max()) + 1, np.uint8)
        of[nearest[known]] = ink[known]
        ink = of[nearest]
    return np.pad(ink, 1)
