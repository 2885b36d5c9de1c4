"""What kind of file it is, told by its bytes and never by its name."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Literal

from artcheck.errors import DamagedArtError, NotArtError, TooLargeArtError
from artcheck.plain import plain
from artcheck.reading.budget import MOST_BYTES

FileKind = Literal["bitmap", "svg", "pdf"]

_BITMAPS = (
    b"\x89PNG\r\n\x1a\n",
    b"\xff\xd8\xff",
    b"GIF87a",
    b"GIF89a",
    b"BM",
    b"II*\x00",
    b"MM\x00*",
    b"II+\x00",
    b"MM\x00+",
    b"8BPS",
)
_GZIP = b"\x1f\x8b"
_SVG = re.compile(rb"<(?:[A-Za-z_][\w.-]*:)?svg[\s>/]")
_PDF_WITHIN = 1024
"""Readers accept a PDF whose header stands within its first 1,024 bytes (ISO 32000-1, annex H)."""


def read_bytes(path: Path) -> bytes:
    """The file's bytes, all of one moment; regular files only, opened without waiting for a writer.

    Raises
    ------
    NotArtError
        It cannot be opened, is not a regular file, or is empty.
    TooLargeArtError
        It is over the byte budget.
    DamagedArtError
        It changed meanwhile: an upload or a copy was not done yet.
    """
    name = plain(path.name or str(path))
    try:
        handle = os.open(
            path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
        )
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or "not a usable name"
        raise NotArtError(f"{name} cannot be opened ({reason}). Check the path.") from None
    try:
        state = os.fstat(handle)
        if not stat.S_ISREG(state.st_mode):
            raise NotArtError(f"{name} is not a regular file. Give the art file itself.")
        if state.st_size > MOST_BYTES:
            raise TooLargeArtError(
                f"{name} has {state.st_size // 1024**2} MB; artcheck reads up to"
                f" {MOST_BYTES // 1024**2} MB. Send it compressed."
            )
        with os.fdopen(handle, "rb", closefd=False) as file:
            data = file.read(state.st_size + 1)  # one more tells that it grew
        after = os.fstat(handle)
    except OSError as fault:
        raise NotArtError(f"{name} cannot be read ({fault.strerror}). Check the disk.") from None
    finally:
        os.close(handle)
    if not data:
        raise NotArtError(f"{name} is empty. Ask for the file again.")
    if len(data) != after.st_size or state.st_mtime_ns != after.st_mtime_ns:
        raise DamagedArtError(
            f"{name} changed while it was read. Wait until it is copied; try again."
        )
    return data


def kind_of(data: bytes, name: str) -> FileKind:
    """The kind of art, by its first bytes.

    Raises
    ------
    NotArtError
        No kind that artcheck reads; the message names it where it is a known other one.
    """
    head = data[:4096]
    if head.startswith(_BITMAPS) or _is_riff_webp(head) or _is_avif(head):
        return "bitmap"
    if b"%PDF-" in head[:_PDF_WITHIN]:
        return "pdf"
    if head.startswith((b"%!PS", b"\xc5\xd0\xd3\xc6")):
        raise NotArtError(f"{name} is PostScript. Export it as PDF or SVG and check that.")
    if head.startswith(_GZIP) or _SVG.search(data[: 64 * 1024]) or _is_utf16_xml(head):
        return "svg"
    raise NotArtError(
        f"{name} is of no kind that artcheck reads. Send PNG, JPEG, WebP, AVIF, TIFF, GIF, BMP,"
        " PSD, SVG or PDF."
    )


def _is_riff_webp(head: bytes) -> bool:
    return head[:4] == b"RIFF" and head[8:12] == b"WEBP"


def _is_avif(head: bytes) -> bool:
    return head[4:8] == b"ftyp" and any(brand in head[8:64] for brand in (b"avif", b"avis"))


def _is_utf16_xml(head: bytes) -> bool:
    return head.startswith((b"\xff\xfe<\x00", b"\xfe\xff\x00<"))
