"""The space that a layout leaves: filled with what costs nothing more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from artcheck.pricing.gangs.designs import Design, GangSheet, Placement, check_gang
from artcheck.pricing.layout.lengths import exact
from artcheck.pricing.layout.placing import Box
from artcheck.pricing.sheets import Layout, copies_on_sheet

HASTE_S = 0.01
"""Seconds of search for each free strip: there are many, and a strip holds few copies."""

Free = tuple[float, float, float, float]
"""Top, left, bottom, right of a free rectangle, in inches."""


def sheet_of_copies(layout: Layout, design: Design) -> GangSheet:
    """A layout of one piece as a sheet, so that its leftover space can be filled."""
    placements = tuple(Placement(design, p.row_in, p.col_in, p.rotated) for p in layout.positions)
    return GangSheet(layout.sheet_in, layout.gutter_in, layout.margin_in, placements)


def fill_leftover(sheet: GangSheet, fillers: Sequence[Design]) -> GangSheet:
    """The sheet with as many ``fillers`` in its free strips as go in.

    Parameters
    ----------
    fillers
        In the order of preference; each up to its ``quantity``. Only designs whose inks the sheet
        has already are taken: another ink would cost a plate.

    Returns
    -------
    GangSheet
        The same placements, then the added ones.
    """
    placements = list(sheet.placements)
    for design in fillers:
        if design.inks <= sheet.inks:
            placements += _added(replace(sheet, placements=tuple(placements)), design)
    full = replace(sheet, placements=tuple(placements))
    check_gang(full)
    return full


def _added(sheet: GangSheet, design: Design) -> list[Placement]:
    """Copies of ``design`` in the free rectangle that holds most, then in the next."""
    added: list[Placement] = []
    while len(added) < design.quantity:
        taken = replace(sheet, placements=(*sheet.placements, *added))
        found = max(
            (_in_rectangle(sheet, design, free) for free in _free(taken)), key=len, default=[]
        )
        if not found:
            break
        added += found[: design.quantity - len(added)]
    return added


def _in_rectangle(sheet: GangSheet, design: Design, free: Free) -> list[Placement]:
    top, left, bottom, right = free
    size = (right - left, bottom - top)
    piece = (design.width_in, design.height_in)
    layout = copies_on_sheet(size, piece, sheet.gutter_in, 0, design.rotate, HASTE_S)
    return [Placement(design, top + p.row_in, left + p.col_in, p.rotated) for p in layout.positions]


def _free(sheet: GangSheet) -> list[Free]:
    """The maximal empty rectangles that keep margin and gutter."""
    margin = sheet.margin_in
    width, height = sheet.sheet_in
    free = [(margin, margin, height - margin, width - margin)]
    for placement in sheet.placements:
        box = placement.box
        free = _maximal([part for one in free for part in _around(one, box, sheet.gutter_in)])
    return free


def _around(free: Free, box: Box, gutter: float) -> Iterator[Free]:
    """What a box with its gutter leaves of a free rectangle, as overlapping rectangles."""
    top, left, bottom, right = free
    above, below = box.row_in - gutter, box.row_in + box.height_in + gutter
    before, behind = box.col_in - gutter, box.col_in + box.width_in + gutter
    if above >= bottom or below <= top or before >= right or behind <= left:
        yield free
        return
    parts = (
        (top, left, above, right),
        (below, left, bottom, right),
        (top, left, bottom, before),
        (top, behind, bottom, right),
    )
    yield from (part for part in parts if _is_room(part))


def _is_room(free: Free) -> bool:
    return exact(free[2] - free[0], "height") > 0 and exact(free[3] - free[1], "width") > 0


def _maximal(free: Sequence[Free]) -> list[Free]:
    """Without those that lie inside another."""
    distinct = list(dict.fromkeys(free))
    return [a for a in distinct if not any(a != b and _inside(a, b) for b in distinct)]


def _inside(a: Free, b: Free) -> bool:
    return a[0] >= b[0] and a[1] >= b[1] and a[2] <= b[2] and a[3] <= b[3]
