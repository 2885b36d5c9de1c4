"""How many pieces can fit at most: area, Barnes, and pairs of conservative scales."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise, product

from artcheck.pricing.layout.canonical import Problem, Scale, staircase


@dataclass(frozen=True, slots=True)
class Measure:
    """One scale in x and one in y: a sheet of ``across.length`` x ``down.length``.

    A piece as given covers ``across.a`` x ``down.b`` of it, a turned one ``across.b`` x ``down.a``.
    Any real layout, carried over, lies on that sheet without overlap, so areas bound the counts.
    """

    across: Scale
    down: Scale

    @property
    def sheet(self) -> int:
        """Area of the sheet."""
        return self.across.length * self.down.length

    @property
    def straight(self) -> int:
        """Area of a piece as given."""
        return self.across.a * self.down.b

    @property
    def turned(self) -> int:
        """Area of a turned piece."""
        return self.across.b * self.down.a

    def waste(self, straight: int, turned: int) -> int:
        """Area left by so many pieces of each kind; negative: they cannot fit."""
        return self.sheet - straight * self.straight - turned * self.turned


def barnes(problem: Problem) -> int:
    """Upper bound from packing bars of a x 1 and of b x 1.

    F. W. Barnes, "Packing the maximum number of m x n tiles in a large p x q rectangle",
    Discrete Mathematics 26 (1979): what bars must leave empty, pieces leave empty too, and the
    empty area is the sheet's modulo the piece's.
    """
    area, piece = problem.across * problem.down, problem.a * problem.b
    empty = max(_bar_waste(problem, problem.a), _bar_waste(problem, problem.b))
    least = area % piece
    steps = max(0, -(-(empty - least) // piece))
    return (area - least - steps * piece) // piece


def _bar_waste(problem: Problem, bar: int) -> int:
    r, s = problem.across % bar, problem.down % bar
    return min(r * s, (bar - r) * (bar - s))


def scales(length: int, a: int, b: int) -> list[Scale]:
    """The extreme conservative scales of one axis.

    They are the edges of the convex hull of the (i, j) that fit, scaled to whole numbers
    (S. P. Fekete and J. Schepers, "A general framework for bounds for higher-dimensional orthogonal
    packing problems", Mathematical Methods of Operations Research 60, 2004, name such scales).
    """
    stair = staircase(length, a, b)
    found = {Scale(len(stair) - 1, 1, 0), Scale(stair[0], 0, 1)}
    for (i, j), (more_i, less_j) in pairwise(_hull(stair)):
        a, b, full = j - less_j, more_i - i, more_i * j - i * less_j
        common = math.gcd(a, b)
        found.add(Scale(full // common, a // common, b // common))
    return sorted(found, key=lambda s: (s.length, s.a, s.b))


def _hull(stair: list[int]) -> list[tuple[int, int]]:
    hull: list[tuple[int, int]] = []
    for point in enumerate(stair):
        while len(hull) > 1 and _turn(hull[-2], hull[-1], point) >= 0:
            hull.pop()
        hull.append(point)
    return hull


def _turn(o: tuple[int, int], p: tuple[int, int], q: tuple[int, int]) -> int:
    return (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])


def measures(problem: Problem) -> list[Measure]:
    """Every pair of extreme scales, the area itself first.

    Both orientations must fit on the sheet.
    """
    a, b = problem.a, problem.b
    area = Measure(Scale(problem.across, a, b), Scale(problem.down, a, b))
    pairs = product(scales(problem.across, a, b), scales(problem.down, a, b))
    return [area, *(Measure(across, down) for across, down in pairs)]


def splits(bounds: list[Measure], copies: int) -> range:
    """Numbers of straight pieces among ``copies`` that no measure rules out.

    Each measure is linear in that number, so it leaves an interval.
    """
    low, high = 0, copies
    for measure in bounds:
        room = measure.waste(0, copies)
        more = measure.straight - measure.turned
        if more > 0:
            high = min(high, room // more)
        elif more < 0:
            low = max(low, -(room // -more))
        elif room < 0:
            return range(0)
    return range(low, high + 1)


def upper_bound(problem: Problem, bounds: list[Measure]) -> int:
    """The least of area, Barnes and the whole-number bound of all measures.

    Pairs of scales contain the linear bound of H. Isermann ("Ein Planungssystem zur Optimierung der
    Palettenbeladung mit kongruenten rechteckigen Versandgebinden", OR Spektrum 9, 1987; from
    memory), which takes the same hulls with true lengths on the other axis.
    """
    most = min(problem.across * problem.down // (problem.a * problem.b), barnes(problem))
    while most and not splits(bounds, most):
        most -= 1
    return most
