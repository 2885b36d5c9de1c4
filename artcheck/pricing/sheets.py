"""Copies of one piece on a sheet: the most that fit, where they lie, and whether that is proven."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from artcheck.pricing.layout.alike import pack_alike
from artcheck.pricing.layout.canonical import Placed, Problem
from artcheck.pricing.layout.lengths import Length, Size, as_integers, not_negative, positive
from artcheck.pricing.layout.placing import Box, check_boxes

__all__ = ["Layout", "Position", "check_layout", "copies_on_sheet"]

TIME_BUDGET_S = 0.2
"""Seconds of search for a layout: long enough to prove 99 of 100 everyday cases, short enough
that a slider stays smooth."""

CACHED_LAYOUTS = 4096
"""Layouts kept: a page of what-ifs asks for the same few again and again."""


@dataclass(frozen=True, slots=True)
class Position:
    """Where one copy lies: its upper left corner from the sheet's upper left corner, in inches.

    ``rotated``: turned by 90 degrees, so that it is as wide as the piece is high.
    """

    row_in: float
    col_in: float
    rotated: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """Copies of one piece on one sheet.

    ``upper_bound`` is the number that no layout can exceed; ``proven`` says that ``copies`` is
    the most there is.
    """

    sheet_in: tuple[float, float]
    piece_in: tuple[float, float]
    gutter_in: float
    margin_in: float
    positions: tuple[Position, ...]
    upper_bound: int

    @property
    def copies(self) -> int:
        """Number of pieces on the sheet."""
        return len(self.positions)

    @property
    def proven(self) -> bool:
        """Whether no other layout can hold more."""
        return self.copies == self.upper_bound

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The rectangles that the copies cover."""
        width, height = self.piece_in
        return tuple(
            Box(p.row_in, p.col_in, *((height, width) if p.rotated else (width, height)))
            for p in self.positions
        )


def copies_on_sheet(
    sheet: Size,
    piece: Size,
    gutter: Length = 0,
    margin: Length = 0,
    rotate: bool = True,
    time_budget_s: float = TIME_BUDGET_S,
) -> Layout:
    """The most copies of ``piece`` on ``sheet``.

    Parameters
    ----------
    sheet, piece
        (width, height) in inches.
    gutter
        Inches between two pieces; none is needed at the edge.
    margin
        Inches inside each edge of the sheet that stay empty.
    rotate
        Whether copies may be turned by 90 degrees.
    time_budget_s
        Search time. It is counted in steps, not read from a clock, so that the same call gives the
        same layout everywhere.

    Raises
    ------
    UsageError
        A size that is not positive, a negative gutter or margin, or a piece so small that more
        than 50,000 would fit.
    """
    return _layout(
        (positive(sheet[0], "sheet's width"), positive(sheet[1], "sheet's height")),
        (positive(piece[0], "piece's width"), positive(piece[1], "piece's height")),
        not_negative(gutter, "gutter"),
        not_negative(margin, "margin"),
        rotate,
        time_budget_s,
    )


def check_layout(layout: Layout) -> None:
    """Hold that the copies keep margin and gutter.

    Raises
    ------
    LayoutFault
        They do not: a bug in artcheck.
    """
    check_boxes(layout.boxes, layout.sheet_in, layout.gutter_in, layout.margin_in)


@lru_cache(maxsize=CACHED_LAYOUTS)
def _layout(
    sheet: tuple[Fraction, Fraction],
    piece: tuple[Fraction, Fraction],
    gutter: Fraction,
    margin: Fraction,
    rotate: bool,
    time_budget_s: float,
) -> Layout:
    """The gutter is added once to sheet and piece, which leaves pieces that may touch."""
    room = [side - 2 * margin + gutter for side in sheet]
    sides = [side + gutter for side in piece]
    placed: list[Placed] = []
    most, unit = 0, Fraction(0)
    if min(room) > 0:
        numbers, unit = as_integers([*room, *sides])
        problem = Problem(*numbers)
        placed, most = pack_alike(problem, rotate, time_budget_s)
    layout = Layout(
        sheet_in=(float(sheet[0]), float(sheet[1])),
        piece_in=(float(piece[0]), float(piece[1])),
        gutter_in=float(gutter),
        margin_in=float(margin),
        positions=tuple(
            Position(float(margin + y * unit), float(margin + x * unit), turned)
            for x, y, turned in sorted(placed, key=lambda p: (p[1], p[0]))
        ),
        upper_bound=most,
    )
    check_layout(layout)
    return layout
