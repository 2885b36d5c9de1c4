"""The grid command: which method for which quantity and how many inks."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from artcheck.cli.lengths import length_in
from artcheck.cli.output import STDOUT
from artcheck.domain.grid import GridReport
from artcheck.domain.order import LARGEST_PRINT_IN, SMALLEST_PRINT_IN, Garment
from artcheck.errors import UsageError


@dataclass(frozen=True, slots=True, kw_only=True)
class GridAsked:
    """The grid's part of the command line, as typed."""

    width: str
    height: str | None
    garment: str | None
    garment_colour: str | None
    fabric: str | None
    paper: str


def run_grid(
    asked: GridAsked,
    *,
    shop_file: Path | None,
    json_to: str | None,
    out: Path | None,
    overwrite: bool,
) -> None:
    """Make the grid and write it where it was asked for.

    Raises
    ------
    ArtcheckError
        Every input and output is looked at before the work begins.
    """
    from artcheck.pipeline.grid import method_grid
    from artcheck.report.data import to_json
    from artcheck.report.files import check_writable_file, write_atomic
    from artcheck.report.grid_page import PAPERS
    from artcheck.shop import load_shop

    if asked.paper not in PAPERS:
        raise UsageError(f"The paper '{asked.paper}' is not known. Choose {' or '.join(PAPERS)}.")
    if out is not None and out.suffix.lower() not in SUFFIXES:
        raise UsageError(f"{out} is none of {', '.join(SUFFIXES)}. Name a file that ends so.")
    for path in (out, Path(json_to) if json_to not in (None, STDOUT) and json_to else None):
        if path is not None:
            check_writable_file(path, overwrite=overwrite)
    width = _side(asked.width, "width")
    height = width if asked.height is None else _side(asked.height, "height")
    grid = method_grid(width, height, _garment(asked), load_shop(shop_file))
    if out is not None:
        write_atomic(out, _drawn(grid, out.suffix.lower(), asked.paper), overwrite=overwrite)
    if json_to == STDOUT:
        sys.stdout.write(to_json(grid))
        return
    if json_to is not None:
        write_atomic(Path(json_to), to_json(grid).encode(), overwrite=overwrite)
    _show(grid, out)


SUFFIXES = (".pdf", ".svg", ".png")
"""Kinds of picture, by the file's ending."""

_PNG_PX = 2000
"""Width of the grid as a PNG: readable on any screen."""


def _side(text: str, what: str) -> float:
    side = length_in(text, what)
    if not SMALLEST_PRINT_IN <= side <= LARGEST_PRINT_IN:
        raise UsageError(
            f"The {what} of {side:g} in is no print's: give {SMALLEST_PRINT_IN:g} to"
            f" {LARGEST_PRINT_IN:g} in."
        )
    return side


def _garment(asked: GridAsked) -> Garment:
    try:
        return Garment(kind=asked.garment, colour=asked.garment_colour, fabric=asked.fabric)
    except ValidationError as faults:
        raise UsageError(f"The garment cannot be used: {faults.errors()[0]['msg']}.") from None


def _drawn(grid: GridReport, suffix: str, paper: str) -> bytes:
    from artcheck.report.flat_page import to_pdf, to_png, to_svg
    from artcheck.report.grid_page import grid_page, title_of

    page = grid_page(grid, paper)
    if suffix == ".svg":
        return to_svg(page).encode()
    pdf = to_pdf(page, title_of(grid))
    return pdf if suffix == ".pdf" else to_png(pdf, _PNG_PX)


def _show(grid: GridReport, out: Path | None) -> None:
    from rich.console import Console

    from artcheck.report.grid_text import render_grid_text

    console = Console(highlight=False)
    render_grid_text(grid, console)
    if out is not None:
        console.print(f"\nFor the wall: {out}", markup=False)
