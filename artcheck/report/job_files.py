"""The files of a job folder: plates or film, proof, drawing, and the manifest that lists them."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from artcheck.domain.base import Box
from artcheck.domain.manifest import Manifest, ManifestInk
from artcheck.errors import MissingToolError
from artcheck.report.data import to_json
from artcheck.report.drawing import drawing_pdf, simplified_svg
from artcheck.report.files import JobFolder, write_atomic
from artcheck.report.marks import art_box, with_marks
from artcheck.report.page import render_page
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX, picture_on
from artcheck.report.plate_files import PlateFile, plate_file
from artcheck.report.separations_pdf import separations_pdf
from artcheck.separation.film import Film
from artcheck.separation.job import SeparationJob
from artcheck.separation.plates import Plate, Plates
from artcheck.separation.underbase import UNDERBASE_NAME, WHITE_LAB
from artcheck.version import __version__

REPORT, PAGE = "report.json", "report.html"
PLATES, MANIFEST, PROOF = "plates", "manifest.json", "proof.png"
SEPARATIONS, DRAWING, DRAWING_PDF = "separations.pdf", "simplified.svg", "simplified.pdf"
FILM, FILM_WHITE = "film.png", "film-white.png"

_FLAT_TINTS = f"{DRAWING} shows tints as solid areas: the plates and {SEPARATIONS} hold their dots."


def write_job(job: SeparationJob, folder: Path, *, overwrite: bool = False) -> Manifest:
    """Write the whole job folder, or nothing: report, proof, plates or film, drawing, manifest.

    Raises
    ------
    OutputError
        The folder exists and is not to be replaced, or it cannot be written.
    """
    with JobFolder(folder, overwrite=overwrite) as place:

        def put(name: str, data: bytes) -> None:
            path = place / PurePath(name)
            path.parent.mkdir(exist_ok=True)
            write_atomic(path, data)

        return _filled(put, job)


def zip_job(job: SeparationJob, folder: str) -> tuple[Manifest, bytes]:
    """The same folder as a zip in memory, under the name ``folder``; the same bytes each time."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as zipped:
        manifest = _filled(lambda name, data: add_to_zip(zipped, f"{folder}/{name}", data), job)
    return manifest, packed.getvalue()


def add_to_zip(zipped: zipfile.ZipFile, name: str, data: bytes) -> None:
    """One file without a date, that its owner may read and write and others read."""
    entry = zipfile.ZipInfo(name)
    entry.compress_type = zipped.compression
    entry.external_attr = 0o100644 << 16
    zipped.writestr(entry, data)


Put = Callable[[str, bytes], None]
"""Takes a file of the folder: its name, with ``/`` before a folder's, and its bytes."""


def _filled(put: Put, job: SeparationJob) -> Manifest:
    written = _Written(put, [], [])
    garment = job.report.garment.hex or UNKNOWN_GARMENT_HEX
    picture = picture_on(job.cutout, job.report.garment.hex)
    written.put(REPORT, to_json(job.report).encode())
    written.put(PAGE, render_page(job.report, (picture,)).encode())
    written.put(PROOF, _png(job.proof.on(garment), job.proof.ppi))
    inks = tuple(_write_inks(written, job))
    if job.film is not None:
        inks = _write_film(written, job.film)
    manifest = _manifest(job, inks, written)
    written.put(MANIFEST, to_json(manifest).encode())
    return manifest


@dataclass(frozen=True, slots=True)
class _Written:
    hand_over: Put
    names: list[str]
    warnings: list[str]

    def put(self, name: str, data: bytes) -> None:
        self.hand_over(name, data)
        self.names.append(name)


# --- inks ---------------------------------------------------------------------------------------


def _write_inks(written: _Written, job: SeparationJob) -> Iterator[ManifestInk]:
    plates = job.plates
    if plates is None:
        return
    files: list[PlateFile] = []
    for plate in plates.plates:
        file = plate_file(plate, with_marks(plate, plates), plates.ppi)
        files.append(file)
        written.put(f"{PLATES}/{file.name}", file.tiff)
        yield _ink(plate, file, plates)
    title = f"{PurePath(job.report.artwork.file).stem}: separations"
    written.put(SEPARATIONS, separations_pdf(plates, files, title))
    _write_drawing(written, plates)


def _ink(plate: Plate, file: PlateFile, plates: Plates) -> ManifestInk:
    return ManifestInk(
        order=plate.order,
        name=plate.name,
        hex=plate.hex,
        lab=plate.lab,
        role=plate.role,
        plate=f"{PLATES}/{file.name}",
        area_in2=int(np.count_nonzero(plate.mask)) / plates.ppi**2,
        stock=plate.stock,
    )


def _write_drawing(written: _Written, plates: Plates) -> None:
    svg = simplified_svg(plates)
    written.put(DRAWING, svg.encode())
    if plates.has_dots:
        written.warnings.append(_FLAT_TINTS)
    try:
        written.put(DRAWING_PDF, drawing_pdf(svg))
    except MissingToolError as missing:
        written.warnings.append(str(missing))


# --- film ---------------------------------------------------------------------------------------


def _write_film(written: _Written, film: Film) -> tuple[ManifestInk, ...]:
    """film.png as printed; film-white.png black where white ink lies, as on a plate."""
    rgba = np.dstack((film.rgb, film.alpha))
    written.put(FILM, _png(rgba, film.ppi))
    written.put(FILM_WHITE, _png(np.asarray(cv2.bitwise_not(film.white), np.uint8), film.ppi))
    white = ManifestInk(
        order=1,
        name=UNDERBASE_NAME,
        hex="#ffffff",
        lab=WHITE_LAB,
        role="underbase",
        plate=FILM_WHITE,
        area_in2=float(film.white.sum(dtype=np.uint64)) / 255 / film.ppi**2,
    )
    return (white,)


def _png(pixels: NDArray[np.uint8], ppi: float) -> bytes:
    """A PNG with its resolution (pHYs, pixels per metre) and no date."""
    packed = io.BytesIO()
    Image.fromarray(pixels).save(packed, "PNG", dpi=(ppi, ppi))
    return packed.getvalue()


# --- manifest -----------------------------------------------------------------------------------


def _manifest(job: SeparationJob, inks: tuple[ManifestInk, ...], written: _Written) -> Manifest:
    plates, film, separated = job.plates, job.film, job.separated
    size = film or plates
    assert size is not None
    return Manifest(
        artcheck_version=__version__,
        artwork=job.report.artwork,
        method=job.method.id,
        garment=job.report.garment,
        width_in=size.width_in,
        height_in=size.height_in,
        ppi=size.ppi,
        trap_pt=plates.trap_pt if plates else 0.0,
        choke_pt=size.choke_pt,
        inks=inks,
        art_box_px=_art_box(job),
        loss=separated.loss if separated else None,
        changes=separated.changes if separated else (),
        warnings=(*job.warnings, *written.warnings),
        comparison=job.comparison,
        files=(*sorted(written.names), MANIFEST),
    )


def _art_box(job: SeparationJob) -> Box | None:
    if job.plates is not None:
        return art_box(job.plates)
    if job.film is None:
        return None
    height, width = job.film.alpha.shape
    return 0, 0, height, width
