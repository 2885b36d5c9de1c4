"""Job folders under the workspace: kept, listed, opened again, known by their art.

Each is plain and self-contained: report.html, report.json, the customer's art, the plates and
papers where they were made, and job.json, which holds the order. A folder is found by comparing
names, never by joining a name from outside.
"""

from __future__ import annotations

import hashlib
import io
import re
import stat
import threading
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from artcheck.domain.base import Record
from artcheck.domain.check import OrderReport
from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.report.data import to_json
from artcheck.report.files import JobFolder, write_atomic
from artcheck.report.job_files import add_to_zip
from artcheck.report.page import render_order_page, render_page
from artcheck.report.pictures import laid_on
from artcheck.web.asking import Asked
from artcheck.web.likeness import alike
from artcheck.web.plating import Made
from artcheck.web.worker import Seen

JOB_NAME = "job.json"
MOST_JOB_BYTES = 4 * 1024**2
"""A job.json beyond this is none of ours: an order takes a few kilobytes."""

MOST_SLUG = 60
MOST_JOBS = 1_000
"""Job folders looked at: a workspace with more wants sorting into several."""


class KeptArt(Record):
    """One print's art inside the folder."""

    file: Annotated[str, Field(pattern=r"^art-[0-9]+\.[a-z]+$")]
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    likeness: Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]


class KeptJob(Record):
    """What job.json holds. A print's ``art`` is the customer's name for the file."""

    written_by: str = "artcheck"
    headline: str
    order: Order
    arts: tuple[KeptArt, ...]
    wishes: tuple[SeparationOptions, ...] = ()


class Folders:
    """The workspace. It is made when the first job is kept."""

    def __init__(self, workspace: Path) -> None:
        """Name the place; nothing is touched yet."""
        self.workspace = workspace
        self._keeping = threading.Lock()  # a name that is free for one job is not for another

    def keep(
        self,
        asked: Asked,
        report: OrderReport,
        files: Sequence[bytes],
        made: Mapping[int, Made],
        papers: Mapping[str, bytes],
    ) -> str:
        """Write a job folder, with the plates and papers that are made; its name.

        The plates of a single print lie in the folder itself, as `artcheck separate` writes them;
        those of several in a folder for each.

        Raises
        ------
        OutputError
            The workspace cannot be written.
        """
        self._make_workspace()
        arts = tuple(
            _kept_art(n, *pair) for n, pair in enumerate(zip(asked.seen, files, strict=True), 1)
        )
        headline = report.prints[0].recommendation.headline
        job = KeptJob(headline=headline, order=asked.order, arts=arts, wishes=asked.wishes)
        held = _report_files(asked, report) | dict(_plate_files(len(arts), made)) | dict(papers)
        held |= {art.file: data for art, data in zip(arts, files, strict=True)}
        with self._keeping:
            name = self._free_name(asked.order)
            with JobFolder(self.workspace / name) as folder:
                for file, data in {
                    **held,
                    JOB_NAME: job.model_dump_json(indent=1).encode(),
                }.items():
                    (folder / file).parent.mkdir(parents=True, exist_ok=True)
                    write_atomic(folder / file, data)
        return name

    def jobs(self) -> dict[str, KeptJob]:
        """Every sound job folder by its name, the newest first."""
        return {path.name: job for path in self._paths() if (job := _read_job(path)) is not None}

    def art(self, name: str, kept: KeptArt) -> bytes | None:
        """A job's art; None where it is gone or another than was kept."""
        data = self.file(name, kept.file)
        sound = data is not None and hashlib.sha256(data).hexdigest() == kept.digest
        return data if sound else None

    def file(self, name: str, file: str) -> bytes | None:
        """A file of a job folder; links are not followed."""
        path = next((p for p in self._paths() if p.name == name), None)
        if path is None:
            return None
        for inner in path.iterdir():
            if inner.name == file and inner.is_file() and not inner.is_symlink():
                return inner.read_bytes()
        return None

    def zipped(self, name: str) -> bytes | None:
        """The whole folder as a zip, the same bytes each time."""
        path = next((p for p in self._paths() if p.name == name), None)
        if path is None:
            return None
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as zipped:
            for inner in sorted(path.rglob("*")):
                # A backslash divides folders where the zip may be unpacked.
                shown = not inner.name.startswith(".") and "\\" not in str(inner.relative_to(path))
                if shown and inner.is_file() and not inner.is_symlink():
                    within = f"{name}/{inner.relative_to(path).as_posix()}"
                    add_to_zip(zipped, within, inner.read_bytes())
        return packed.getvalue()

    def like(self, digest: str, likeness: int) -> Iterator[tuple[str, KeptJob, bool]]:
        """Jobs with the same art: (name, job, whether it is the very same file)."""
        for name, job in self.jobs().items():
            same = any(art.digest == digest for art in job.arts)
            if same or any(alike(int(art.likeness, 16), likeness) for art in job.arts):
                yield name, job, same

    # --- the workspace --------------------------------------------------------------------------

    def _make_workspace(self) -> None:
        from artcheck.errors import OutputError

        try:
            self.workspace.mkdir(exist_ok=True)
        except OSError as fault:
            reason = fault.strerror or str(fault)
            raise OutputError(
                f"The workspace {self.workspace} cannot be made ({reason}). Choose another with"
                " --workspace."
            ) from None

    def _paths(self) -> list[Path]:
        if not self.workspace.is_dir():
            return []
        folders = [
            path
            for path in self.workspace.iterdir()
            if not path.name.startswith(".") and not path.is_symlink() and path.is_dir()
        ]
        newest = sorted(folders, key=lambda path: (-path.stat().st_mtime_ns, path.name))
        return newest[:MOST_JOBS]

    def _free_name(self, order: Order) -> str:
        base = slug(order.name or order.customer or Path(order.prints[0].art).stem)
        taken = {path.name for path in self.workspace.iterdir()}
        names = (base if n == 1 else f"{base}-{n}" for n in range(1, len(taken) + 2))
        return next(name for name in names if name not in taken)


def slug(text: str) -> str:
    """A folder name out of anything: small letters, figures and hyphens.

    >>> slug("../Owl Parish Fair!")
    'owl-parish-fair'
    """
    words = re.findall(r"[a-z0-9]+", text.lower())
    return "-".join(words)[:MOST_SLUG].strip("-") or "job"


def _read_job(path: Path) -> KeptJob | None:
    try:
        file = path / JOB_NAME
        state = file.lstat()
        if not stat.S_ISREG(state.st_mode) or state.st_size > MOST_JOB_BYTES:
            return None
        return _as_it_stands(file, (state.st_ino, state.st_mtime_ns, state.st_size))
    except (OSError, ValidationError):
        return None


@lru_cache(maxsize=MOST_JOBS)
def _as_it_stands(file: Path, state: tuple[int, int, int]) -> KeptJob:  # noqa: ARG001 - the key
    """A job file in one state (its number on the disk, time and size): read once, not at each look.

    The page lists the jobs in every answer.
    """
    return KeptJob.model_validate_json(file.read_bytes())


def _report_files(asked: Asked, report: OrderReport) -> dict[str, bytes]:
    pictures = [
        laid_on(art.picture, one.garment.hex)
        for art, one in zip(asked.seen, report.prints, strict=True)
    ]
    single = report.prints[0] if len(report.prints) == 1 else None
    page = render_page(single, pictures) if single else render_order_page(report, pictures)
    return {"report.json": to_json(single or report).encode(), "report.html": page.encode()}


def _plate_files(prints: int, made: Mapping[int, Made]) -> Iterator[tuple[str, bytes]]:
    for index, one in sorted(made.items()):
        place = "" if prints == 1 else f"print-{index + 1}/"
        for name, data in one.files().items():
            yield f"{place}{name}", data


def _kept_art(number: int, seen: Seen, data: bytes) -> KeptArt:
    return KeptArt(
        file=f"art-{number}.{_ending(data)}",
        digest=hashlib.sha256(data).hexdigest(),
        likeness=f"{seen.likeness:016x}",
    )


_ENDINGS = (
    (b"\x89PNG", "png"),
    (b"\xff\xd8\xff", "jpg"),
    (b"GIF8", "gif"),
    (b"BM", "bmp"),
    (b"II", "tif"),
    (b"MM", "tif"),
    (b"8BPS", "psd"),
    (b"RIFF", "webp"),
    (b"\x1f\x8b", "svgz"),
)


def _ending(data: bytes) -> str:
    """What other programs expect at the end of such a file's name."""
    known = next((ending for start, ending in _ENDINGS if data.startswith(start)), None)
    if known:
        return known
    if b"%PDF-" in data[:1024]:
        return "pdf"
    return "avif" if data[4:8] == b"ftyp" else "svg"
