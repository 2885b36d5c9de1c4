"""The simplified version as a drawing: SVG, and PDF and EPS made from it."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from artcheck.errors import MissingToolError
from artcheck.report.words import plain
from artcheck.separation.plates import Plates
from artcheck.separation.tracing import handles, outlines

_DECIMALS = 2
"""A hundredth of a plate's pixel."""


def simplified_svg(plates: Plates) -> str:
    """Every ink's outlines in order of printing, at exact size, in pixels of the plates.

    Tints are drawn as solid areas. The underbase is left out: on a screen it lies under ink.
    """
    height, width = plates.shape
    size = f'width="{width / plates.ppi:.6g}in" height="{height / plates.ppi:.6g}in"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {width} {height}">'
    lines = [head]
    for plate in plates.plates:
        if plate.role == "ink":
            lines.append(f'<g id="ink-{plate.order}" fill={quoteattr(plate.hex)}>')
            lines.append(f"<title>{escape(plain(plate.name))}</title>")
            lines.append(f'<path fill-rule="evenodd" d="{path_of(plate.flat)}"/>')
            lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def path_of(mask: NDArray[np.bool_]) -> str:
    """The path data of one plate, to be filled by the even-odd rule."""
    return "".join(_closed_path(*outline) for outline in outlines(mask))


def _closed_path(points: NDArray[np.float64], is_corner: NDArray[np.bool_]) -> str:
    leaving, arriving = handles(points, is_corner)
    ends = np.roll(points, -1, axis=0)
    straight = is_corner & np.roll(is_corner, -1)
    curves = np.hstack((leaving, arriving, ends)).round(_DECIMALS).tolist()
    return "".join(_steps(points[0].round(_DECIMALS).tolist(), curves, straight.tolist()))


def _steps(start: list[float], curves: list[list[float]], straight: list[bool]) -> Iterator[str]:
    yield f"M{start[0]:g} {start[1]:g}"
    for curve, line in zip(curves, straight, strict=True):
        if line:
            yield f"L{curve[4]:.7g} {curve[5]:.7g}"
        else:
            yield "C" + " ".join(f"{value:.7g}" for value in curve)
    yield "Z"


_CREATED = re.compile(rb"^%%CreationDate:.*\n", re.MULTILINE)


def drawing_pdf(svg: str) -> bytes:
    """The drawing as PDF, without dates.

    Raises
    ------
    MissingToolError
        The system has no Cairo library.
    """
    import pikepdf

    made = _by_cairo("svg2pdf", svg)
    packed = io.BytesIO()
    with pikepdf.open(io.BytesIO(made)) as document:
        del document.docinfo
        document.save(packed, deterministic_id=True)
    return packed.getvalue()


def drawing_eps(svg: str) -> bytes:
    """The drawing as EPS, without dates; raises as `drawing_pdf`."""
    return _CREATED.sub(b"", _by_cairo("svg2eps", svg))


def _by_cairo(function: str, svg: str) -> bytes:
    try:
        import cairosvg
    except OSError:
        raise MissingToolError(
            "The drawing cannot be written as PDF and EPS: the Cairo library is not installed."
            " On Debian: apt-get install libcairo2"
        ) from None
    made: bytes = getattr(cairosvg, function)(bytestring=svg.encode())
    return made
