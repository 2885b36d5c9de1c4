"""What runs in a process of its own: one order's art becomes plates or film, packed as a zip."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from artcheck.domain.manifest import Manifest
from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.shop import Shop
from artcheck.pipeline import separate
from artcheck.report.job_files import zip_job
from artcheck.report.pictures import Picture, plate_picture, proof_picture
from artcheck.separation.job import SeparationJob


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What is kept of one separation: the job folder packed, and pictures for the page.

    ``plates`` belong to the manifest's inks, in their order. ``folder`` is the name of the folder
    inside ``packed``.
    """

    manifest: Manifest
    method: str
    proof: Picture
    plates: tuple[Picture, ...]
    folder: str
    packed: bytes

    def files(self) -> dict[str, bytes]:
        """The job folder's files by their names in it."""
        with zipfile.ZipFile(io.BytesIO(self.packed)) as zipped:
            inside = len(self.folder) + 1
            return {name[inside:]: zipped.read(name) for name in zipped.namelist()}

    @property
    def size_bytes(self) -> int:
        """What it takes to hold this."""
        pictures = sum(len(one.data) for one in (self.proof, *self.plates))
        return len(self.packed) + pictures


def make(
    tell: Callable[[str], None],
    data: bytes,
    order: Order,
    index: int,
    shop: Shop,
    options: SeparationOptions,
    folder: str,
) -> Made:
    """Separate print ``index`` of the order, whose art is ``data``.

    Raises
    ------
    ArtcheckError
        As `artcheck.pipeline.separate`.
    """
    job = separate(order, shop, options, index=index, data=data, progress=tell)
    tell("writing the job folder")
    manifest, packed = zip_job(job, folder)
    return Made(
        manifest=manifest,
        method=job.method.name,
        proof=proof_picture(job.proof),
        plates=tuple(_plate_pictures(job)),
        folder=folder,
        packed=packed,
    )


def _plate_pictures(job: SeparationJob) -> Iterator[Picture]:
    """One for each ink of the manifest."""
    for plate in job.plates.plates if job.plates else ():
        yield plate_picture(plate.mask.view(np.uint8) * np.uint8(255))
    if job.film is not None:
        yield plate_picture(job.film.white)
