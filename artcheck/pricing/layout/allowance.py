"""A search's time, counted in steps so that two runs give the same layout on any machine."""

from __future__ import annotations

STEPS_PER_SECOND = 2_000_000
"""Steps that stand for a second: about what one core of a 2020s office machine does in CPython."""


class SpentError(Exception):
    """The allowance is used up; the search returns what it has."""


class Allowance:
    """Steps left to a search."""

    __slots__ = ("left",)

    def __init__(self, seconds: float, least: int = 0) -> None:
        """Steps for ``seconds``, and no fewer than ``least``."""
        self.left = max(int(seconds * STEPS_PER_SECOND), least)

    def spend(self, steps: int = 1) -> None:
        """Use ``steps``.

        Raises
        ------
        SpentError
            None are left.
        """
        self.left -= steps
        if self.left < 0:
            raise SpentError

    def lend(self, part: float) -> Allowance:
        """An allowance of ``part`` (0-1) of what is left, taken out of it."""
        lent = Allowance(0)
        lent.left = int(self.left * part)
        self.left -= lent.left
        return lent

    def take_back(self, lent: Allowance) -> None:
        """What ``lent`` did not use."""
        self.left += max(lent.left, 0)
