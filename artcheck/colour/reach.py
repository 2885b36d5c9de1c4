"""The printed colour nearest to a wanted one: the least CIEDE2000 over all CMYK.

Scan and refine: CIEDE2000 at all nodes of an 11-step lattice, the six best basins, then ever finer
steps in each. Shortcuts are wrong: the print nearest in CIELAB is further than the nearest in
CIEDE2000 by 2 in the median of colours all over CIELAB, by 10 for every twentieth; a profile's own
table from colour to ink missed printable colours by 2 to 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
import numpy.typing as npt

from artcheck.colour.difference import delta_e_2000, delta_e_2000_single
from artcheck.colour.lattice import COARSE_STEPS
from artcheck.colour.print_model import PrintModel
from artcheck.domain.base import Lab

FloatArray = npt.NDArray[np.floating]

LIKE_HUE_DEG: Final = 15.0
"""CIELAB hues nearer than this look like the same colour, lighter or duller. Common practice."""

ACHROMATIC_CHROMA: Final = 5.0
"""Below this C*ab a wanted colour is a grey: its hue is not asked for. Common practice."""

_SEEDS: Final = 6
"""Basins followed: with 12 no colour of 300 came out nearer by 0.001."""

_KEPT_SEEDS: Final = 3
_PRUNE_AFTER_ROUNDS: Final = 3
"""Later rounds follow the best three: the same answers on those 300, in two thirds of the time."""

_FIRST_STEP: Final = 0.05
_LAST_STEP: Final = 0.0001
"""Steps of tone: from half the scan's down to 0.01 CIEDE2000 or less where colour is steepest."""

_LEAST_GAIN: Final = 1e-5
"""CIEDE2000 that a move must gain: about the rounding of float32."""

_EXACT: Final = 0.005
"""CIEDE2000 at which a colour is printed exactly, and its search ends."""

_MAX_ROUNDS: Final = 80
"""A guard; the slowest of 2,000 colours took 45."""

_PER_DEGREE: Final = 2.0
"""Penalty in CIEDE2000 for each degree outside like hue: more than a degree is ever worth."""

_HUE_MARGIN_DEG: Final = 0.05
"""The search keeps this much inside the limit, so that rounding does not lead out of it."""

_BLOCK: Final = 16
"""Colours searched at a time: 14,641 nodes each, in a processor's cache."""

_MOVES: Final = np.array([move for move in product((-1, 0, 1), repeat=4) if any(move)], np.float32)
"""All 80 neighbours of a point: colour can stay as one ink gives way to others."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How near a print condition comes to a wanted colour.

    Attributes
    ----------
    target
        The wanted colour, CIELAB D50.
    cmyk
        Tones 0-1 that print the nearest colour (for many colours one way among several).
    lab, delta_e_2000
        The nearest colour, and how far it is.
    like_hue_cmyk, like_hue_lab, like_hue_delta_e_2000
        The nearest colour whose hue is within 15 degrees of the wanted one, where that is another:
        for strong blues and violets the least difference can lie at a near-grey, which nobody would
        take for the colour. None where the nearest is of like hue already, where the wanted colour
        is a grey (C*ab below 5), or where nothing of like hue can be printed.
    """

    target: Lab
    cmyk: tuple[float, float, float, float]
    lab: Lab
    delta_e_2000: float
    like_hue_cmyk: tuple[float, float, float, float] | None = None
    like_hue_lab: Lab | None = None
    like_hue_delta_e_2000: float | None = None

    @property
    def swatch_lab(self) -> Lab:
        """The colour to show as "what you would get": of like hue where that differs."""
        return self.like_hue_lab or self.lab


def nearest_reachable(lab: Lab, model: PrintModel, total_ink_limit: float | None = None) -> Reach:
    """The printed colour nearest to one colour; see `nearest_reachable_many`."""
    return nearest_reachable_many([lab], model, total_ink_limit)[0]


def nearest_reachable_many(
    labs: Sequence[Lab], model: PrintModel, total_ink_limit: float | None = None
) -> list[Reach]:
    """The printed colours nearest to many.

    Parameters
    ----------
    labs
        Wanted colours, CIELAB D50.
    model
        The print condition.
    total_ink_limit
        Largest sum of the four tones, above 0 up to 4 (3.0 is 300 %); None for no other limit than
        the model's own.

    Raises
    ------
    ValueError
        A limit outside 0 to 4.
    """
    if total_ink_limit is not None and not 0 < total_ink_limit <= len("CMYK"):
        raise ValueError(f"total_ink_limit {total_ink_limit:g} is not above 0 and at most 4")
    limit = min(total_ink_limit or len("CMYK"), model.largest_total_ink)
    found: list[Reach] = []
    for start in range(0, len(labs), _BLOCK):
        found += _nearest_block(list(labs[start : start + _BLOCK]), model, limit)
    return found


def _nearest_block(labs: list[Lab], model: PrintModel, limit: float) -> list[Reach]:
    tones = _Search(model, labs, limit).run()
    nearest = [_reach(lab, cmyk, model) for lab, cmyk in zip(labs, tones, strict=True)]
    other = [place for place, reach in enumerate(nearest) if _is_other_hue(reach)]
    if other:
        wanted = [labs[place] for place in other]
        tones = _Search(model, wanted, limit, like_hue=True).run()
        for place, cmyk in zip(other, tones, strict=True):
            nearest[place] = _with_like_hue(nearest[place], cmyk, model)
    return nearest


def _reach(lab: Lab, cmyk: FloatArray, model: PrintModel) -> Reach:
    lightness, a, b = model.lab(cmyk).astype(float).round(4).tolist()
    printed = (lightness, a, b)
    target = (float(lab[0]), float(lab[1]), float(lab[2]))
    return Reach(target, _tones(cmyk), printed, round(delta_e_2000_single(target, printed), 4))


def _tones(cmyk: FloatArray) -> tuple[float, float, float, float]:
    c, m, y, k = cmyk.astype(float).round(4).tolist()
    return c, m, y, k


def _is_other_hue(reach: Reach) -> bool:
    target = np.array(reach.target)
    chromatic = float(np.hypot(target[1], target[2])) >= ACHROMATIC_CHROMA
    return chromatic and bool(_hue_apart_deg(np.array(reach.lab), target) > LIKE_HUE_DEG)


def _with_like_hue(nearest: Reach, cmyk: FloatArray, model: PrintModel) -> Reach:
    alike = _reach(nearest.target, cmyk, model)
    if _is_other_hue(alike):
        return nearest
    return Reach(
        nearest.target,
        nearest.cmyk,
        nearest.lab,
        nearest.delta_e_2000,
        like_hue_cmyk=alike.cmyk,
        like_hue_lab=alike.lab,
        like_hue_delta_e_2000=alike.delta_e_2000,
    )


def _hue_apart_deg(lab1: FloatArray, lab2: FloatArray) -> FloatArray:
    """Angle 0-180 between two CIELAB hues (..., 3)."""
    (a1, b1), (a2, b2) = np.moveaxis(lab1[..., 1:], -1, 0), np.moveaxis(lab2[..., 1:], -1, 0)
    angle: FloatArray = np.arctan2(a1 * b2 - b1 * a2, a1 * a2 + b1 * b2)
    return np.degrees(np.abs(angle))


class _Search:
    """The least cost over CMYK for a block of n colours.

    Cost is CIEDE2000, infinite above the ink limit, with a penalty for other hues if asked.
    """

    def __init__(
        self, model: PrintModel, labs: Sequence[Lab], limit: float, *, like_hue: bool = False
    ) -> None:
        self.model = model
        self.targets = np.array(labs, np.float32)
        self.limit = np.float32(limit)
        self.like_hue = like_hue

    def run(self) -> FloatArray:
        """CMYK (n, 4) of the least cost found."""
        tones, costs = self._seeds()
        steps = np.full(costs.shape, _FIRST_STEP, np.float32)
        for count in range(_MAX_ROUNDS):
            if count == _PRUNE_AFTER_ROUNDS:
                best = np.argsort(costs, axis=1, kind="stable")[:, :_KEPT_SEEDS]
                tones = np.take_along_axis(tones, best[..., np.newaxis], axis=1)
                costs, steps = (np.take_along_axis(of, best, axis=1) for of in (costs, steps))
            moving = (steps > _LAST_STEP) & (costs.min(axis=1, keepdims=True) > _EXACT)
            if not moving.any():
                break
            tones[moving], costs[moving], steps[moving] = self._moved(
                tones[moving], costs[moving], steps[moving], np.nonzero(moving)[0]
            )
        return np.asarray(tones[np.arange(len(tones)), costs.argmin(axis=1)])

    def _seeds(self) -> tuple[FloatArray, FloatArray]:
        """CMYK (n, seeds, 4) and cost (n, seeds) of the best basins of the scan."""
        inks = _node_tones()
        costs = self._cost(self.model.node_lab, inks, self.targets[:, np.newaxis])
        basins = np.where(_local_minima(costs), costs, np.inf)
        nodes = np.argpartition(basins, _SEEDS, axis=1)[:, :_SEEDS]
        return inks[nodes], np.take_along_axis(costs, nodes, axis=1)

    def _moved(
        self, tones: FloatArray, costs: FloatArray, steps: FloatArray, owner: npt.NDArray[np.intp]
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Each point (r, 4) at the best of its neighbours, or its step halved."""
        around = np.clip(tones[:, np.newaxis] + steps[:, np.newaxis, np.newaxis] * _MOVES, 0, 1)
        tried = self._cost(self.model.lab(around), around, self.targets[owner][:, np.newaxis])
        rows, best = np.arange(len(tones)), tried.argmin(axis=1)
        better = tried[rows, best] < costs - _LEAST_GAIN
        return (
            np.where(better[:, np.newaxis], around[rows, best], tones),
            np.where(better, tried[rows, best], costs),
            np.where(better, steps, steps / 2),
        )

    def _cost(self, lab: FloatArray, tones: FloatArray, targets: FloatArray) -> FloatArray:
        cost = delta_e_2000(lab, targets)
        if self.like_hue:
            outside = _hue_apart_deg(lab, targets) - np.float32(LIKE_HUE_DEG - _HUE_MARGIN_DEG)
            cost = cost + np.float32(_PER_DEGREE) * np.maximum(outside, 0)
        if self.limit < len("CMYK"):
            # A sum of four float32 tones is a few units of rounding above the exact one.
            over = tones.sum(axis=-1) > self.limit + 1e-6
            cost = np.where(over, np.float32(np.inf), cost)
        return cost


def _node_tones() -> FloatArray:
    """CMYK (14641, 4) of the scan, in the order of `PrintModel.node_lab`."""
    nodes = np.indices((COARSE_STEPS,) * 4, np.float32).reshape(4, -1).T
    return nodes / np.float32(COARSE_STEPS - 1)


def _local_minima(costs: FloatArray) -> npt.NDArray[np.bool_]:
    """Which nodes (n, 14641) are no worse than their neighbours along every axis."""
    lattice = costs.reshape(-1, *(COARSE_STEPS,) * 4)
    least = np.ones(lattice.shape, bool)
    for axis in range(1, 5):
        here, ok = np.moveaxis(lattice, axis, 0), np.moveaxis(least, axis, 0)
        ok[1:] &= here[1:] <= here[:-1]
        ok[:-1] &= here[:-1] <= here[1:]
    return least.reshape(costs.shape)
