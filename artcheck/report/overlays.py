"""Where in the art: every place behind a finding, and a transparent picture that outlines them.

A finding names one place, the worst; a designer who repairs the art wants them all. The limits are
those that the report's findings met, so what is outlined is what was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from artcheck.domain.base import Box
from artcheck.domain.check import Report
from artcheck.domain.measurements import Measurements, Sized
from artcheck.report.words import chosen_method

if TYPE_CHECKING:
    from artcheck.report.pictures import Picture

MarkKind = Literal["thin line", "narrow gap", "speck", "fade", "soft rim", "design"]

MARKED_BY: dict[str, MarkKind] = {
    "line-thin": "thin line",
    "line-test-first": "thin line",
    "gap-narrow": "narrow gap",
    "specks": "speck",
    "fade-on-spot": "fade",
    "soft-edges": "soft rim",
}
"""Which finding asks for which marks."""

OUTLINE_PX = 2
"""Width of the light line; a dark one as wide lies around it, so that both show on any art."""

SMALLEST_SIDE_PX = 11
"""A mark no smaller than this is found by eye on a page."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in the art, in pixels of the file."""

    kind: MarkKind
    where: Box


def marks_of(measured: Measurements, report: Report) -> tuple[Mark, ...]:
    """Every place behind the findings on the recommended method; on any, where none is.

    Lines, gaps and specks are marked up to the limit that the finding met; separate designs are
    always marked.
    """
    sized = measured.at(report.printed.width_in)
    limits = _limits(report)
    found = (mark for kind, limit in limits.items() for mark in _places(kind, limit, sized))
    designs = (Mark("design", group.where) for group in measured.groups)
    return (*found, *designs)


def _limits(report: Report) -> dict[MarkKind, float]:
    """The widest limit that a finding of each kind met; infinite where it names no figure."""
    chosen = chosen_method(report)
    methods = report.methods if chosen is None else (chosen,)
    limits: dict[MarkKind, float] = {}
    for finding in (finding for method in methods for finding in method.findings):
        kind = MARKED_BY.get(finding.id)
        if kind is not None:
            limit = finding.evidence.limit
            figure = float(limit) if isinstance(limit, int | float) else float("inf")
            limits[kind] = max(limits.get(kind, 0.0), figure)
    return limits


def _places(kind: MarkKind, limit_pt: float, sized: Sized) -> Iterator[Mark]:
    detail, measured = sized.measured.detail, sized.measured
    sizes: dict[MarkKind, Sequence[tuple[float, Box]]] = {
        "thin line": [(line.width_px, line.where) for line in detail.lines],
        "narrow gap": [(gap.width_px, gap.where) for gap in detail.gaps],
        "speck": [(part.size_px, part.where) for part in detail.small_parts],
        "fade": [(0.0, where) for where in measured.tone.fade_places],
        "soft rim": [(0.0, where) for where in measured.edges.places],
    }
    for size_px, where in sizes[kind]:
        if sized.pt(size_px) < limit_pt:
            yield Mark(kind, where)


def overlay(picture: Picture, marks: Sequence[Mark]) -> bytes:
    """A transparent PNG as large as ``picture`` that outlines the marks which lie in it."""
    import cv2
    import numpy as np

    drawn = np.zeros((picture.height_px, picture.width_px, 4), np.uint8)
    boxes = [box for mark in marks if (box := _in_picture(picture, mark.where)) is not None]
    for shade, grow in ((0, OUTLINE_PX), (255, 0)):
        for left, top, right, bottom in boxes:
            cv2.rectangle(
                drawn,
                (left - grow, top - grow),
                (right + grow, bottom + grow),
                (shade, shade, shade, 255),
                OUTLINE_PX,
            )
    return bytes(cv2.imencode(".png", drawn, (cv2.IMWRITE_PNG_COMPRESSION, 9))[1])


def _in_picture(picture: Picture, where: Box) -> tuple[int, int, int, int] | None:
    """Left, top, right, bottom in the picture's pixels, at least `SMALLEST_SIDE_PX` a side."""
    row0, col0, row1, col1 = picture.frame
    if where[2] <= row0 or where[0] >= row1 or where[3] <= col0 or where[1] >= col1:
        return None
    across = picture.width_px / (col1 - col0)
    down = picture.height_px / (row1 - row0)
    left, right = _at_least((where[1] - col0) * across, (where[3] - col0) * across)
    top, bottom = _at_least((where[0] - row0) * down, (where[2] - row0) * down)
    return left, top, right, bottom


def _at_least(first: float, last: float) -> tuple[int, int]:
    """A stretch widened about its middle to `SMALLEST_SIDE_PX`."""
    middle, half = (first + last) / 2, max(last - first, SMALLEST_SIDE_PX) / 2
    return round(middle - half), round(middle + half)
