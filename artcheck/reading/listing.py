"""Which files a folder holds: names and what tells one version from another; nothing is opened."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from artcheck.errors import UsageError


@dataclass(frozen=True, slots=True, order=True)
class Listed:
    """One file. ``name`` is its path below the folder that was named, with ``/``.

    Size and time of the last change tell whether it is still the file that it was.
    """

    name: str
    path: Path
    size: int
    modified_ns: int


def list_files(places: Iterable[Path]) -> tuple[Listed, ...]:
    """Every file in folders, and files named by themselves, in the order of their names.

    Hidden files and folders (names with a leading dot) are left out: they are a system's, not a
    customer's. Links to folders are not followed, so no circle is run.

    Raises
    ------
    UsageError
        A place is missing, cannot be looked into, or two files have the same name.
    """
    found = [file for place in places for file in _in_place(place)]
    by_name: dict[str, Listed] = {}
    for file in found:
        other = by_name.setdefault(file.name, file)
        if other.path.resolve() != file.path.resolve():
            raise UsageError(
                f"{other.path} and {file.path} would both be called {file.name}."
                " Name the folder above both, or check them one after the other."
            )
    return tuple(sorted(by_name.values()))


def _in_place(place: Path) -> Iterator[Listed]:
    if not place.exists():
        raise UsageError(f"{place} does not exist. Name a folder of art, or art files.")
    if not place.is_dir():
        yield _listed(place.name, place)
        return
    for folder, folders, files in os.walk(place, onerror=_refuse):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in files:
            path = Path(folder) / name
            if not name.startswith("."):
                yield _listed(path.relative_to(place).as_posix(), path)


def _listed(name: str, path: Path) -> Listed:
    """A link that leads nowhere is listed too: reading it will say what is wrong."""
    try:
        state = path.stat()
    except OSError:
        state = path.lstat()
    return Listed(name, path, state.st_size, state.st_mtime_ns)


def _refuse(fault: OSError) -> None:
    raise UsageError(
        f"{fault.filename} cannot be looked into ({fault.strerror}). Check its rights."
    )
