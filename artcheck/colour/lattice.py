"""A print's colours on a lattice of CMYK: fitted to patches, refined, interpolated.

Values between patches are interpolated in XYZ^(1/2.5), where tone scales of halftone prints run
nearly straight (J. A. C. Yule, W. J. Nielsen, "The penetration of light into paper and its effect
on halftone reproduction", TAGA Proceedings 3 (1951): the exponent 1/n, here with n = 2.5).

A lattice is a float array (n, n, n, n, 3): axes C, M, Y, K from 0 to 1 in n equal steps, then
X, Y, Z to the power 1/2.5 with white Y = 1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product
from typing import Final

import numpy as np
import numpy.typing as npt

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import lab_to_xyz, xyz_to_lab

FloatArray = npt.NDArray[np.floating]
Kernel = Callable[[FloatArray], FloatArray]

STEPS: Final = 21
"""Nodes an axis: every 5 % of ink, so that nearly all values of standard charts are nodes."""

COARSE_STEPS: Final = 11
"""Nodes an axis of stored lattices and of scans: every 10 %."""

_YULE_NIELSEN_N: Final = 2.5

_SMOOTH_LENGTH: Final = 1.5
_LOCAL_LENGTH: Final = 0.5
_LOCAL_SHARE: Final = 2e-5
_NUGGET: Final = 1e-7
"""Covariance of the fit, in units of tone (0-1) and of the smooth part's variance. A smooth (Matern
5/2) part spans the whole range; a rough (exponential) part, two hundred-thousandths of it, takes up
what single patches deviate. Chosen on the packaged charts by leaving out single patches, whole tone
levels, and all but 200, 400 or 800 patches: best or near the best in each (single patches left out:
mean CIEDE2000 0.02 and 0.07)."""

_BLOCK: Final = 1 << 15
"""Points interpolated at a time: the sixteen corners of each are held at once."""

_CORNERS: Final = np.array(list(product((0, 1), repeat=4)))


def encode(lab: npt.ArrayLike) -> FloatArray:
    """CIELAB D50 (..., 3) to lattice values."""
    return np.asarray(np.maximum(lab_to_xyz(lab), 0) ** (1 / _YULE_NIELSEN_N))


def decode(values: FloatArray) -> FloatArray:
    """Lattice values (..., 3) to CIELAB D50. A fit's tiny negative values count as black."""
    positive = np.maximum(values, 0)
    return xyz_to_lab(positive * positive * np.sqrt(positive))  # the power 2.5, but faster


def _smooth(distance: FloatArray) -> FloatArray:
    """Matern 5/2 covariance."""
    scaled = np.sqrt(5) / _SMOOTH_LENGTH * np.abs(distance)
    return np.asarray((1 + scaled + scaled**2 / 3) * np.exp(-scaled))


def _rough(distance: FloatArray) -> FloatArray:
    """Exponential covariance."""
    return np.asarray(np.exp(-np.abs(distance) / _LOCAL_LENGTH))


_PARTS: Final[Sequence[tuple[float, Kernel]]] = ((1.0, _smooth), (_LOCAL_SHARE, _rough))


def _along(kernel: Kernel, one: FloatArray, two: FloatArray) -> FloatArray:
    """Covariance (N, M) of N and M places along one ink's axis."""
    return kernel(one[:, np.newaxis] - two[np.newaxis])


def _covariance(cmyk: FloatArray) -> FloatArray:
    """Covariance (N, N) of patches: the product over the inks, summed over the two parts."""
    total = _NUGGET * np.eye(len(cmyk))
    for weight, kernel in _PARTS:
        part = np.full(total.shape, weight)
        for ink in cmyk.T:
            levels, place = np.unique(ink, return_inverse=True)  # a few dozen: exp is dear
            part *= _along(kernel, levels, levels)[place][:, place]
        total += part
    return total


def fit(cmyk: FloatArray, lab: FloatArray) -> FloatArray:
    """The lattice (21, 21, 21, 21, 3), float32, through measured patches.

    Kriging with a covariance that is a product over the inks: it gives back every patch that lies
    on a node, is smooth in between, needs no regular chart, and costs two matrix products.

    Parameters
    ----------
    cmyk
        (N, 4), 0-1, no row twice.
    lab
        (N, 3), CIELAB D50.

    References
    ----------
    C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning, MIT Press (2006),
    equations 2.23 and 4.17.
    """
    values = encode(lab)
    mean = values.mean(axis=0)
    weights = np.linalg.solve(_covariance(cmyk), values - mean)
    levels = np.linspace(0, 1, STEPS)
    lattice = np.zeros((STEPS**2, STEPS**2, 3))
    for share, kernel in _PARTS:
        c, m, y, k = (_along(kernel, levels, ink) for ink in cmyk.T)
        cm = (c[:, np.newaxis] * m).reshape(STEPS**2, -1)
        yk = share * (y[:, np.newaxis] * k).reshape(STEPS**2, -1)
        for channel in range(3):
            lattice[..., channel] += (cm * weights[:, channel]) @ yk.T
    return np.asarray((lattice + mean).reshape((STEPS,) * 4 + (3,)), np.float32)


def held_out_delta_e_2000(cmyk: FloatArray, lab: FloatArray) -> FloatArray:
    """How far the fit to all other patches misses each patch (N,): large where they contradict.

    References
    ----------
    Rasmussen and Williams (2006), equation 5.12: leaving out one needs no second fit.
    """
    values = encode(lab)
    mean = values.mean(axis=0)
    inverse = np.linalg.inv(_covariance(cmyk))
    missed = (inverse @ (values - mean)) / np.diag(inverse)[:, np.newaxis]
    return delta_e_2000(decode(values - missed), lab)


def refine(nodes: FloatArray) -> FloatArray:
    """A coarse lattice (n, n, n, n, 3) on 21 levels an axis, float32, interpolated smoothly."""
    coarse, fine = np.linspace(0, 1, len(nodes)), np.linspace(0, 1, STEPS)
    across = np.linalg.solve(_along(_smooth, coarse, coarse), _along(_smooth, coarse, fine)).T
    lattice = np.asarray(nodes, np.float32)
    for _ in "CMYK":
        # The first axis is interpolated and goes last; after four turns all are in order again.
        # As a stack of small products: the linear algebra library would share out a large one
        # among threads, which costs 50 ms where another process holds a core, against 2 ms.
        first, *middle, last, colours = lattice.shape
        stack = lattice.reshape(first, -1, last * colours).swapaxes(0, 1)
        finer = across.astype(np.float32) @ stack
        lattice = finer.reshape(*middle, STEPS, last, colours).swapaxes(-3, -2)
    return np.ascontiguousarray(lattice)


def thin(lattice: FloatArray) -> FloatArray:
    """Every second node along each axis: (21, ...) to (11, ...)."""
    return lattice[::2, ::2, ::2, ::2]


def interpolate(lattice: FloatArray, cmyk: FloatArray) -> FloatArray:
    """Lattice values (N, 3) at CMYK (N, 4), 0-1, linear along each axis (16 corners)."""
    found = np.empty((len(cmyk), 3), np.float32)
    for start in range(0, len(cmyk), _BLOCK):
        block = slice(start, start + _BLOCK)
        found[block] = _interpolate_block(lattice, np.asarray(cmyk[block], np.float32))
    return found


def _interpolate_block(lattice: FloatArray, cmyk: FloatArray) -> FloatArray:
    steps = len(lattice)
    place = cmyk * np.float32(steps - 1)
    cell = np.clip(place.astype(np.int32), 0, steps - 2)
    up = place - cell
    sides = np.stack([1 - up, up], axis=-1)  # (N, 4, 2): weight of the lower and the upper node
    cm = (sides[:, 0, :, np.newaxis] * sides[:, 1, np.newaxis]).reshape(-1, 4)
    yk = (sides[:, 2, :, np.newaxis] * sides[:, 3, np.newaxis]).reshape(-1, 4)
    weights = (cm[:, :, np.newaxis] * yk[:, np.newaxis]).reshape(-1, 1, 16)
    strides = steps ** np.arange(3, -1, -1, dtype=np.int32)
    corners = (cell @ strides)[:, np.newaxis] + _CORNERS.astype(np.int32) @ strides
    return np.asarray((weights @ lattice.reshape(-1, 3).take(corners, axis=0))[:, 0])
