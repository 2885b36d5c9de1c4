"""All plates in one PDF: each ink a Separation colour space of its own, at exact size."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from artcheck.report.marks import art_box
from artcheck.report.plate_files import PlateFile
from artcheck.report.spot_space import colorants, real, separation_space
from artcheck.report.words import plain
from artcheck.separation.plates import Plates
from artcheck.units import POINTS_PER_INCH

if TYPE_CHECKING:
    import pikepdf


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
    page.obj.TrimBox = pikepdf.Array([real(x) for x in (col0, height - row1, col1, height - row0)])
    overprint = pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, OP=True, op=True, OPM=1)
    spaces, images, steps = pikepdf.Dictionary(), pikepdf.Dictionary(), [b"/Over gs"]
    names = colorants(plate.name for plate in plates.plates)
    for plate, file, name in zip(plates.plates, files, names, strict=True):
        key = f"/P{plate.order}"
        spaces[key] = pdf.make_indirect(separation_space(name, plate.lab))
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
