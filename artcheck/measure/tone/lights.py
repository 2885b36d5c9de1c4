"""Night skies: points of light of every strength on a dark ground, as photographs show them.

Most of such a picture is one dark colour, so the texture that tells photographs elsewhere is thin.
What tells it is how bright the points are: in a photograph of stars many are faint and few are
strong (star counts grow about two- to fourfold with each magnitude: F. H. Seares, P. J. van Rhijn,
Mount Wilson Catalogue, 1930), where drawn dots reach the colour of their ink unless they are
smaller than a pixel.
"""

from __future__ import annotations

import cv2
import numpy as np

from artcheck.measure.tone.working import Bools, Bytes, Floats, Working, range_around

GROUND_PX = 15
"""Side of the window whose darkest even part is the ground: wider than a point of light."""

DARK = 40.0
"""Brightest channel of a ground that is night, in levels."""

LEAST_RISE = 12.0
"""Levels that a point rises over its ground, above noise and JPEG's ringing around points."""

LEVEL_RANGE = 8.0
"""Range within 3 x 3 pixels of a point's top; a drawn dot of some size is level there."""

REACH_PX = 25
"""Points nearer than this belong to one field."""

FIELD_MARGIN_PX = 9
"""How far a field reaches beyond its outermost points."""

FEWEST_POINTS = 100
"""Fewer give no distribution; a drawn night sky has some dozens."""

STRONGEST_SHARE = 0.02
"""The strongest points by which others are judged: a single flare says nothing."""

FAINT = 0.5
"""Part of the strongest points' rise under which a point is faint."""

FAINT_SHARE = 0.76
"""Share of faint points in a night sky at least: 0.80 to 0.95 in photographs and in skies drawn
after star counts, 0.45 to 0.79 in drawn splashes, the most in JPEG 60."""

STRONG, STRONG_SHARE = 0.75, 0.11
"""Part of the strongest points' rise from which a point is strong, and the share of such points in
a night sky at most: 0.04 to 0.09; drawn splashes have 0.14 to 0.47 in the colour of an ink."""


def field_of_lights(working: Working) -> Bools:
    """(h, w) bool: fields of points of light whose strengths are those of a photograph."""
    bright = np.ascontiguousarray(working.picture[..., :3].max(axis=2))
    window = np.ones((GROUND_PX, GROUND_PX), np.uint8)
    ground = np.asarray(cv2.morphologyEx(bright, cv2.MORPH_OPEN, window), np.float32)
    dark = ground < DARK
    nothing = np.zeros_like(dark)
    if dark.mean() * dark.size < FEWEST_POINTS:
        return nothing
    ground = np.asarray(cv2.blur(ground, (GROUND_PX, GROUND_PX)), np.float32)
    inside = cv2.erode(working.coverage, window, borderValue=1.0) > 0.5
    rise = bright - ground
    points = _points(bright, rise) & dark & inside
    if points.sum() < FEWEST_POINTS:
        return nothing
    count, labels = cv2.connectedComponents(_fields(points))
    night = [k > 0 and _is_night(rise[points & (labels == k)]) for k in range(count)]
    return np.asarray(np.array(night)[labels])


def _points(bright: Floats, rise: Floats) -> Bools:
    """(h, w) bool: tops that are brighter than what surrounds them."""
    top = bright >= cv2.dilate(bright, np.ones((5, 5), np.uint8))
    return np.asarray(top & (rise > LEAST_RISE) & (range_around(bright) > LEVEL_RANGE))


def _fields(points: Bools) -> Bytes:
    """(h, w) uint8: points and what lies between neighbouring ones."""
    joined = cv2.dilate(points.astype(np.uint8), np.ones((REACH_PX, REACH_PX), np.uint8))
    inner = REACH_PX - FIELD_MARGIN_PX + 1
    return np.asarray(cv2.erode(joined, np.ones((inner, inner), np.uint8)), np.uint8)


def _is_night(rises: Floats) -> bool:
    """Whether points of these rises, in levels, are those of a photograph."""
    if rises.size < FEWEST_POINTS:
        return False
    strongest = float(np.quantile(rises, 1 - STRONGEST_SHARE))
    many_faint = (rises < FAINT * strongest).mean() >= FAINT_SHARE
    return bool(many_faint and (rises > STRONG * strongest).mean() <= STRONG_SHARE)
