"""The method grid as one page for the wall."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from artcheck.domain.grid import GridCell, GridReport
from artcheck.report.flat_page import GLYPH_WIDTH, Page, Rect, Words, fitted, fitting_size
from artcheck.report.words import plain

A4_LANDSCAPE = (841.89, 595.28)
LETTER_LANDSCAPE = (792.0, 612.0)
"""Paper sizes in points (ISO 216; ANSI Y14.1)."""

PAPERS = {"a4": A4_LANDSCAPE, "letter": LETTER_LANDSCAPE}

_MARGIN = 28.0
_HEAD = 56.0
_COLUMN_HEAD = 18.0
_FOOT_LINE, _FOOT_SIZE = 11.0, 7.5
_FIRST_COLUMN = 74.0
_PAD = 4.0

MOST_ROW_PT, LEAST_ROW_PT = 32.0, 9.5
"""Height of a row: two lines that are read from two metres, or one that is still read close by."""

TWO_LINES_FROM_PT = 20.0
"""Height from which a cell has a second line for the second method."""

MOST_TYPE_PT, LEAST_NAME_PT = 11.0, 6.0
"""Type of the prices; and how small a method's name may become before it is cut instead."""

FILLS = ("#dbe9f6", "#fde3c4", "#dff0d8", "#eadcf0", "#f5d9dc", "#e6e6d0")
"""Ground of a method's cells, by its place in the grid. Its name stands in every cell too, so that
nothing depends on hue."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cells:
    """How every cell is drawn: its size in points, the types in it, each method's name and ground.

    ``price_width`` is kept free for the price, so that names stand in one line down the column.
    """

    width: float
    height: float
    type_pt: float
    name_pt: float
    second_pt: float
    price_width: float
    names: dict[str, str]
    fills: dict[str, str]

    @property
    def two_lines(self) -> bool:
        """Whether there is room for the second method on a line of its own."""
        return self.height >= TWO_LINES_FROM_PT


def grid_page(grid: GridReport, paper: str = "a4") -> Page:
    """Lay the grid out on one page."""
    width, height = PAPERS[paper]
    foot = _foot_lines(grid, width)
    room = height - 2 * _MARGIN - _HEAD - _COLUMN_HEAD - len(foot) * _FOOT_LINE - 8
    row = max(min(room / len(grid.rows), MOST_ROW_PT), LEAST_ROW_PT)
    shown = min(len(grid.rows), int(room / row + 1e-6))
    if shown < len(grid.rows):
        foot[-1] += f" {len(grid.rows) - shown} rows more stand in the JSON."
    parts = [*_head(grid, width), *_table(grid, _cells_of(grid, width, row), shown)]
    top = height - _MARGIN - len(foot) * _FOOT_LINE + 6
    for number, line in enumerate(foot):
        text = fitted(line, width - 2 * _MARGIN, _FOOT_SIZE)
        parts.append(Words(x=_MARGIN, y=top + number * _FOOT_LINE, text=text, size=_FOOT_SIZE))
    return Page(width, height, tuple(parts))


def title_of(grid: GridReport) -> str:
    """What the page is about, in one line."""
    on = " ".join(w for w in (grid.garment_colour, grid.fabric, grid.garment) if w)
    return f"Which method? {grid.width_in:g} x {grid.height_in:g} in" + (f" on {on}" if on else "")


def second_words(cell: GridCell, name: str) -> str:
    """How near the second method is. A margin too small for a whole cent a piece is told in all."""
    if cell.tie:
        return f"as dear: {name}"
    if cell.margin_to_second == 0:
        return f"+{cell.order_margin_to_second} in all {name}"
    return f"+{cell.margin_to_second} {name}"


def _cells_of(grid: GridReport, width: float, row: float) -> _Cells:
    column = (width - 2 * _MARGIN - _FIRST_COLUMN) / len(grid.inks)
    names = {method.id: plain(method.name) for method in grid.methods}
    two_lines = row >= TWO_LINES_FROM_PT
    type_pt = min(MOST_TYPE_PT, row * (0.42 if two_lines else 0.72))
    cells = [cell for line in grid.rows for cell in line.cells if cell]
    price_width = (max(len(f"{c.price_per_piece}") for c in cells) + 1) * type_pt * GLYPH_WIDTH
    seconds = [_second(cell, names) for cell in cells]
    room = column - 2 * _PAD - price_width
    return _Cells(
        width=column,
        height=row,
        type_pt=type_pt,
        name_pt=fitting_size(names.values(), room, type_pt, min(LEAST_NAME_PT, type_pt)),
        second_pt=fitting_size(seconds, column - 2 * _PAD, type_pt * 0.78, LEAST_NAME_PT),
        price_width=price_width,
        names=names,
        fills={name: FILLS[number % len(FILLS)] for number, name in enumerate(names)},
    )


def _head(grid: GridReport, width: float) -> Iterator[Words]:
    title = fitted(plain(title_of(grid)), width - 2 * _MARGIN, 20)
    yield Words(x=_MARGIN, y=_MARGIN + 18, text=title, size=20, bold=True)
    demo = ", an invented demo shop" if grid.demo_prices else ""
    words = f"{grid.shop}{demo}. Price a piece in {grid.currency} at each row's first quantity."
    yield Words(x=_MARGIN, y=_MARGIN + 36, text=plain(words), size=10)


def _table(grid: GridReport, cells: _Cells, shown: int) -> Iterator[Rect | Words]:
    top, left = _MARGIN + _HEAD, _MARGIN + _FIRST_COLUMN
    yield Words(x=_MARGIN, y=top - 5 + _COLUMN_HEAD / 2, text="pieces", size=10, bold=True)
    for number, inks in enumerate(grid.inks):
        x = left + number * cells.width + _PAD
        text = "1 ink" if inks == 1 else f"{inks} inks"
        yield Words(x=x, y=top - 5 + _COLUMN_HEAD / 2, text=text, size=10, bold=True)
    for number, line in enumerate(grid.rows[:shown]):
        y = top + _COLUMN_HEAD + number * cells.height
        text = _quantities(line.from_quantity, line.to_quantity)
        base = _middle(y, cells)
        yield Words(x=_MARGIN, y=base, text=text, size=cells.type_pt, bold=True)
        for place, cell in enumerate(line.cells):
            yield from _cell(cell, cells, left + place * cells.width, y)


def _quantities(first: int, last: int) -> str:
    return f"{first}" if first == last else f"{first}–{last}"


def _middle(y: float, cells: _Cells) -> float:
    """Base line of one line of type in the middle of a row."""
    return y + (cells.height + cells.type_pt * 0.7) / 2


def _cell(cell: GridCell | None, cells: _Cells, x: float, y: float) -> Iterator[Rect | Words]:
    fill = None if cell is None else cells.fills[cell.method]
    yield Rect(x=x, y=y, width=cells.width, height=cells.height, fill=fill, line="#808080")
    if cell is None:
        yield Words(x=x + _PAD, y=_middle(y, cells), text="none suits", size=cells.type_pt)
        return
    base = y + cells.height * 0.46 if cells.two_lines else _middle(y, cells)
    price = f"{cell.price_per_piece}"
    yield Words(x=x + _PAD, y=base, text=price, size=cells.type_pt, bold=True)
    second = _second(cell, cells.names)
    name = cells.names[cell.method]
    text = name if cells.two_lines else f"{name}; {second}"
    room = cells.width - 2 * _PAD - cells.price_width
    text = fitted(text, room, cells.name_pt)
    yield Words(x=x + _PAD + cells.price_width, y=base, text=text, size=cells.name_pt)
    if cells.two_lines:
        small = cells.second_pt
        words = fitted(second, cells.width - 2 * _PAD, small)
        below = y + cells.height * 0.83
        yield Words(x=x + _PAD, y=below, text=words, size=small, colour="#303030")


def _second(cell: GridCell, names: dict[str, str]) -> str:
    return "no other suits" if cell.second is None else second_words(cell, names[cell.second])


def _foot_lines(grid: GridReport, width: float) -> list[str]:
    most = int((width - 2 * _MARGIN) / (_FOOT_SIZE * GLYPH_WIDTH))
    return [line for words in _foot(grid) for line in textwrap.wrap(plain(words), most)]


def _foot(grid: GridReport) -> Iterator[str]:
    for method in grid.methods:
        for caution in method.cautions:
            yield f"{method.name}: {caution}"
    for out in grid.left_out:
        yield f"Not in the grid: {out.name}. {out.why}"
    yield (
        "A row begins where some cheapest method changes, and at usual quantities. Spares are"
        " within. The second line is what a piece would cost more by the next method."
    )
    yield " ".join(grid.assumes)
