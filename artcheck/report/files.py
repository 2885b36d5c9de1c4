"""Writes that are whole or not there: a temporary name beside the final one, fsync, rename.

A process killed in the middle leaves the old content, the new, or nothing under the final name;
at worst a hidden leftover whose name starts with ``.artcheck-``.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import IO

from artcheck.errors import OutputError

_TEMPORARY = ".artcheck-"
"""Start of temporary names: hidden, and told from anybody's files."""

LIST_NAME = ".artcheck-files.json"
"""In every job folder: which files artcheck wrote, so that it never deletes another's."""


def write_atomic(path: Path, data: bytes, *, overwrite: bool = True) -> None:
    """Put ``data`` at ``path`` so that a reader sees the old content or the new, never a part.

    Without ``overwrite`` a file of that name stays, even one that came there a moment ago.

    Raises
    ------
    OutputError
        It is no regular file, its folder is missing or not writable, the disk is full, it exists
        and is not to be replaced. Nothing is left behind.
    """
    shown = path
    with told(path):
        _check_regular(path)
        path = path.resolve()
        temporary = _temporary_in(path.parent)
        try:
            _write_synced(temporary, data)
            if overwrite:
                temporary.replace(path)
            else:
                _put_new(temporary, path, shown)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise
        _sync(path.parent)


@contextlib.contextmanager
def atomic_file(path: Path) -> Iterator[IO[bytes]]:
    """`write_atomic` for what is too long to hold: write into the file that this gives.

    Raises
    ------
    OutputError
        As `write_atomic`. After any error the old content stays.
    """
    with told(path):
        _check_regular(path)
        path = path.resolve()
        temporary = _temporary_in(path.parent)
        try:
            with temporary.open("xb") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(path)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise
        _sync(path.parent)


def check_writable_file(path: Path, *, overwrite: bool = True) -> None:
    """Find out before the long work whether a file can be written there.

    Raises
    ------
    OutputError
        It is a folder or a device, it exists and is not to be replaced, its folder is missing, or
        nothing may be written in it.
    """
    with told(path):
        _check_regular(path)
        if path.exists() and not overwrite:
            raise _exists(path)
        _check_can_make(path.resolve())


def writable_folder(path: Path, *, overwrite: bool = False) -> Path:
    """Find out before the long work whether a job folder can be made there; its real path.

    An existing folder may be used when it is empty, or when ``overwrite`` says so and artcheck
    wrote everything in it.

    Raises
    ------
    OutputError
        It exists and is not to be replaced, holds files of somebody else, is a file, or its parent
        is missing or not writable.
    """
    with told(path):
        real = path.resolve()
        if real.exists() and not real.is_dir():
            raise OutputError(f"{path} is a file. Name a folder to write into.")
        if real.is_dir() and any(real.iterdir()):
            if not overwrite:
                raise OutputError(f"{path} exists. Choose another folder, or add --overwrite.")
            _check_own(path, real)
        _check_can_make(real)
        return real


class JobFolder:
    """A folder that appears under its name only when everything in it is written.

    A context manager: gives a temporary folder beside the final one, and renames it at the end;
    after an error nothing is left. With ``overwrite`` old and new change places in one step where
    the system can do that (Linux), else in two renames.

    >>> with JobFolder(Path("job")) as folder:  # doctest: +SKIP
    ...     write_atomic(folder / "report.json", b"{}")
    """

    def __init__(self, path: Path, *, overwrite: bool = False) -> None:
        """Look at the place; see `writable_folder` for what it raises."""
        self.path = writable_folder(path, overwrite=overwrite)
        self._shown = path
        self._overwrite = overwrite
        self._temporary: Path | None = None

    def __enter__(self) -> Path:
        with told(self._shown):
            self._temporary = _temporary_in(self.path.parent)
            self._temporary.mkdir()
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
                with told(self._shown):
                    self._finish(self._temporary)
        finally:
            shutil.rmtree(self._temporary, ignore_errors=True)

    def _finish(self, made: Path) -> None:
        names = sorted(_files_in(made))
        listed = json.dumps({"written_by": "artcheck", "files": names}, ensure_ascii=True, indent=1)
        _write_synced(made / LIST_NAME, f"{listed}\n".encode())
        _sync_all(made)
        if self.path.exists():
            writable_folder(self.path, overwrite=self._overwrite)
            _swap(made, self.path)
        else:
            made.rename(self.path)
        _sync(self.path.parent)


# --- looking before writing ---------------------------------------------------------------------


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn the system's refusals into one line about ``path``."""
    try:
        yield
    except OSError as fault:
        reason = fault.strerror or str(fault)
        message = f"{path} cannot be written ({reason}). Choose another place or make room."
        raise OutputError(message) from None
    except ValueError as fault:
        raise OutputError(f"{path} cannot be written ({fault}). Choose another name.") from None


def _check_regular(path: Path) -> None:
    """A rename would replace a device or a pipe by a file."""
    if path.is_dir():
        raise OutputError(f"{path} is a folder. Name a file to write.")
    if path.exists() and not path.is_file():
        raise OutputError(f"{path} is a device or a pipe. Name a file to write.")


def _check_own(shown: Path, folder: Path) -> None:
    """Refuse to replace a folder that holds anything artcheck did not write."""
    foreign = sorted(_files_in(folder) - _listed(folder))
    if foreign:
        rest = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        raise OutputError(
            f"{shown} holds files that artcheck did not write ({foreign[0]}{rest})."
            " Move them away, or choose another folder."
        )


def _listed(folder: Path) -> set[str]:
    """The files that artcheck says it wrote, with the list itself; none without a sound list."""
    try:
        files = json.loads((folder / LIST_NAME).read_text(encoding="utf-8"))["files"]
        return {LIST_NAME, *map(str, files)}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _files_in(folder: Path) -> set[str]:
    """Everything below that is not a folder, by its relative name. Links are not followed."""
    found = set()
    for place, folders, files in os.walk(folder):
        links = [name for name in folders if (Path(place) / name).is_symlink()]
        found |= {(Path(place) / name).relative_to(folder).as_posix() for name in files + links}
    return found


def _check_can_make(wanted: Path) -> None:
    """Make and remove something beside ``wanted``: the only sure way to know."""
    if not wanted.parent.is_dir():
        raise OutputError(
            f"{wanted} cannot be written: the folder {wanted.parent} does not exist. Make it first."
        )
    probe = _temporary_in(wanted.parent)
    probe.mkdir()
    probe.rmdir()


def _exists(path: Path) -> OutputError:
    return OutputError(f"{path} exists. Choose another name, or add --overwrite.")


# --- writing ------------------------------------------------------------------------------------


def _temporary_in(folder: Path) -> Path:
    return folder / f"{_TEMPORARY}{secrets.token_hex(8)}"


def _write_synced(path: Path, data: bytes) -> None:
    """Make a new file and wait until it is on the disk."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _put_new(temporary: Path, path: Path, shown: Path) -> None:
    """Give the file its name in one step that fails where the name is taken."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise _exists(shown) from None
    except OSError:  # a file system without links: look, then rename
        if path.exists():
            raise _exists(shown) from None
        temporary.rename(path)
        return
    temporary.unlink()


def _sync_all(folder: Path) -> None:
    """Wait until everything below is on the disk, whoever wrote it."""
    for place, _, files in os.walk(folder):
        for name in files:
            _sync(Path(place) / name)
        _sync(Path(place))


def _sync(path: Path) -> None:
    """Make a file's content or a folder's names last through a power cut.

    Systems that cannot sync a folder refuse to open it; that is no fault of the write.
    """
    with contextlib.suppress(PermissionError, IsADirectoryError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _swap(new: Path, place: Path) -> None:
    """Put ``new`` in the place of an existing folder; afterwards ``new`` holds the old one."""
    if _exchanged(new, place):
        return
    aside = _temporary_in(place.parent)
    place.rename(aside)
    try:
        new.rename(place)
    except OSError:
        aside.rename(place)
        raise
    aside.rename(new)


_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
"""Constants of renameat2(2), Linux 3.15 and later."""


def _exchanged(one: Path, other: Path) -> bool:
    """Let two names change places in one step; False where system or file system cannot."""
    if not sys.platform.startswith("linux"):
        return False
    import ctypes

    rename = getattr(ctypes.CDLL(None), "renameat2", None)
    if rename is None:
        return False
    paths = os.fsencode(one), os.fsencode(other)
    return bool(rename(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE) == 0)
