"""All plates in one PDF: each ink a Separation colour space of its own, at exact size."""

from __future__ import annotations

import io
import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from artcheck.report.marks import art_box
from artcheck.report.plate_files import PlateFile
from artcheck.report.words import plain
from artcheck.separation.plates import Plate, Plates
from artcheck.units import POINTS_PER_INCH

if TYPE_CHECKING:
    import pikepdf

_D50_WHITE = (0.9642, 1.0, 0.8249)
"""ICC.1:2010 profile connection space illuminant, as a PDF's Lab space wants it."""

_RESERVED = {"all", "none", "cyan", "magenta", "yellow", "black"}
"""Colorants with a meaning of their own (ISO 32000-1, 8.6.6.4): a spot ink must not be called so,
or it would land on a process plate."""

_DECIMALS = 6


def separations_pdf(plates: Plates, files: Sequence[PlateFile], title: str) -> bytes:
    """One page; every plate an image mask in its ink, overprinting those before it.

    The page is the plates' size with marks; its trim box is the art. No dates and a file
    identifier made from the content: the same plates give the same bytes.
    """
    import pikepdf

    pdf = pikepdf.new()
    scale = POINTS_PER_INCH / plates.ppi
    height, width = files[0].height_px * scale, files[0].width_px * scale
    page = pdf.add_blank_page(page_size=(width, height))
    row0, col0, row1, col1 = (x * scale for x in art_box(plates))
    page.obj.TrimBox = pikepdf.Array([_real(x) for x in (col0, height - row1, col1, height - row0)])
    overprint = pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, OP=True, op=True, OPM=1)
    spaces, images, steps = pikepdf.Dictionary(), pikepdf.Dictionary(), [b"/Over gs"]
    names = colorants(plates.plates)
    for plate, file, name in zip(plates.plates, files, names, strict=True):
        key = f"/P{plate.order}"
        spaces[key] = pdf.make_indirect(_space(plate, name))
        images[key] = _image(pdf, file)
        step = f"q {key} cs 1 scn {width:.6f} 0 0 {height:.6f} 0 0 cm {key} Do Q"
        steps.append(step.encode())
    page.obj.Resources = pikepdf.Dictionary(
        ColorSpace=spaces, XObject=images, ExtGState=pikepdf.Dictionary(Over=overprint)
    )
    page.obj.Contents = pdf.make_stream(b"\n".join(steps))
    with pdf.open_metadata(set_pikepdf_as_editor=False) as meta:
        meta["dc:title"] = plain(title)
        meta["pdf:Producer"] = "artcheck"
    packed = io.BytesIO()
    pdf.save(packed, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return packed.getvalue()


def colorants(plates: Sequence[Plate]) -> list[str]:
    """The inks' names as the PDF holds them: no two alike, or their plates would be one."""
    names: list[str] = []
    for plate in plates:
        name = plain(plate.name)
        name = f"{name} ink" if name.lower() in _RESERVED else name
        others = (name if n == 1 else f"{name} {n}" for n in itertools.count(1))
        names.append(next(other for other in others if other not in names))
    return names


def _space(plate: Plate, name: str) -> pikepdf.Array:
    """A Separation space; where the ink is missing, Lab shows it, straight from paper white."""
    import pikepdf

    lab = pikepdf.Array(
        [
            pikepdf.Name.Lab,
            pikepdf.Dictionary(
                WhitePoint=[_real(x) for x in _D50_WHITE], Range=[-128, 127, -128, 127]
            ),
        ]
    )
    tint = pikepdf.Dictionary(
        FunctionType=2,
        Domain=[0, 1],
        C0=[100, 0, 0],
        C1=[_real(x) for x in plate.lab],
        N=1,
    )
    return pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name(f"/{name}"), lab, tint])


def _image(pdf: pikepdf.Pdf, file: PlateFile) -> pikepdf.Stream:
    """The plate's Group 4 data as it lies in its TIFF, as a stencil: 0 paints."""
    import pikepdf

    return pikepdf.Stream(
        pdf,
        file.strip,
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Image,
        Width=file.width_px,
        Height=file.height_px,
        ImageMask=True,
        BitsPerComponent=1,
        Decode=[0, 1],
        Interpolate=False,
        Filter=pikepdf.Name.CCITTFaxDecode,
        DecodeParms=pikepdf.Dictionary(
            K=-1, Columns=file.width_px, Rows=file.height_px, BlackIs1=True, EndOfBlock=True
        ),
    )


def _real(value: float) -> Any:
    from decimal import Decimal

    return Decimal(f"{value:.{_DECIMALS}f}")
