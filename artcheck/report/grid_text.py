"""The method grid on a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.domain.grid import GridCell, GridReport
from artcheck.report.grid_page import second_words, title_of
from artcheck.report.words import plain

_GAP = 2
"""Spaces between columns."""


def render_grid_text(grid: GridReport, console: Console) -> None:
    """Print the grid: a line for each row of quantities, a column for each number of inks.

    Columns that the terminal has no room for stand in a table below, so that no name is cut.
    """
    console.print(Text(plain(title_of(grid)), style="bold"))
    words = f"Price a piece in {grid.currency}; below it how much more the second costs."
    console.print(Text(words))
    for places in _blocks(grid, console.width):
        console.print()
        console.print(_table(grid, places))
    console.print()
    for line in _notes(grid):
        console.print(Text(plain(line)))
    for words in grid.assumes:
        console.print(Text(plain(words), style="dim"))
    if grid.demo_prices:
        words = f"Prices are the invented demo list of {grid.shop}."
        console.print(Text(plain(words), style="dim"))


def _blocks(grid: GridReport, width: int) -> Iterator[Sequence[int]]:
    """Places of the columns that stand side by side."""
    lines = (line for row in grid.rows for cell in row.cells for line in _lines(cell))
    column = max(len(line) for line in lines) + _GAP
    first = max(len(_quantities(*_ends(grid, n))) for n in range(len(grid.rows))) + _GAP
    fit = max((width - first) // column, 1)
    for start in range(0, len(grid.inks), fit):
        yield range(start, min(start + fit, len(grid.inks)))


def _table(grid: GridReport, places: Sequence[int]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, _GAP, 0, 0), header_style="dim")
    table.add_column("pieces", justify="right", no_wrap=True)
    for place in places:
        inks = grid.inks[place]
        table.add_column("1 ink" if inks == 1 else f"{inks} inks", no_wrap=True)
    for number, row in enumerate(grid.rows):
        cells = (Text("\n".join(_lines(row.cells[place]))) for place in places)
        table.add_row(_quantities(*_ends(grid, number)), *cells)
    return table


def _ends(grid: GridReport, number: int) -> tuple[int, int]:
    return grid.rows[number].from_quantity, grid.rows[number].to_quantity


def _quantities(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}-{last}"


def _lines(cell: GridCell | None) -> tuple[str, ...]:
    """Method and price, then the second method, by their ids."""
    if cell is None:
        return ("none suits",)
    first = plain(f"{cell.price_per_piece} {cell.method}")
    return (first,) if cell.second is None else (first, plain(second_words(cell, cell.second)))


def _notes(grid: GridReport) -> Iterator[str]:
    for method in grid.methods:
        yield f"{method.id}: {method.name}"
        yield from (f"  {caution}" for caution in method.cautions)
    for out in grid.left_out:
        yield f"{out.method}: {out.name}, left out: {out.why}"
