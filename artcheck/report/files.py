"""Writes that are whole or not there: temporary file or folder, fsync, rename."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from pathlib import Path
from types import TracebackType

from artcheck.errors import OutputError

_MARK = ".artcheck-"
"""Start of temporary names: hidden, and told from anybody's files."""


def write_atomic(path: Path, data: bytes) -> None:
    """Put ``data`` at ``path`` so that a reader sees the old content or the new, never a part.

    Raises
    ------
    OutputError
        The disk is full, the folder missing or not writable; nothing is left behind.
    """
    temporary: Path | None = None
    try:
        handle, made = tempfile.mkstemp(prefix=_MARK, dir=path.parent)
        temporary = Path(made)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
        _sync_folder(path.parent)
    except BaseException as fault:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink()
        if isinstance(fault, OSError):
            raise OutputError(_cannot(path, fault)) from None
        raise


def check_writable_file(path: Path) -> None:
    """Find out before the long work whether a file can be written there.

    Raises
    ------
    OutputError
        It is a folder, its folder is missing, or nothing may be written in it.
    """
    if path.is_dir():
        raise OutputError(f"{path} is a folder. Name a file to write.")
    _check_folder(path.parent, path)


class JobFolder:
    """A folder that appears under its name only when everything in it is written.

    Used as a context: gives a temporary folder beside the final one and renames it at the end;
    after an error nothing is left. An existing folder is replaced only where that was asked for,
    and only when the new one is whole.
    """

    def __init__(self, path: Path, *, overwrite: bool = False) -> None:
        """Look at the place.

        Raises
        ------
        OutputError
            It exists (and is not to be replaced), is no folder, or cannot be written.
        """
        self.path = path.absolute()
        self._temporary: Path | None = None
        if self.path.exists() and not self.path.is_dir():
            raise OutputError(f"{path} is a file. Name a folder to write into.")
        if self.path.exists() and any(self.path.iterdir()) and not overwrite:
            raise OutputError(f"{path} exists. Choose another folder, or add --overwrite.")
        _check_folder(self.path.parent, self.path)

    def __enter__(self) -> Path:
        try:
            made = tempfile.mkdtemp(prefix=_MARK, dir=self.path.parent)
        except OSError as fault:
            raise OutputError(_cannot(self.path, fault)) from None
        self._temporary = Path(made)
        return self._temporary

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        assert self._temporary is not None
        try:
            if kind is None:
                self._put_in_place(self._temporary)
        except OSError as fault:
            raise OutputError(_cannot(self.path, fault)) from None
        finally:
            shutil.rmtree(self._temporary, ignore_errors=True)

    def _put_in_place(self, made: Path) -> None:
        made.chmod(0o777 & ~_umask())
        _sync_folder(made)
        old: Path | None = None
        if self.path.exists():
            old = Path(tempfile.mkdtemp(prefix=_MARK, dir=self.path.parent)) / "old"
            self.path.rename(old)
        try:
            made.rename(self.path)
        except OSError:
            if old is not None:
                old.rename(self.path)
            raise
        finally:
            if old is not None:
                shutil.rmtree(old.parent, ignore_errors=True)
        _sync_folder(self.path.parent)


def _check_folder(folder: Path, wanted: Path) -> None:
    if not folder.is_dir():
        raise OutputError(f"{wanted} cannot be written: {folder} is no folder. Make it first.")
    try:
        handle, probe = tempfile.mkstemp(prefix=_MARK, dir=folder)
        os.close(handle)
        Path(probe).unlink()
    except OSError as fault:
        raise OutputError(_cannot(wanted, fault)) from None


def _cannot(path: Path, fault: OSError) -> str:
    reason = fault.strerror or str(fault)
    return f"{path} cannot be written ({reason}). Choose another place or make room."


def _umask() -> int:
    """The process's umask, which can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _sync_folder(folder: Path) -> None:
    """Make a rename last through a power cut, where the system lets a folder be synced."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
