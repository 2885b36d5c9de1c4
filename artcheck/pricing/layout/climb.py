"""Hill climbing over rows of likings, from several starts, with the same dice every time."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from artcheck.pricing.layout.allowance import SpentError
from artcheck.pricing.layout.mixed import Shape

HIGHEST_LIKING = 1.5
"""Likings are drawn from 0 to here, less than what a full gap adds: fit comes first."""

FRESH_START = 0.1
"""Share of tries that leave a start of another order rather than the best so far."""

SPREAD = 0.4
"""Standard deviation of a small change to a liking."""

Rows = list[list[float]]
"""One liking for each shape, for each sheet."""


class Result(Protocol):
    """What a decoded layout must tell."""

    @property
    def score(self) -> tuple[float, ...]:
        """The lower, the better."""


R = TypeVar("R", bound=Result)


def starts(shapes: Sequence[Shape], rows: int) -> list[Rows]:
    """Largest area first, widest, tallest, longest side first."""
    keys: list[Callable[[Shape], float]] = [
        lambda s: s.width * s.height,
        lambda s: s.width,
        lambda s: s.height,
        lambda s: max(s.width, s.height),
    ]
    return [_scaled([key(shape) for shape in shapes], rows) for key in keys]


def _scaled(values: Sequence[float], rows: int) -> Rows:
    return [[value / max(values) for value in values] for _ in range(rows)]


def climb(
    beginnings: Sequence[Rows],
    decode: Callable[[Rows], R],
    good_enough: Callable[[R], bool],
) -> R:
    """The best layout met until one is good enough or ``decode`` has spent its allowance.

    Raises
    ------
    SpentError
        Not even the first beginning could be decoded.
    """
    dice = random.Random(1)  # noqa: S311 - a search, no secret; a fixed seed so that runs agree
    rows = beginnings[0]
    best = decode(rows)
    try:
        for other in beginnings[1:]:
            if good_enough(best):
                break
            found = decode(other)
            if found.score < best.score:
                best, rows = found, other
        while not good_enough(best):
            tried = _changed(dice.choice(beginnings) if dice.random() < FRESH_START else rows, dice)
            found = decode(tried)
            if found.score <= best.score:
                best, rows = found, tried
    except SpentError:
        pass
    return best


def _changed(rows: Rows, dice: random.Random) -> Rows:
    """One to three likings changed, on one sheet or on all."""
    changed = [list(row) for row in rows]
    for _ in range(dice.choice((1, 1, 2, 3))):
        shape = dice.randrange(len(changed[0]))
        some = changed if dice.random() < 1 / 2 else [dice.choice(changed)]
        fresh = dice.random() < 1 / 2
        value = dice.random() * HIGHEST_LIKING
        step = dice.gauss(0, SPREAD)
        for row in some:
            row[shape] = value if fresh else max(0.0, row[shape] + step)
    return changed
