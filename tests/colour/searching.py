"""A second, slow search for the nearest printed colour, which shares nothing with the first.

It interpolates the lattice with scipy, scans all 21^4 nodes with colour-science's CIEDE2000 (the
product scans 11^4 with its own), and ends with two of scipy's optimisers.
"""

from __future__ import annotations

from itertools import product

import colour
import numpy as np
import numpy.typing as npt
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import minimize

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.print_model import PrintModel

FloatArray = npt.NDArray[np.float64]
Lab = tuple[float, float, float]

D50_XY = colour.XYZ_to_xy(np.array([0.96422, 1.0, 0.82521]))


class SlowSearch:
    """Nearest colours of one print model."""

    def __init__(self, model: PrintModel) -> None:
        axis = np.linspace(0, 1, 21)
        values = np.asarray(model.lattice, np.float64)
        self.values = RegularGridInterpolator((axis,) * 4, values)
        self.nodes = np.array(list(product(axis, repeat=4)))
        self.node_lab = self.lab(self.nodes)

    def lab(self, cmyk: FloatArray) -> FloatArray:
        xyz = np.maximum(self.values(cmyk), 0) ** 2.5
        return np.asarray(colour.XYZ_to_Lab(xyz, D50_XY), np.float64)

    def nearest(self, target: Lab, total_ink_limit: float = 4, starts: int = 3) -> float:
        """CIEDE2000 of the nearest printed colour."""
        near = np.asarray(colour.delta_E(self.node_lab, target, method="CIE 2000"))
        near[self.nodes.sum(axis=1) > total_ink_limit + 1e-9] = np.inf
        best = float(near.min())
        for start in self._spread(near, starts):
            best = min(best, self._polished(start, target, total_ink_limit))
        return best

    def _spread(self, near: FloatArray, count: int) -> list[FloatArray]:
        """The best nodes that are at least a quarter apart in some ink."""
        chosen: list[FloatArray] = []
        for node in self.nodes[np.argsort(near, kind="stable")]:
            if all(np.abs(node - other).max() >= 0.25 for other in chosen):
                chosen.append(node)
            if len(chosen) == count:
                break
        return chosen

    def _polished(self, start: FloatArray, target: Lab, limit: float) -> float:
        def cost(cmyk: FloatArray) -> float:
            inside = np.clip(cmyk, 0, 1)
            over = max(float(inside.sum()) - limit, 0)
            lightness, a, b = self.lab(inside[np.newaxis])[0].tolist()
            # One pair at a time colour-science's takes fifty times as long; the two are compared
            # on 40,000 pairs elsewhere.
            return delta_e_2000_single((lightness, a, b), target) + 1000 * over

        bounds = [(0, 1)] * 4
        along = minimize(
            cost, start, method="Powell", bounds=bounds, options={"xtol": 1e-3, "ftol": 1e-4}
        )
        slack = {"xatol": 1e-4, "fatol": 1e-4, "maxiter": 400}
        found = minimize(cost, along.x, method="Nelder-Mead", bounds=bounds, options=slack)
        return float(found.fun)
