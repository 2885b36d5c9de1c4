"""What is ganged, where it lies, and the way between inches and whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from artcheck.errors import UsageError
from artcheck.pricing.layout.lengths import (
    Length,
    Size,
    as_integers,
    exact,
    not_negative,
    positive,
)
from artcheck.pricing.layout.mixed import Kind, Piece
from artcheck.pricing.layout.placing import Box, check_boxes

MOST_DESIGNS = 200
"""Designs in one gang: beyond it is a list of names, and those are one design each in no gang."""

MOST_PIECES = 5_000
"""Pieces that a free layout places: some sixty feet of film in business cards."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One design of a gang: its printed size in inches, and how many are wanted.

    ``inks`` are the plates it needs; designs share a spot sheet freely where these are the same.
    """

    name: str
    width_in: Length
    height_in: Length
    quantity: int
    inks: frozenset[str] = field(default_factory=frozenset)
    rotate: bool = True


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy of a design: upper left corner from the sheet's upper left corner, in inches."""

    design: Design
    row_in: float
    col_in: float
    rotated: bool

    @property
    def box(self) -> Box:
        """The rectangle that it covers."""
        width, height = (float(exact(n, "side")) for n in _size(self.design))
        return Box(
            self.row_in, self.col_in, *((height, width) if self.rotated else (width, height))
        )


@dataclass(frozen=True, slots=True)
class GangSheet:
    """One sheet, or one length of roll, with what lies on it."""

    sheet_in: tuple[float, float]
    gutter_in: float
    margin_in: float
    placements: tuple[Placement, ...]

    def copies_of(self, design: Design) -> int:
        """How often ``design`` lies on it."""
        return sum(placement.design == design for placement in self.placements)

    @property
    def inks(self) -> frozenset[str]:
        """All plates that it needs."""
        return frozenset().union(*(placement.design.inks for placement in self.placements))

    @property
    def covered(self) -> float:
        """Share of the sheet that prints cover, 0-1."""
        boxes = [placement.box for placement in self.placements]
        area = self.sheet_in[0] * self.sheet_in[1]
        return sum(box.width_in * box.height_in for box in boxes) / area


def check_gang(sheet: GangSheet) -> None:
    """Hold that the placements keep margin and gutter.

    Raises
    ------
    LayoutFault
        They do not: a bug in artcheck.
    """
    boxes = [placement.box for placement in sheet.placements]
    check_boxes(boxes, sheet.sheet_in, sheet.gutter_in, sheet.margin_in)


class Grid:
    """Designs and sheet in whole numbers, the gutter added once to every size.

    ``room`` is what pieces may cover (width, height); a roll has no height, then it is 0.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        sheet: tuple[Length, Length | None],
        gutter: Length,
        margin: Length,
    ) -> None:
        _check_designs(designs)
        self.designs = tuple(designs)
        self.gutter, self.margin = not_negative(gutter, "gutter"), not_negative(margin, "margin")
        self.sheet = (
            positive(sheet[0], "sheet's width"),
            None if sheet[1] is None else positive(sheet[1], "sheet's height"),
        )
        room = [self._room(self.sheet[0]), self._room(self.sheet[1])]
        sides = [
            positive(side, f"size of {design.name}") + self.gutter
            for design in designs
            for side in _size(design)
        ]
        numbers, self.unit = as_integers([*room, *sides, self.gutter])
        self.room = (numbers[0], numbers[1])
        pairs = zip(numbers[2:-1:2], numbers[3:-1:2], strict=True)
        turns = [design.rotate for design in designs]
        self.kinds = tuple(Kind(w, h, t) for (w, h), t in zip(pairs, turns, strict=True))
        self.counts = tuple(design.quantity for design in designs)
        self._check_fit()

    def _room(self, side: Fraction | None) -> Fraction:
        return (
            Fraction(0) if side is None else max(side - 2 * self.margin, Fraction(0)) + self.gutter
        )

    def _check_fit(self) -> None:
        width, height = self.room
        for design, kind in zip(self.designs, self.kinds, strict=True):
            ways = [(kind.width, kind.height), (kind.height, kind.width)][: 1 + kind.turns]
            if not any(w <= width and (self.sheet[1] is None or h <= height) for w, h in ways):
                self._refuse(design)

    def _refuse(self, design: Design) -> None:
        sides = [f"{float(side):g}" for side in self.sheet if side is not None]
        place = f"sheet of {' x '.join(sides)} in" if self.sheet[1] else f"roll of {sides[0]} in"
        raise UsageError(
            f"{design.name} ({float(design.width_in):g} x {float(design.height_in):g} in) is larger"
            f" than the {place} with its margin of {float(self.margin):g} in. Print it smaller,"
            " or choose another method."
        )

    def _inches(self, units: int) -> float:
        """So many units from the margin, as `float` of the exact fraction, made without one."""
        margin, unit = self.margin, self.unit
        inches = margin.numerator * unit.denominator + units * unit.numerator * margin.denominator
        return inches / (margin.denominator * unit.denominator)

    def length_in(self, top: int) -> float:
        """Length of roll in inches when pieces with their gutter reach ``top``."""
        return float(top * self.unit - self.gutter + 2 * self.margin)

    def sheet_with(self, pieces: Sequence[Piece], length_in: float | None = None) -> GangSheet:
        """The pieces as placements, checked."""
        height = length_in if self.sheet[1] is None else float(self.sheet[1])
        assert height is not None
        sheet = GangSheet(
            sheet_in=(float(self.sheet[0]), height),
            gutter_in=float(self.gutter),
            margin_in=float(self.margin),
            placements=tuple(
                Placement(self.designs[shape.kind], self._inches(y), self._inches(x), shape.turned)
                for x, y, shape in sorted(pieces, key=lambda piece: (piece[1], piece[0]))
            ),
        )
        check_gang(sheet)
        return sheet


def _size(design: Design) -> Size:
    return design.width_in, design.height_in


def _check_designs(designs: Sequence[Design]) -> None:
    if not designs:
        raise UsageError("A gang needs at least one design.")
    if len(designs) > MOST_DESIGNS:
        raise UsageError(
            f"{len(designs)} designs are too many for one gang: {MOST_DESIGNS} at most."
        )
    for design in designs:
        if design.quantity < 1:
            raise UsageError(f"The quantity of {design.name} must be at least 1.")
