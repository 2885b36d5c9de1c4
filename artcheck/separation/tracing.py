"""Plates as outlines: the edges between pixels, followed exactly, then drawn with few curves.

The outline runs through the middles of the pixel edges. The steps of the grid are evened out
first, by at most `STEP_PX` along each axis; then a polyline within `FIT_PX` is found, and its
vertices are joined by curves that bulge by at most `BULGE_PX`: together no curve lies farther than
1.5 pixels from the outline that it draws. Two outlines less than that apart (single pixels of
noise) may still cross.
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]

FIT_PX = 0.3
"""Farthest that the polyline leaves the evened outline. Chosen by trial: at 0.4 blots of 4 px lose
or gain 1.6 % of their area, at 0.3 1.2 %; smaller fits only add points."""

STEPS_PX = (3, 6, 12)
"""Points on either side over which steps are evened out, more wherever that moves none too far: an
edge that rises by 1 in 20 then shows no steps."""

STEP_PX = 0.5
"""A straight edge runs within half a pixel, along each axis, of the middles that draw it."""

BULGE_PX = 0.5
"""Most that a curve leaves its chord."""

CORNER_DEG = 60.0
"""A sharper turn is a corner: an arc so tight would be some two pixels in radius."""

_ARC_SAGITTA_PX = 2 * FIT_PX
"""Had an arc of this turn and length been drawn, the polyline would have a vertex in it."""


def outlines(mask: Mask) -> Iterator[tuple[Points, NDArray[np.bool_]]]:
    """Every closed outline of a plate, outer ones and holes, fitted.

    Parameters
    ----------
    mask
        (H, W) bool, True where ink prints.

    Yields
    ------
    tuple
        (n, 2) float64 vertices, x to the right and y down in pixels of the plate with its corner
        at 0, and (n,) bool, True where the vertex is a corner. Filled by the even-odd rule they
        give the plate.
    """
    rows = np.flatnonzero(mask.any(axis=1))
    if rows.size == 0:
        return
    cols = np.flatnonzero(mask.any(axis=0))
    row0, col0 = int(rows[0]), int(cols[0])
    part = mask[row0 : rows[-1] + 1, col0 : cols[-1] + 1]
    found, _ = cv2.findContours(_closed(part), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    corner = np.array([col0 - 0.5, row0 - 0.5])
    for chain in found:
        middles = _edge_middles(np.asarray(chain, np.int32)[:, 0, :])
        smooth = _without_steps(middles / 2).astype(np.float32)
        points = cv2.approxPolyDP(smooth, FIT_PX, closed=True)[:, 0, :].astype(np.float64) + corner
        if len(points) < 3:
            points = chain[:, 0, :].astype(np.float64) / 2 + corner
        yield points, corners(points)


def _closed(mask: Mask) -> NDArray[np.uint8]:
    """(2H + 3, 2W + 3) uint8: pixel (r, c) with its border fills rows 2r + 1 to 2r + 3.

    On this grid a pixel's edges and corners are points of their own, so a contour through points
    runs exactly between pixels. Pixels that meet at a corner are joined.
    """
    height, width = mask.shape
    grid = np.zeros((2 * height + 3, 2 * width + 3), np.uint8)
    grid[2:-1:2, 2:-1:2] = mask
    return np.asarray(cv2.dilate(grid, np.ones((3, 3), np.uint8)), np.uint8)


def _edge_middles(chain: NDArray[np.int32]) -> NDArray[np.int32]:
    """Points of the chain that are middles of pixel edges: just one coordinate is even."""
    middles = chain[(chain.sum(axis=1) & 1) == 1]
    return middles if len(middles) >= 4 else chain


def _without_steps(middles: Points) -> Points:
    """(n, 2) the chain with the steps of the pixel grid evened out where it runs straight or bends.

    A mean over neighbours, with the mean of what it took away put back, leaves wide bends as they
    are. Where it would move any point of its reach by more than a step, something smaller is drawn
    there: fewer neighbours are tried, then none.
    """
    evened = middles.copy()
    for reach in STEPS_PX:
        if len(middles) < 2 * reach + 1:
            break
        mean = _mean_around(middles, reach)
        moved = mean + _mean_around(middles - mean, reach)
        far = (np.abs(moved - middles).max(axis=1) > STEP_PX).astype(np.float64)
        near = _mean_around(far[:, None], reach)[:, 0] < 0.5 / (2 * reach + 1)
        evened[near] = moved[near]
    return evened


def _mean_around(points: Points, reach: int) -> Points:
    """(n, 2) mean of each point of a closed chain with ``reach`` on either side."""
    round_about = np.concatenate((points[-reach - 1 :], points, points[:reach]))
    sums = np.cumsum(round_about, axis=0)
    mean: Points = (sums[2 * reach + 1 :] - sums[: -2 * reach - 1]) / (2 * reach + 1)
    return mean


def corners(points: Points) -> NDArray[np.bool_]:
    """(n,) bool: vertices of a closed polyline at which the outline turns and does not bend."""
    before = points - np.roll(points, 1, axis=0)
    after = np.roll(before, -1, axis=0)
    turn = np.abs(_angle_between(before, after))
    shorter = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
    sagitta = shorter / 2 * np.tan(turn / 4)
    found: NDArray[np.bool_] = (turn > np.radians(CORNER_DEG)) | (sagitta > _ARC_SAGITTA_PX)
    return found


def handles(points: Points, is_corner: NDArray[np.bool_]) -> tuple[Points, Points]:
    """Bezier control points after each vertex and before the next: (n, 2) each.

    At a bend the tangent runs along the line between the neighbours: the longer chord counts more,
    since the direction of a short one is mostly pixel steps. At a corner it is the chord's own.
    Handles that would bulge by more than `BULGE_PX` are shortened.
    """
    chord = np.roll(points, -1, axis=0) - points
    length = np.maximum(np.hypot(*chord.T), 1e-9)[:, None]
    unit = chord / length
    previous, previous_length = np.roll(unit, 1, axis=0), np.roll(length, 1, axis=0)
    tangent = previous * previous_length + unit * length
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    leaving = np.where(is_corner[:, None], unit, tangent) * length / 3
    next_corner = np.roll(is_corner, -1)[:, None]
    arriving = np.where(next_corner, unit, np.roll(tangent, -1, axis=0)) * length / 3
    # A cubic rises over its chord by at most 3/4 of its higher control point.
    height = np.maximum(_height(leaving, unit), _height(arriving, unit)) * 0.75
    keep = np.minimum(1.0, BULGE_PX / np.maximum(height, 1e-9))[:, None]
    return points + leaving * keep, np.roll(points, -1, axis=0) - arriving * keep


def _height(vectors: Points, unit: Points) -> NDArray[np.float64]:
    crossed: NDArray[np.float64] = np.abs(vectors[:, 0] * unit[:, 1] - vectors[:, 1] * unit[:, 0])
    return crossed


def _angle_between(one: Points, other: Points) -> NDArray[np.float64]:
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    angle: NDArray[np.float64] = np.arctan2(cross, (one * other).sum(axis=1))
    return angle
